"""Working days and the smallest amounts of currencies, against published rules."""

import datetime as dt
from decimal import Decimal

import numpy as np
import pytest
from dateutil.easter import easter

from planner_kit.sites import working_day_before
from planner_kit.sites.amounts import smallest_amount


@pytest.mark.published(
    source="Bank holidays of England and Wales, rules as set out in the documentation of the "
    "Haskell package bank-holidays-england 0.2.0.7, read 2026-11-25: Good Friday and Easter Monday "
    "either side of Easter Sunday; first Monday in May; last Mondays of May and August; 25 and 26 "
    "December, on a weekend the 27th and 28th. Easter from dateutil 2.9"
)
@pytest.mark.parametrize("year", [2025, 2026, 2027, 2028, 2029])
def test_bank_holidays_are_no_working_days(year):
    mondays = [dt.date(year, 5, day) for day in range(1, 32)]
    mondays = [day for day in mondays if day.weekday() == 0]
    august = [dt.date(year, 8, day) for day in range(1, 32)]
    august = [day for day in august if day.weekday() == 0]
    christmas, boxing = dt.date(year, 12, 25), dt.date(year, 12, 26)
    free = {
        easter(year) - dt.timedelta(days=2),
        easter(year) + dt.timedelta(days=1),
        mondays[0],
        mondays[-1],
        august[-1],
        dt.date(year, 12, 27) if christmas.weekday() >= 5 else christmas,
        dt.date(year, 12, 28) if boxing.weekday() >= 5 else boxing,
    }
    for day in free:
        assert working_day_before(day, "GB") < day


@pytest.mark.published(
    source="the same rules: Christmas 2026 is a Friday and Boxing Day a Saturday, so Monday 28 "
    "December 2026 is free and the last working day before it is Thursday the 24th"
)
def test_christmas_2026_goes_back_to_thursday():
    assert working_day_before(dt.date(2026, 12, 28), "GB") == dt.date(2026, 12, 24)


@pytest.mark.published(source="NumPy 2 reference, numpy.busday_offset with roll='backward'")
def test_weekends_agree_with_numpy():
    days = [dt.date(2027, 1, 1) + dt.timedelta(days=n) for n in range(365)]
    found = [working_day_before(day, None) for day in days]
    expected = np.busday_offset(np.array(days, dtype="datetime64[D]"), 0, roll="backward")
    assert found == list(expected.astype(object))


@pytest.mark.published(
    source="ISO 4217 as described at shortpedia.org/iso_4217 (from Wikipedia, 2020-12-26), read "
    "2026-11-25: minor unit 2 for the United States dollar, 3 for the Bahraini dinar; exponent 0 "
    "where there is no minor unit in use, such as the yen"
)
@pytest.mark.parametrize(("code", "step"), [("USD", "0.01"), ("BHD", "0.001"), ("JPY", "1")])
def test_smallest_amounts_follow_the_standard(code, step):
    assert smallest_amount(code) == Decimal(step)
