"""Magnetic declination, to turn a true bearing into one that a compass shows."""

from __future__ import annotations

import calendar
from functools import lru_cache
from typing import TYPE_CHECKING

from pygeomag import GeoMag

if TYPE_CHECKING:
    import datetime as dt

# The World Magnetic Model 2025 stands for 2025.0 up to 2030.0.
_MODEL = "wmm/WMM_2025.COF"


@lru_cache(maxsize=1)
def _model() -> GeoMag:
    return GeoMag(coefficients_file=_MODEL)


def declination_deg(lat: float, lon: float, on: dt.date, height_m: float = 0.0) -> float:
    """Angle from true north to magnetic north, east positive.

    Parameters
    ----------
    lat, lon : float
        WGS 84. [deg]
    on : date
    height_m : float
        Above the ellipsoid. [m]

    Returns
    -------
    declination_deg : float
        NaN before 2025 and from 2030 on, for which the model does not stand. [deg]

    References
    ----------
    .. [1] NOAA NCEI and British Geological Survey, World Magnetic Model 2025, by `pygeomag`.
    """
    days = 366 if calendar.isleap(on.year) else 365
    year = on.year + (on.timetuple().tm_yday - 1) / days
    first, last = _model().life_span
    if not first <= year < last:
        return float("nan")
    return float(_model().calculate(glat=lat, glon=lon, alt=height_m / 1000, time=year).d)


def magnetic_bearing_deg(true_deg: float, declination: float) -> float:
    """What a compass shows for a true bearing, 0 up to 360 deg; NaN without a declination."""
    return (true_deg - declination) % 360
