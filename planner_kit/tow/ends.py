"""Where a start, an end or a point on the way meets the roads."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import shapely
from pyproj import Transformer

from planner_kit.region.projection import local_crs
from planner_kit.tow.limits import is_word

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray


@dataclass(frozen=True)
class RoadEnd:
    """A point on a road beside which a place lies.

    Attributes
    ----------
    road : int
        Row of the region's roads.
    frac : float
        Share of the road's length from its beginning, 0 to 1.
    away_m : float
        From the place to the road. [m]
    """

    road: int
    frac: float
    away_m: float


class RoadIndex:
    """The roads that a car may drive on, by place.

    Parameters
    ----------
    roads, nodes : DataFrame
        The region's tables.
    """

    def __init__(self, roads: pd.DataFrame, nodes: pd.DataFrame) -> None:
        drivable = roads["car_forward"].to_numpy(bool) | roads["car_backward"].to_numpy(bool)
        drivable &= ~is_word(roads, "road_class", "ferry")
        self.road_id = np.flatnonzero(drivable)
        lat, lon = nodes["lat"].to_numpy(float), nodes["lon"].to_numpy(float)
        bounds = (lon.min(), lat.min(), lon.max(), lat.max()) if len(lat) else (0, 0, 0, 0)
        # Made once: making it costs more than a search.
        self._metres = Transformer.from_crs(4326, local_crs(bounds), always_xy=True)
        lines = np.asarray(roads["geometry"].array, dtype=object)[self.road_id]
        self.lines = shapely.transform(
            lines, lambda xy: np.stack(self._metres.transform(xy[:, 0], xy[:, 1]), axis=1)
        )
        self.tree = shapely.STRtree(self.lines)
        self._nearest = lru_cache(maxsize=256)(self._near_any)

    def local(self, lat: float, lon: float) -> shapely.Point:
        """A position in metres [m]."""
        return shapely.Point(*self._metres.transform(lon, lat))

    def near(
        self,
        lat: float,
        lon: float,
        *,
        within_m: float,
        usable: NDArray[np.bool_] | None = None,
        most: int = 1,
    ) -> list[RoadEnd]:
        """The roads near a place, nearest first.

        Parameters
        ----------
        lat, lon : float
            WGS 84. [deg]
        within_m : float
            How far to look. [m]
        usable : ndarray of bool, shape (roads,), optional
            Roads that may be taken.
        most : int
            How many to give.
        """
        if usable is None:
            return list(self._nearest(lat, lon, within_m, most))
        return self._near(lat, lon, within_m, usable, most)

    def _near_any(self, lat: float, lon: float, within_m: float, most: int) -> list[RoadEnd]:
        return self._near(lat, lon, within_m, None, most)

    def _near(
        self,
        lat: float,
        lon: float,
        within_m: float,
        usable: NDArray[np.bool_] | None,
        most: int,
    ) -> list[RoadEnd]:
        point = self.local(lat, lon)
        places = self.tree.query(point, predicate="dwithin", distance=within_m)
        if usable is not None:
            places = places[usable[self.road_id[places]]]
        away = shapely.distance(self.lines[places], point)
        first = np.argsort(away, kind="stable")[:most]
        places, away = places[first], away[first]
        frac = shapely.line_locate_point(self.lines[places], point, normalized=True)
        return [
            RoadEnd(int(self.road_id[p]), float(np.clip(f, 0, 1)), float(a))
            for p, f, a in zip(places, frac, away, strict=True)
        ]

    def nearest_m(self, lat: float, lon: float) -> float:
        """How far the nearest road is; inf where there is none [m]."""
        _, away = self.tree.query_nearest(self.local(lat, lon), return_distance=True)
        return float(away[0]) if len(away) else float("inf")
