"""The frame of a printed map: which part of the region it shows, and what lies in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely
from pyproj import Geod

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd
    from shapely.geometry import LineString

    from planner_kit.region import Region

_WGS84 = Geod(ellps="WGS84")
INK = "#222222"
Bounds = tuple[float, float, float, float]  # west, south, east, north [deg]


def lines_of(route: LineString | Iterable[LineString] | None) -> list[LineString]:
    """The lines of a route that are not empty."""
    if route is None:
        return []
    lines = [route] if isinstance(route, shapely.Geometry) else list(route)
    return [line for line in lines if not line.is_empty]


def extent(region: Region, lines: list[LineString], points: pd.DataFrame | None) -> Bounds:
    """What holds lines and points with some room, or the whole region, in deg."""
    corners = [np.array(line.bounds) for line in lines]
    if points is not None and len(points):
        known = points[["lon", "lat"]].dropna().to_numpy(dtype=np.float64)
        if len(known):
            corners.append(np.hstack([known.min(axis=0), known.max(axis=0)]))
    if not corners:
        corners = [np.asarray(region.roads.total_bounds, dtype=np.float64)]
    every = np.array(corners)
    west, south = every[:, :2].min(axis=0)
    east, north = every[:, 2:].max(axis=0)
    room = max(east - west, north - south, 0.02) * 0.09
    return west - room, south - room, east + room, north + room


def framed(bounds: Bounds, size_mm: tuple[float, float]) -> Bounds:
    """The bounds widened about their middle to the shape of the paper."""
    west, south, east, north = bounds
    lon, lat = (west + east) / 2, (south + north) / 2
    km_per_lon = _WGS84.inv(lon - 0.05, lat, lon + 0.05, lat)[2] / 1000 / 0.1
    km_per_lat = _WGS84.inv(lon, lat - 0.05, lon, lat + 0.05)[2] / 1000 / 0.1
    width_km, height_km = (east - west) * km_per_lon, (north - south) * km_per_lat
    shape = size_mm[0] / size_mm[1]
    width_km, height_km = max(width_km, height_km * shape), max(height_km, width_km / shape)
    half_lon, half_lat = width_km / km_per_lon / 2, height_km / km_per_lat / 2
    return lon - half_lon, lat - half_lat, lon + half_lon, lat + half_lat


def frame_width_km(frame: Bounds) -> float:
    """The width of a frame along its middle, in km."""
    lat = (frame[1] + frame[3]) / 2
    return float(_WGS84.inv(frame[0], lat, frame[2], lat)[2]) / 1000
