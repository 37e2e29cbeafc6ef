"""What the mapped ways under a line are like: traffic and surface."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

from planner_kit.outings.ride_effort import ride_value
from planner_kit.outings.ride_network import road_character
from planner_kit.region.nearest import mode_mask, projected_roads
from planner_kit.region.projection import to_local

if TYPE_CHECKING:
    from planner_kit.region import Region


def ways_along(region: Region, lat: np.ndarray, lon: np.ndarray, mode: str) -> pd.DataFrame:
    """The way under each point of a line.

    Parameters
    ----------
    region : Region
    lat, lon : ndarray, shape (n,)
        [deg]
    mode : str
        ``bike`` or ``foot``: which ways come into question.

    Returns
    -------
    ways : DataFrame, n rows
        road_id (-1 where no way lies within `track_match_m` of the reference table), traffic
        (none, quiet, some, busy; empty where no way is), unpaved and surface_unknown (bool; a point
        on no way has an unknown surface).
    """
    road = np.full(len(lat), -1)
    if len(region.roads):
        x, y = to_local(region.crs, lon, lat)
        rows = np.flatnonzero(mode_mask(region.roads, mode))
        away = ride_value("track_match_m")
        # Only the ways around the line are looked at: an index of all would take longer.
        lines = projected_roads(region)[rows]
        boxes = shapely.bounds(lines)
        near = (
            (boxes[:, 0] <= x.max() + away)
            & (boxes[:, 2] >= x.min() - away)
            & (boxes[:, 1] <= y.max() + away)
            & (boxes[:, 3] >= y.min() - away)
        )
        rows, lines = rows[near], lines[near]
        if len(rows):
            tree = shapely.STRtree(lines)
            point, way = tree.query_nearest(
                shapely.points(x, y), max_distance=away, all_matches=False
            )
            road[point] = rows[way]
    on = road >= 0
    character = road_character(region.roads.iloc[road[on]], mode)
    traffic = np.full(len(lat), "", dtype=object)
    traffic[on] = character["traffic"].to_numpy()
    paved = character["paved"]
    unpaved, unknown = np.zeros(len(lat), dtype=bool), np.ones(len(lat), dtype=bool)
    unpaved[on] = ~paved.fillna(True).to_numpy(dtype=bool)
    unknown[on] = paved.isna().to_numpy()
    return pd.DataFrame(
        {"road_id": road, "traffic": traffic, "unpaved": unpaved, "surface_unknown": unknown}
    )
