"""The whole trip's money."""

import datetime as dt
import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.costs import (
    ExchangeRate,
    by_month,
    cost_trip,
    food_lines,
    plan_against_spent,
    total_range,
)
from planner_kit.states import State
from planner_kit.trip.household import Household
from planner_kit.trip.money import CostLine, cost_frame
from planner_kit.trip.reading import TripInputs
from planner_kit.trip.trip import Trip

ON = dt.date(2027, 5, 1)


def inputs(**trip):
    household = Household.model_validate(
        {
            "schema": 1,
            "name": "Invented",
            "home": {"lat": 50, "lon": -3},
            "people": [{"name": "Ada"}, {"name": "Ben"}],
            "car": {"name": "car", "fuel": "diesel"},
            "caravan": {"name": "caravan"},
        }
    )
    values = {
        "schema": 1, "id": "t", "name": "T", "start": dt.date(2027, 7, 10),
        "files": {"region": "r"}, "stays": [{"site": "s", "nights": 7}], **trip,
    }  # fmt: skip
    return TripInputs(Trip.model_validate(values), household, Path("t.toml"), Path("h.toml"))


def line(kind="site", low=80.0, likely=100.0, high=130.0, state="expected", **more):
    values = {"what": kind, "currency": "GBP", "source": "test", "on": None, **more}
    return CostLine(kind=kind, low=low, likely=likely, high=high, state=state, **values)


def test_totals_are_the_sums_of_the_lines_with_food():
    trip = inputs(budget={"food_per_person_day": 10})
    cost = cost_trip(trip, [line(), line("fuel", 50, 60, 80)], planned_on=ON)
    # 10 x 2 people x 8 days of food
    assert cost.likely == 100 + 60 + 160
    assert cost.low < cost.likely < cost.high
    assert cost.per_night == pytest.approx(320 / 7)
    assert cost.per_person == 160
    assert cost.currency == "GBP"


def test_food_without_a_figure_is_an_unknown_line():
    (food,) = food_lines(inputs(), "GBP")
    assert (food.likely, food.state) == (None, "unknown")
    assert food.what == "food for 2 people on 8 days"
    (alone,) = food_lines(inputs(party=["Ada"]), "GBP")
    assert alone.what == "food for 1 person on 8 days"


def test_unknown_lines_are_listed_counted_and_in_no_sum():
    missing = line("toll", None, None, None, "unknown")
    cost = cost_trip(inputs(), [line(), missing], planned_on=ON)
    assert cost.likely == 100
    assert cost.lines["likely"].isna().sum() == 2
    check = next(c for c in cost.checks if c.subject == "unknown prices")
    assert check.state is State.UNKNOWN
    assert check.figure == 2


def test_another_currency_is_unknown_without_a_rate_and_changed_with_one():
    euros = line("ferry", 90, 100, 110, currency="EUR")
    without = cost_trip(inputs(), [euros], planned_on=ON)
    assert without.likely == 0
    assert "EUR 100.00; no rate to GBP" in without.lines["source"].iloc[0]
    rates = {"EUR": ExchangeRate(0.85, "bank, 2026-11-25")}
    found = cost_trip(inputs(), [euros], planned_on=ON, rates=rates)
    assert found.likely == pytest.approx(85)
    assert set(found.lines["currency"]) == {"GBP"}


@pytest.mark.parametrize(
    ("budget", "extra", "state"),
    [
        (200, [], State.FINE),
        (110, [], State.LOOK),
        (90, [], State.NOT_FINE),
        (200, [line("toll", None, None, None, "unknown")], State.UNKNOWN),
    ],
)
def test_budget_check_looks_at_likely_high_and_unknown(budget, extra, state):
    trip = inputs(budget={"total": budget, "food_per_person_day": 0})
    cost = cost_trip(trip, [line(), *extra], planned_on=ON)
    assert next(c for c in cost.checks if c.subject == "budget").state is state


def test_a_booked_line_whose_day_has_passed_is_overdue():
    late = line(state="booked", on=dt.date(2027, 4, 1))
    cost = cost_trip(inputs(), [late], planned_on=ON)
    assert any(c.subject == "payments overdue" and c.state is State.NOT_FINE for c in cost.checks)
    fine = cost_trip(inputs(), [line(state="booked", on=dt.date(2027, 6, 1))], planned_on=ON)
    assert not any(c.subject == "payments overdue" for c in fine.checks)


