"""A site that counts kilowatt-hours, and a caravan that heats with them: one figure for all."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from planner_kit.diary.figures import figures_of
from planner_kit.pack.folder import pack_sheets
from planner_kit.plan import TripPlan, plan_trip
from planner_kit.trip_files import read_files
from planner_kit.views.costs import CostExplorer
from planner_kit.views.utilities import PitchUtilities

PRICE = 0.48  # of a kilowatt-hour at Tolvenny Town Park, S09, in data/demo/tariffs.csv


def island(demo: Path, folder: Path, *, weather: bool = True) -> Path:
    """The demo at a site with a meter, nothing booked, heating and hot water electric."""
    shutil.copytree(demo, folder)
    house, trip = folder / "household.toml", folder / "trip_2027.toml"
    told = house.read_text(encoding="utf-8")
    for what in ("heating", "hot_water"):
        assert f'\n{what} = "gas"' in told
        told = told.replace(f'\n{what} = "gas"', f'\n{what} = "electric"')
    house.write_text(told, encoding="utf-8")
    sites = folder / "sites.csv"
    cells = sites.read_text(encoding="utf-8")
    assert ",25,,,1,2,GBP" in cells  # the price of a child is not known there
    sites.write_text(cells.replace(",25,,,1,2,GBP", ",25,,3,1,2,GBP"), encoding="utf-8")
    text = trip.read_text(encoding="utf-8")
    head, rest = text.split("[stays.booking]", 1)
    text = head.replace('site = "S01"', 'site = "S09"') + "[tow]" + rest.split("[tow]", 1)[1]
    if not weather:
        text = text.split("[[climate]]", 1)[0]
    trip.write_text(text, encoding="utf-8")
    return trip


@pytest.fixture(scope="module")
def plan(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> TripPlan:
    trip = island(demo, tmp_path_factory.mktemp("meter") / "island")
    return plan_trip(read_files(trip), planned_on=dt.date(2027, 1, 9))


def meter(plan: TripPlan) -> dict[str, Any]:
    lines = plan.cost.lines
    return dict(lines[lines["kind"] == "electricity"].iloc[0])


def test_line_of_cost_is_the_pitchs_kilowatt_hours_at_the_tariffs_price(plan: TripPlan) -> None:
    assert plan.pitches[0].utilities is not None
    need = plan.pitches[0].utilities.electricity
    assert set(need.uses) == {"appliances", "heating"}
    total, line = need.total, meter(plan)
    assert total is not None
    for name, kwh in (("low", total.low), ("likely", total.likely), ("high", total.high)):
        assert line[name] == pytest.approx(kwh * PRICE, abs=0.04)
    assert line["low"] < line["likely"] < line["high"]
    assert (plan.cost.lines["kind"] == "electricity").sum() == 1


def test_facts_pack_and_notebooks_show_the_same_money(plan: TripPlan) -> None:
    line = meter(plan)
    figures = {figure.key: figure.value for figure in figures_of(plan)}
    assert figures["cost.electricity"] == line["likely"]
    amount = f"{line['likely']:.2f}"
    assert amount in json.dumps(pack_sheets(plan, ["money"], 170.0), default=str)
    panel, costs = PitchUtilities(plan.files, 0), CostExplorer(plan)
    assert amount in panel.text.value
    assert amount in costs.costing.value
    assert "metered electricity at Tolvenny Town Park" in panel.text.value


def test_shortlist_holds_the_meter_and_so_does_the_first_sites_price(plan: TripPlan) -> None:
    parts = plan.sites.price_lines
    counted = parts.loc[parts["part"] == "kwh", "amount"].sum()
    assert counted == pytest.approx(meter(plan)["likely"])
    listed = plan.sites.shortlist.set_index("site_id").loc["S09", "price"]
    assert listed == pytest.approx(parts["amount"].sum())


def test_slider_of_nights_follows_the_meter(plan: TripPlan) -> None:
    explorer = CostExplorer(plan)
    explorer.nights.value = -2
    lines = explorer.changed_lines()
    fewer = lines.loc[lines["kind"] == "electricity", "likely"].item()
    assert fewer == pytest.approx(meter(plan)["likely"] * 5 / 7, abs=0.01)


def test_without_temperatures_the_line_is_unknown_and_in_no_total(
    demo: Path, tmp_path: Path
) -> None:
    trip = island(demo, tmp_path / "island", weather=False)
    dark = plan_trip(read_files(trip), planned_on=dt.date(2027, 1, 9))
    line = meter(dark)
    assert line["state"] == "unknown"
    assert "names no temperatures" in line["source"]
    assert any(
        check.state.value == "unknown" and "metered electricity" in check.sentence
        for check in dark.cost.checks
    )
