"""Days that are free for many people: public holidays, long weekends, school holidays."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.errors import PlanFileError
from planner_kit.region.opening import holiday_on
from planner_kit.trip.lists import ListColumn, read_list

if TYPE_CHECKING:
    from pathlib import Path

    import numpy.typing as npt

SCHOOL_COLUMNS = (
    ListColumn("name", "text", "which holidays"),
    ListColumn("start", "date", "first free day", True),
    ListColumn("end", "date", "last free day", True),
    ListColumn("source", "text", "where it was read"),
    ListColumn("as_of", "date", "the day it was read"),
)


def is_public_holiday(country: str | None, day: dt.date) -> bool:
    """Whether a day is free in any part of a country; no day is where it is not known."""
    return holiday_on(country or "", day)[0] is not None


def read_school_holidays(path: Path | None) -> pd.DataFrame | None:
    """The school holidays that a household keeps as a list; None when it keeps none.

    Raises
    ------
    PlanFileError
        See `read_list`; also where holidays end before they begin.
    """
    if path is None:
        return None
    frame = read_list(path, SCHOOL_COLUMNS)
    backward = (frame["end"] < frame["start"]).to_numpy()
    if backward.any():
        row = frame[backward].iloc[0]
        raise PlanFileError(
            f"holidays end on {row['end']:%Y-%m-%d}, before they begin on {row['start']:%Y-%m-%d}",
            f"{path}, column end",
            "exchange the two or correct the year",
        )
    return frame


def public_holiday_nights(days: npt.NDArray[np.datetime64], country: str) -> npt.NDArray[np.bool_]:
    """Whether each night begins on a public holiday."""
    return np.array([is_public_holiday(country, day) for day in _dates(days)], dtype=bool)


def long_weekend_nights(days: npt.NDArray[np.datetime64], country: str) -> npt.NDArray[np.bool_]:
    """Whether each night belongs to a long weekend.

    A long weekend is a run of three or more free days (Saturdays, Sundays, public holidays); its
    nights are the one before its first day and all but the last of its own.
    """

    def free(day: dt.date) -> bool:
        return day.weekday() >= 5 or is_public_holiday(country, day)

    def long(day: dt.date) -> bool:
        first, last, one = day, day, dt.timedelta(days=1)
        while free(first - one):
            first -= one
        while free(last + one):
            last += one
        return (last - first).days >= 2

    nexts = [day + dt.timedelta(days=1) for day in _dates(days)]
    return np.array([free(day) and long(day) for day in nexts], dtype=bool)


def school_holiday_nights(
    days: npt.NDArray[np.datetime64], school: pd.DataFrame | None
) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
    """Whether each night lies in the school holidays, and whether that is not known.

    A list says nothing of years of which it names no holidays.
    """
    inside = np.zeros(len(days), dtype=bool)
    if school is None or school.empty:
        return inside, np.ones(len(days), dtype=bool)
    for start, end in zip(school["start"], school["end"], strict=True):
        inside |= (days >= np.datetime64(start, "D")) & (days <= np.datetime64(end, "D"))
    years = pd.concat([school["start"], school["end"]]).dt.year.unique()
    return inside, ~np.isin(days.astype("datetime64[Y]").astype(int) + 1970, years)


def _dates(days: npt.NDArray[np.datetime64]) -> list[dt.date]:
    return list(days.astype("datetime64[D]").astype(object))
