import datetime as dt
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.region.opening import holiday_on, open_day_counts, opening_of, opening_table

LONDON = ZoneInfo("Europe/London")
SUNDAY = dt.date(2027, 8, 29)
DAYS = [SUNDAY + dt.timedelta(days=n) for n in range(3)]


def texts(value, **more):
    return [one.text for one in opening_of(value, DAYS, zone=LONDON, **more)]


def test_holiday_of_one_part_is_unknown_until_the_part_is_told():
    assert texts("10:00-17:00; PH off", country="GB") == ["10:00-17:00", "unknown", "10:00-17:00"]
    ENG, SCT = (texts("10:00-17:00; PH off", country="GB", subdivision=p) for p in ("ENG", "SCT"))  # noqa: N806
    assert ENG == ["10:00-17:00", "closed", "10:00-17:00"]
    assert SCT == ["10:00-17:00"] * 3


def test_holiday_is_noted_where_the_country_is_not_known():
    found = opening_of("10:00-17:00; PH off", DAYS, zone=LONDON)
    assert [one.note for one in found] == ["public holidays here are not known"] * 3


def test_school_holidays_are_unknown_where_they_matter():
    assert texts("SH 10:00-12:00", country="GB") == ["unknown"] * 3
    assert texts("Mo-Su 10:00-12:00; SH 10:00-12:00", country="GB") == ["10:00-12:00"] * 3


def test_rule_for_one_weekday_of_the_school_holidays_is_not_taken_for_every_week():
    assert texts("Su 10:00-12:00; SH Mo 10:00-12:00") == ["10:00-12:00", "unknown", "closed"]


def test_comment_alone_is_not_open():
    assert texts('"by appointment"') == ["unknown"] * 3


def test_comment_on_open_hours_that_say_open_is_kept():
    found = opening_of('10:00-12:00 open "ring first"', DAYS, zone=LONDON)
    assert found[0].text == "10:00-12:00"
    assert found[0].note == "ring first"


@pytest.mark.parametrize("value", ["", "   ", "ask Dave", "25:99-30:00", "x" * 5000])
def test_what_cannot_be_read_is_unknown_and_says_why(value):
    found = opening_of(value, DAYS, zone=LONDON)
    assert {one.state for one in found} == {"unknown"}
    assert all(one.note for one in found)


def test_sun_hours_need_a_place():
    assert texts("sunrise-sunset") == ["unknown"] * 3
    assert texts("sunrise-sunset", place=(54.0, -4.0))[0].startswith("06:1")


def test_day_on_which_the_clock_changes_keeps_its_hours():
    found = opening_of("10:00-17:00", [dt.date(2027, 10, 31)], zone=LONDON)[0]
    assert found.text == "10:00-17:00"


def test_unknown_days_do_not_count_as_open():
    frame = pd.DataFrame(
        {
            "attraction_id": ["a", "b", "c"],
            "opening_hours": ["Su,Mo 10:00-12:00", "", "off"],
            "lat": [54.0] * 3,
            "lon": [-4.0] * 3,
        }
    )
    counts = open_day_counts(opening_table(frame, DAYS, zone=LONDON), frame["attraction_id"])
    assert counts[0] == 2
    assert np.isnan(counts[1])
    assert counts[2] == 0


def test_country_that_no_calendar_has_is_not_sure():
    assert holiday_on("ZZ", SUNDAY) == (None, False)


@settings(max_examples=50, deadline=None)
@given(st.text(alphabet='MoTuWeSaPHSH0123456789:-,; "off+()[]|', max_size=40))
def test_any_text_gives_a_state_for_each_day(value):
    found = opening_of(value, DAYS, zone=LONDON, country="GB")
    assert [one.day for one in found] == DAYS
    for one in found:
        assert (one.state == "open") == bool(one.opens)
        assert all(a < b for a, b in one.opens)
