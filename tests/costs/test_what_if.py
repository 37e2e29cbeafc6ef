"""What a change of dates, nights, prices, site or way does to each line."""

import datetime as dt
import math
from dataclasses import replace

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.costs import Change, changed_lines, changed_trip, line_differences, what_if
from planner_kit.costs.other_tow import WAYS, weights_of
from planner_kit.costs.what_if import with_lines, with_prices
from planner_kit.errors import PlanFileError
from planner_kit.trip.household import TowWeights
from planner_kit.trip.money import CostLine, cost_frame

ON = dt.date(2027, 2, 1)
pence = st.integers(0, 50_000).map(lambda p: p / 100)


def line(kind="fuel", what="fuel", likely=100.0, state="expected", **more):
    low, high = (None, None) if likely is None else (likely * 0.9, likely * 1.2)
    values = {"currency": "GBP", "source": "test", "on": None, "stage": "tow", **more}
    return CostLine(kind, what, low, likely, high, state=state, **values)


def test_differences_name_what_is_new_gone_dearer_cheaper_and_not_known():
    before = cost_frame(
        [line(), line("toll", "bridge", 5.6), line("site", "pitch", 200), line("ferry", "boat", 9)]
    )
    after = cost_frame(
        [line(likely=110), line("site", "pitch", 180), line("ferry", "boat", None),
         line("outing", "zoo", 30)]
    )  # fmt: skip
    table = line_differences(before, after).set_index("what")
    assert table["change"].to_dict() == {
        "fuel": "dearer", "bridge": "gone", "pitch": "cheaper", "boat": "not known", "zoo": "new",
    }  # fmt: skip
    assert table.loc["fuel", "difference"] == pytest.approx(10)
    assert table.loc["bridge", "difference"] == -5.6
    assert math.isnan(table.loc["boat", "difference"])


def test_lines_alike_are_one_whatever_figures_stand_in_their_words():
    before = cost_frame([line("food", "food for 4 people on 8 days", 368)])
    after = cost_frame([line("food", "food for 4 people on 7 days", 322)])
    table = line_differences(before, after)
    assert table["what"].tolist() == ["food for 4 people on 7 days"]
    assert table["difference"].tolist() == [-46]


@settings(max_examples=50, deadline=None)
@given(st.lists(pence, min_size=1, max_size=6), st.lists(pence, min_size=1, max_size=6))
def test_the_line_differences_sum_to_the_difference_of_the_totals(old, new):
    before = cost_frame([line("fuel", f"way {chr(97 + n)}", x) for n, x in enumerate(old)])
    after = cost_frame([line("fuel", f"way {chr(97 + n)}", x) for n, x in enumerate(new)])
    found = what_if("x", before, after)
    gap = found.after[1] - found.before[1]
    assert found.differences["difference"].sum() == pytest.approx(gap, abs=0.006 * 6)


def test_dearer_fuel_touches_expected_fuel_only_and_not_the_frame_given():
    lines = cost_frame([line(), line(likely=50, state="paid"), line("food", "food", 10)])
    kept = lines.copy()
    dearer = with_prices(lines, {"fuel": 1.1})
    assert dearer["likely"].tolist() == pytest.approx([110, 50, 10])
    pd.testing.assert_frame_equal(lines, kept)


def test_lines_of_a_stage_are_exchanged_whole():
    lines = cost_frame([line(), line("food", "food", 10, stage="costs")])
    found = with_lines(lines, ("tow",), cost_frame([line("fuel", "other way", 80)]))
    assert sorted(found["what"]) == ["food", "other way"]


