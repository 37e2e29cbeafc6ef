"""A track of a GPX file as a line with its heights, and what its shape and heights say."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from pyproj import Geod

from planner_kit.errors import PlanFileError
from planner_kit.outings.ride_effort import ride_value
from planner_kit.outings.rides import lines_of, read_gpx

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    import pandas as pd
    from shapely import LineString

_WGS84 = Geod(ellps="WGS84")
_ON_FOOT = ("walk", "hik", "foot", "run", "trail")


@dataclass(frozen=True)
class Track:
    """A ride or walk as a GPX file holds it.

    Attributes
    ----------
    name, file : str
    mode : str
        ``foot`` where the file's type says so, ``bike`` otherwise.
    kind : str
        ``loop``, ``there and back`` or ``one way``.
    geometry : LineString
        EPSG:4326 (lon, lat); the parts of a track joined.
    length_km : float
        Geodesic, without the gaps between parts.
    heights_m : ndarray, one for each point
        NaN where the file has none.
    has_heights, has_times : bool
        Whether every point has one.
    recorded_min, halts_min : float
        In motion and halting, by the file's own times; NaN where it has none that rise.
    """

    name: str
    file: str
    mode: str
    kind: str
    geometry: LineString
    length_km: float
    heights_m: np.ndarray
    has_heights: bool
    has_times: bool
    recorded_min: float = float("nan")
    halts_min: float = float("nan")

    def profile_on(self, profile: pd.DataFrame) -> pd.DataFrame:
        """A profile with the heights of the file, where each point of it has one."""
        if not self.has_heights:
            return profile
        points = shapely.get_coordinates(self.geometry)
        legs = _WGS84.inv(points[:-1, 0], points[:-1, 1], points[1:, 0], points[1:, 1])[2]
        km = np.concatenate([[0.0], np.cumsum(legs)]) / 1000
        return profile.assign(height_m=np.interp(profile["km"], km, self.heights_m))


def read_tracks(paths: Sequence[Path]) -> list[Track]:
    """The tracks and routes of some GPX files, in order.

    Raises
    ------
    PlanFileError
        If a file is missing, unsafe, not GPX, or holds neither a track nor a route of two points.
    """
    found = []
    for path in paths:
        lines = lines_of(read_gpx(path), path)
        for number, (name, kind, parts) in enumerate(lines, start=1):
            title = name or (path.stem if len(lines) == 1 else f"{path.stem}-{number}")
            found.append(_track(title, path, kind, parts))
    return found


def _track(name: str, path: Path, kind: str, parts: list[list[Any]]) -> Track:
    points = [point for part in parts for point in part]
    lon = np.array([point.longitude for point in points], dtype=float)
    lat = np.array([point.latitude for point in points], dtype=float)
    if np.ptp(lon) == 0 and np.ptp(lat) == 0:
        raise PlanFileError("all its points are one place", str(path), "export the ride again")
    heights = np.array(
        [np.nan if point.elevation is None else point.elevation for point in points], dtype=float
    )
    metres = sum(
        float(_WGS84.line_length([p.longitude for p in part], [p.latitude for p in part]))
        for part in parts
        if len(part) > 1
    )
    ends_apart_m = float(_WGS84.inv(lon[0], lat[0], lon[-1], lat[-1])[2])
    moving_min, halts_min = _recorded(points, lon, lat)
    return Track(
        name=name,
        file=path.name,
        mode="foot" if any(word in kind.casefold() for word in _ON_FOOT) else "bike",
        kind=_kind(lon, lat, ends_apart_m, metres),
        geometry=shapely.LineString(np.column_stack([lon, lat])),
        length_km=metres / 1000,
        heights_m=heights,
        has_heights=bool(np.isfinite(heights).all()),
        has_times=all(getattr(point, "time", None) is not None for point in points),
        recorded_min=moving_min,
        halts_min=halts_min,
    )


def _recorded(points: list[Any], lon: np.ndarray, lat: np.ndarray) -> tuple[float, float]:
    """Minutes in motion and halting; NaN where a point has no time or the times do not rise."""
    times: list[Any] = [getattr(point, "time", None) for point in points]
    if any(time is None for time in times):
        return float("nan"), float("nan")
    clock = np.array([time.replace(tzinfo=time.tzinfo or dt.UTC).timestamp() for time in times])
    hours = np.diff(clock) / 3600
    if (hours < 0).any() or hours.sum() <= 0:
        return float("nan"), float("nan")
    km = np.asarray(_WGS84.inv(lon[:-1], lat[:-1], lon[1:], lat[1:])[2]) / 1000
    halt = km <= ride_value("halt_kmh") * hours
    return float(60 * hours[~halt].sum()), float(60 * hours[halt].sum())


def _kind(lon: np.ndarray, lat: np.ndarray, ends_apart_m: float, metres: float) -> str:
    """Whether a line closes, and whether it goes back as it came."""
    if ends_apart_m > 200:
        return "one way"
    legs = _WGS84.inv(lon[:-1], lat[:-1], lon[1:], lat[1:])[2]
    along = np.concatenate([[0.0], np.cumsum(legs)])
    share = np.linspace(0.05, 0.45, 9)
    out, back = share * along[-1], (1 - share) * along[-1]
    there = np.interp(out, along, lon), np.interp(out, along, lat)
    again = np.interp(back, along, lon), np.interp(back, along, lat)
    apart = np.asarray(_WGS84.inv(*there, *again)[2])
    return "there and back" if np.median(apart) <= min(100.0, 0.05 * metres) else "loop"


def climb_of(heights_m: np.ndarray) -> float:
    """Metres climbed along a profile; rises smaller than `climb_noise_m` are taken for noise.

    Parameters
    ----------
    heights_m : ndarray, shape (n,)

    Returns
    -------
    climb_m : float
        NaN where a height is not known.
    """
    if not len(heights_m) or np.isnan(heights_m).any():
        return float("nan")
    noise = ride_value("climb_noise_m")
    climb, low, high = 0.0, float(heights_m[0]), float(heights_m[0])
    rising = False
    for height in heights_m.tolist():
        if rising:
            if height > high:
                climb += height - high
                high = height
            elif height < high - noise:
                rising, low = False, height
        elif height < low:
            low = height
        elif height > low + noise:
            climb += height - low
            rising, high = True, height
    return climb


def smooth_slope(km: np.ndarray, heights_m: np.ndarray) -> np.ndarray:
    """Slope of each step of a profile over the `slope_over_m` around it; NaN where not known."""
    middle = (km[1:] + km[:-1]) / 2
    half = ride_value("slope_over_m") / 2000
    before, after = np.maximum(middle - half, km[0]), np.minimum(middle + half, km[-1])
    rise = np.interp(after, km, heights_m) - np.interp(before, km, heights_m)
    run = 1000 * (after - before)
    slope: np.ndarray = np.divide(rise, run, out=np.zeros_like(rise), where=run > 0)
    return slope
