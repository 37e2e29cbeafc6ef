"""New dates for an earlier trip: the weekday kept, or inside school holidays."""

import calendar
import datetime as dt

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.diary.new_dates import in_school_holidays, kept_weekday, same_weekday
from planner_kit.errors import PlanFileError

HOLIDAYS = pd.DataFrame(
    {
        "name": ["half term", "summer", "summer"],
        "start": pd.to_datetime(["2027-05-31", "2027-07-24", "2026-07-25"]),
        "end": pd.to_datetime(["2027-06-04", "2027-09-01", "2026-09-02"]),
    }
)
SATURDAY = dt.date(2026, 7, 25)


@given(st.dates(dt.date(1990, 1, 1), dt.date(2090, 12, 31)), st.integers(1990, 2090))
@settings(max_examples=50, deadline=None)
def test_weekday_stays_and_the_day_of_the_year_moves_three_days_at_most(
    start: dt.date, year: int
) -> None:
    found = same_weekday(start, year)
    assert found.weekday() == start.weekday()
    day = min(start.day, calendar.monthrange(year, start.month)[1])
    assert abs((found - start.replace(year=year, day=day)).days) <= 3


def test_leap_day_becomes_the_nearest_same_weekday() -> None:
    assert same_weekday(dt.date(2028, 2, 29), 2029) == dt.date(2029, 2, 27)


def test_year_that_nobody_plans_for_is_refused() -> None:
    with pytest.raises(PlanFileError, match="not a year to plan for"):
        kept_weekday(SATURDAY, 9)


def test_trip_goes_into_the_nearest_holidays_on_its_own_weekday() -> None:
    found = in_school_holidays(SATURDAY, 7, HOLIDAYS, year=2027)
    assert found.start == dt.date(2027, 7, 24)
    assert "'summer'" in found.why


def test_holidays_reach_over_weekend_and_bank_holiday_beside_them() -> None:
    # Free from Saturday 29 May to Sunday 6 June 2027: eight nights, Saturday kept.
    found = in_school_holidays(SATURDAY, 8, HOLIDAYS, year=2027, name="Half term", country="GB")
    assert found.start == dt.date(2027, 5, 29)
    with pytest.raises(PlanFileError, match="has room for 8 nights"):
        in_school_holidays(SATURDAY, 9, HOLIDAYS, year=2027, name="half term", country="GB")


def test_weekday_gives_way_when_only_another_day_leaves_room_and_it_is_said() -> None:
    friday = dt.date(2026, 7, 24)
    found = in_school_holidays(friday, 8, HOLIDAYS, year=2027, name="half term")
    assert found.start == dt.date(2027, 5, 29)
    assert "no Friday leaves room" in found.why


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"holidays": None}, "names none"),
        ({"year": 2030}, "none that begin in 2030"),
        ({"name": "sumer"}, "did you mean 'summer'"),
    ],
)
def test_holidays_that_are_not_listed_are_one_sentence(
    changes: dict[str, object], told: str
) -> None:
    asked: dict[str, object] = {"holidays": HOLIDAYS, "year": 2027, "name": "", **changes}
    with pytest.raises(PlanFileError, match=told):
        in_school_holidays(SATURDAY, 7, **asked)  # type: ignore[arg-type]
