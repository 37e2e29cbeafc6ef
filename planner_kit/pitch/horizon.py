"""What the ground between a pitch and a mast leaves free."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, Protocol

import numpy as np

from planner_kit.pitch.propagation import (
    earth_bulge_m,
    effective_earth_radius_km,
    fresnel_radius_m,
)

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


class PathProfile(Protocol):
    """Heights along a path: `distance_m` from its start, `height_m` with NaN where unknown."""

    @property
    def distance_m(self) -> NDArray[np.float64]:
        """Distance from the first position, in m."""

    @property
    def height_m(self) -> NDArray[np.float64]:
        """Height of the ground, NaN where it is not known, in m."""


class Ground(Protocol):
    """Terrain that gives profiles, as `planner_kit.region.terrain.Terrain` does."""

    def heights_m(self, lon: ArrayLike, lat: ArrayLike) -> NDArray[np.float64]:
        """Heights at positions, in m."""

    def profile(
        self, lon1: float, lat1: float, lon2: float, lat2: float, *, step_m: float = 50.0
    ) -> PathProfile:
        """Heights along the shortest line between two positions."""


@dataclass(frozen=True)
class Sight:
    """Whether one antenna sees another over the ground.

    Attributes
    ----------
    line_of_sight : str
        ``yes``, ``no`` or ``unknown``.
    clearance_m : float
        Least room between the line and the ground; negative when the ground is in the way. NaN if
        nothing is known. [m]
    clearance_share : float
        The least room in first Fresnel radii; NaN without a frequency. [1]
    tightest_km : float
        Where the room is least in Fresnel radii (in metres without a frequency), from the start.
    """

    line_of_sight: Literal["yes", "no", "unknown"]
    clearance_m: float = float("nan")
    clearance_share: float = float("nan")
    tightest_km: float = float("nan")


def sight_along(profile: PathProfile, start_m: float, end_m: float, frequency_mhz: float) -> Sight:
    """Whether the straight radio line between the ends of a profile is free.

    Parameters
    ----------
    profile : PathProfile
        At least two points.
    start_m, end_m : float
        Heights of the antennas above the ground at the first and last point. [m]
    frequency_mhz : float
        NaN if it is not known. [MHz]

    Returns
    -------
    sight : Sight
        ``unknown`` if an antenna's height is NaN, or if ground between the ends is not known and
        the known part does not already stand in the way.

    Notes
    -----
    The earth is drawn with 4/3 of its radius. Trees and buildings are not in the ground.

    References
    ----------
    .. [1] ITU-R, Recommendation P.526-8 (2003), Annex 1, sections 1 and 2.
    """
    distance_km = np.asarray(profile.distance_m, dtype=np.float64) / 1000
    height = np.asarray(profile.height_m, dtype=np.float64)
    total = float(distance_km[-1])
    ends = (height[0] + start_m, height[-1] + end_m)
    if not np.all(np.isfinite(ends)):
        return Sight("unknown")
    if len(height) < 3 or total <= 0:
        return Sight("yes", clearance_m=float(min(start_m, end_m)), tightest_km=0.0)
    along, rest = distance_km[1:-1], total - distance_km[1:-1]
    line = (ends[0] * rest + ends[1] * along) / total
    room = line - height[1:-1] - earth_bulge_m(along, rest, effective_earth_radius_km())
    known = np.isfinite(room)
    if not known.any():
        return Sight("unknown")
    in_radii = np.full(room.shape, np.nan)
    if frequency_mhz > 0:
        in_radii = room / fresnel_radius_m(along, rest, frequency_mhz)
    measure = np.where(known, in_radii if frequency_mhz > 0 else room, np.inf)
    place = int(np.argmin(measure))
    blocked = bool((room[known] <= 0).any())
    state: Literal["yes", "no", "unknown"] = (
        "no" if blocked else "yes" if bool(known.all()) else "unknown"
    )
    return Sight(
        state,
        clearance_m=float(room[place]),
        clearance_share=float(in_radii[place]),
        tightest_km=float(along[place]),
    )
