"""What of an earlier trip no longer holds, on a plan of the demo island in November."""

from __future__ import annotations

import copy
import datetime as dt
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from planner_kit.diary import facts_of
from planner_kit.diary.comparing import compare_facts, paired_checks
from planner_kit.diary.conflicts import conflicts_of, rows_gone
from planner_kit.plan import TripPlan, plan_trip
from planner_kit.trip.reading import read_trip
from planner_kit.trip_files import read_files


@pytest.fixture(scope="module")
def november(planning: Path) -> TripPlan:
    files = read_files(planning / "trip_2026.toml", start=dt.date(2027, 11, 1))
    return plan_trip(files, planned_on=dt.date(2027, 1, 9))


@pytest.fixture
def older(newest_facts: dict[str, Any]) -> dict[str, Any]:
    """The kept facts of July 2026, with a place that is gone since."""
    facts = copy.deepcopy(newest_facts)
    facts["outings"].append({"site": "S01", "day": "2026-07-26", "name": "Palace of Nowhere"})
    return facts


def test_season_that_is_over_and_places_closed_then_are_told(
    november: TripPlan, older: dict[str, Any]
) -> None:
    found = conflicts_of(november, older).set_index("what")
    season = found.loc["open season of Marren Bay Touring Park"]
    assert (season["before"], season["state"]) == ("fine", "not fine")
    assert "1 March to 31 October" in season["now"]
    assert found.loc["Palace of Nowhere", "now"] == "no longer among the places near the site"
    shut = found[found["now"].str.startswith("closed on")]
    assert len(shut) >= 1
    assert shut["now"].str.contains("November 2027").all()
    order = {"not fine": 0, "look at this": 1, "unknown": 2}
    assert list(found["state"].map(order)) == sorted(found["state"].map(order))
    assert not found.index.str.startswith("booking at").any()


def test_plan_beside_its_own_facts_has_no_conflict(november: TripPlan) -> None:
    facts = facts_of(november)
    assert conflicts_of(november, facts)["before"].tolist() == []
    assert compare_facts(facts, facts).empty


def test_what_changed_has_a_reason_for_prices_opening_daylight_deadlines_and_bookings(
    november: TripPlan, older: dict[str, Any]
) -> None:
    changes = compare_facts(older, facts_of(november)).set_index("what")
    price = changes.loc["price of Marren Bay Touring Park"]
    assert price["cause"] == "dates, prices, bookings"
    assert "price season: 7 nights high before, 7 nights" in price["why"]
    assert changes.loc["daylight on the first day", "change"] < -300
    assert changes.loc["daylight on the first day", "cause"] == "dates"
    assert changes.loc["attractions closed on all days", "cause"] == "dates, opening"
    booking = changes.loc[["booking at Marren Bay Touring Park"]].query("after == 'not asked'")
    assert booking["cause"].tolist() == ["dates, bookings"]
    assert "not carried over" in booking["why"].iloc[0]
    assert (changes["why"] != "").all()


def test_law_that_changed_is_named_as_the_reason(older: dict[str, Any]) -> None:
    newer = copy.deepcopy(older)
    figure = next(one for one in newer["figures"] if one["key"] == "tow.out.drive_min")
    figure["value"] += 9
    figure["reasons"]["law: rows of the tables of law"] = "GB ffffffff"
    (row,) = compare_facts(older, newer).to_dict("records")
    assert row["change"] == 9
    assert row["cause"] == "law"
    assert row["why"].startswith("rows of the tables of law: GB")
    assert row["why"].endswith("before, GB ffffffff now")


def test_rows_of_sites_that_are_gone(planning: Path) -> None:
    trip = read_trip(planning / "trip_2026.toml")
    gone = rows_gone(trip, {"S04", "S08", "S09", "S11"}, "sites.csv")
    assert gone[["before", "state"]].values.tolist() == [
        ["S01", "not fine"],
        ["S01", "look at this"],
        ["S12", "look at this"],
    ]
    assert isinstance(rows_gone(trip, {"S01", *trip.candidates}, "x"), pd.DataFrame)
    assert rows_gone(trip, {"S01", *trip.candidates}, "x").empty


def test_checks_of_one_subject_are_paired_by_their_turn() -> None:
    first, second, third = ({"subject": "breaks", "state": state} for state in "abc")
    assert paired_checks([first, second], [second, third]) == [(first, second), (second, third)]
    assert paired_checks([first, second], [third]) == [(first, third), (second, None)]
