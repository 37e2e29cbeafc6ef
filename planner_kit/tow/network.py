"""The roads as a network whose nodes are directed roads and whose arcs are turns.

Because a turn is an arc, a banned turn is an arc that is not there, and a ban that runs over
several roads is exact too: a road entered along the beginning of such a ban is a node of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from planner_kit.reference import constant, read_table
from planner_kit.tow.limits import is_word

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from planner_kit.region.region import Region


@dataclass(frozen=True)
class Network:
    """The turn network of a region.

    A directed road is ``2 * road`` when driven forward and ``2 * road + 1`` backward.

    Attributes
    ----------
    directed_of : ndarray of int32, shape (states,)
        Directed road of each node of the network; several where a long ban begins there.
    state_of : ndarray of int32, shape (2 * roads,)
        The plain node of each directed road; -1 where a car may not drive that way.
    tail, head : ndarray of int32, shape (arcs,)
        Nodes of the network that a turn joins; sorted by `tail`.
    first_arc : ndarray of int64, shape (states + 1,)
        Arcs ``first_arc[s]:first_arc[s + 1]`` leave node ``s``.
    junction : ndarray of int32, shape (arcs,)
        Region node at which the turn is made.
    turn_deg : ndarray of float32, shape (arcs,)
        Change of direction, right positive. [deg]
    turn_s, wait_s : ndarray of float32, shape (arcs,)
        Slowing for the turn, and waiting at a control. [s]
    u_turn : ndarray of bool, shape (arcs,)
        Turning round at the end of a road.
    starts, ends : ndarray of int32, shape (2 * roads,)
        Region nodes where each directed road begins and ends.
    node_lon, node_lat : ndarray, shape (nodes,)
        Where the region's nodes lie, for ordering. [deg]
    """

    directed_of: NDArray[np.int32]
    state_of: NDArray[np.int32]
    tail: NDArray[np.int32]
    head: NDArray[np.int32]
    first_arc: NDArray[np.int64]
    junction: NDArray[np.int32]
    turn_deg: NDArray[np.float32]
    turn_s: NDArray[np.float32]
    wait_s: NDArray[np.float32]
    u_turn: NDArray[np.bool_]
    starts: NDArray[np.int32]
    ends: NDArray[np.int32]
    node_lon: NDArray[np.float64]
    node_lat: NDArray[np.float64]

    @property
    def states(self) -> int:
        """Number of nodes of the network."""
        return len(self.directed_of)

    @cached_property
    def plain_states(self) -> int:
        """Number of nodes that stand for a directed road alone; the others come after them."""
        return int((self.state_of >= 0).sum())

    def states_of(self, directed: int) -> list[int]:
        """All nodes that stand for a directed road."""
        plain = int(self.state_of[directed])
        if plain < 0:
            return []
        begun = np.flatnonzero(self.directed_of[self.plain_states :] == directed)
        return [plain, *(int(place) + self.plain_states for place in begun)]

    def all_states_of(
        self, directed: NDArray[np.int64]
    ) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """The nodes that stand for each of many directed roads.

        Parameters
        ----------
        directed : ndarray of int64, shape (n,)

        Returns
        -------
        states : ndarray of int64
        place : ndarray of int64
            For each node, the row of `directed` it belongs to.
        """
        plain = self.state_of[directed]
        row = np.flatnonzero(plain >= 0)
        begun = self.directed_of[self.plain_states :]
        by_road = np.argsort(begun, kind="stable")
        first, last = (
            np.searchsorted(begun, directed[row], side=side, sorter=by_road)
            for side in ("left", "right")
        )
        more = np.repeat(row, last - first)
        place = np.arange(len(more)) - np.repeat(np.cumsum(last - first) - last, last - first)
        return (
            np.concatenate([plain[row], by_road[place] + self.plain_states]).astype(np.int64),
            np.concatenate([row, more]),
        )


def build_network(roads: pd.DataFrame, nodes: pd.DataFrame, restrictions: pd.DataFrame) -> Network:
    """The turn network of a region's roads.

    Parameters
    ----------
    roads, nodes, restrictions : DataFrame
        The region's tables.

    Returns
    -------
    network : Network
    """
    count = len(roads)
    begin = roads["from_node"].to_numpy(dtype=np.int32)
    end = roads["to_node"].to_numpy(dtype=np.int32)
    starts = np.stack([begin, end], axis=1).ravel()
    ends = np.stack([end, begin], axis=1).ravel()
    drivable = np.stack(
        [roads["car_forward"].to_numpy(bool), roads["car_backward"].to_numpy(bool)], axis=1
    ).ravel()
    plain = np.flatnonzero(drivable).astype(np.int32)
    state_of = np.full(2 * count, -1, dtype=np.int32)
    state_of[plain] = np.arange(len(plain), dtype=np.int32)
    into, out = _meetings(plain, starts, ends, len(nodes))
    into, out = _without_turning_round(into, out, ends, plain, starts, len(nodes))
    bans = _banned_sequences(restrictions, starts, ends, drivable, into, out)
    pairs = np.array([s[0] * 2 * count + s[1] for s in bans if len(s) == 2], dtype=np.int64)
    keep = ~np.isin(into.astype(np.int64) * 2 * count + out, pairs)
    into, out = into[keep], out[keep]
    directed_of, tail, head = _with_long_bans(
        plain, state_of, into, out, [s for s in bans if len(s) > 2]
    )
    order = np.lexsort((head, tail))
    tail, head = tail[order], head[order]
    coming, going = directed_of[tail], directed_of[head]
    junction = ends[coming]
    turn_deg = _turns_deg(roads, coming, going)
    u_turn = coming == (going ^ 1)
    lat, lon = nodes["lat"].to_numpy(dtype=float), nodes["lon"].to_numpy(dtype=float)
    return Network(
        directed_of=directed_of,
        state_of=state_of,
        tail=tail,
        head=head,
        first_arc=np.searchsorted(tail, np.arange(len(directed_of) + 1)),
        junction=junction,
        turn_deg=turn_deg,
        turn_s=_turn_delays_s(roads, coming, going, turn_deg, plain, starts, ends),
        wait_s=_waits_s(nodes, roads, coming, going, junction, turn_deg),
        u_turn=u_turn,
        starts=starts,
        ends=ends,
        node_lon=lon,
        node_lat=lat,
    )


def _meetings(
    plain: NDArray[np.int32], starts: NDArray[np.int32], ends: NDArray[np.int32], nodes: int
) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Every pair of directed roads of which the second begins where the first ends."""
    by_start = plain[np.argsort(starts[plain], kind="stable")]
    first = np.searchsorted(starts[by_start], np.arange(nodes + 1))
    fan = (first[1:] - first[:-1])[ends[plain]]
    into = np.repeat(plain, fan)
    offset = np.arange(len(into)) - np.repeat(np.cumsum(fan) - fan, fan)
    return into, by_start[first[ends[into]] + offset]


