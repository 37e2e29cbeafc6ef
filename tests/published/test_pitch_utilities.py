"""Utilities of the pitch against the tables that they come from."""

from __future__ import annotations

import pytest

from planner_kit.pitch.gas import gas_kg
from planner_kit.pitch.hookup import supply_w
from planner_kit.pitch.lead import check_lead
from planner_kit.pitch.site_rules import SiteOffer
from planner_kit.pitch.water import water_l_per_day
from planner_kit.states import State
from planner_kit.trip.household import Caravan


def offer(amperes: float, volts: float | None = 230.0) -> SiteOffer:
    return SiteOffer("s", amperes, volts, 0.0, None, "any", "tap", None, None, "made")


@pytest.mark.published(
    source="The Sphere Project, Sphere Handbook (2011), basic water needs: total 7.5 to 15 L for a "
    "person and day (read in The Open University, OpenLearn Create, table 14.1)"
)
def test_water_of_a_person_is_the_handbooks_total() -> None:
    need = water_l_per_day(1)
    assert need.low == pytest.approx(7.5)
    assert need.high == pytest.approx(15)


@pytest.mark.published(
    source="Motor caravan operation manual of a European maker (2012), section 11.4, table 11-1: "
    "cooker 100 to 400 g/h, refrigerator 10 to 25 g/h"
)
def test_gas_without_hookup_adds_the_refrigerators_day() -> None:
    extra_low = gas_kg(1, hookup=False).low - gas_kg(1, hookup=True).low
    extra_high = gas_kg(1, hookup=False).high - gas_kg(1, hookup=True).high
    assert extra_low == pytest.approx(0.010 * 24)
    assert extra_high == pytest.approx(0.025 * 24)


@pytest.mark.published(
    source="BS 7671, section 708 (25 m plus or minus 2 m) and table 721 (2.5 mm2 "
    "for 16 A, 6 mm2 for 32 A), as quoted by a maker of leads and an electricians' forum"
)
def test_lead_of_the_wiring_rules_is_fine_and_thinner_is_not() -> None:
    standard = Caravan(name="c", hookup_lead_m=25, hookup_lead_mm2=2.5)
    assert check_lead(standard, offer(16)).state is State.FINE
    assert check_lead(standard, offer(32)).state is State.NOT_FINE


@pytest.mark.published(
    source="Advice for electrical hook-up of a British race circuit's camp site: at 230 V an "
    "appliance of 1 kW uses about 4.3 A"
)
def test_one_kilowatt_takes_about_four_point_three_amperes() -> None:
    assert supply_w(offer(4.3)) == pytest.approx(1000, rel=0.02)
    assert supply_w(offer(10, None)) == pytest.approx(2300)
