"""Ways that are genuinely different from the best one and still reasonable.

An alternative is *admissible* when it shares little with the best way and with the alternatives
before it, when it is locally optimal, so that it has no detour that a short-sighted driver would
not make, and when no part of it is much longer than it need be. All lengths are costs: the time on
the road and the extra time that the household's dislikes add.

References
----------
.. [1] I. Abraham, D. Delling, A. V. Goldberg, R. F. Werneck, "Alternative Routes in Road
   Networks", SEA 2010 and ACM Journal of Experimental Algorithmics 18, 2013: admissible
   alternatives with a single via vertex (section 3), the T-test (section 4) and the shares
   (section 7). See ``data/reference/alternatives.csv`` for what was read.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant
from planner_kit.tow.search import UNITS_PER_S, TurnPath

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from planner_kit.tow.costing import Costing, RoadSystem
    from planner_kit.tow.search import Search

Ends = list[tuple[int, float]]


def _value(name: str) -> float:
    return constant("alternatives", name).value


@dataclass(frozen=True)
class Admissible:
    """What makes an alternative admissible.

    Attributes
    ----------
    sharing_frac : float
        Most that it shares with the best way and the alternatives before it, of the best way.
    optimal_frac : float
        Every part of it as long as this share of the best way is itself a best way.
    stretch_frac : float
        No part of it is longer than the best way between its ends by more than this share.
    """

    sharing_frac: float
    optimal_frac: float
    stretch_frac: float


def admissible(*, wide: bool = False) -> Admissible:
    """The limits that the kit holds alternatives to.

    Parameters
    ----------
    wide : bool
        The wider ones, for drives on which the roads offer too few.
    """
    name = "_wide" if wide else ""
    return Admissible(
        _value("sharing_frac"), _value(f"optimal{name}_frac"), _value(f"stretch{name}_frac")
    )


@dataclass(frozen=True)
class Alternative:
    """An alternative to the best path.

    Attributes
    ----------
    path : TurnPath
    wide : bool
        It keeps to the wider limits only.
    shared_frac : float
        What it shares with the best path, of the best path's cost.
    longer_frac : float
        How much more it costs, of the best path's cost.
    """

    path: TurnPath
    wide: bool
    shared_frac: float
    longer_frac: float


@dataclass(frozen=True)
class _Way:
    """A path with what the hierarchy counts for each of its turns."""

    path: TurnPath
    first: int  # cost of getting to its first node, in the hierarchy's units
    last: int  # cost of going on from its last node to the end
    turns: NDArray[np.int64]
    ways: NDArray[np.int32]  # directed road of each node
    roads: NDArray[np.int64]  # of `turns`, what the road driven into the junction costs
    begin: int  # directed road on which it begins, -1 where it begins at its first node
    rest: int  # of `first`, what is left of that road costs

    @cached_property
    def at(self) -> NDArray[np.int64]:
        """Cost from the start to each node, then to the end."""
        return np.cumsum(np.r_[self.first, self.turns, self.last])

    @property
    def whole(self) -> int:
        return int(self.at[-1])

    def shared(self, used: _Used) -> int:
        """Cost of what others use too: of the roads that they drive and the turns they make.

        Where two ways part, the road that leads there is still common to both.
        """
        begun = 0
        if self.begin in used.begins:
            begun = self.first if int(self.path.states[0]) in used.first else self.rest
        ended = self.last if int(self.ways[-1]) in used.last else 0
        roads = int(self.roads[used.roads[self.ways[:-1]]].sum())
        turns = int((self.turns - self.roads)[used.arcs[self.path.arcs]].sum())
        return begun + roads + turns + ended


class _Used:
    """Roads and turns of the ways chosen so far."""

    def __init__(self, roads: int, turns: int, best: _Way) -> None:
        self.roads = np.zeros(roads, dtype=bool)
        self.arcs = np.zeros(turns, dtype=bool)
        self.begins: set[int] = set()
        self.first: set[int] = set()
        self.last: set[int] = set()
        self.add(best)

    def add(self, way: _Way) -> None:
        self.roads[way.ways[:-1]] = True
        self.arcs[way.path.arcs] = True
        self.begins.add(way.begin)
        self.first.add(int(way.path.states[0]))
        self.last.add(int(way.ways[-1]))


class _Finder:
    """Looks for alternatives between the ends of one drive."""

    def __init__(
        self,
        system: RoadSystem,
        slot: str,
        costing: Costing,
        sources: Ends,
        targets: Ends,
        begins: Mapping[int, tuple[int, float]],
    ) -> None:
        self.system, self.slot = system, slot
        self.search: Search = system.search
        self.cost_s, self.road_s = costing.arc_cost_s, costing.road_cost_s
        self.begins = begins
        self.sources, self.targets = sources, targets
        self._from = dict(sources)
        self._to = dict(targets)
        self.limits = admissible(wide=True)

    def way(self, path: TurnPath) -> _Way:
        source = int(path.states[0])
        first, last = self._from[source], self._to[int(path.states[-1])]
        begin, rest = self.begins.get(source, (-1, 0.0))
        turns = np.rint(self.cost_s[path.arcs] * np.float64(UNITS_PER_S)).astype(np.int64)
        ways = self.system.network.directed_of[path.states]
        roads = np.rint(self.road_s[ways[:-1]] * np.float64(UNITS_PER_S)).astype(np.int64)
        return _Way(
            path=path,
            first=round(first * UNITS_PER_S),
            last=round(last * UNITS_PER_S),
            turns=turns,
            ways=ways,
            roads=np.minimum(roads, turns),
            begin=begin,
            rest=min(round(rest * UNITS_PER_S), round(first * UNITS_PER_S)),
        )

    def used(self, best: _Way) -> _Used:
        return _Used(len(self.road_s), len(self.cost_s), best)

    def through(self, state: int) -> _Way | None:
        """The best way that passes a node, or None if there is none or it passes a node twice."""
        there = self.search.path(self.slot, self.sources, [(state, 0.0)])
        on = self.search.path(self.slot, [(state, 0.0)], self.targets)
        if there is None or on is None:
            return None
        states = np.concatenate([there.states, on.states[1:]])
        if len(set(self.system.network.directed_of[states].tolist())) < len(states):
            return None
        arcs = np.concatenate([there.arcs, on.arcs])
        return self.way(TurnPath(there.cost_s + on.cost_s, states, arcs))

    def candidates(self, best: _Way, middle: NDArray[np.int64]) -> list[int]:
        """Nodes through which a way short enough may lead, the cheapest first."""
        there = self.search.costs_to(self.slot, self.sources, middle.tolist())
        on = self.search.costs_from(self.slot, middle.tolist(), self.targets)
        total = np.rint((there + on) * UNITS_PER_S)
        most = best.whole * (1 + self.limits.stretch_frac)
        rows = np.flatnonzero((total > best.whole) & (total <= most))
        return [int(middle[row]) for row in rows[np.argsort(total[rows], kind="stable")]]

    def is_locally_optimal(self, way: _Way, via: int, optimum: int, limits: Admissible) -> bool:
        """Whether the piece around the node that the way is led through is a best way itself.

        Both halves of the way are best ways, so that only pieces over their meeting can fail. A
        piece that reaches the asked length to both sides holds all that must be looked at.
        """
        reach = limits.optimal_frac * optimum
        nodes = way.at[:-1]
        before = np.flatnonzero(nodes[via] - nodes[: via + 1] >= reach)
        after = np.flatnonzero(nodes[via:] - nodes[via] >= reach)
        first = int(before[-1]) if len(before) else -1
        last = via + int(after[0]) if len(after) else len(nodes)
        return self._between(way, first, last) == self._along(way, first, last)

    def _along(self, way: _Way, first: int, last: int) -> int:
        begin = 0 if first < 0 else int(way.at[first])
        return (way.whole if last >= len(way.at) - 1 else int(way.at[last])) - begin

    def _between(self, way: _Way, first: int, last: int) -> int:
        """The least cost between two places of a way; -1 is its start, the last its end."""
        states = way.path.states
        sources = self.sources if first < 0 else [(int(states[first]), 0.0)]
        targets = self.targets if last >= len(states) else [(int(states[last]), 0.0)]
        if first >= 0 and last < len(states) and first == last:
            return 0
        return round(self.search.cost_s(self.slot, sources, targets) * UNITS_PER_S)

    def is_stretched_little(self, way: _Way, via: int, limits: Admissible) -> bool:
        """Whether no part of the way is longer than it need be by more than the share allowed.

        What a part has too much never grows when the part is made shorter. So a block of parts,
        all those that begin in one run of nodes and end in another, is fine when the excess of the
        longest among them is small beside the shortest; else the block is halved.
        """
        share = limits.stretch_frac / (1 + limits.stretch_frac)
        blocks = [(-1, via, via, len(way.path.states))]
        while blocks:
            a, b, c, d = blocks.pop()
            excess = self._along(way, a, d) - self._between(way, a, d)
            if excess <= share * max(self._along(way, b, c), 0):
                continue
            if a == b and c == d:
                return False
            if b - a >= d - c:
                half = (a + b) // 2
                blocks += [(a, half, c, d), (half + 1, b, c, d)]
            else:
                half = (c + d) // 2
                blocks += [(a, b, c, half), (a, b, half + 1, d)]
        return True

    def is_admissible(self, way: _Way, via: int, optimum: int, limits: Admissible) -> bool:
        """Whether a way that is led through a node is reasonable in itself."""
        if way.whole > (1 + limits.stretch_frac) * optimum:
            return False
        return self.is_locally_optimal(way, via, optimum, limits) and self.is_stretched_little(
            way, via, limits
        )

    def distinct(self, best: _Way, middle: NDArray[np.int64]) -> list[tuple[_Way, int]]:
        """Different ways through candidates, each with the place of its candidate on it."""
        used = self.used(best)
        seen: set[int] = set(best.path.states.tolist())
        most, found = int(_value("ways_tried")), []
        for state in self.candidates(best, middle):
            if state in seen:
                continue
            way = self.through(state)
            if way is None:
                continue
            # A node that lies on this way with the same whole cost would lead to it again.
            seen.update(way.path.states.tolist())
            if way.shared(used) <= self.limits.sharing_frac * best.whole:
                found.append((way, int(np.flatnonzero(way.path.states == state)[0])))
            most -= 1
            if most == 0:
                break
        found.sort(key=lambda pair: 2 * pair[0].whole + pair[0].shared(used))
        return found


def _middle(system: RoadSystem, best: _Way) -> NDArray[np.int64]:
    """The nodes between the two ends that rank highest in the hierarchy."""
    network = system.network
    at = network.starts[network.directed_of]
    lat, lon = network.node_lat, network.node_lon
    ends = at[best.path.states[[0, -1]]]
    squeeze = float(np.cos(np.radians(lat[ends].mean())))

    def away(node: int) -> NDArray[np.float64]:
        return np.asarray(np.hypot(lat - lat[node], (lon - lon[node]) * squeeze))

    # How far the best way itself goes round, and somewhat more, bounds where others may go.
    reach = away(int(ends[0])) + away(int(ends[1]))
    widest = float(reach[at[best.path.states]].max())
    inside = np.flatnonzero((reach <= widest * _value("round_about"))[at])
    most = int(_value("candidates"))
    rank = system.search.rank[inside]
    if len(inside) > most:
        inside = inside[np.argpartition(rank, -most)[-most:]]
    return inside


def alternative_paths(
    system: RoadSystem,
    slot: str,
    costing: Costing,
    best: TurnPath,
    sources: Sequence[tuple[int, float]],
    targets: Sequence[tuple[int, float]],
    *,
    most: int,
    begins: Mapping[int, tuple[int, float]] | None = None,
) -> list[Alternative]:
    """Admissible alternatives to the best path between two ends.

    Parameters
    ----------
    system : RoadSystem
    slot : str
        A metric that was customised with the costs of the turns of `costing`.
    costing : Costing
    best : TurnPath
        The cheapest path from `sources` to `targets`.
    sources, targets : sequence of (int, float)
        Network nodes with the cost of getting to, or on from, each. [s]
    most : int
        Alternatives wanted.
    begins : mapping of int to (int, float), optional
        For each node of `sources` that lies behind the first turn: the directed road on which a
        way begins, and the cost of what is driven of it. [s]

    Returns
    -------
    alternatives : list of Alternative
        Those that keep to the narrower limits first, and among them the one that is short and
        shares little; fewer than asked for, or none, where the roads have no more. Each is
        admissible beside the best way and those before it.
    """
    finder = _Finder(system, slot, costing, list(sources), list(targets), begins or {})
    whole = finder.way(best)
    if len(best.states) < 2:
        return []
    used, alone = finder.used(whole), finder.used(whole)
    chosen: list[Alternative] = []
    left = finder.distinct(whole, _middle(system, whole))
    for wide in (False, True):
        limits = admissible(wide=wide)
        later = []
        for way, via in left:
            if len(chosen) >= most:
                break
            if way.shared(used) > limits.sharing_frac * whole.whole:
                continue
            if not finder.is_admissible(way, via, whole.whole, limits):
                later.append((way, via))
                continue
            used.add(way)
            shared = way.shared(alone) / whole.whole
            chosen.append(Alternative(way.path, wide, shared, way.whole / whole.whole - 1))
        left = later
    return chosen
