"""What-ifs of a trip's cost: what the controls change, without a browser."""

import pytest

from planner_kit.costs import WAYS
from planner_kit.views.costs import show_spent, trip_cost

ON = "2027-01-09"


@pytest.fixture(scope="module")
def explorer(demo):
    return trip_cost(demo, trip="trip_2027.toml", planned_on=ON)


def likely(explorer):
    return explorer.changed_lines()["likely"].sum()


def test_as_planned_nothing_changes(explorer):
    explorer.again.click()
    assert likely(explorer) == pytest.approx(explorer.plan.cost.likely)
    assert "Nothing is changed yet" in explorer.difference.value


def test_dearer_fuel_one_night_fewer_and_later_dates_are_told(explorer):
    explorer.fuel.value = 50
    assert "dearer" in explorer.difference.value
    explorer.again.click()
    explorer.nights.value = -1
    assert likely(explorer) < explorer.plan.cost.likely
    assert "food for 4 people on 7 days" in explorer.difference.value
    explorer.again.click()
    explorer.days.value = -14
    assert likely(explorer) < explorer.plan.cost.likely
    explorer.again.click()


def test_another_site_brings_its_own_tow(explorer):
    explorer.site.value = "S08"
    tow = explorer.other_tow()
    assert "Bar View Touring" in tow.legs[0].to_name
    lines = explorer.changed_lines()
    assert any("Bar View" in what for what in lines.loc[lines["stage"] == "tow", "what"])
    assert "The tows would be" in explorer.difference.value
    explorer.again.click()


def test_a_price_that_would_be_unknown_stands_beside_the_saving(explorer):
    explorer.site.value = "S09"  # it does not say what a child costs
    assert "but one price is not known and not in it" in explorer.difference.value
    assert "metered electricity at Tolvenny Town Park" in explorer.difference.value
    explorer.again.click()


def test_a_site_that_cannot_be_towed_to_is_told(explorer):
    explorer.site.value = "S02"
    assert "There is no such way for the outfit" in explorer.difference.value
    explorer.again.click()


@pytest.mark.parametrize("way", WAYS[1:])
def test_every_other_way_is_ready_before_it_is_chosen(explorer, way):
    assert (way, explorer.first_site) in explorer.tows
    explorer.way.value = way
    assert "The tows would be" in explorer.difference.value
    explorer.again.click()


def test_last_year_is_beside_this_one_and_its_spending_is_shown(demo, explorer):
    assert "Beside earlier trips" in explorer.costing.value
    shown = show_spent(demo, trip="trip_2026.toml", planned_on=ON).data
    assert "£322.70" in shown
