"""Loops and there-and-backs near a pitch, by length and climb, over ways fit for the party."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from scipy.sparse.csgraph import dijkstra

from planner_kit.errors import PlannerKitError
from planner_kit.outings.found_ride import FoundRide, again_frac, described_ride, ways_climb_m
from planner_kit.outings.ride_effort import ride_value
from planner_kit.outings.ride_network import RideNetwork, ride_network

if TYPE_CHECKING:
    from collections.abc import Iterator

    from planner_kit.region import Region

_SHARED_FRAC = 0.6


def find_rides(
    region: Region,
    start: tuple[float, float],
    *,
    length_km: float,
    mode: str = "bike",
    climb_m: float | None = None,
    loop: bool = True,
    smooth: bool = True,
    busy: bool = False,
    child: bool = True,
    most: int = 3,
) -> tuple[FoundRide, ...]:
    """Rides or walks from a pitch and back, best first.

    Parameters
    ----------
    region : Region
    start : (lat, lon)
        The pitch. [deg]
    length_km : float
        Wished for. [km]
    mode : str
        ``bike`` or ``foot``.
    climb_m : float, optional
        Most that is wished for; None if it does not matter. [m]
    loop : bool
        A loop; otherwise there and back on the same way.
    smooth : bool
        Whether unpaved ways are liked less.
    busy : bool
        Whether ways beside much traffic may be taken at all.
    child : bool
        Whether a child sets the pace.
    most : int
        How many to give; each goes mostly over other ways than those before it.

    Returns
    -------
    rides : tuple of FoundRide
        Empty where the ways near the pitch hold none within a third of the length.

    Raises
    ------
    PlannerKitError
        If the length is not above 0, the mode is not known, or no way is near.

    Notes
    -----
    The way out to a turning point is the most pleasant one; the way back is the most pleasant one
    when all that was ridden is liked `used_again_dislike` times less.
    """
    if not (np.isfinite(length_km) and 0 < length_km <= 200):
        raise PlannerKitError(f"the length {length_km} km will not do; use 1 to 200 km.")
    net = ride_network(region, start, mode=mode, reach_km=length_km / 2, smooth=smooth, busy=busy)
    if not len(net.tail):
        return ()
    made = sorted(
        _candidates(region, net, 1000 * length_km, loop=loop),
        key=lambda arcs: _displeasure(region, net, arcs, 1000 * length_km, climb_m),
    )
    chosen: list[np.ndarray] = []
    for arcs in made:
        if all(_shared(net, arcs, other) <= _SHARED_FRAC for other in chosen):
            chosen.append(arcs)
        if len(chosen) == most:
            break
    back_m = dijkstra(net.graph(net.length_m).T.tocsr(), indices=net.start)
    return tuple(
        described_ride(region, net, arcs, back_m, loop=loop, child=child) for arcs in chosen
    )


def _candidates(
    region: Region, net: RideNetwork, target_m: float, *, loop: bool
) -> Iterator[np.ndarray]:
    """Closed ways of about the length, as arcs in order."""
    graph = net.graph(net.cost)
    cost, before = dijkstra(graph, indices=net.start, return_predecessors=True)
    arc_of = _arc_index(net)
    out_m = _length_along(net, cost, before, arc_of)
    for turn in _turning_points(region, net, cost, out_m, target_m, loop=loop):
        out = _path(before, arc_of, net.start, turn, len(net.nodes))
        if loop:
            back = _way_back(net, out, turn, arc_of)
        else:
            back = _same_way(net, out, arc_of)
        if back is None or not len(out):
            continue
        arcs = np.concatenate([out, back])
        again = again_frac(net, arcs)
        off = abs(net.length_m[arcs].sum() - target_m) / target_m
        if off <= 1 / 3 and (not loop or again <= ride_value("most_again_frac")):
            yield arcs


def _turning_points(
    region: Region,
    net: RideNetwork,
    cost: np.ndarray,
    out_m: np.ndarray,
    target_m: float,
    *,
    loop: bool,
) -> list[int]:
    """Nodes about half-way (nearer for a loop, whose way back is longer), in all directions."""
    count = int(ride_value("turning_points"))
    aims = (0.36, 0.45) if loop else (0.5,)
    nodes = region.nodes.iloc[net.nodes]
    north = nodes["lat"].to_numpy() - nodes["lat"].iloc[net.start]
    east = (nodes["lon"].to_numpy() - nodes["lon"].iloc[net.start]) * np.cos(
        np.radians(nodes["lat"].iloc[net.start])
    )
    sector = ((np.degrees(np.arctan2(east, north)) % 360) // (360 * len(aims) / count)).astype(int)
    found: dict[int, None] = {}
    for aim in aims:
        off = np.abs(out_m - aim * target_m)
        usable = np.isfinite(cost) & (off <= 0.12 * target_m)
        # Of those at about the right distance, the one that the most pleasant way leads to.
        rank = np.full(len(cost), np.inf)
        rank[usable] = cost[usable] / out_m[usable] + 3 * off[usable] / target_m
        for one in np.unique(sector[usable]):
            inside = np.flatnonzero(usable & (sector == one))
            found[int(inside[np.argmin(rank[inside])])] = None
    return list(found)


def _arc_index(net: RideNetwork) -> dict[tuple[int, int], int]:
    pairs = zip(net.tail.tolist(), net.head.tolist(), strict=True)
    return {pair: arc for arc, pair in enumerate(pairs)}


def _length_along(
    net: RideNetwork,
    cost: np.ndarray,
    before: np.ndarray,
    arc_of: dict[tuple[int, int], int],
) -> np.ndarray:
    """Metres of the most pleasant way to each node."""
    metres = np.full(len(net.nodes), np.inf)
    metres[net.start] = 0.0
    for node in np.argsort(cost, kind="stable").tolist():
        parent = int(before[node])
        if parent >= 0:
            metres[node] = metres[parent] + net.length_m[arc_of[parent, node]]
    return metres


def _path(
    before: np.ndarray,
    arc_of: dict[tuple[int, int], int],
    start: int,
    end: int,
    size: int,
) -> np.ndarray:
    arcs: list[int] = []
    node = end
    while node != start:
        parent = int(before[node])
        if parent < 0 or len(arcs) > size:
            return np.zeros(0, dtype=int)
        arcs.append(arc_of[parent, node])
        node = parent
    return np.array(arcs[::-1], dtype=int)


def _way_back(
    net: RideNetwork, out: np.ndarray, turn: int, arc_of: dict[tuple[int, int], int]
) -> np.ndarray | None:
    used = np.isin(net.road, net.road[out])
    graph = net.graph(net.cost * np.where(used, ride_value("used_again_dislike"), 1.0))
    _, before = dijkstra(graph, indices=turn, return_predecessors=True)
    back = _path(before, arc_of, turn, net.start, len(net.nodes))
    return back if len(back) else None


def _same_way(
    net: RideNetwork, out: np.ndarray, arc_of: dict[tuple[int, int], int]
) -> np.ndarray | None:
    """The way back over the same ways, None where one of them is one-way."""
    back = []
    for arc in out[::-1]:
        other = arc_of.get((int(net.head[arc]), int(net.tail[arc])))
        if other is None:
            return None
        back.append(other)
    return np.array(back, dtype=int)


def _shared(net: RideNetwork, arcs: np.ndarray, other: np.ndarray) -> float:
    length = net.length_m[arcs]
    return float(length[np.isin(net.road[arcs], net.road[other])].sum() / length.sum())


def _displeasure(
    region: Region, net: RideNetwork, arcs: np.ndarray, target_m: float, climb_m: float | None
) -> float:
    length = net.length_m[arcs].sum()
    bad = abs(length - target_m) / target_m + 0.3 * (net.cost[arcs].sum() / length - 1)
    if climb_m is not None:
        climb = ways_climb_m(region, net.road[arcs], net.forward[arcs])
        bad += 0.5 if np.isnan(climb) else max(climb - climb_m, 0.0) / max(climb_m, 20.0)
    return float(bad + again_frac(net, arcs))
