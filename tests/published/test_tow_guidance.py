"""Guidance and figures of the tow stage against what is published."""

from __future__ import annotations

import math

import pytest

from planner_kit.reference import constant
from planner_kit.trip.household import Preferences


@pytest.mark.published(
    source="The Highway Code (GB), rule 91: a minimum break of at least 15 minutes after every two "
    "hours of driving is recommended; gov.uk/guidance/the-highway-code, rules 89 to 102, read in "
    "stored copies on 2026-11-25"
)
def test_breaks_follow_rule_91_unless_the_household_says_otherwise():
    assert constant("rests", "stint_max").value == 2 * 60
    assert constant("rests", "break_min").value == 15
    assert Preferences().drive_stint_min == 2 * 60
    assert Preferences().break_min == 15


@pytest.mark.published(
    source="Rogers, Highway Engineering, section 6.5.2, after DMRB TD 9/93: desirable minimum "
    "radius 510 m at a design speed of 85 km/h; read on 2026-11-25"
)
def test_sideways_acceleration_with_a_caravan_is_not_below_that_of_gentle_road_design():
    designed_ms2 = (85 / 3.6) ** 2 / 510
    sideways = constant("towing_costs", "lateral_tow")
    assert sideways.low == pytest.approx(designed_ms2, abs=0.05)
    assert sideways.value > designed_ms2
    assert math.sqrt(sideways.value * 510) * 3.6 > 85


@pytest.mark.published(
    source="Fuel energy density calculation, worked example B: diesel of 43 MJ/kg at 0.832 kg/l is "
    "35.78 MJ/l; Energy content of fuels, appropedia.org, rev. 352820: petrol 32.0 MJ/l"
)
def test_heating_values_of_fuels():
    assert constant("fuel_road_load", "heat_diesel").value == pytest.approx(43 * 0.832, abs=0.05)
    assert constant("fuel_road_load", "heat_petrol").value == pytest.approx(32.0)
