from __future__ import annotations

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.pitch.battery import (
    LONGEST_DAYS,
    capacity_at_current_ah,
    charged_on_drive_kwh,
    check_battery,
    check_drive_charge,
    cold_factor,
    days_of_battery,
    left_at_home,
    running_current_a,
    usable_kwh,
)
from planner_kit.states import State
from planner_kit.trip.household import Appliance, Caravan

LIGHTS = Appliance(name="lights", watts=20, hours_per_day=5, volts=12)
KETTLE = Appliance(name="kettle", watts=750, hours_per_day=0.5)
AGM = Caravan(name="c", leisure_battery_ah=100, battery_chemistry="AGM")


def test_battery_lasts_as_long_as_its_usable_share() -> None:
    # 100 Ah x 12 V = 1.2 kWh; 0.1 kWh a day. Careful 0.4 of it, likely 0.5: 4.8 and 6 days.
    assert check_battery(AGM, (LIGHTS,), 4).state is State.FINE
    assert check_battery(AGM, (LIGHTS,), 6).state is State.LOOK
    assert check_battery(AGM, (LIGHTS,), 7).state is State.NOT_FINE
    assert check_battery(Caravan(name="c"), (LIGHTS,), 1).state is State.UNKNOWN
    assert check_battery(AGM, (), 1).state is State.UNKNOWN


def test_sun_that_covers_the_day_makes_a_long_stay_fine() -> None:
    sun = pd.DataFrame({"low_kwh": [0.1], "likely_kwh": [0.2], "high_kwh": [0.4]})
    assert check_battery(AGM, (LIGHTS,), 14, sun=sun).state is State.FINE


def test_frozen_lithium_is_told_not_to_be_charged() -> None:
    lithium = AGM.model_copy(update={"battery_chemistry": "lithium"})
    assert "frozen" in check_battery(lithium, (LIGHTS,), 2, temperature_c=-5).sentence
    assert "frozen" not in check_battery(lithium, (LIGHTS,), 2, temperature_c=5).sentence


def test_drive_charges_by_current_and_hours_and_is_unknown_without_them() -> None:
    caravan = AGM.model_copy(update={"drive_charge_a": 10.0})
    # 10 A x 3 h x 12 V x 0.9.
    assert charged_on_drive_kwh(caravan, 3) == pytest.approx(0.324)
    assert charged_on_drive_kwh(AGM, 3) is None


def test_mains_appliances_are_left_at_home_and_weighted_current() -> None:
    assert left_at_home((LIGHTS, KETTLE, KETTLE)) == ("kettle",)
    assert running_current_a((LIGHTS,)) == pytest.approx(20 / 12)
    assert running_current_a((KETTLE,)) == 0


def test_days_end_in_the_day_that_it_is_flat() -> None:
    # 0.5 kWh, 0.2 a day, 0.05 of sun: left 0.35, 0.20, 0.05 -> flat a quarter into the fourth day.
    assert days_of_battery(0.5, 0.2, [0.05]) == pytest.approx(3.25)
    assert days_of_battery(0.5, 0.0, []) == LONGEST_DAYS


@settings(max_examples=50, deadline=None)
@given(st.floats(0.01, 3), st.floats(0.01, 2), st.floats(0, 2), st.floats(0, 1))
def test_more_sun_or_a_bigger_battery_never_ends_sooner(usable, drawn, sun, more) -> None:
    days = days_of_battery(usable, drawn, [sun])
    assert days_of_battery(usable, drawn, [sun + more]) >= days - 1e-9
    assert days_of_battery(usable + more, drawn, [sun]) >= days - 1e-9


@settings(max_examples=50, deadline=None)
@given(st.floats(-40, 40), st.floats(0, 30))
def test_cold_never_adds_capacity(temperature, colder) -> None:
    assert 1 / 3 <= cold_factor(temperature - colder) <= cold_factor(temperature) <= 1


@settings(max_examples=50, deadline=None)
@given(st.floats(0.1, 200), st.floats(1, 1.6))
def test_capacity_never_exceeds_what_is_rated(current, exponent) -> None:
    assert 0 < capacity_at_current_ah(100, current, exponent) <= 100
    found = usable_kwh(AGM, current_a=current)
    assert found is not None
    assert found.low <= found.likely <= found.high


def test_the_tow_charges_the_battery_by_its_hours() -> None:
    caravan = Caravan(
        name="c", leisure_battery_ah=100, battery_chemistry="AGM", drive_charge_a=10.0
    )
    # 10 A x 12 V x 0.9 is 0.108 kWh an hour; half of 100 Ah at 12 V is 0.6 kWh.
    short = check_drive_charge(caravan, 3.0)
    assert short.figure == pytest.approx(0.324)
    assert short.state is State.LOOK
    assert "46 % charged" in short.sentence
    assert check_drive_charge(caravan, 8.0).state is State.FINE
    assert check_drive_charge(caravan, None).state is State.UNKNOWN
    assert check_drive_charge(Caravan(name="c"), 3.0).state is State.UNKNOWN
