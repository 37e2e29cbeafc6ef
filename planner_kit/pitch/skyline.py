"""What the hills around a pitch hide of the sky, and how much of it they leave open."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant
from planner_kit.states import Check, State

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
    azimuth = np.arange(directions) * (360.0 / directions)
    return Skyline(azimuth.astype(np.float64), rise_deg(terrain, lat, lon, azimuth))


def rise_deg(
    terrain: Ground,
    lat: ArrayLike,
    lon: ArrayLike,
    azimuth_deg: ArrayLike,
    *,
    eye_m: float | None = None,
) -> NDArray[np.float64]:
    """How high the ground stands in a direction from each of some places.

    Parameters
    ----------
    terrain : Ground
    lat, lon, azimuth_deg : array_like
        Broadcast against each other; clockwise from north. [deg]
    eye_m : float, optional
        Height above the ground from which it is seen; that of the reference table if left out. [m]

    Returns
    -------
    elevation_deg : ndarray
        Never below 0; NaN where the place, or the nearest half of the way, is not known. [deg]
    """
    reach_m = float(constant("standing", "skyline_reach")) * 1000
    eye = float(constant("standing", "eye_height")) if eye_m is None else eye_m
    south, west, azimuth = np.broadcast_arrays(
        *(np.asarray(x, dtype=np.float64) for x in (lat, lon, azimuth_deg))
    )
    along = np.arange(_STEP_M, reach_m, _STEP_M)
    # Near enough on a sphere: 20 km away the place is wrong by less than a cell.
    north = np.cos(np.radians(azimuth))[..., None] * along
    east = np.sin(np.radians(azimuth))[..., None] * along
    lats = south[..., None] + np.degrees(north / (_EARTH_KM * 1000))
    lons = west[..., None] + np.degrees(
        east / (_EARTH_KM * 1000 * np.cos(np.radians(south))[..., None])
    )
    here = terrain.heights_m(west, south) + eye
    drop = along**2 / (2 * _EARTH_KM * 1000 * _LIGHT_BENDS)
    rise = np.degrees(np.arctan2(terrain.heights_m(lons, lats) - drop - here[..., None], along))
    known = np.isfinite(rise)
    # The nearest half of the way has to be known: from there hills matter most.
    enough = known[..., : rise.shape[-1] // 2].all(axis=-1) & np.isfinite(here)
    height = np.where(known, rise, -90.0).max(axis=-1)
    return np.where(enough, np.maximum(height, 0.0), np.nan)


def open_sky_frac(ground: Skyline, above_deg: float = 0.0) -> float:
    """Share of the sky above an elevation that the ground leaves free.

    Parameters
    ----------
    ground : Skyline
    above_deg : float
        0 for the whole half sphere. [deg]

    Returns
    -------
    share_frac : float
        Solid angle of the free sky over that of all sky above the elevation; NaN where a part of
        the skyline is not known.
    """
    floor = np.sin(np.radians(above_deg))
    hidden = np.sin(np.radians(np.maximum(ground.elevation_deg, above_deg)))
    return float(np.mean((1 - hidden) / (1 - floor)))


def check_open_sky(ground: Skyline | None) -> Check:
    """Whether the ground leaves enough sky for internet over low-orbit satellites."""
    above = float(constant("signal_constants", "open_sky_from"))
    subject = "sky for low-orbit internet"
    source = "terrain of the region"
    share = float("nan") if ground is None else open_sky_frac(ground, above)
    if ground is None or not np.isfinite(share):
        told = "The ground round the pitch is not known, so its sky is not known."
        return Check(subject, State.UNKNOWN, told, source=source)
    highest = int(np.argmax(ground.elevation_deg))
    hill = (
        f"the highest ground stands {ground.elevation_deg[highest]:.0f}° up at "
        f"{ground.azimuth_deg[highest]:.0f}° true"
    )
    told = (
        f"The ground leaves {100 * share:.0f} of 100 parts of the sky above {above:.0f}° free "
        f"({hill}); trees and caravans near by are not known and hide more."
    )
    return Check(subject, State.LOOK, told, figure=round(100 * share, 1), unit="%", source=source)
