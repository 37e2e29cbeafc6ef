"""When a place is open on the days of a stay, from the opening hours that OpenStreetMap writes.

The grammar is read by the `opening_hours` library. Three things are settled here, because a wrong
answer would send a household to a closed gate: public holidays come from the `holidays` library
(by country, and by part of the country where that is given), school holidays are not known at
all, and a comment such as "by appointment" makes the hours uncertain, not open.
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

import holidays
import numpy as np
import pandas as pd
from opening_hours import OpeningHours, ParserError  # type: ignore[attr-defined]
from opening_hours import State as HourState

if TYPE_CHECKING:
    from collections.abc import Sequence
    from zoneinfo import ZoneInfo

OpenState = Literal["open", "closed", "unknown"]
_WEEKDAYS = ("Mo", "Tu", "We", "Th", "Fr", "Sa", "Su")
_QUOTED = re.compile(r'"[^"]*"')
_HOLIDAY_BEFORE_DAY = r"\b{token}\s+(?=(?:Mo|Tu|We|Th|Fr|Sa|Su)\b)"
_SUN = re.compile(r"\b(sunrise|sunset|dawn|dusk)\b")
_LONGEST_TEXT = 1000
_SHOWN = 60


@dataclass(frozen=True)
class DayHours:
    """The hours of one place on one day.

    Attributes
    ----------
    day : date
    state : str
        ``open`` (at least for a while), ``closed`` or ``unknown``.
    opens : tuple of (datetime, datetime)
        Local times between which it is open; empty unless the state is ``open``.
    note : str
        What a person should know: a comment, a holiday, why the hours are not known.
    """

    day: dt.date
    state: OpenState
    opens: tuple[tuple[dt.datetime, dt.datetime], ...]
    note: str = ""

    @property
    def text(self) -> str:
        """Such as ``10:00-12:30, 13:30-17:00``, ``closed`` or ``unknown``."""
        if self.state != "open":
            return self.state
        return ", ".join(f"{a:%H:%M}-{_clock(b, self.day)}" for a, b in self.opens)


def _clock(moment: dt.datetime, day: dt.date) -> str:
    return "24:00" if moment.date() > day and moment.time() == dt.time(0) else f"{moment:%H:%M}"


@lru_cache(maxsize=256)
def _holidays_of(country: str, subdivision: str, year: int) -> dict[dt.date, str] | None:
    if country not in holidays.list_supported_countries():
        return None
    known = holidays.list_supported_countries()[country]
    part = subdivision if subdivision in known else None
    found = holidays.country_holidays(country, subdiv=part, years=year, language="en_US")
    return {day: name for day, name in found.items() if day.year == year}


def holiday_on(country: str, day: dt.date, *, subdivision: str = "") -> tuple[str | None, bool]:
    """Whether a day is a public holiday.

    Parameters
    ----------
    country : str
        ISO 3166-1 alpha-2 code.
    day : date
    subdivision : str, optional
        ISO 3166-2 code of the part of the country, without the country ("SCT").

    Returns
    -------
    name : str or None
        The holiday, or None if the day is none.
    sure : bool
        False where the country is not known, or where only parts of it keep the holiday and
        `subdivision` does not say which part this is.
    """
    everywhere = _holidays_of(country, subdivision, day.year)
    if everywhere is None:
        return None, False
    if day in everywhere:
        return everywhere[day], True
    parts = holidays.list_supported_countries()[country]
    if subdivision in parts:
        return None, True
    for part in parts:
        somewhere = _holidays_of(country, part, day.year) or {}
        if day in somewhere:
            return somewhere[day], False
    return None, True


def opening_of(
    text: str,
    days: Sequence[dt.date],
    *,
    zone: ZoneInfo,
    country: str = "",
    subdivision: str = "",
    place: tuple[float, float] | None = None,
) -> tuple[DayHours, ...]:
    """The hours of a place on each of some days.

    Parameters
    ----------
    text : str
        An OpenStreetMap ``opening_hours`` value; empty if there is none.
    days : sequence of date
    zone : ZoneInfo
        The place's time zone.
    country, subdivision : str, optional
        ISO codes, for the public holidays.
    place : (lat, lon), optional
        Needed for hours that hang on sunrise or sunset. [deg]

    Returns
    -------
    hours : tuple of DayHours, one for each day
        Text that cannot be read gives ``unknown`` for every day, with the reason.

    Notes
    -----
    A place that is open past midnight is listed under the day on which the opening starts and,
    from midnight on, under the next.

    References
    ----------
    .. [1] OpenStreetMap wiki, "Key:opening hours/specification", version 0.7.4.
    """
    written = text.strip()
    if not written:
        return tuple(DayHours(day, "unknown", (), "no opening hours are given") for day in days)
    if len(written) > _LONGEST_TEXT:
        return tuple(DayHours(day, "unknown", (), "the hours are too long to read") for day in days)
    if _SUN.search(written) and place is None:
        note = "the hours hang on the sun and the place is not known"
        return tuple(DayHours(day, "unknown", (), note) for day in days)
    return tuple(_day_of(written, day, zone, country, subdivision, place) for day in days)


def _day_of(
    text: str,
    day: dt.date,
    zone: ZoneInfo,
    country: str,
    subdivision: str,
    place: tuple[float, float] | None,
) -> DayHours:
    bare = _QUOTED.sub("", text)
    ways = [text]
    notes: list[str] = []
    if re.search(r"\bPH\b", bare):
        name, sure = holiday_on(country, day, subdivision=subdivision)
        ways = [_without(text, "PH")]
        if name is not None:
            kept = _as_weekday(text, "PH", day)
            ways = [kept] if sure else [*ways, kept]
            notes.append(name if sure else f"{name} in part of the country")
        elif not sure:
            notes.append("public holidays here are not known")
    if re.search(r"\bSH\b", bare):
        ways = [way for one in ways for way in (_without(one, "SH"), _as_weekday(one, "SH", day))]
        notes.append("school holidays here are not known")
    found = [_read(way, day, zone, place) for way in ways]
    first = found[0]
    if any((one.state, one.opens) != (first.state, first.opens) for one in found[1:]):
        return DayHours(day, "unknown", (), "; ".join(notes))
    return DayHours(day, first.state, first.opens, "; ".join([*notes, *filter(None, [first.note])]))


def _as_weekday(text: str, token: str, day: dt.date) -> str:
    """The text as it holds on a holiday: the holiday word stands for that day of the week."""
    pieces = re.split(r'("[^"]*")', text)
    before_day = _HOLIDAY_BEFORE_DAY.format(token=token)
    weekday = _WEEKDAYS[day.weekday()]
    for place in range(0, len(pieces), 2):
        pieces[place] = re.sub(before_day, "", pieces[place])
        pieces[place] = re.sub(rf"\b{token}\b", weekday, pieces[place])
    return "".join(pieces)


def _without(text: str, token: str) -> str:
    """The text on a day that is no holiday: rules for one weekday of the holidays fall away.

    The library would take ``SH Mo`` for every Monday.
    """
    of_weekday = re.compile(_HOLIDAY_BEFORE_DAY.format(token=token))
    rules = re.split(r';(?=(?:[^"]*"[^"]*")*[^"]*$)', text)
    return ";".join(rule for rule in rules if not of_weekday.match(rule.strip()))


def _read(text: str, day: dt.date, zone: ZoneInfo, place: tuple[float, float] | None) -> DayHours:
    if not text.strip():
        return DayHours(day, "closed", ())
    try:
        hours = _parsed(text, zone, place)
    except ParserError:
        return DayHours(day, "unknown", (), f"the opening hours '{_short(text)}' cannot be read")
    start = dt.datetime.combine(day, dt.time(0), tzinfo=zone)
    end = dt.datetime.combine(day + dt.timedelta(days=1), dt.time(0), tzinfo=zone)
    opens: list[tuple[dt.datetime, dt.datetime]] = []
    notes: list[str] = []
    uncertain = False
    for begin, until, state, comment in hours.intervals(start, end):
        if state == HourState.CLOSED:
            continue
        if comment:
            notes.append(comment)
        if state == HourState.UNKNOWN or (comment and f'open "{comment}"' not in text):
            uncertain = True
        else:
            opens.append((max(begin, start), min(until, end)))
    note = "; ".join(dict.fromkeys(notes))
    if opens:
        return DayHours(day, "open", tuple(opens), note)
    return DayHours(day, "unknown" if uncertain else "closed", (), note)


def _short(text: str) -> str:
    return text if len(text) <= _SHOWN else f"{text[:_SHOWN]}…"


def can_be_read(text: str) -> bool:
    """Whether some opening hours hold to the grammar; empty text does not."""
    try:
        OpeningHours(text, auto_country=False, auto_timezone=False)
    except ParserError:
        return False
    return bool(text.strip()) and len(text) <= _LONGEST_TEXT


@lru_cache(maxsize=4096)
def _parsed(text: str, zone: ZoneInfo, place: tuple[float, float] | None) -> OpeningHours:
    # No country: the library then takes no day for a holiday, and `_as_weekday` has named them.
    if place is not None and _SUN.search(text):
        return OpeningHours(text, timezone=zone, coords=place, auto_country=False)
    return OpeningHours(text, timezone=zone, auto_country=False, auto_timezone=False)


def opening_table(
    attractions: pd.DataFrame,
    days: Sequence[dt.date],
    *,
    zone: ZoneInfo,
    country: str = "",
    subdivision: str = "",
) -> dict[str, tuple[DayHours, ...]]:
    """The hours of many places: `attraction_id` to one `DayHours` for each day.

    Parameters
    ----------
    attractions : DataFrame
        Columns attraction_id, opening_hours, lat, lon.
    days, zone, country, subdivision
        See `opening_of`.

    Returns
    -------
    hours : dict of str to tuple of DayHours
    """
    seen: dict[str, tuple[DayHours, ...]] = {}
    found: dict[str, tuple[DayHours, ...]] = {}
    columns = ("attraction_id", "opening_hours", "lat", "lon")
    for key, text, lat, lon in zip(*(attractions[name] for name in columns), strict=True):
        hangs_on_sun = bool(_SUN.search(text))
        if text not in seen or hangs_on_sun:
            place = (float(lat), float(lon)) if np.isfinite(lat) and np.isfinite(lon) else None
            seen[text] = opening_of(
                text, days, zone=zone, country=country, subdivision=subdivision, place=place
            )
        found[key] = seen[text]
    return found


def open_day_counts(hours: dict[str, tuple[DayHours, ...]], ids: pd.Series) -> np.ndarray:
    """On how many of the days each place is open.

    Parameters
    ----------
    hours : dict
        From `opening_table`.
    ids : Series of str, length n

    Returns
    -------
    open_days : ndarray of float, shape (n,)
        NaN where no day is known; a day that is not known does not count as open.
    """
    counts = {
        key: float(sum(one.state == "open" for one in row))
        if any(one.state != "unknown" for one in row)
        else np.nan
        for key, row in hours.items()
    }
    return np.array([counts.get(key, np.nan) for key in ids], dtype=float)
