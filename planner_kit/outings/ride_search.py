"""Loops and there-and-backs near a pitch, by length and climb, over ways fit for the party."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely
from pyproj import Geod
from scipy.sparse.csgraph import dijkstra

from planner_kit.errors import PlannerKitError
from planner_kit.outings.ride_effort import difficulty_for_children, moving_min, ride_value
from planner_kit.outings.ride_network import RideNetwork, ride_network, road_character

if TYPE_CHECKING:
    from collections.abc import Iterator

    from shapely import LineString

    from planner_kit.region import Region

_WGS84 = Geod(ellps="WGS84")
_SHARED_FRAC = 0.6


@dataclass(frozen=True)
class FoundRide:
    """A ride or walk over mapped ways that ends where it starts.

    Attributes
    ----------
    kind : str
        ``loop`` or ``there and back``.
    mode : str
        ``bike`` or ``foot``.
    road_ids : ndarray of int, shape (n,)
        Rows of the region's roads, in order.
    forward : ndarray of bool, shape (n,)
        Whether each is taken in the direction of its geometry.
    geometry : LineString
        EPSG:4326 (lon, lat).
    length_km, climb_m : float
        climb_m is NaN unless the climb of every way is known.
    time_min : float
        In motion, at the pace of the slowest.
    shares : dict of str to float
        Of the length: traffic_free, quiet, some_traffic, busy, unpaved, surface_unknown, again
        (gone over twice). 0 to 1.
    difficulty, why : str
        For children; see `difficulty_for_children`.
    escapes : DataFrame
        km (along the ride), lat, lon, back_km (the shortest way home from there).
    profile : DataFrame
        km, height_m (NaN where the terrain is not known).
    start_away_m : float
        From the pitch to the nearest way.
    """

    kind: str
    mode: str
    road_ids: np.ndarray
    forward: np.ndarray
    geometry: LineString
    length_km: float
    climb_m: float
    time_min: float
    shares: dict[str, float]
    difficulty: str
    why: str
    escapes: pd.DataFrame
    profile: pd.DataFrame
    start_away_m: float


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
    return tuple(_described(region, net, arcs, back_m, loop=loop, child=child) for arcs in chosen)


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
        again = _again_frac(net, arcs)
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


def _again_frac(net: RideNetwork, arcs: np.ndarray) -> float:
    roads, first = np.unique(net.road[arcs], return_index=True)
    once = net.length_m[arcs[first]].sum() if len(roads) else 0.0
    whole = net.length_m[arcs].sum()
    return float(1 - once / whole) if whole > 0 else 0.0


def _shared(net: RideNetwork, arcs: np.ndarray, other: np.ndarray) -> float:
    length = net.length_m[arcs]
    return float(length[np.isin(net.road[arcs], net.road[other])].sum() / length.sum())


def _displeasure(
    region: Region, net: RideNetwork, arcs: np.ndarray, target_m: float, climb_m: float | None
) -> float:
    length = net.length_m[arcs].sum()
    bad = abs(length - target_m) / target_m + 0.3 * (net.cost[arcs].sum() / length - 1)
    if climb_m is not None:
        climb = _climb_m(region, net.road[arcs], net.forward[arcs])
        bad += 0.5 if np.isnan(climb) else max(climb - climb_m, 0.0) / max(climb_m, 20.0)
    return float(bad + _again_frac(net, arcs))


def _climb_m(region: Region, roads: np.ndarray, forward: np.ndarray) -> float:
    rows = region.roads.iloc[roads]
    up = np.where(forward, rows["climb_m"].to_numpy(float), rows["descent_m"].to_numpy(float))
    return float(up.sum())


def _described(
    region: Region,
    net: RideNetwork,
    arcs: np.ndarray,
    back_m: np.ndarray,
    *,
    loop: bool,
    child: bool,
) -> FoundRide:
    roads, forward, length = net.road[arcs], net.forward[arcs], net.length_m[arcs]
    rows = region.roads.iloc[roads]
    character = road_character(rows, net.mode)
    whole = float(length.sum())

    def share(mask: pd.Series) -> float:
        return float(length[mask.to_numpy(dtype=bool)].sum() / whole)

    paved = character["paved"]
    shares = {
        "traffic_free": share(character["traffic"] == "none"),
        "quiet": share(character["traffic"] == "quiet"),
        "some_traffic": share(character["traffic"] == "some"),
        "busy": share(character["traffic"] == "busy"),
        "unpaved": share(~paved.fillna(True)),
        "surface_unknown": share(paved.isna()),
        "again": _again_frac(net, arcs),
    }
    slope = rows["gradient_pct"].to_numpy(float) / 100 * np.where(forward, 1, -1)
    climb = _climb_m(region, roads, forward)
    unpaved = ~paved.fillna(False).to_numpy(dtype=bool)
    rough = shares["unpaved"] if shares["surface_unknown"] < 0.5 else np.nan
    difficulty, why = difficulty_for_children(
        whole / 1000, climb, shares["busy"] + shares["some_traffic"], rough, net.mode
    )
    geometry = _line(rows, forward)
    return FoundRide(
        kind="loop" if loop else "there and back",
        mode=net.mode,
        road_ids=roads,
        forward=forward,
        geometry=geometry,
        length_km=whole / 1000,
        climb_m=climb,
        time_min=moving_min(length, slope, unpaved, net.mode, child=child),
        shares=shares,
        difficulty=difficulty,
        why=why,
        escapes=_escapes(region, net, arcs, back_m),
        profile=ride_profile(region, geometry),
        start_away_m=net.start_away_m,
    )


def _line(rows: pd.DataFrame, forward: np.ndarray) -> LineString:
    parts: list[np.ndarray] = []
    for shape, ahead in zip(rows.geometry, forward, strict=True):
        points = shapely.get_coordinates(shape)
        points = points if ahead else points[::-1]
        parts.append(points if not parts else points[1:])
    return shapely.LineString(np.concatenate(parts))


def ride_profile(region: Region, line: LineString, *, step_m: float = 50.0) -> pd.DataFrame:
    """Heights along a line from the region's terrain.

    Parameters
    ----------
    region : Region
    line : LineString
        EPSG:4326 (lon, lat).
    step_m : float

    Returns
    -------
    profile : DataFrame
        km, height_m (NaN where the terrain is not known), lat, lon.
    """
    points = shapely.get_coordinates(line)
    legs = _WGS84.inv(points[:-1, 0], points[:-1, 1], points[1:, 0], points[1:, 1])[2]
    along = np.concatenate([[0.0], np.cumsum(legs)])
    at = np.linspace(0, along[-1], max(int(along[-1] / step_m), 1) + 1)
    lon, lat = np.interp(at, along, points[:, 0]), np.interp(at, along, points[:, 1])
    terrain = region.terrain
    height = np.full(len(at), np.nan) if terrain is None else terrain.heights_m(lon, lat)
    return pd.DataFrame({"km": at / 1000, "height_m": height, "lat": lat, "lon": lon})


def _escapes(
    region: Region, net: RideNetwork, arcs: np.ndarray, back_m: np.ndarray
) -> pd.DataFrame:
    """Up to three places along the ride from which the way home is much shorter than the ride."""
    along = np.cumsum(net.length_m[arcs])
    heads = net.head[arcs]
    saves = (along[-1] - along) - back_m[heads]
    least = ride_value("escape_gain_frac") * along[-1]
    picked: list[int] = []
    for at in np.argsort(-saves, kind="stable"):
        apart = all(abs(along[at] - along[other]) >= least for other in picked)
        if np.isfinite(saves[at]) and saves[at] >= least and apart:
            picked.append(int(at))
        if len(picked) == 3:
            break
    picked.sort()
    nodes = region.nodes.iloc[net.nodes[heads[picked]]]
    return pd.DataFrame(
        {
            "km": along[picked] / 1000,
            "lat": nodes["lat"].to_numpy(),
            "lon": nodes["lon"].to_numpy(),
            "back_km": back_m[heads[picked]] / 1000,
        }
    )
