"""When a site is open by its OpenStreetMap hours, against a well-kept evaluator of them."""

import datetime as dt
import importlib.util
from pathlib import Path

import pytest
from opening_hours import OpeningHours

from planner_kit.sites.house_rules import check_house_rules
from planner_kit.states import State

_SPEC = importlib.util.spec_from_file_location(
    "sites_builders", Path(__file__).resolve().parents[1] / "sites" / "conftest.py"
)
builders = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(builders)


@pytest.mark.published(
    source="opening-hours-py 1 or 2 (Rust library opening-hours), evaluating the OpenStreetMap "
    "wiki's 'Key:opening hours/specification'"
)
@pytest.mark.parametrize(
    "text",
    [
        "24/7",
        "Mar 01-Oct 31 08:00-21:00",
        "Apr-Sep 09:00-19:00; Mo off",
        "Easter -2 days-Oct 31 10:00-18:00",
        "week 10-44 Mo-Su 08:00-20:00",
        "2027 May 01-2027 Sep 15",
        "Nov 15-Mar 01",
        "Fr-Su 12:00-22:00; Jul-Aug Mo-Su 08:00-22:00",
    ],
)
def test_a_site_is_open_on_the_days_that_the_evaluator_says(text):
    site = builders.site_frame(opening_hours=text).iloc[0]
    household = builders.household_with()
    evaluator = OpeningHours(text)
    for day in (dt.date(2027, 1, 1) + dt.timedelta(days=5 * n) for n in range(73)):
        checks = check_house_rules(
            site, household, day, hookup=False, time_zone="Europe/London", country="XX"
        )
        found = next(check for check in checks if check.subject.startswith("opening hours"))
        quarters = (
            dt.datetime.combine(day, dt.time()) + dt.timedelta(minutes=15 * n) for n in range(96)
        )
        is_open = any(evaluator.is_open(moment) for moment in quarters)
        assert (found.state is State.FINE) == is_open, (text, day, found.sentence)
