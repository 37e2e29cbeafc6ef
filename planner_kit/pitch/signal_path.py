"""The way of a signal from masts to a place: ground and cover under it, and what it loses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
from pyproj import Geod

from planner_kit.pitch.cover import OPEN, SEA
from planner_kit.pitch.path_loss import COASTAL, INLAND, Climate, path_loss
from planner_kit.pitch.path_loss import SEA as SEA_ZONE
from planner_kit.pitch.propagation import (
    earth_bulge_m,
    effective_earth_radius_km,
    fresnel_radius_m,
)
from planner_kit.reference import constant

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from planner_kit.pitch.cover import Cover
    from planner_kit.pitch.horizon import Ground

    Floats = NDArray[np.float64]

_WGS84 = Geod(ellps="WGS84")
_POLARISATIONS: tuple[Literal["horizontal", "vertical"], ...] = ("horizontal", "vertical")


@dataclass(frozen=True)
class SignalPaths:
    """Many paths, from a mast (first point) to a place (last point); arrays over the paths.

    Attributes
    ----------
    distance_km : ndarray, shape (paths, n)
        From the mast. [km]
    height_m : ndarray, shape (paths, n)
        Ground above sea level, NaN where it is not known. [m]
    cover_m : ndarray, shape (paths, n)
        Height of trees and buildings on it. [m]
    mast_m, place_m : ndarray, shape (paths,)
        Heights of the antennas above the ground; NaN if not known. [m]
    frequency_mhz : ndarray, shape (paths,)
        [MHz]
    loss_db : ndarray, shape (paths,)
        Basic transmission loss at the median place for half of the time; NaN if anything that it
        needs is not known. [dB]
    diffraction_db : ndarray, shape (paths,)
        What terrain and cover add. [dB]
    """

    distance_km: Floats
    height_m: Floats
    cover_m: Floats
    mast_m: Floats
    place_m: Floats
    frequency_mhz: Floats
    loss_db: Floats
    diffraction_db: Floats

    def ray_m(self, path: int) -> Floats:
        """Height of the straight ray over sea level, bent down by the earth's bulge, in m."""
        d = self.distance_km[path]
        start = self.height_m[path, 0] + self.mast_m[path]
        end = self.height_m[path, -1] + self.place_m[path]
        share = d / d[-1]
        return np.asarray(
            start * (1 - share)
            + end * share
            - earth_bulge_m(d, d[-1] - d, effective_earth_radius_km())
        )

    def fresnel_m(self, path: int) -> Floats:
        """Radius of the first Fresnel zone along the path, in m."""
        d = self.distance_km[path]
        return fresnel_radius_m(d, d[-1] - d, self.frequency_mhz[path])


