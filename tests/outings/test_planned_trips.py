import datetime as dt
from dataclasses import replace

import pandas as pd
import pytest

from planner_kit.outings import other_visits, with_memberships
from planner_kit.outings.membership import VISIT_COLUMNS
from planner_kit.outings.report import OutingsReport
from planner_kit.trip.trip import Actuals
from planner_kit.trip_files import read_files


@pytest.fixture(scope="module")
def files(demo):
    return read_files(demo / "trip_2027.toml")


def other(files, start, **changes):
    """A further trip of the demo family, of three nights."""
    stay = files.inputs.trip.stays[0].model_copy(update={"nights": 3, **changes})
    update = {"id": "more", "name": "More", "start": start, "stays": (stay,), "actuals": None}
    return files.inputs.trip.model_copy(update=update)


def visits(files, *others):
    return other_visits(files.inputs, files.region, files.sites, files.attractions, others)


def test_trip_to_come_in_the_memberships_year_counts_with_a_plan_of_its_days(files):
    spring, second_year = dt.date(2027, 4, 10), dt.date(2027, 9, 4)
    found, missing = visits(files, other(files, spring))
    assert missing == ()
    assert list(found.columns) == list(VISIT_COLUMNS)
    assert len(found) > 0
    assert set(found["trip"]) == {"More"}
    assert all(spring < day < spring + dt.timedelta(days=3) for day in found["day"])
    assert visits(files, other(files, second_year))[0].empty


def test_trip_that_is_over_counts_with_what_was_visited(files):
    trip = other(files, dt.date(2027, 5, 1))
    over = trip.model_copy(update={"actuals": Actuals(visited=("Sallow Castle", "Nowhere"))})
    found, _ = visits(files, over)
    assert list(found["name"]) == ["Sallow Castle"]
    assert found["free_with"].iloc[0] == "keepers"


def test_site_that_no_list_names_is_said(files):
    found, missing = visits(files, other(files, dt.date(2027, 5, 1), site="S99"))
    assert found.empty
    assert "More is not known" in missing[0]
    assert "S99" in missing[0]


def test_second_trip_adds_to_what_a_membership_saves(files, make_report):
    alone = with_memberships(
        [make_report], files.inputs, files.region, files.sites, files.attractions
    )[0]
    trips = (other(files, dt.date(2027, 5, 1)),)
    both = with_memberships(
        [make_report], files.inputs, files.region, files.sites, files.attractions, trips
    )[0]
    assert both.memberships["saved"].sum() >= alone.memberships["saved"].sum()
    assert any(check.subject.startswith("membership") for check in alone.checks)
    assert alone.by_composition["who"].nunique() == 4


@pytest.fixture
def make_report(files):
    castle = files.attractions[files.attractions["name"] == "Ombe Keep"]
    seen = castle.assign(trip="Summer", day=dt.date(2027, 7, 26))[list(VISIT_COLUMNS)]
    empty = pd.DataFrame()
    report = OutingsReport("S01", empty, empty, empty, (), (), ())
    return replace(report, visits=seen.reset_index(drop=True))
