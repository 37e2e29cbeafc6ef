"""What the hills around a pitch hide of the sky."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from planner_kit.pitch.horizon import Ground

# Light bends less than radio: the earth is drawn with 7/6 of its radius, as surveyors do.
_LIGHT_BENDS = 7 / 6
_EARTH_KM = 6371.0
_STEP_M = 60.0


@dataclass(frozen=True)
class Skyline:
    """How high the ground stands around a place.

    Attributes
    ----------
    azimuth_deg : ndarray of float, shape (n,)
        Clockwise from north, ascending, from 0. [deg]
    elevation_deg : ndarray of float, shape (n,)
        NaN where the terrain is not known; never below 0. [deg]
    """

    azimuth_deg: NDArray[np.float64]
    elevation_deg: NDArray[np.float64]

    @property
    def known(self) -> bool:
        """Whether the terrain is known all round."""
        return bool(np.isfinite(self.elevation_deg).all())

    def at(self, azimuth_deg: ArrayLike) -> NDArray[np.float64]:
        """Height of the skyline in some directions, NaN where a neighbour is not known, in deg."""
        around = np.append(self.azimuth_deg, 360.0)
        height = np.append(self.elevation_deg, self.elevation_deg[0])
        turned = np.asarray(azimuth_deg, dtype=np.float64) % 360.0
        return np.asarray(np.interp(turned, around, height), dtype=np.float64)


LEVEL = Skyline(np.array([0.0, 180.0]), np.zeros(2))


def skyline(
    terrain: Ground | None, lat: float, lon: float, *, directions: int = 72
) -> Skyline | None:
    """The skyline of a place; None without terrain.

    Parameters
    ----------
    terrain : Ground or None
    lat, lon : float
        WGS 84. [deg]
    directions : int
        How many, evenly round.

    Notes
    -----
    Trees, hedges, houses and other caravans are not in the terrain, and its cells are coarse: what
    stands close by hides more.
    """
    if terrain is None:
        return None
    reach_m = float(constant("standing", "skyline_reach")) * 1000
    eye_m = float(constant("standing", "eye_height"))
    azimuth = np.arange(directions) * (360.0 / directions)
    along = np.arange(_STEP_M, reach_m, _STEP_M)
    # Near enough on a sphere: 20 km away the place is wrong by less than a cell.
    north = np.cos(np.radians(azimuth))[:, None] * along
    east = np.sin(np.radians(azimuth))[:, None] * along
    lats = lat + np.degrees(north / (_EARTH_KM * 1000))
    lons = lon + np.degrees(east / (_EARTH_KM * 1000 * np.cos(np.radians(lat))))
    here = float(terrain.heights_m(np.array([lon]), np.array([lat]))[0]) + eye_m
    drop = along**2 / (2 * _EARTH_KM * 1000 * _LIGHT_BENDS)
    rise = np.degrees(np.arctan2(terrain.heights_m(lons, lats) - drop - here, along))
    known = np.isfinite(rise)
    # The nearest half of the way has to be known: from there hills matter most.
    enough = known[:, : rise.shape[1] // 2].all(axis=1) & np.isfinite(here)
    height = np.where(known, rise, -90.0).max(axis=1)
    return Skyline(azimuth.astype(np.float64), np.where(enough, np.maximum(height, 0.0), np.nan))