kinds = st.sampled_from(["site", "fuel", "toll", "outing", "gas"])
figures = st.tuples(*[st.integers(0, 50_000).map(lambda p: p / 100)] * 3).map(sorted)
days = st.none() | st.dates(dt.date(2027, 1, 1), dt.date(2027, 12, 31))
known = st.builds(
    lambda kind, f, on, state: line(kind, *f, state, on=on),
    kinds, figures, days, st.sampled_from(["expected", "booked", "paid"]),
)  # fmt: skip
unknown = st.builds(lambda kind: line(kind, None, None, None, "unknown"), kinds)


@settings(max_examples=50, deadline=None)
@given(st.lists(known | unknown, max_size=15), st.permutations(["site", "fuel", "toll", "outing"]))
def test_months_sum_to_the_total_and_renaming_kinds_does_not_change_it(lines, names):
    frame = cost_frame(lines)
    low, likely, high = total_range(frame)
    assert low <= likely <= high
    assert likely == pytest.approx(sum(x.likely for x in lines if x.likely is not None), abs=1e-6)
    assert by_month(frame)["amount"].sum() == pytest.approx(likely, abs=1e-6)
    renamed = dict(zip(["site", "fuel", "toll", "outing"], names, strict=True))
    other = cost_frame([replace(x, kind=renamed.get(x.kind, x.kind)) for x in lines])
    assert total_range(other) == pytest.approx((low, likely, high), abs=0.01 + 1e-3 * likely)
    moved = cost_frame([replace(x, kind="other") for x in lines])
    assert total_range(moved)[1] == likely


def test_lines_of_one_kind_range_together_and_kinds_do_not():
    same = total_range(cost_frame([line("fuel"), line("fuel")]))
    apart = total_range(cost_frame([line("fuel"), line("site")]))
    assert same[1] == apart[1]
    assert apart[2] - apart[0] < same[2] - same[0]


def test_certain_money_has_no_range():
    paid = line("site", 50, 50, 50, "paid")
    assert total_range(cost_frame([paid])) == (50, 50, 50)
    assert total_range(cost_frame([])) == (0, 0, 0)


def test_a_likely_figure_at_the_edge_stays_inside_the_range():
    low, likely, high = total_range(cost_frame([line("toll", 100, 100, 200)]))
    assert low == likely == 100
    assert high > 150


def test_plan_against_spent_says_dearer_cheaper_and_not_noted():
    trip = inputs(
        budget={"food_per_person_day": 10},
        actuals={
            "spent": [
                {"kind": "site", "amount": 70},
                {"kind": "fuel", "amount": 50},
                {"kind": "fuel", "amount": 35},
                {"kind": "other", "amount": 12},
                {"kind": "toll", "amount": 3},
            ]
        },
    )
    lines = [line(), line("fuel", 50, 60, 80), line("toll", None, None, None, "unknown")]
    table = plan_against_spent(cost_trip(trip, lines, planned_on=ON), trip.trip).set_index("kind")
    assert table["outcome"].to_dict() == {
        "site": "cheaper", "fuel": "dearer", "toll": "not priced", "food": "not noted",
        "other": "not planned", "total": "partly planned",
    }  # fmt: skip
    assert math.isnan(table.loc["food", "spent"])
    assert table.loc["fuel", "difference"] == 25
    assert table.loc["total", "spent"] == 170


def test_without_actuals_there_is_nothing_to_compare():
    trip = inputs()
    assert plan_against_spent(cost_trip(trip, [line()], planned_on=ON), trip.trip).empty


def test_total_compares_like_with_like():
    trip = inputs(actuals={"spent": [{"kind": "site", "amount": 100}]})
    cost = cost_trip(trip, [line(), line("fuel", 1, 2, 3)], planned_on=ON)
    total = plan_against_spent(cost, trip.trip).set_index("kind").loc["total"]
    assert total["planned"] == 100
    assert np.isclose(total["difference"], 0)
