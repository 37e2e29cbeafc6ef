import dataclasses
import datetime as dt

import numpy as np
import pandas as pd
import pytest

from planner_kit.outings import (
    outing_weights,
    plan_outings,
    rank_attractions,
    read_attractions,
    stay_criteria,
    with_memberships,
)
from planner_kit.outings.stay_table import days_out
from planner_kit.states import State
from planner_kit.trip import read_prices
from tests.outings.conftest import make_inputs

SITE = pd.Series({"name": "Dunes", "lat": 49.5, "lon": -14.5}, name="dunes")
ARRIVE, LEAVE = dt.date(2027, 7, 24), dt.date(2027, 7, 29)
DRIVES = pd.DataFrame(
    {"minutes": [12.0, 15, 20, 8, 25], "km": [8.0, 9, 14, 5, 18]},
    index=["gull", "nets", "steam", "swim", "n3"],
)


@pytest.fixture
def report(region, list_path, tmp_path):
    prices = tmp_path / "prices.csv"
    prices.write_text("item,price,low,high,currency\ndiesel_l,1.50,1.40,1.60,GBP\n")

    def make(outings=None, drives=DRIVES, with_prices=True, **more):
        nights = (more.get("leave", LEAVE) - ARRIVE).days
        return plan_outings(
            make_inputs(outings, nights=nights),
            region,
            SITE,
            ARRIVE,
            more.pop("leave", LEAVE),
            attractions=read_attractions(list_path),
            prices=read_prices(prices if with_prices else None),
            drives=drives,
            **more,
        )

    return make


def test_report_has_what_the_other_stages_read(report):
    found = report()
    assert found.site_id == "dunes"
    columns = [
        "attraction_id", "name", "kind", "lat", "lon", "indoor", "drive_min", "distance_km",
        "cost", "currency", "free_with", "rating", "open_days", "opening_hours", "score",
    ]  # fmt: skip
    assert set(columns) <= set(found.ranking.columns)
    parts = found.ranking.filter(like="part_")
    np.testing.assert_allclose(parts.sum(axis=1), found.ranking["score"])
    assert list(found.days["day"].unique()) == list(days_out(ARRIVE, LEAVE))


def test_membership_opens_the_castle_and_its_saving_is_told(report, region, list_path):
    found = report()
    gull = found.ranking.set_index("attraction_id").loc["gull"]
    assert (gull["cost"], gull["free_with"]) == (4, "Island Heritage")
    (whole,) = with_memberships(
        [found], make_inputs(), region, pd.DataFrame(), read_attractions(list_path)
    )
    saving = next(c for c in whole.checks if c.subject == "membership Island Heritage")
    assert saving.figure == 30  # the family ticket
    assert set(whole.by_composition["who"]) == {
        "one adult", "two adults", "one adult and the children", "all of us",
    }  # fmt: skip


def test_costs_are_entry_and_fuel_of_the_drives(report):
    found = report()
    trips = found.days[found.days["what"] == "outing"]
    km = 2 * DRIVES.loc[trips["attraction_id"], "km"].sum()
    fuel = next(line for line in found.cost_lines if line.kind == "fuel")
    assert fuel.likely == pytest.approx(km * 6 / 100 * 1.5)
    assert fuel.low < fuel.likely < fuel.high
    assert len(found.cost_lines) == len(trips) + 1
    unknown = [line for line in found.cost_lines if line.state == "unknown"]
    assert all(line.likely is None for line in unknown)


def test_fuel_without_a_price_is_unknown(report):
    fuel = next(line for line in report(with_prices=False).cost_lines if line.kind == "fuel")
    assert fuel.state == "unknown"
    assert fuel.likely is None
    assert "diesel_l" in fuel.source


def test_must_that_is_nowhere_and_must_that_is_planned(report):
    found = report({"must": ["Steam Pier", "gull castle"], "rest_days": 0})
    states = {check.subject: check.state for check in found.checks}
    assert states["must-see Steam Pier"] is State.NOT_FINE
    assert states["must-see gull castle"] is State.FINE


def test_never_is_kept(report):
    found = report({"never": ["Tide Baths"]})
    assert "swim" not in set(found.days["attraction_id"])
    assert "never list" in found.left_out.set_index("attraction_id").loc["swim", "why"]


def test_place_without_known_hours_is_unknown_and_not_fine(report):
    found = report({"must": ["Long Strand"], "rest_days": 0})
    check = next(c for c in found.checks if c.subject == "opening of Long Strand")
    assert check.state is State.UNKNOWN


def test_place_without_a_road_is_left_out_and_told(report):
    found = report(drives=DRIVES.drop(index="swim"))
    assert "not known" in found.left_out.set_index("attraction_id").loc["swim", "why"]
    assert any("1 of the 5 places have no drive" in one for one in found.unknowns)


def test_one_night_has_no_day_for_outings(report):
    found = report(leave=ARRIVE + dt.timedelta(days=1))
    assert found.days.empty
    assert any("no day between" in one for one in found.unknowns)


def test_ranking_can_be_weighed_anew(report):
    found = report()
    by_drive = rank_attractions(found.ranking, {"drive": 1.0})
    assert by_drive.loc[0, "attraction_id"] == "swim"
    again = report(weights=dict.fromkeys(["rating", "cost", "age", "wet_day"], 0.0))
    assert not again.ranking["score"].equals(found.ranking["score"])


def test_budget_beyond_what_is_known_is_unknown_not_fine(report):
    found = report({"budget": 500, "must": ["Long Strand"], "rest_days": 0})
    check = next(c for c in found.checks if c.subject == "outings budget")
    assert check.state is State.UNKNOWN


def test_criteria_of_a_stay_weigh_to_the_same_ranking(report, region, list_path):
    table = stay_criteria(
        make_inputs(),
        region,
        SITE,
        ARRIVE,
        LEAVE,
        attractions=read_attractions(list_path),
        drives=DRIVES,
    )
    weights = outing_weights(make_inputs().household)
    again = rank_attractions(table, weights)
    found = report().ranking
    assert list(again["attraction_id"]) == list(found["attraction_id"])
    np.testing.assert_allclose(again["score"], found["score"])


def test_must_that_another_stay_may_hold_is_to_look_at(region, list_path):
    inputs = make_inputs({"must": ["Steam Pier"]})
    stays = (inputs.trip.stays[0], inputs.trip.stays[0].model_copy(update={"nights": 2}))
    trip = inputs.trip.model_copy(update={"stays": stays})
    found = plan_outings(
        dataclasses.replace(inputs, trip=trip),
        region,
        SITE,
        ARRIVE,
        LEAVE,
        attractions=read_attractions(list_path),
        prices=read_prices(None),
        drives=DRIVES,
    )
    check = next(c for c in found.checks if c.subject == "must-see Steam Pier")
    assert check.state is State.LOOK
