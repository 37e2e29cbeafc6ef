"""Sunrise, sunset and twilight at a site, day by day."""

from __future__ import annotations

import datetime as dt
from dataclasses import astuple, dataclass
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import astral.sun
import pandas as pd
from astral import Observer

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence


@dataclass(frozen=True)
class SunTimes:
    """First and last light of one day, in local time.

    Attributes
    ----------
    dawn, sunrise, sunset, dusk : datetime or None
        None where the sun does not rise, set or leave the twilight on that day. Dawn and dusk are
        civil: the sun 6 degrees below the horizon.
    """

    dawn: dt.datetime | None
    sunrise: dt.datetime | None
    sunset: dt.datetime | None
    dusk: dt.datetime | None

    @property
    def daylight_min(self) -> float:
        """Minutes from sunrise to sunset; NaN where one of them does not happen."""
        if self.sunrise is None or self.sunset is None:
            return float("nan")
        return (self.sunset - self.sunrise).total_seconds() / 60


def sun_times(lat: float, lon: float, day: dt.date, zone: ZoneInfo | str) -> SunTimes:
    """First and last light on a day.

    Parameters
    ----------
    lat, lon : float
        WGS 84. [deg]
    day : date
    zone : ZoneInfo or str
        The zone whose clock is shown, and whose day is meant.

    Returns
    -------
    times : SunTimes

    Notes
    -----
    For a level horizon at sea level and the mean bending of light; hills hide the sun earlier.
    """
    observer = Observer(latitude=lat, longitude=lon)
    clock = ZoneInfo(zone) if isinstance(zone, str) else zone
    of = (astral.sun.dawn, astral.sun.sunrise, astral.sun.sunset, astral.sun.dusk)
    return SunTimes(*(_moment(one, observer, day, clock) for one in of))


def sun_table(
    lat: float, lon: float, days: Sequence[dt.date], zone: ZoneInfo | str
) -> pd.DataFrame:
    """First and last light on each of some days.

    Parameters
    ----------
    lat, lon, zone
        See `sun_times`.
    days : sequence of date

    Returns
    -------
    times : DataFrame, one row for each day
        day (date), dawn, sunrise, sunset, dusk (local times or NaT), daylight_min.
    """
    found = [sun_times(lat, lon, day, zone) for day in days]
    names = ["dawn", "sunrise", "sunset", "dusk"]
    frame = pd.DataFrame([astuple(one) for one in found], columns=names)
    for name in names:
        frame[name] = pd.to_datetime(frame[name], utc=True).dt.tz_convert(str(zone))
    frame.insert(0, "day", pd.Series(list(days), dtype="object"))
    frame["daylight_min"] = [one.daylight_min for one in found]
    return frame


def _moment(
    of: Callable[..., dt.datetime], observer: Observer, day: dt.date, zone: ZoneInfo
) -> dt.datetime | None:
    try:
        return of(observer, date=day, tzinfo=zone)
    except ValueError:  # astral's word for a sun that does not get there on that day
        return None
