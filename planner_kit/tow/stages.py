"""The stages of a route: from the start by its points on the way to the end."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.errors import NoRouteError
from planner_kit.reference import constant
from planner_kit.tow.route import Drive

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.tow.costing import Costing, RoadSystem
    from planner_kit.tow.ends import RoadEnd
    from planner_kit.tow.search import TurnPath

Position = tuple[float, float]
_PENALTY_S = 36_000.0


def private_at(system: RoadSystem, points: Sequence[Position]) -> frozenset[int]:
    """The private roads that a start or an end lies on, with those joined to them."""
    reach = constant("towing_costs", "reach_road").value
    near = [system.index.near(lat, lon, within_m=reach) for lat, lon in points]
    groups = system.private_groups
    wanted = {int(groups[e[0].road]) for e in near if e} - {-1}
    if not wanted:
        return frozenset()
    return frozenset(np.flatnonzero(np.isin(groups, list(wanted))).tolist())


def ends_near(system: RoadSystem, costing: Costing, point: Position, what: str) -> list[RoadEnd]:
    """The roads beside a place that the vehicle may use, nearest first.

    Parameters
    ----------
    system : RoadSystem
    costing : Costing
    point : (float, float)
        lat, lon. [deg]
    what : str
        What the place is, for the sentence.

    Raises
    ------
    NoRouteError
        If the place is far from any road, or the road it lies on is shut to the vehicle.
    """
    reach = constant("towing_costs", "reach_road").value
    tries = int(constant("towing_costs", "join_tries").value)
    near = system.index.near(*point, within_m=reach)
    if near:
        # A road far beyond the nearest one does not lead to the place: if the nearest is shut to
        # the outfit, the place is.
        beside = near[0].away_m + constant("towing_costs", "beside_road").value
        usable = ~costing.limits.roads_shut
        found = system.index.near(*point, within_m=beside, usable=usable, most=tries)
        if found:
            return found
        road, reason = near[0].road, costing.limits.road_reason[near[0].road]
        raise NoRouteError(
            f"the {what} at {point[0]:.5f}, {point[1]:.5f} lies on {_named(system, road)}, which "
            f"cannot be used: {costing.limits.reasons[reason]}; choose another place or leave the "
            "caravan before it"
        )
    away = system.index.nearest_m(*point)
    raise NoRouteError(
        f"the {what} at {point[0]:.5f}, {point[1]:.5f} is {away / 1000:.1f} km from the nearest "
        "road of this region; check the position, or choose a region that holds it"
    )


def _named(system: RoadSystem, road: int) -> str:
    row = system.roads.iloc[road]
    label = " ".join(part for part in (str(row["ref"]), str(row["name"])) if part)
    return f"{label or 'an unnamed ' + str(row['road_class'])} (way {row['osm_way_id']})"


@dataclass(frozen=True)
class _Stage:
    number: int
    count: int

    @property
    def words(self) -> tuple[str, str]:
        first = "start" if self.number == 0 else f"via point {self.number}"
        last = "end" if self.number == self.count - 1 else f"via point {self.number + 1}"
        return first, last


def find_drives(
    system: RoadSystem, slot: str, costing: Costing, points: Sequence[Position]
) -> list[Drive]:
    """The best drives from point to point; each begins where the one before it ends.

    Raises
    ------
    NoRouteError
        See `find_route`.
    """
    system.search.customise(slot, costing.key, costing.arc_cost_s)
    drives: list[Drive] = []
    for number in range(len(points) - 1):
        words = _Stage(number, len(points) - 1).words
        before = drives[-1] if drives else None
        begins = [before.end] if before else ends_near(system, costing, points[number], words[0])
        ends = ends_near(system, costing, points[number + 1], words[1])
        came = None if before is None else int(before.directed[-1])
        drives.append(_best_drive(system, slot, costing, begins, ends, came, words))
    return drives


def _best_drive(
    system: RoadSystem,
    slot: str,
    costing: Costing,
    begins: list[RoadEnd],
    ends: list[RoadEnd],
    came: int | None,
    words: tuple[str, str],
) -> Drive:
    """The first pair of roads, nearest first, between which there is a way."""
    pairs = sorted(
        ((b, e) for b in begins for e in ends), key=lambda pair: pair[0].away_m + pair[1].away_m
    )
    for direction in dict.fromkeys((came, None)):
        for begin, end in pairs:
            drive = one_drive(system, slot, costing, begin, end, direction)
            if drive is not None:
                return drive
    raise NoRouteError(_what_blocks(system, costing, begins[0], ends[0], words))


@dataclass(frozen=True)
class DriveEnds:
    """The two ends of a drive as the search sees them.

    Attributes
    ----------
    begin, end : RoadEnd
    sources : dict of int to (float, int, int)
        For each network node behind the first turn: the cost of getting there [s], the directed
        road on which the drive begins, and that turn.
    targets : list of (int, float)
        Network nodes of the last road, with the cost of going along it to the end. [s]
    direct : (float, int) or None
        Cost and directed road of driving on along the same road. [s]
    """

    begin: RoadEnd
    end: RoadEnd
    sources: dict[int, tuple[float, int, int]]
    targets: list[tuple[int, float]]
    direct: tuple[float, int] | None

    @property
    def starts(self) -> list[tuple[int, float]]:
        """Network nodes with the cost of getting to each [s]."""
        return [(state, told[0]) for state, told in self.sources.items()]

    def begins(self, costing: Costing) -> dict[int, tuple[int, float]]:
        """For each source the directed road of the beginning, and what is driven of it [s]."""
        return {
            state: (way, at - float(costing.turns.fixed_s[arc]))
            for state, (at, way, arc) in self.sources.items()
        }

    def drive(self, system: RoadSystem, path: TurnPath) -> Drive:
        """The drive along a path from `sources` to `targets`."""
        _, first, arc = self.sources[int(path.states[0])]
        return Drive(
            self.begin,
            self.end,
            np.concatenate([[first], system.network.directed_of[path.states]]).astype(np.int64),
            np.concatenate([[arc], path.arcs]).astype(np.int64),
        )


def drive_ends(
    system: RoadSystem,
    costing: Costing,
    begin: RoadEnd,
    end: RoadEnd,
    *,
    came: int | None = None,
    arriving: int | None = None,
) -> DriveEnds | None:
    """The ends of a drive; None where the vehicle may not use the road of one of them.

    Parameters
    ----------
    system : RoadSystem
    costing : Costing
    begin, end : RoadEnd
    came, arriving : int, optional
        Directed road on which the drive must begin, or end.
    """
    network, cost = system.network, costing.road_cost_s
    shut = costing.limits.roads_shut
    if shut[begin.road] or shut[end.road]:
        return None
    goals = [d for d in (2 * end.road, 2 * end.road + 1) if network.state_of[d] >= 0]
    if arriving is not None:
        goals = [d for d in goals if d == arriving]
    targets = [
        (int(state), float(share_before(end.frac, directed) * cost[directed]))
        for directed in goals
        for state in network.states_of(directed)
    ]
    starts = _directions(system, begin, came)
    return DriveEnds(
        begin,
        end,
        first_turns(system, costing, begin, came=came),
        targets,
        _direct(starts, begin, end, cost),
    )


def _directions(system: RoadSystem, begin: RoadEnd, came: int | None) -> list[int]:
    """The directed roads on which a drive from a point may begin."""
    both = (2 * begin.road, 2 * begin.road + 1)
    open_ = [d for d in both if system.network.state_of[d] >= 0]
    return open_ if came is None else [d for d in open_ if d == came]


def first_turns(
    system: RoadSystem, costing: Costing, begin: RoadEnd, *, came: int | None = None
) -> dict[int, tuple[float, int, int]]:
    """The network nodes behind the first turns of a drive.

    Parameters
    ----------
    system : RoadSystem
    costing : Costing
    begin : RoadEnd
    came : int, optional
        Directed road on which the drive must begin.

    Returns
    -------
    sources : dict of int to (float, int, int)
        As `DriveEnds.sources`.
    """
    network, cost = system.network, costing.road_cost_s
    sources: dict[int, tuple[float, int, int]] = {}
    for directed in _directions(system, begin, came):
        rest = (1 - share_before(begin.frac, directed)) * cost[directed]
        state = int(network.state_of[directed])
        for arc in range(int(network.first_arc[state]), int(network.first_arc[state + 1])):
            at = rest + costing.turns.fixed_s[arc]
            if not np.isfinite(at):
                continue
            head = int(network.head[arc])
            if head not in sources or at < sources[head][0]:
                sources[head] = (float(at), directed, arc)
    return sources


def one_drive(
    system: RoadSystem,
    slot: str,
    costing: Costing,
    begin: RoadEnd,
    end: RoadEnd,
    came: int | None,
) -> Drive | None:
    """The cheapest drive from one point on a road to another, or None."""
    ends = drive_ends(system, costing, begin, end, came=came)
    if ends is None:
        return None
    found = system.search.path(slot, ends.starts, ends.targets)
    direct = ends.direct
    if direct is not None and (found is None or direct[0] <= found.cost_s):
        return Drive(begin, end, np.array([direct[1]]), np.zeros(0, dtype=np.int64))
    return None if found is None else ends.drive(system, found)


def share_before(frac: float, directed: int) -> float:
    """The share of a directed road that lies behind a point on it."""
    return 1 - frac if directed % 2 else frac


def _direct(
    starts: list[int], begin: RoadEnd, end: RoadEnd, cost: np.ndarray
) -> tuple[float, int] | None:
    """Driving on along the same road to an end that lies ahead on it."""
    if begin.road != end.road:
        return None
    ways = []
    for directed in starts:
        ahead = share_before(end.frac, directed) - share_before(begin.frac, directed)
        if ahead >= 0:
            ways.append((float(ahead * cost[directed]), directed))
    return min(ways, default=None)


def _what_blocks(
    system: RoadSystem, costing: Costing, begin: RoadEnd, end: RoadEnd, words: tuple[str, str]
) -> str:
    """Which limits would have to fall for a way to open."""
    network, limits = system.network, costing.limits
    goal = network.directed_of[network.head] // 2
    barred = limits.roads_shut[goal] | limits.nodes_shut[network.junction]
    base = costing.road_cost_s[network.directed_of[network.tail]] + costing.turns.time_s
    free = base + np.where(barred, _PENALTY_S, 0.0) + np.where(network.u_turn, _PENALTY_S, 0.0)
    system.search.customise("unlimited", costing.key, free)
    states = [s for r in (2 * begin.road, 2 * begin.road + 1) for s in network.states_of(r)]
    goals = [s for r in (2 * end.road, 2 * end.road + 1) for s in network.states_of(r)]
    found = system.search.path(
        "unlimited", [(int(s), 0.0) for s in states], [(int(s), 0.0) for s in goals]
    )
    where = f"from the {words[0]} to the {words[1]}"
    if found is None:
        return (
            f"there is no way {where} on the roads of this region, with or without a caravan; "
            "check the two positions"
        )
    stops: list[str] = []
    for state in found.states:
        road = int(network.directed_of[state]) // 2
        if limits.roads_shut[road]:
            stops.append(f"{_named(system, road)}: {limits.reasons[limits.road_reason[road]]}")
    for arc in found.arcs:
        node = int(network.junction[arc])
        if limits.nodes_shut[node]:
            lat, lon = system.nodes.iloc[node][["lat", "lon"]]
            reason = limits.reasons[limits.node_reason[node]]
            stops.append(f"the barrier at {lat:.5f}, {lon:.5f}: {reason}")
        if costing.towing and network.u_turn[arc]:
            stops.append("the outfit would have to turn round at the end of a road")
    stops = list(dict.fromkeys(stops))
    shown = "; ".join(stops[:4]) + (f"; and {len(stops) - 4} more" if len(stops) > 4 else "")
    who = "the outfit" if costing.towing else "a car"
    remedy = (
        "; write what is missing of car and caravan into the household file"
        if "is not known" in shown
        else "; choose another place, or look at the outfit's figures again"
        if costing.towing
        else ""
    )
    return (
        f"no way is open to {who} {where}; the least that stands in the way is: "
        f"{shown or 'a turn'}{remedy}"
    )
