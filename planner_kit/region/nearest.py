"""The road nearest to a position."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from weakref import WeakKeyDictionary

import numpy as np
import shapely

from planner_kit.errors import PlannerKitError
from planner_kit.region.projection import from_local, to_local

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from planner_kit.region.region import Region

MODES = ("car", "tow", "bike", "foot", "any")
_INDEX: WeakKeyDictionary[Region, dict[str, Any]] = WeakKeyDictionary()


@dataclass(frozen=True)
class NearestRoad:
    """Where a position meets the road network.

    Attributes
    ----------
    road_id : int
        Row of the roads table.
    fraction_frac : float
        How far along the road, from 0 at its start to 1 at its end.
    distance_m : float
        From the position to the road. [m]
    lat, lon : float
        The place on the road. [deg]
    """

    road_id: int
    fraction_frac: float
    distance_m: float
    lat: float
    lon: float


def mode_mask(roads: pd.DataFrame, mode: str) -> NDArray[np.bool_]:
    """Which roads a mode may use in at least one direction.

    Parameters
    ----------
    roads : DataFrame
        The roads table.
    mode : str
        ``car``; ``tow`` (a car with a trailer where no sign forbids trailers); ``bike``; ``foot``;
        or ``any``.

    Raises
    ------
    ValueError
        If there is no such mode.
    """
    if mode not in MODES:
        raise ValueError(f"mode is {mode!r}; use one of {', '.join(MODES)}")
    if mode == "any":
        return np.ones(len(roads), dtype=bool)
    if mode == "foot":
        return roads["foot"].to_numpy(dtype=bool)
    base = "bike" if mode == "bike" else "car"
    mask = (roads[f"{base}_forward"] | roads[f"{base}_backward"]).to_numpy(dtype=bool)
    if mode == "tow":
        mask = mask & (roads["trailer_access"] != "no").to_numpy()
    return mask


def projected_roads(region: Region) -> NDArray[Any]:
    """The geometry of all roads in `region.crs`, in metres; kept with the region."""
    kept = _INDEX.setdefault(region, {})
    if "roads" not in kept:
        geometry = region.roads.geometry.to_numpy()
        points, which = shapely.get_coordinates(geometry, return_index=True)
        x, y = to_local(region.crs, points[:, 0], points[:, 1])
        kept["roads"] = shapely.linestrings(np.column_stack([x, y]), indices=which)
    return np.asarray(kept["roads"], dtype=object)


def nearest_road(region: Region, lat: float, lon: float, mode: str = "car") -> NearestRoad:
    """The road nearest to a position that a mode may use.

    Parameters
    ----------
    region : Region
    lat, lon : float
        WGS 84. [deg]
    mode : str
        One of `MODES`.

    Returns
    -------
    nearest : NearestRoad

    Raises
    ------
    PlannerKitError
        If the region has no road for the mode, or the position is not a number.
    ValueError
        If there is no such mode.
    """
    if not (np.isfinite(lat) and np.isfinite(lon)):
        raise PlannerKitError(f"the position {lat}, {lon} is not one; give degrees lat, lon.")
    geometry = projected_roads(region)
    kept = _INDEX[region]
    if mode not in kept:
        rows = np.flatnonzero(mode_mask(region.roads, mode))
        kept[mode] = rows, shapely.STRtree(geometry[rows])
    rows, tree = kept[mode]
    if not len(rows):
        raise PlannerKitError(f"{region.name} has no road for {mode}; choose another region.")
    x, y = to_local(region.crs, np.array([lon]), np.array([lat]))
    point = shapely.Point(x[0], y[0])
    road = int(rows[tree.nearest(point)])
    line = geometry[road]
    along = shapely.line_locate_point(line, point)
    on_road = shapely.line_interpolate_point(line, along)
    road_lon, road_lat = from_local(region.crs, on_road.x, on_road.y)
    length = shapely.length(line)
    return NearestRoad(
        road_id=road,
        fraction_frac=float(along / length) if length > 0 else 0.0,
        distance_m=float(shapely.distance(line, point)),
        lat=road_lat,
        lon=road_lon,
    )
