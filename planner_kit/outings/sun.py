"""Sunrise, sunset and twilight at a site, day by day."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import astral.sun
import pandas as pd
from astral import Observer

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from zoneinfo import ZoneInfo


def sun_times(lat: float, lon: float, days: Sequence[dt.date], zone: ZoneInfo) -> pd.DataFrame:
    """First and last light on each day.

    Parameters
    ----------
    lat, lon : float
        WGS 84. [deg]
    days : sequence of date
    zone : ZoneInfo
        The zone whose clock is shown, and whose days are meant.

    Returns
    -------
    times : DataFrame, one row for each day
        day (date); dawn, sunrise, sunset, dusk (local times; NaT where the sun does not rise, set
        or leave the twilight); daylight_min (NaN where there is no sunrise or sunset). Dawn and
        dusk are civil: the sun 6 degrees below the horizon.

    Notes
    -----
    For a level horizon at sea level and the mean bending of light; hills hide the sun earlier.
    """
    observer = Observer(latitude=lat, longitude=lon)
    rows = []
    for day in days:
        dawn = _moment(astral.sun.dawn, observer, day, zone)
        sunrise = _moment(astral.sun.sunrise, observer, day, zone)
        sunset = _moment(astral.sun.sunset, observer, day, zone)
        dusk = _moment(astral.sun.dusk, observer, day, zone)
        both = sunrise is not None and sunset is not None
        light = (sunset - sunrise).total_seconds() / 60 if both else float("nan")  # type: ignore[operator]
        rows.append((day, dawn, sunrise, sunset, dusk, light))
    frame = pd.DataFrame(rows, columns=["day", "dawn", "sunrise", "sunset", "dusk", "daylight_min"])
    for name in ("dawn", "sunrise", "sunset", "dusk"):
        frame[name] = pd.to_datetime(frame[name], utc=True).dt.tz_convert(str(zone))
    return frame


def _moment(
    of: Callable[..., dt.datetime], observer: Observer, day: dt.date, zone: ZoneInfo
) -> dt.datetime | None:
    try:
        return of(observer, date=day, tzinfo=zone)
    except ValueError:  # astral's word for a sun that does not get there on that day
        return None
