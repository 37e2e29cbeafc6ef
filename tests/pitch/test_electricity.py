from __future__ import annotations

import pytest

from planner_kit.pitch.climate import StayClimate
from planner_kit.pitch.electricity import (
    HEATING,
    check_electricity,
    check_heat_without_mains,
    electricity_need,
    is_space_heater,
    is_water_heater,
    loads_with_heating,
)
from planner_kit.pitch.heating import heating_kwh_per_day
from planner_kit.pitch.site_rules import site_offer
from planner_kit.states import State

SIZED = {"body_length_m": 6.0, "width_m": 2.3, "insulation_class": 3, "heating": "electric"}
COLD = StayClimate(low_c=0.0, high_c=8.0)
KETTLE = {"name": "kettle", "watts": 1000, "hours_per_day": 0.5}
HEATER = {"name": "fan heater", "watts": 1500, "hours_per_day": 4}


def test_appliances_draw_watts_times_hours(inputs) -> None:
    household = inputs(appliances=[KETTLE, HEATER]).household
    need = electricity_need(household, StayClimate(), 2, 5)
    # (1000 x 0.5 + 1500 x 4) / 1000 x 5 nights.
    assert need.total is not None
    assert need.total.likely == pytest.approx(32.5)


def test_electric_heating_follows_the_cold_and_its_heater_does_not_count_twice(inputs) -> None:
    household = inputs(caravan=SIZED, appliances=[KETTLE, HEATER]).household
    need = electricity_need(household, COLD, 2, 5)
    heat = heating_kwh_per_day(household.caravan, 0.0, 8.0, 2)
    assert heat is not None
    assert need.uses["heating"].likely == pytest.approx(5 * heat.likely)
    assert need.uses["appliances"].likely == pytest.approx(2.5)
    warmer = electricity_need(household, StayClimate(low_c=12.0, high_c=18.0), 2, 5)
    assert warmer.uses["heating"].likely < need.uses["heating"].likely


def test_electric_heating_without_temperatures_is_said_not_to_be_counted(inputs) -> None:
    household = inputs(caravan=SIZED, appliances=[KETTLE]).household
    need = electricity_need(household, StayClimate(), 2, 5)
    assert "heating" not in need.uses
    assert "temperatures" in need.not_counted[0]


def test_electric_heating_loads_the_post_in_the_coldest_night(inputs) -> None:
    household = inputs(caravan=SIZED, appliances=[KETTLE]).household
    loads = loads_with_heating(household, COLD)
    heating = loads[loads["name"] == HEATING].iloc[0]
    # Shell 2 x (6 x 2.3 + 1.95 x 8.3) = 60 m2 at 1.2 and 26.9 m3 of air 1.5 times an hour.
    assert heating["watts"] == pytest.approx(20 * (1.2 * 59.97 + 1.5 * 0.335 * 26.91), rel=0.001)
    own = inputs(caravan=SIZED, appliances=[KETTLE, HEATER]).household
    assert HEATING not in set(loads_with_heating(own, COLD)["name"])
    gas = inputs(caravan={**SIZED, "heating": "gas"}, appliances=[KETTLE]).household
    assert HEATING not in set(loads_with_heating(gas, COLD)["name"])


def test_hot_water_by_electricity_counts_unless_its_boiler_is_listed(inputs) -> None:
    caravan = {"hot_water": "electric"}
    need = electricity_need(inputs(caravan=caravan, appliances=[KETTLE]).household, COLD, 2, 1)
    # 8 L a person, warmed by 28 K.
    assert need.uses["hot water"].likely == pytest.approx(2 * 8 * 28 * 1.163 / 1000)
    boiler = {"name": "water heater", "watts": 800, "hours_per_day": 1}
    listed = inputs(caravan=caravan, appliances=[KETTLE, boiler]).household
    assert "hot water" not in electricity_need(listed, COLD, 2, 1).uses
    assert is_water_heater("Water heater")
    assert not is_space_heater("Water heater")
    assert is_space_heater("Fan heater")


@pytest.mark.parametrize(
    ("cells", "state"),
    [
        ({"hookup_metered": True}, State.LOOK),
        ({"hookup_price": 0.0}, State.FINE),
        ({"hookup_price": float("nan")}, State.UNKNOWN),
    ],
)
def test_a_meter_wants_a_look_and_silence_is_unknown(inputs, site, cells, state) -> None:
    need = electricity_need(inputs(appliances=[KETTLE]).household, COLD, 2, 5)
    assert check_electricity(need, site_offer(site(**cells)), 5).state is state


def test_a_meter_with_a_use_that_is_not_known_as_a_whole_is_unknown(inputs, site) -> None:
    household = inputs(caravan=SIZED, appliances=[KETTLE]).household
    need = electricity_need(household, StayClimate(), 2, 5)
    check = check_electricity(need, site_offer(site(hookup_metered=True)), 5)
    assert check.state is State.UNKNOWN
    assert "names no temperatures" in check.sentence


def test_no_appliance_is_unknown(inputs, site) -> None:
    need = electricity_need(inputs(appliances=[]).household, COLD, 2, 5)
    assert need.total is None
    assert check_electricity(need, site_offer(site()), 5).state is State.UNKNOWN


@pytest.mark.parametrize(
    ("low_c", "state"), [(2.0, State.NOT_FINE), (14.0, State.LOOK), (None, State.UNKNOWN)]
)
def test_electric_heating_without_mains_is_told(inputs, low_c, state) -> None:
    caravan = inputs(caravan={"heating": "electric"}).household.caravan
    check = check_heat_without_mains(caravan, StayClimate(low_c=low_c, high_c=20.0))
    assert check is not None
    assert check.state is state
    gas = inputs(caravan={"heating": "gas"}).household.caravan
    assert check_heat_without_mains(gas, StayClimate(low_c=low_c)) is None
