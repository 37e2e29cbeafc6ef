"""Ways from the pitch to places and from place to place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit import tow
from planner_kit.errors import NoRouteError
from planner_kit.reference import constant
from planner_kit.region import nearest_road

if TYPE_CHECKING:
    from planner_kit.region import Region

_WAY = ["minutes", "km"]


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
