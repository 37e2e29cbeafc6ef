"""The stage on the demo island: its lists, its two trips, its roads."""

import datetime as dt
from pathlib import Path

import numpy as np
import pytest

from planner_kit.costs import cost_trip, plan_against_spent
from planner_kit.outfit import outfit_of
from planner_kit.region import build_region
from planner_kit.sites import (
    TariffRules,
    plan_sites,
    read_school_holidays,
    read_seasons,
    read_sites,
    read_tariffs,
)
from planner_kit.states import State
from planner_kit.tow import plan_tow
from planner_kit.trip import read_inputs, read_prices, read_tolls

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    folder = tmp_path_factory.mktemp("sites") / "region"
    tiles = sorted(DEMO.glob("*.hgt.zip"))
    region = build_region(DEMO / "sallowey.osm.pbf", tiles, folder, progress=False)
    inputs = read_inputs(DEMO / "trip_2027.toml")
    sites, seasons = read_sites(DEMO / "sites.csv"), read_seasons(DEMO / "seasons.csv")
    outfit = outfit_of(inputs.household, on=inputs.trip.start, party=inputs.trip.party)
    prices, tolls = read_prices(DEMO / "prices.csv"), read_tolls(DEMO / "tolls.csv")
    tow = plan_tow(inputs, region, outfit, sites, tolls=tolls, prices=prices)
    rules = TariffRules(
        read_tariffs(DEMO / "tariffs.csv"),
        read_school_holidays(DEMO / "school_holidays.csv"),
        region.country,
    )
    found = plan_sites(
        inputs, region, sites, seasons, tow=tow, planned_on=dt.date(2026, 11, 25), outfit=outfit,
        rules=rules,
    )  # fmt: skip
    return tow, found


@pytest.fixture(scope="module")
def report(planned):
    return planned[1]


def test_arrival_and_departure_are_those_of_the_tow(planned):
    tow, report = planned
    said = {check.subject: check.sentence for check in report.checks}
    assert f"{tow.legs[0].arrive:%H:%M}" in said["arrival at Marren Bay Touring Park"]
    assert f"{tow.legs[-1].depart:%H:%M}" in said["departure from Marren Bay Touring Park"]


def test_the_main_site_s_price_adds_up_on_paper(report):
    lines = report.price_lines
    # seven high nights of 38, two children of 4, a dog of 2, an awning of 3.50, hook-up included,
    # less 10 % of pitch and children, and a levy of 0.50 for two adults and seven nights:
    # 266 + 56 + 14 + 24.50 - 32.20 + 7
    assert lines["amount"].sum() == pytest.approx(335.30)
    assert report.stays["price_from"].tolist() == ["booking"]


def test_the_booked_price_is_what_the_lists_come_to(report):
    said = {check.subject: check for check in report.checks}
    assert said["price at Marren Bay Touring Park"].state is State.FINE
    assert report.stays["price"].tolist() == [pytest.approx(335.30)]


def test_the_narrow_lane_and_the_low_arch_put_two_sites_out(report):
    shortlist = report.shortlist.set_index("site_id")
    assert set(shortlist.index[shortlist["removed_by"] != ""]) == {"S02", "S03"}
    assert "width" in shortlist.loc["S02", "reach_why"]
    assert "height" in shortlist.loc["S03", "reach_why"]
    assert (shortlist.loc[["S02", "S03"], "fit"] == State.NOT_FINE.value).all()
    np.testing.assert_allclose(
        shortlist.filter(like="part_").sum(axis=1), shortlist["score"], atol=1e-12
    )


def test_towing_never_takes_less_time_than_driving(report):
    reached = report.shortlist.dropna(subset=["tow_min"])
    assert len(reached) == 6
    assert (reached["tow_min"] >= reached["drive_min"]).all()


def test_the_cost_of_the_stay_is_the_booked_price_by_its_dates(report):
    amounts = [line.likely for line in report.cost_lines]
    assert sum(amounts) == read_inputs(DEMO / "trip_2027.toml").trip.stays[0].booking.price


def test_last_year_compares_plan_and_spending():
    inputs = read_inputs(DEMO / "trip_2026.toml")
    cost = cost_trip(inputs, [], planned_on=dt.date(2026, 11, 25))
    table = plan_against_spent(cost, inputs.trip).set_index("kind")
    spent = sum(one.amount for one in inputs.trip.actuals.spent)
    assert table.loc["total", "spent"] == pytest.approx(spent)
    assert table.loc["site", "outcome"] == "not planned"
