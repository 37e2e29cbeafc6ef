"""Where near a pitch a mast is heard better: a small raster and the roads near by."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import shapely
from pyproj import Geod

from planner_kit.pitch.cover import cover_of
from planner_kit.pitch.masts import compass_point
from planner_kit.pitch.signal_path import signal_paths

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner_kit.pitch.signals import SignalSurvey
    from planner_kit.region import Region

_WGS84 = Geod(ellps="WGS84")
# A gain below this is lost in the spread from place to place. [dB]
_WORTH_DB = 3.0
_NEARLY_FRAC = 0.7
_COLUMNS = ("lat", "lon", "distance_m", "bearing_deg", "gain_db", "on_road")


def surroundings(
    lat: float,
    lon: float,
    mast: tuple[float, float],
    survey: SignalSurvey,
    path: int,
    region: Region,
    *,
    reach_m: float = 600.0,
    step_m: float = 100.0,
) -> pd.DataFrame:
    """How much better or worse a mast is heard around a pitch.

    Parameters
    ----------
    lat, lon : float
        The pitch, WGS 84. [deg]
    mast : tuple of float
        lat and lon of the mast. [deg]
    survey : SignalSurvey
        With the path from that mast to the pitch.
    path : int
        Its number in the survey.
    region : Region
    reach_m, step_m : float
        Half the side of the raster and its spacing. [m]

    Returns
    -------
    places : DataFrame
        lat, lon, distance_m, bearing_deg, gain_db (over the pitch; NaN where not known) and
        on_road; the raster first, then points along roads.
    """
    paths = survey.paths
    if paths is None or region.terrain is None:
        return pd.DataFrame(
            columns=["lat", "lon", "distance_m", "bearing_deg", "gain_db", "on_road"]
        )
    north = 1 / 111_000.0
    east = north / float(np.cos(np.radians(lat)))
    offset = np.arange(-reach_m, reach_m + 1, step_m)
    grid_x, grid_y = (part.ravel() for part in np.meshgrid(offset, offset))
    lats, lons = lat + grid_y * north, lon + grid_x * east
    road = _road_points(region, lat, lon, reach_m * north, reach_m * east, step_m * north)
    all_lat, all_lon = np.append(lats, road[:, 1]), np.append(lons, road[:, 0])
    n = len(all_lat)
    there = signal_paths(
        (all_lat, all_lon), mast, np.full(n, paths.place_m[path]), np.full(n, paths.mast_m[path]),
        np.full(n, paths.frequency_mhz[path]),
        np.full(n, survey.table["polarisation"].iloc[path] == "vertical"),
        region.terrain, cover_of(region), step_m=100.0, most_points=400,
    )  # fmt: skip
    bearing, _, away = _WGS84.inv(np.full(n, lon), np.full(n, lat), all_lon, all_lat)
    return pd.DataFrame(
        {
            "lat": all_lat,
            "lon": all_lon,
            "distance_m": np.asarray(away),
            "bearing_deg": np.asarray(bearing) % 360,
            "gain_db": paths.loss_db[path] - there.loss_db,
            "on_road": np.arange(n) >= len(lats),
        }
    )


def better_words(places: pd.DataFrame) -> str:
    """Where it gets better, in a sentence; empty when nothing near is better or known."""
    told = []
    for on_road, words in ((False, "foot"), (True, "a road")):
        part = places[places["on_road"] == on_road].dropna(subset=["gain_db"])
        part = part[part["gain_db"] >= _WORTH_DB]
        if part.empty:
            continue
        # Nearly as good and nearer is better than best and far.
        good = part[part["gain_db"] >= _NEARLY_FRAC * part["gain_db"].max()]
        best: Any = good.sort_values("distance_m").iloc[0]
        told.append(
            f"on {words} {round(best['distance_m'], -1):.0f} m to the "
            f"{compass_point(float(best['bearing_deg']))} by about {best['gain_db']:.0f} dB"
        )
    return f"It should get better {' and '.join(told)}." if told else ""


def _road_points(
    region: Region, lat: float, lon: float, high_deg: float, wide_deg: float, step_deg: float
) -> NDArray[np.float64]:
    """Positions (lon, lat) along the roads of a small window, shape (n, 2)."""
    roads = region.roads
    window = shapely.box(lon - wide_deg, lat - high_deg, lon + wide_deg, lat + high_deg)
    near = roads.geometry.iloc[roads.sindex.query(window, predicate="intersects")]
    clipped = shapely.intersection(near.to_numpy(), window)
    points: NDArray[np.float64] = shapely.get_coordinates(shapely.segmentize(clipped, step_deg))
    return points[:400]