def _without_turning_round(
    into: NDArray[np.int32],
    out: NDArray[np.int32],
    ends: NDArray[np.int32],
    plain: NDArray[np.int32],
    starts: NDArray[np.int32],
    nodes: int,
) -> tuple[NDArray[np.int32], NDArray[np.int32]]:
    """Turning back onto the same road stays possible only where the road ends."""
    ways_out = np.bincount(starts[plain], minlength=nodes)
    back = into == (out ^ 1)
    keep = ~back | (ways_out[ends[into]] <= 1)
    return into[keep], out[keep]


def _banned_sequences(
    restrictions: pd.DataFrame,
    starts: NDArray[np.int32],
    ends: NDArray[np.int32],
    drivable: NDArray[np.bool_],
    into: NDArray[np.int32],
    out: NDArray[np.int32],
) -> list[tuple[int, ...]]:
    """Every sequence of directed roads that must not be driven."""
    if len(restrictions) == 0:
        return []
    order = np.argsort(into, kind="stable")
    sorted_into, sorted_out = into[order], out[order]

    def ways_on(directed: int) -> list[int]:
        low, high = np.searchsorted(sorted_into, [directed, directed + 1])
        return [int(d) for d in sorted_out[low:high]]

    def both(road: int) -> list[int]:
        return [d for d in (2 * road, 2 * road + 1) if drivable[d]]

    bans: set[tuple[int, ...]] = set()
    for row in _rows(restrictions):
        via = [int(road) for road in row["via_roads"]]
        chains: list[tuple[int, ...]] = [(d,) for d in both(int(row["from_road"]))]
        if not via:
            chains = [c for c in chains if ends[c[0]] == row["via_node"]]
        for road in via:
            chains = [(*c, d) for c in chains for d in both(road) if starts[d] == ends[c[-1]]]
        for chain in chains:
            goals = [d for d in both(int(row["to_road"])) if starts[d] == ends[chain[-1]]]
            if str(row["kind"]) == "no":
                bans.update((*chain, goal) for goal in goals)
            elif goals:
                bans.update((*chain, d) for d in ways_on(chain[-1]) if d not in goals)
    return sorted(bans)