def signal_paths(
    place: tuple[ArrayLike, ArrayLike],
    mast: tuple[ArrayLike, ArrayLike],
    place_m: ArrayLike,
    mast_m: ArrayLike,
    frequency_mhz: ArrayLike,
    vertical: ArrayLike,
    terrain: Ground,
    cover: Cover | None,
    *,
    step_m: float = 60.0,
    most_points: int = 1200,
) -> SignalPaths:
    """Profiles and losses of many paths at once.

    Parameters
    ----------
    place, mast : tuple of array_like
        lat and lon of the places and of the masts, broadcast against each other. [deg]
    place_m, mast_m : array_like
        Heights of the antennas above the ground. [m]
    frequency_mhz : array_like
        [MHz]
    vertical : array_like of bool
        Whether the waves are polarised vertically.
    terrain : Ground
    cover : Cover or None
    step_m : float
        Spacing wanted of the points of the longest path; all paths have as many points. [m]
    most_points : int
        Points that a path has at most.

    Returns
    -------
    paths : SignalPaths

    References
    ----------
    .. [1] ITU-R P.1812-8, by `planner_kit.pitch.path_loss`.
    """
    lat, lon, mast_lat, mast_lon, low, high, f, upright = np.broadcast_arrays(
        *(np.atleast_1d(np.asarray(x, dtype=np.float64)) for x in (*place, *mast)),
        *(np.asarray(x, dtype=np.float64) for x in (place_m, mast_m, frequency_mhz, vertical)),
    )
    _, _, metres = _WGS84.inv(mast_lon, mast_lat, lon, lat)
    total_km = np.maximum(np.asarray(metres, dtype=np.float64) / 1000, 0.01)
    n = int(np.clip(np.ceil(total_km.max(initial=0.01) * 1000 / step_m), 8, most_points)) + 1
    path_lon, path_lat = great_circles(mast_lon, mast_lat, lon, lat, n)
    d = np.linspace(0.0, 1.0, n) * total_km[:, None]
    height = terrain.heights_m(path_lon, path_lat)
    cover_m, zone = np.zeros(height.shape), np.full(height.shape, INLAND)
    if cover is not None:
        kind = cover.class_at(path_lon, path_lat)
        cover_m = np.where(kind == OPEN, 0.0, cover.heights_m(path_lon, path_lat))
        on_sea = kind == SEA
        if on_sea.any():
            low_land = height < 100.0
            zone = np.where(on_sea, SEA_ZONE, np.where(low_land, COASTAL, INLAND))
    loss, diffraction = np.full(total_km.shape, np.nan), np.full(total_km.shape, np.nan)
    usable = (f > 0) & np.isfinite(low) & np.isfinite(high)
    for polarisation in _POLARISATIONS:
        rows = usable & ((upright > 0) == (polarisation == "vertical"))
        if not rows.any():
            continue
        found = path_loss(
            d[rows], height[rows], high[rows], low[rows], f[rows] / 1000,
            climate((lat[rows] + mast_lat[rows]) / 2),
            cover_m=cover_m[rows], zone=zone[rows], polarisation=polarisation,
        )  # fmt: skip
        loss[rows] = found.loss_db
        diffraction[rows] = np.where(
            np.isfinite(found.loss_db), found.diffraction_median_db, np.nan
        )
    return SignalPaths(d, height, cover_m, high, low, f, loss, diffraction)


def climate(latitude_deg: ArrayLike) -> Climate:
    """The air of a temperate climate, with the effective earth radius of the kit."""
    factor = float(constant("signal_constants", "effective_earth_factor"))
    surface = float(constant("signal_constants", "surface_refractivity"))
    return Climate(157 * (1 - 1 / factor), surface, latitude_deg)


def great_circles(
    lon: ArrayLike, lat: ArrayLike, to_lon: ArrayLike, to_lat: ArrayLike, points: int
) -> tuple[Floats, Floats]:
    """Positions along great circles of the sphere, both ends included.

    Over 100 km they stay within some metres of the geodesic.

    Returns
    -------
    lon_deg, lat_deg : ndarray, shape (paths, points)
    """
    start, end = _on_sphere(lon, lat), _on_sphere(to_lon, to_lat)
    chord = np.linalg.norm(end - start, axis=-1)
    angle = np.maximum(2 * np.arcsin(np.clip(chord / 2, 0, 1)), 1e-12)[..., None]
    share = np.linspace(0.0, 1.0, points)
    near, far = np.sin((1 - share) * angle) / np.sin(angle), np.sin(share * angle) / np.sin(angle)
    x, y, z = (near * start[..., [i]] + far * end[..., [i]] for i in range(3))
    return np.degrees(np.arctan2(y, x)), np.degrees(np.arctan2(z, np.hypot(x, y)))


def places_at(
    lat: float, lon: float, azimuth_deg: ArrayLike, distance_km: ArrayLike
) -> tuple[Floats, Floats]:
    """Longitudes and latitudes at azimuths and distances from a place, on the ellipsoid, in deg."""
    azimuth, distance = np.broadcast_arrays(
        np.asarray(azimuth_deg, dtype=np.float64), np.asarray(distance_km, dtype=np.float64)
    )
    size = azimuth.size
    there_lon, there_lat, _ = _WGS84.fwd(
        np.full(size, lon), np.full(size, lat), azimuth.ravel(), distance.ravel() * 1000
    )
    return (
        np.asarray(there_lon, dtype=np.float64).reshape(azimuth.shape),
        np.asarray(there_lat, dtype=np.float64).reshape(azimuth.shape),
    )


def _on_sphere(lon: ArrayLike, lat: ArrayLike) -> Floats:
    east, north = np.broadcast_arrays(
        np.radians(np.asarray(lon, dtype=np.float64)), np.radians(np.asarray(lat, dtype=np.float64))
    )
    return np.stack(
        [np.cos(north) * np.cos(east), np.cos(north) * np.sin(east), np.sin(north)], axis=-1
    )
