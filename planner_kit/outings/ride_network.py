"""The ways that a bicycle or a person on foot may take near a place, and how they feel."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

import numpy as np
import pandas as pd
from scipy.sparse import csr_array
from scipy.sparse.csgraph import connected_components, dijkstra
from scipy.spatial import cKDTree

from planner_kit.errors import PlannerKitError
from planner_kit.outings.ride_effort import ride_value
from planner_kit.reference import read_table
from planner_kit.region import nearest_road

if TYPE_CHECKING:
    from planner_kit.region import Region

_PAVED = frozenset(
    ("asphalt", "concrete", "paved", "paving_stones", "sett", "concrete:plates", "chipseal",
     "concrete:lanes", "metal", "wood", "bricks")
)  # fmt: skip


@dataclass(frozen=True)
class RideNetwork:
    """Ways as arcs between nodes, cut out around a start.

    Attributes
    ----------
    mode : str
        ``bike`` or ``foot``.
    nodes : ndarray of int, shape (n,)
        Rows of the region's nodes.
    start : int
        Where the ride starts, a position in `nodes`.
    start_away_m : float
        From the pitch to the nearest way. [m]
    tail, head : ndarray of int, shape (m,)
        Positions in `nodes`.
    road : ndarray of int, shape (m,)
        Rows of the region's roads.
    forward : ndarray of bool, shape (m,)
    length_m, cost : ndarray of float, shape (m,)
        Length, and length as it feels.
    """

    mode: str
    nodes: np.ndarray
    start: int
    start_away_m: float
    tail: np.ndarray
    head: np.ndarray
    road: np.ndarray
    forward: np.ndarray
    length_m: np.ndarray
    cost: np.ndarray

    def graph(self, weight: np.ndarray) -> csr_array:
        """The arcs as a matrix; its data lie in the order of the arcs."""
        size = len(self.nodes)
        starts = np.searchsorted(self.tail, np.arange(size + 1))
        return csr_array((weight, self.head, starts), shape=(size, size))


def road_character(roads: pd.DataFrame, mode: str) -> pd.DataFrame:
    """How a way feels to a rider or walker.

    Parameters
    ----------
    roads : DataFrame, n rows
        Columns road_class, surface, cycle_route.
    mode : str
        ``bike`` or ``foot``.

    Returns
    -------
    character : DataFrame, n rows, same index
        traffic (none, quiet, some, busy), dislike (0 is a way to enjoy), paved (boolean, NA where
        the surface is not mapped).
    """
    table = read_table("ride_roads").set_index("road_class")
    base = roads["road_class"].astype("str").str.removesuffix("_link")
    unlisted = ~base.isin(table.index)
    base = base.mask(unlisted, "road")
    surface = roads["surface"].astype("str")
    paved = surface.isin(_PAVED).astype("boolean").mask(surface == "unknown")
    dislike = base.map(table[f"dislike_{mode}"].astype(float)).astype(float)
    if mode == "bike":
        signed = roads["cycle_route"].to_numpy(dtype=bool)
        dislike = dislike.where(~signed, dislike * 0.5)
    return pd.DataFrame(
        {"traffic": base.map(table["traffic"]).astype("str"), "dislike": dislike, "paved": paved}
    )


@dataclass(frozen=True)
class _Ways:
    """What a mode finds on each road of a region; all arrays have the length of its roads."""

    begin: np.ndarray
    end: np.ndarray
    forward: np.ndarray
    backward: np.ndarray
    length_m: np.ndarray
    dislike: np.ndarray
    rough: np.ndarray
    busy: np.ndarray


_KEPT: WeakKeyDictionary[Region, dict[str, _Ways]] = WeakKeyDictionary()


def _ways(region: Region, mode: str) -> _Ways:
    """The roads as a mode finds them, kept with the region: a wish moves none of it."""
    kept = _KEPT.setdefault(region, {})
    if mode not in kept:
        roads = region.roads
        character = road_character(roads, mode)
        paved = character["paved"]
        rough = np.where(
            paved.isna(), ride_value("unknown_surface_dislike"),
            np.where(paved.fillna(True), 0.0, ride_value("rough_dislike")),
        )  # fmt: skip
        sides = ("bike_forward", "bike_backward") if mode == "bike" else ("foot", "foot")
        forward, backward = (roads[side].to_numpy(dtype=bool) for side in sides)
        kept[mode] = _Ways(
            begin=roads["from_node"].to_numpy(),
            end=roads["to_node"].to_numpy(),
            forward=forward,
            backward=backward,
            length_m=roads["length_m"].to_numpy(),
            dislike=character["dislike"].to_numpy(),
            rough=rough,
            busy=(character["traffic"] == "busy").to_numpy(),
        )
    return kept[mode]


def ride_network(
    region: Region,
    start: tuple[float, float],
    *,
    mode: str,
    reach_km: float,
    smooth: bool = True,
    busy: bool = False,
) -> RideNetwork:
    """The ways within reach of a start.

    Parameters
    ----------
    region : Region
    start : (lat, lon)
        The pitch. [deg]
    mode : str
        ``bike`` or ``foot``.
    reach_km : float
        Straight-line distance beyond which nothing is looked at. [km]
    smooth : bool
        Whether unpaved ways are liked less.
    busy : bool
        Whether ways beside much traffic may be taken at all.

    Returns
    -------
    network : RideNetwork

    Raises
    ------
    PlannerKitError
        If the mode is not known, or no such way lies near the start.
    """
    if mode not in ("bike", "foot"):
        raise PlannerKitError(f"the mode '{mode}' is not known; use bike or foot.")
    near = nearest_road(region, *start, mode)
    if near.distance_m > 1000 * reach_km:
        raise PlannerKitError(
            f"no way for {mode} lies within {reach_km:.0f} km of {start[0]:.5f}, {start[1]:.5f}; "
            "choose another region or a longer ride."
        )
    nodes, ways = region.nodes, _ways(region, mode)
    away_km = _away_km(nodes["lat"].to_numpy(), nodes["lon"].to_numpy(), (near.lat, near.lon))
    begin, end = ways.begin, ways.end
    home = int(end[near.road_id] if near.fraction_frac > 0.5 else begin[near.road_id])
    open_to = (away_km[begin] <= reach_km) & (away_km[end] <= reach_km) & (begin != end)
    if not busy:
        open_to &= ~ways.busy
    costing = ways.length_m * (1 + ways.dislike + (ways.rough if smooth else 0.0))
    parts, rows_used = [], []
    for forward, allowed in ((True, ways.forward), (False, ways.backward)):
        tails, heads = (begin, end) if forward else (end, begin)
        rows = np.flatnonzero(open_to & allowed)
        rows_used.append(rows)
        parts.append(np.column_stack([tails[rows], heads[rows], rows, np.full(len(rows), forward)]))
    arcs = np.vstack(parts)
    taken = np.concatenate(rows_used)
    costs, lengths = costing[taken], ways.length_m[taken]
    order = np.lexsort((costs, arcs[:, 1], arcs[:, 0]))
    same = (np.diff(arcs[order, :2], axis=0) == 0).all(axis=1)
    order = order[np.concatenate([[True], ~same])] if len(order) else order
    used = np.unique(np.concatenate([arcs[order, :2].ravel(), [home]]))
    net = RideNetwork(
        mode=mode,
        nodes=used,
        start=int(np.searchsorted(used, home)),
        start_away_m=near.distance_m,
        tail=np.searchsorted(used, arcs[order, 0]),
        head=np.searchsorted(used, arcs[order, 1]),
        road=arcs[order, 2],
        forward=arcs[order, 3].astype(bool),
        length_m=lengths[order],
        cost=costs[order],
    )
    return _joined_start(net, 1000 * away_km[used])


def _joined_start(net: RideNetwork, away_m: np.ndarray) -> RideNetwork:
    """The network with its start moved, where the nearest way leads nowhere, to one that does."""
    _, part = connected_components(net.graph(net.cost), connection="strong")
    sizes = np.bincount(part)
    if sizes[part[net.start]] * 2 >= sizes.max():
        return net
    away = np.where(part == sizes.argmax(), away_m, np.inf)
    start = int(np.argmin(away))
    if away[start] > ride_value("start_reach_m"):
        return net
    return replace(net, start=start, start_away_m=net.start_away_m + float(away[start]))


def _away_km(lat: np.ndarray, lon: np.ndarray, start: tuple[float, float]) -> np.ndarray:
    """Straight-line distance, near enough to cut a map out, in km."""
    north = (lat - start[0]) * 111.2
    east = (lon - start[1]) * 111.2 * np.cos(np.radians(start[0]))
    away: np.ndarray = np.hypot(north, east)
    return away


def ways_home_m(
    region: Region,
    start: tuple[float, float],
    mode: str,
    reach_km: float,
    lat: pd.Series,
    lon: pd.Series,
) -> np.ndarray:
    """The shortest way back to a start from each of some points.

    Parameters
    ----------
    region : Region
    start : (lat, lon)
        [deg]
    mode : str
        ``bike`` or ``foot``.
    reach_km : float
        Beyond which nothing is looked at. [km]
    lat, lon : Series, n values
        [deg]

    Returns
    -------
    back_m : ndarray, shape (n,)
        inf for a point with no junction of such ways within `track_match_m`.

    Raises
    ------
    PlannerKitError
        See `ride_network`.
    """
    net = ride_network(region, start, mode=mode, reach_km=reach_km, smooth=False, busy=True)
    if not len(net.tail):
        return np.full(len(lat), np.inf)
    home = dijkstra(net.graph(net.length_m).T.tocsr(), indices=net.start)
    nodes = region.nodes.iloc[net.nodes]
    scale = np.cos(np.radians(start[0]))
    tree = cKDTree(np.column_stack([nodes["lat"], nodes["lon"] * scale]) * 111_200)
    away, node = tree.query(np.column_stack([lat, np.asarray(lon) * scale]) * 111_200)
    back: np.ndarray = np.where(away <= ride_value("track_match_m"), home[node] + away, np.inf)
    return back