@pytest.fixture
def run(kit):
    """The lines of a trip of seven nights from Saturday 10 July, with a change."""
    inputs = kit.inputs_with(budget={"food_per_person_day": 10})
    own = kit.site_frame()
    cheap = kit.site_frame(
        site_id="cheap-field", name="Cheap Field", price_low="10", price_mid="10", price_high="10"
    )
    sites, seasons = pd.concat([own, cheap]), kit.season_frame(*kit.YEAR)
    gas = line("gas", "gas for cooking", 7, stage="pitch", on=dt.date(2027, 7, 17))
    # The plan's own lines are found by going a day on and coming back.
    there = changed_lines(
        cost_frame([line(), gas]), inputs, sites, seasons, Change(days_later=1), planned_on=ON
    )
    moved = replace(inputs, trip=changed_trip(inputs.trip, Change(days_later=1)))
    planned = changed_lines(there, moved, sites, seasons, Change(days_later=-1), planned_on=ON)

    def changed(change):
        return changed_lines(planned, inputs, sites, seasons, change, planned_on=ON)

    return changed


def amount(lines, kind):
    return lines.loc[lines["kind"] == kind, "likely"].sum()


def test_without_a_change_the_lines_stay(run):
    lines = run(Change())
    assert amount(lines, "food") == 240  # 3 people, 8 days, 10 a day
    assert amount(lines, "fuel") == 100
    assert lines.loc[lines["kind"] == "gas", "on"].tolist() == [dt.date(2027, 7, 17)]


def test_one_night_fewer_costs_one_day_less_of_food_and_a_seventh_less_of_gas(run):
    six = run(Change(more_nights=-1))
    assert amount(six, "food") == 210
    assert amount(six, "gas") == pytest.approx(6)
    # The night left out, 16 July, is one of high season: 33.33 and 4 for the child less 10 %,
    # dog 2, awning 3, hook-up 4.50.
    gone = amount(run(Change()), "site") - amount(six, "site")
    assert gone == pytest.approx(37.33 * 0.9 + 9.5, abs=0.011)


def test_other_dates_change_the_season_and_move_the_days_of_payment(run):
    later = run(Change(days_later=60))
    # 8 September is low season: 20 a night instead of 25.50 and 33.33
    assert amount(later, "site") < amount(run(Change()), "site")
    assert later.loc[later["kind"] == "gas", "on"].iloc[0] == dt.date(2027, 9, 15)


def test_another_site_costs_its_own_price_and_one_that_is_not_listed_is_told(run):
    cheaper = run(Change(site_id="cheap-field"))
    assert any("Cheap Field" in str(what) for what in cheaper["what"])
    with pytest.raises(PlanFileError, match="not in the site list"):
        run(Change(site_id="no-field"))


def test_another_way_changes_the_tow_s_lines_alone(run):
    other = run(Change(tow=[line("fuel", "fuel", 70), line("toll", "bridge", 6)]))
    table = line_differences(run(Change()), other).set_index("what")
    assert table["change"].to_dict() == {"fuel": "cheaper", "bridge": "new"}


def test_bookings_hold_only_for_their_own_site_and_days(kit):
    booking = {"state": "booked", "price": 200.0}
    stays = [
        {"site": "gull-field", "nights": 3, "booking": booking},
        {"site": "gull-field", "nights": 4, "booking": booking},
    ]
    trip = kit.trip_with(stays=stays)

    def held(change):
        return [stay.booking.price for stay in changed_trip(trip, change).stays]

    assert held(Change()) == [200, 200]
    assert held(Change(stay=1, more_nights=1)) == [200, None]
    assert held(Change(stay=0, more_nights=1)) == [None, None]
    assert held(Change(stay=0, site_id="other")) == [None, 200]
    assert held(Change(days_later=1)) == [None, None]


def test_ways_weigh_what_their_names_say():
    own = TowWeights(narrow=180, toll=0, money_per_hour=15)
    assert weights_of(WAYS[0], own) == own
    assert weights_of("the quickest way", own).narrow == 0
    assert weights_of("an easier way", own).narrow == 540
    free = weights_of("without tolls and ferries", own)
    assert (free.toll, free.ferry, free.narrow) == (3600, 3600, 180)