def _rows(frame: pd.DataFrame) -> list[dict[str, Any]]:
    return [{str(key): cell for key, cell in row.items()} for row in frame.to_dict("records")]


def _with_long_bans(
    plain: NDArray[np.int32],
    state_of: NDArray[np.int32],
    into: NDArray[np.int32],
    out: NDArray[np.int32],
    bans: list[tuple[int, ...]],
) -> tuple[NDArray[np.int32], NDArray[np.int32], NDArray[np.int32]]:
    """Directed road of each network node, and tail and head of each turn.

    A node is added for every beginning of a long ban (of two roads or more), so that the network
    remembers how much of a ban has been driven; the longest beginning that fits is kept.
    """
    tail, head = state_of[into], state_of[out].copy()
    if not bans:
        return plain, tail, head
    whole = set(bans)
    begun = sorted({ban[:size] for ban in bans for size in range(2, len(ban))})
    extra = {beginning: len(plain) + place for place, beginning in enumerate(begun)}
    longest = max(len(ban) for ban in bans)
    for place in np.flatnonzero(np.isin(into, [b[0] for b in begun])):
        head[place] = extra.get((int(into[place]), int(out[place])), head[place])
    more_tail, more_head = [], []
    by_road = np.argsort(into, kind="stable")
    sorted_into = into[by_road]
    for beginning, state in extra.items():
        low, high = np.searchsorted(sorted_into, [beginning[-1], beginning[-1] + 1])
        for place in by_road[low:high]:
            driven = (*beginning, int(out[place]))[-longest:]
            tails = [driven[skip:] for skip in range(len(driven) - 1)]
            if any(part in whole for part in tails):
                continue
            goal = next((extra[part] for part in tails if part in extra), None)
            more_tail.append(state)
            more_head.append(int(state_of[out[place]]) if goal is None else goal)
    directed_of = np.concatenate([plain, np.array([b[-1] for b in begun], dtype=np.int32)])
    return (
        directed_of,
        np.concatenate([tail, np.array(more_tail, dtype=np.int32)]),
        np.concatenate([head, np.array(more_head, dtype=np.int32)]),
    )


