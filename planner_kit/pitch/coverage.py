"""The level of one mast at many places at once, for maps and for comparing pitches."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from pyproj import Geod

from planner_kit.pitch.diffraction import delta_bullington
from planner_kit.pitch.propagation import effective_earth_radius_km, free_space_loss_db
from planner_kit.pitch.signal_path import great_circles

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from planner_kit.pitch.diffraction import Polarisation
    from planner_kit.pitch.horizon import Ground

    Floats = NDArray[np.float64]

_WGS84 = Geod(ellps="WGS84")
# Points of profiles held in memory at a time: about 16 MB for each array of them.
_POINTS_AT_ONCE = 2_000_000


def median_levels_dbm(
    lat: ArrayLike,
    lon: ArrayLike,
    mast_lat: float,
    mast_lon: float,
    mast_height_m: float,
    power_dbm: float,
    frequency_mhz: float,
    terrain: Ground,
    *,
    receiver_height_m: float = 1.5,
    step_m: float = 100.0,
    polarisation: Polarisation = "vertical",
) -> Floats:
    """What should arrive at an isotropic antenna at many places, by the median over bare ground.

    Parameters
    ----------
    lat, lon : array_like of float
        The places, WGS 84; any one shape. [deg]
    mast_lat, mast_lon : float
        [deg]
    mast_height_m : float
        Above the ground. [m]
    power_dbm : float
        EIRP, the same in all directions. [dBm]
    frequency_mhz : float
        [MHz]
    terrain : Ground
    receiver_height_m : float
        Above the ground. [m]
    step_m : float
        Widest spacing of the heights read along the longest path. [m]
    polarisation : str

    Returns
    -------
    level_dbm : ndarray of float
        In the shape of the places; NaN where any ground on the way is not known. [dBm]

    Raises
    ------
    ValueError
        If `step_m` is not above 0.

    Notes
    -----
    Paths run along great circles of the sphere; over 100 km they stay within some metres of the
    geodesic. All paths have as many points as the longest one needs.

    References
    ----------
    .. [1] ITU-R P.525 (free space), P.526 (diffraction, delta-Bullington).
    """
    if not step_m > 0:
        raise ValueError(f"step_m is {step_m}; it must be above 0")
    here_lat, here_lon = np.broadcast_arrays(
        np.asarray(lat, dtype=np.float64), np.asarray(lon, dtype=np.float64)
    )
    shape = here_lat.shape
    flat_lat, flat_lon = here_lat.ravel(), here_lon.ravel()
    count = len(flat_lat)
    level = np.full(count, np.nan)
    if count == 0:
        return level.reshape(shape)
    _, _, metres = _WGS84.inv(
        flat_lon, flat_lat, np.full(count, mast_lon), np.full(count, mast_lat)
    )
    distance_km = np.maximum(np.asarray(metres, dtype=np.float64) / 1000, 0.001)
    points = max(int(np.ceil(float(distance_km.max()) * 1000 / step_m)), 2) + 1
    rows = max(_POINTS_AT_ONCE // points, 1)
    radius_km = effective_earth_radius_km()
    for first in range(0, count, rows):
        part = slice(first, first + rows)
        path_lon, path_lat = great_circles(
            flat_lon[part], flat_lat[part], mast_lon, mast_lat, points
        )
        height = terrain.heights_m(path_lon, path_lat)
        along = np.linspace(0.0, 1.0, points) * distance_km[part, None]
        loss = delta_bullington(
            along,
            height,
            height[:, 0] + receiver_height_m,
            height[:, -1] + mast_height_m,
            frequency_mhz / 1000,
            radius_km,
            polarisation=polarisation,
        ).loss_db
        known = np.isfinite(height).all(axis=1)
        level[part] = np.where(
            known, power_dbm - free_space_loss_db(distance_km[part], frequency_mhz) - loss, np.nan
        )
    return level.reshape(shape)
