"""A ride or walk over mapped ways described: length, climb, time, traffic, surface, ways home."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely
from pyproj import Geod

from planner_kit.outings.ride_effort import difficulty_for_children, moving_min, ride_value
from planner_kit.outings.ride_network import RideNetwork, road_character

if TYPE_CHECKING:
    from shapely import LineString

    from planner_kit.region import Region

_WGS84 = Geod(ellps="WGS84")


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


def described_ride(
    region: Region,
    net: RideNetwork,
    arcs: np.ndarray,
    back_m: np.ndarray,
    *,
    loop: bool,
    child: bool,
) -> FoundRide:
    """A ride of a network; `back_m` is the shortest way home from each of its nodes."""
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
        "again": again_frac(net, arcs),
    }
    slope = rows["gradient_pct"].to_numpy(float) / 100 * np.where(forward, 1, -1)
    climb = ways_climb_m(region, roads, forward)
    unpaved = ~paved.fillna(False).to_numpy(dtype=bool)
    rough = shares["unpaved"] if shares["surface_unknown"] < 0.5 else np.nan
    difficulty, why = difficulty_for_children(
        whole / 1000, climb, shares["busy"] + shares["some_traffic"], rough, net.mode
    )
    geometry, heads = _line(rows, forward), net.head[arcs]
    nodes = region.nodes.iloc[net.nodes[heads]]
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
        escapes=escape_points(
            np.cumsum(length), back_m[heads], nodes["lat"].to_numpy(), nodes["lon"].to_numpy()
        ),
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


def escape_points(
    along_m: np.ndarray, back_m: np.ndarray, lat: np.ndarray, lon: np.ndarray
) -> pd.DataFrame:
    """Up to three places along a ride from which another way back is much shorter than the rest.

    Parameters
    ----------
    along_m : ndarray, shape (n,)
        From the start along the ride, rising; the last is its length.
    back_m : ndarray, shape (n,)
        The shortest way to the start; inf where none is known.
    lat, lon : ndarray, shape (n,)
        [deg]

    Returns
    -------
    escapes : DataFrame
        km, lat, lon, back_km.
    """
    saves = (along_m[-1] - along_m) - back_m
    least = ride_value("escape_gain_frac") * along_m[-1]
    picked: list[int] = []
    for at in np.argsort(-saves, kind="stable"):
        apart = all(abs(along_m[at] - along_m[other]) >= least for other in picked)
        # Where the way back is the way one came, one simply turns round: that needs no telling.
        another = back_m[at] <= along_m[at] - least / 2
        if np.isfinite(saves[at]) and saves[at] >= least and apart and another:
            picked.append(int(at))
        if len(picked) == 3:
            break
    picked.sort()
    return pd.DataFrame(
        {
            "km": along_m[picked] / 1000,
            "lat": lat[picked],
            "lon": lon[picked],
            "back_km": back_m[picked] / 1000,
        }
    )


def again_frac(net: RideNetwork, arcs: np.ndarray) -> float:
    """Share of the length that is gone over twice."""
    roads, first = np.unique(net.road[arcs], return_index=True)
    once = net.length_m[arcs[first]].sum() if len(roads) else 0.0
    whole = net.length_m[arcs].sum()
    return float(1 - once / whole) if whole > 0 else 0.0


def ways_climb_m(region: Region, roads: np.ndarray, forward: np.ndarray) -> float:
    """Metres climbed along some roads; NaN unless it is known of each."""
    rows = region.roads.iloc[roads]
    up = np.where(forward, rows["climb_m"].to_numpy(float), rows["descent_m"].to_numpy(float))
    return float(up.sum())