def end_bearings_deg(
    roads: pd.DataFrame,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The compass bearing of each directed road where it begins and where it ends [deg].

    Returns
    -------
    leaving, arriving : ndarray, shape (2 * roads,)
    """
    lines = np.asarray(roads["geometry"].array, dtype=object)
    points, owner = shapely.get_coordinates(lines, return_index=True)
    first = np.searchsorted(owner, np.arange(len(lines)))
    last = np.searchsorted(owner, np.arange(len(lines)), side="right") - 1

    def bearing(a: NDArray[np.int64], b: NDArray[np.int64]) -> NDArray[np.float64]:
        east = (points[b, 0] - points[a, 0]) * np.cos(np.radians(points[a, 1]))
        return np.asarray(np.degrees(np.arctan2(east, points[b, 1] - points[a, 1])))

    out, on = bearing(first, first + 1), bearing(last - 1, last)
    leaving = np.stack([out, on + 180], axis=1).ravel() % 360
    arriving = np.stack([on, out + 180], axis=1).ravel() % 360
    return leaving, arriving


def _turns_deg(
    roads: pd.DataFrame, coming: NDArray[np.int32], going: NDArray[np.int32]
) -> NDArray[np.float32]:
    leaving, arriving = end_bearings_deg(roads)
    turn = (leaving[going] - arriving[coming] + 180) % 360 - 180
    return turn.astype(np.float32)


def _value(name: str) -> float:
    return constant("towing_costs", name).value


def drives_left(roads: pd.DataFrame) -> NDArray[np.bool_]:
    """Whether traffic keeps left on each road; an unknown country counts as keeping right."""
    table = read_table("towing_sides")
    left = set(table.loc[table["side"] == "left", "country"])
    return np.asarray(is_word(roads, "country", *left))


def keeps_left(region: Region, roads: pd.DataFrame) -> bool:
    """Whether traffic keeps left: as the region says, else by the country of some roads."""
    told = region.manifest.get("driving_side")
    return told == "left" if told else bool(drives_left(roads).any())


def _turn_delays_s(
    roads: pd.DataFrame,
    coming: NDArray[np.int32],
    going: NDArray[np.int32],
    turn_deg: NDArray[np.float32],
    plain: NDArray[np.int32],
    starts: NDArray[np.int32],
    ends: NDArray[np.int32],
) -> NDArray[np.float32]:
    size = int(max(starts.max(initial=0), ends.max(initial=0))) + 1
    used = np.unique(plain // 2)
    arms = np.bincount(starts[2 * used], minlength=size) + np.bincount(
        ends[2 * used], minlength=size
    )
    ring = roads["roundabout"].to_numpy(dtype=bool)
    left = drives_left(roads)[coming // 2]
    far = np.where(left, turn_deg > 0, turn_deg < 0) & ~ring[going // 2] & ~ring[coming // 2]
    share = np.clip(np.abs(turn_deg) / 90, 0, 1.5) * (np.abs(turn_deg) >= 30)
    delay = share * np.where(far, _value("turn_far"), _value("turn_near"))
    crossing = arms[ends[coming]] > 2
    back = coming == (going ^ 1)
    delay = np.where(crossing & ~(ring[coming // 2] & ring[going // 2]), delay, 0.0)
    return np.where(back, _value("u_turn_car"), delay).astype(np.float32)


def _waits_s(
    nodes: pd.DataFrame,
    roads: pd.DataFrame,
    coming: NDArray[np.int32],
    going: NDArray[np.int32],
    junction: NDArray[np.int32],
    turn_deg: NDArray[np.float32],
) -> NDArray[np.float32]:
    turning = np.abs(turn_deg) >= 30
    wait = np.zeros(len(junction))
    for word in ("signals", "mini_roundabout", "level_crossing"):
        wait[is_word(nodes, "control", word)[junction]] = _value(f"wait_{word}")
    for word in ("stop", "give_way"):
        wait[is_word(nodes, "control", word)[junction] & turning] = _value(f"wait_{word}")
    opened = is_word(nodes, "barrier", "gate", "lift_gate", "swing_gate", "toll_booth")
    wait[opened[junction]] += _value("wait_barrier")
    ferry = is_word(roads, "road_class", "ferry")
    wait[ferry[going // 2] & ~ferry[coming // 2]] += _value("ferry_boarding") * 60
    return wait.astype(np.float32)
