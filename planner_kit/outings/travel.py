"""Ways from the pitch to places, by car or, where near, on foot or by bicycle; and between them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from pyproj import Geod
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import cKDTree

from planner_kit import tow
from planner_kit.errors import NoRouteError, PlannerKitError
from planner_kit.outings.ride_effort import stretch_min
from planner_kit.outings.ride_network import ride_network, road_character
from planner_kit.reference import constant
from planner_kit.region import nearest_road

if TYPE_CHECKING:
    from planner_kit.region import Region

_WAY = ["minutes", "km"]
_WGS84 = Geod(ellps="WGS84")
CAR, FOOT, BIKE = "car", "foot", "bike"


@dataclass(frozen=True)
class Between:
    """Drives between places, without the margin.

    Attributes
    ----------
    minutes, km : DataFrame
        Square, rows and columns by attraction_id; NaN where no way is known.
    """

    minutes: pd.DataFrame
    km: pd.DataFrame


def drives_to(
    places: pd.DataFrame, region: Region, near: tuple[float, float], drives: pd.DataFrame | None
) -> pd.DataFrame:
    """Minutes and km one way, aligned with `places`, and minutes on foot at the end.

    NaN where there is no way or no position. A place off the road is driven to at the nearest
    road and walked to from there.
    """
    if drives is not None:
        known = drives[["minutes", "km"]].reindex(places["attraction_id"])
        return known.set_axis(places.index).assign(walk_min=0.0)
    found = pd.DataFrame({"minutes": np.nan, "km": np.nan, "walk_min": 0.0}, index=places.index)
    placed = places[["lat", "lon"]].dropna()
    if len(placed):
        try:
            found.loc[placed.index, _WAY] = tow.drive_times(region, near, placed)[_WAY]
            on_foot = _road_ends(region, placed[found.loc[placed.index, "km"].isna()])
            if len(on_foot):
                found.loc[on_foot.index, _WAY] = tow.drive_times(region, near, on_foot)[_WAY]
                found.loc[on_foot.index, "walk_min"] = on_foot["walk_min"]
        except NoRouteError:  # the pitch is far from any mapped road: every drive stays unknown
            return found
    return found


def drives_between(region: Region, ranking: pd.DataFrame) -> Between:
    """Drives from place to place among the best of a ranking.

    Parameters
    ----------
    region : Region
    ranking : DataFrame, best first
        attraction_id, lat, lon, drive_min.

    Returns
    -------
    between : Between
        Of the best `places_weighed` places (reference table) that can be driven to; NaN for those
        off the road, whose ways are then reckoned by the pitch.
    """
    most = int(float(constant("outing_constants", "places_weighed")))
    placed = ranking[ranking["drive_min"].notna()].head(most)
    placed = placed.set_index(placed["attraction_id"].astype("str"))[["lat", "lon"]]
    rows = {}
    for key, lat, lon in placed.itertuples():
        try:
            rows[key] = tow.drive_times(region, (float(lat), float(lon)), placed)
        except NoRouteError:  # off the road
            rows[key] = pd.DataFrame(np.nan, index=placed.index, columns=_WAY)
    minutes, km = (
        pd.DataFrame({key: one[name] for key, one in rows.items()}, dtype=float).T for name in _WAY
    )
    return Between(minutes, km)


def _road_ends(region: Region, placed: pd.DataFrame) -> pd.DataFrame:
    """Where the nearest road to each place is (lat, lon), and the walk from there (walk_min)."""
    reach, detour, speed = (
        float(constant("outing_constants", name))
        for name in ("walk_reach_km", "walk_detour_frac", "walk_kmh")
    )
    rows = {}
    for row, lat, lon in placed[["lat", "lon"]].itertuples():
        road = nearest_road(region, float(lat), float(lon), "car")
        away_km = road.distance_m / 1000
        if away_km <= reach:
            rows[row] = (road.lat, road.lon, away_km * (1 + detour) / speed * 60)
    return pd.DataFrame.from_dict(rows, orient="index", columns=["lat", "lon", "walk_min"])


def ways_to(
    places: pd.DataFrame,
    region: Region,
    near: tuple[float, float],
    *,
    walk_reach_km: float,
    cycle_reach_km: float,
    child: bool,
) -> pd.DataFrame:
    """How the party gets to each place, and how long one way takes.

    Parameters
    ----------
    places : DataFrame, n rows
        lat, lon, drive_min, drive_km, walk_min.
    region : Region
    near : (lat, lon)
        The pitch. [deg]
    walk_reach_km, cycle_reach_km : float
        Along the ways, how far the household walks or cycles instead of driving; 0 for not at all.
    child : bool
        Whether a child sets the pace.

    Returns
    -------
    ways : DataFrame, n rows, same index
        by (``foot``, ``bike`` or ``car``), travel_min and travel_km (one way, to the place itself;
        NaN where no way is known). Walking goes before cycling, and both before the car.
    """
    found = pd.DataFrame(
        {
            "by": CAR,
            "travel_min": places["drive_min"] + places["walk_min"],
            "travel_km": places["drive_km"],
        },
        index=places.index,
    )
    for mode, reach_km in ((BIKE, cycle_reach_km), (FOOT, walk_reach_km)):
        if reach_km > 0:
            way = _own_power(places, region, near, mode, reach_km, child)
            found.loc[way.index, ["travel_min", "travel_km"]] = way[_WAY].to_numpy()
            found.loc[way.index, "by"] = mode
    return found


def _own_power(
    places: pd.DataFrame,
    region: Region,
    near: tuple[float, float],
    mode: str,
    reach_km: float,
    child: bool,
) -> pd.DataFrame:
    """The places within reach on foot or by bicycle over ways without much traffic."""
    nothing = pd.DataFrame(columns=_WAY, dtype=float)
    try:
        net = ride_network(region, near, mode=mode, reach_km=reach_km, smooth=False)
    except PlannerKitError:  # no such way is near: the car it is
        return nothing
    if not len(net.tail) or net.start_away_m > 1000 * reach_km:
        return nothing
    rows = region.roads.iloc[net.road]
    slope = rows["gradient_pct"].to_numpy(dtype=float) / 100 * np.where(net.forward, 1, -1)
    unpaved = ~road_character(rows, mode)["paved"].fillna(False).to_numpy(dtype=bool)
    minutes = stretch_min(net.length_m, slope, unpaved, mode, child=child)
    most_m = 1000 * reach_km - net.start_away_m
    metres = dijkstra(net.graph(net.length_m), indices=net.start, limit=max(most_m, 0.0))
    time = dijkstra(net.graph(np.maximum(minutes, 1e-6)), indices=net.start)
    lat, lon = (places[name].to_numpy(dtype=float) for name in ("lat", "lon"))
    placed = np.flatnonzero(np.isfinite(lat) & np.isfinite(lon))
    nodes = region.nodes.iloc[net.nodes]
    scale = np.cos(np.radians(near[0]))
    tree = cKDTree(np.column_stack([nodes["lat"], nodes["lon"] * scale]))
    if not len(placed):
        return nothing
    _, node = tree.query(np.column_stack([lat[placed], lon[placed] * scale]))
    away_m = _WGS84.inv(
        lon[placed], lat[placed], nodes["lon"].to_numpy()[node], nodes["lat"].to_numpy()[node]
    )[2]
    detour = 1 + float(constant("outing_constants", "walk_detour_frac"))
    on_foot_m = detour * (away_m + net.start_away_m)
    walk_kmh = float(constant("outing_constants", "walk_kmh"))
    km = (metres[node] + on_foot_m) / 1000
    within = np.isfinite(km) & (km <= reach_km)
    whole_min = time[node] + on_foot_m / 1000 / walk_kmh * 60
    return pd.DataFrame(
        {"minutes": whole_min[within], "km": km[within]}, index=places.index[placed[within]]
    )
