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
        self._around = lru_cache(maxsize=1024)(self._find_around)
        self._beside = lru_cache(maxsize=8)(self._find_beside)

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
        point, places, away = self._around(lat, lon, within_m)
        if usable is not None:
            open_ = usable[self.road_id[places]]
            places, away = places[open_], away[open_]
        places = places[:most]
        frac = shapely.line_locate_point(self.lines[places], point, normalized=True)
        return [
            RoadEnd(int(self.road_id[p]), min(max(f, 0.0), 1.0), a)
            for p, f, a in zip(places.tolist(), frac.tolist(), away[:most].tolist(), strict=True)
        ]

    def _find_around(
        self, lat: float, lon: float, within_m: float
    ) -> tuple[shapely.Point, NDArray[np.int64], NDArray[np.float64]]:
        """A place in metres, the rows of `lines` around it, nearest first, and how far each is."""
        point = self.local(lat, lon)
        places = self.tree.query(point, predicate="dwithin", distance=within_m)
        away = shapely.distance(self.lines[places], point)
        first = np.argsort(away, kind="stable")
        return point, places[first], away[first]

    def beside(
        self,
        lat: NDArray[np.float64],
        lon: NDArray[np.float64],
        *,
        within_m: float,
        beyond_m: float,
    ) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
        """The roads beside many places at once; the answer for the same places is kept.

        Parameters
        ----------
        lat, lon : ndarray, shape (n,)
            WGS 84; NaN where a place has no position. [deg]
        within_m : float
            How far to look for the nearest road. [m]
        beyond_m : float
            How much farther than the nearest a road may be. [m]

        Returns
        -------
        place : ndarray of int64
            Row of `lat`, in order.
        road : ndarray of int64
            Row of the region's roads; for each place the nearest comes first.
        frac : ndarray
            Share of the road's length from its beginning, 0 to 1.
        """
        whole = np.stack([lat, lon]).astype(np.float64)
        return self._beside(whole.tobytes(), within_m, beyond_m)

    def _find_beside(
        self, position: bytes, within_m: float, beyond_m: float
    ) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
        lat, lon = np.frombuffer(position).reshape(2, -1)
        asked = np.flatnonzero(np.isfinite(lat) & np.isfinite(lon))
        points = shapely.points(*self._metres.transform(lon[asked], lat[asked]))
        (row, _), least = self.tree.query_nearest(
            points, max_distance=within_m, return_distance=True, all_matches=False
        )
        row, least = row[first := np.argsort(row)], least[first]
        near = points[row]
        place, line = self.tree.query(near, predicate="dwithin", distance=least + beyond_m)
        away = shapely.distance(self.lines[line], near[place])
        order = np.lexsort((line, away, place))
        place, line = place[order], line[order]
        frac = shapely.line_locate_point(self.lines[line], near[place], normalized=True)
        return asked[row][place], self.road_id[line], np.clip(frac, 0, 1)

    def nearest_m(self, lat: float, lon: float) -> float:
        """How far the nearest road is; inf where there is none [m]."""
        _, away = self.tree.query_nearest(self.local(lat, lon), return_distance=True)
        return float(away[0]) if len(away) else float("inf")
