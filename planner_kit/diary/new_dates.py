"""The dates of a trip that is run again: the same weekdays a year on, or inside school holidays."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from dateutil.relativedelta import relativedelta, weekday

from planner_kit.errors import PlanFileError, nearest_name
from planner_kit.sites.free_days import is_public_holiday

if TYPE_CHECKING:
    import pandas as pd

_DAY = dt.timedelta(days=1)
_MOST_YEAR = 2200


@dataclass(frozen=True)
class NewDates:
    """A new first day, and in a sentence how it was found.

    Attributes
    ----------
    start : date
    why : str
    """

    start: dt.date
    why: str


def same_weekday(start: dt.date, year: int) -> dt.date:
    """The day of another year that is nearest to the same date and falls on the same weekday.

    Parameters
    ----------
    start : date
    year : int

    Returns
    -------
    day : date
        At most three days from the same day and month; 29 February is taken as the 28th in years
        that have none.

    References
    ----------
    .. [1] python-dateutil, ``relativedelta``: the calendar's arithmetic is that library's.
    """
    same = weekday(start.weekday())
    day: dt.date = start + relativedelta(year=year, days=-3, weekday=same(+1))
    return day


def kept_weekday(start: dt.date, year: int) -> NewDates:
    """The dates with the weekdays kept; see `same_weekday`.

    Raises
    ------
    PlanFileError
        If the year is not one that people plan for.
    """
    if not start.year - 100 <= year <= _MOST_YEAR:
        raise PlanFileError(f"{year} is not a year to plan for", "the year", "write it as 2028")
    day = same_weekday(start, year)
    return NewDates(day, f"the {day:%A} nearest to {start.day} {start:%B} in {year}")


def in_school_holidays(
    start: dt.date,
    nights: int,
    holidays: pd.DataFrame | None,
    *,
    year: int,
    name: str = "",
    country: str = "",
) -> NewDates:
    """The dates of a trip inside school holidays, its length kept and its weekday where it can be.

    Parameters
    ----------
    start : date
        The old first day.
    nights : int
    holidays : DataFrame or None
        See `planner_kit.sites.read_school_holidays`.
    year : int
        The year in which the holidays begin.
    name : str
        Which holidays; those whose dates are nearest to the old ones if empty.
    country : str
        For public holidays beside the school's, ISO 3166-1 alpha-2.

    Returns
    -------
    dates : NewDates

    Raises
    ------
    PlanFileError
        If there is no list, it names no such holidays, or the trip is longer than they are.

    Notes
    -----
    Both the first and the last day of the trip lie on free days: the holidays themselves and the
    weekends and public holidays that adjoin them.
    """
    where = "the list of school holidays"
    if holidays is None or holidays.empty:
        raise PlanFileError(
            "the trip names none", where, 'add school_holidays = "...csv" under [files]'
        )
    spans = [
        (str(row["name"]), row["start"].date(), row["end"].date())
        for row in holidays.to_dict("records")
        if row["start"].year == year
    ]
    if not spans:
        years = sorted({int(year) for year in holidays["start"].dt.year})
        raise PlanFileError(
            f"it names none that begin in {year}", where, f"it has {', '.join(map(str, years))}"
        )
    known = {each[0].casefold() for each in spans}
    if name and name.casefold() not in known:
        raise PlanFileError(f"it names no '{name}' in {year}", where, nearest_name(name, known))
    wish = same_weekday(start, year)
    mine = [each for each in spans if not name or each[0].casefold() == name.casefold()]
    called, first, last = min(mine, key=lambda each: _days_outside(wish, each[1], each[2]))
    opens, closes = _with_free_days(first, last, country)
    room = (closes - opens).days
    if nights > room:
        raise PlanFileError(
            f"'{called}' of {year} has room for {room} nights with the days beside it, the trip "
            f"has {nights}",
            where,
            "make the trip shorter or name other holidays",
        )
    starts = [opens + dt.timedelta(days=day) for day in range(room - nights + 1)]
    same = [day for day in starts if day.weekday() == start.weekday()]
    best = min(same or starts, key=lambda day: abs((day - wish).days))
    kept = "" if same else f", as no {start:%A} leaves room for {nights} nights"
    return NewDates(best, f"{best:%A} {best.day} {best:%B} {year}, inside '{called}'{kept}")


def _days_outside(day: dt.date, first: dt.date, last: dt.date) -> int:
    return max((first - day).days, (day - last).days, 0)


def _with_free_days(first: dt.date, last: dt.date, country: str) -> tuple[dt.date, dt.date]:
    def free(day: dt.date) -> bool:
        return day.weekday() >= 5 or is_public_holiday(country, day)

    while free(first - _DAY):
        first -= _DAY
    while free(last + _DAY):
        last += _DAY
    return first, last
