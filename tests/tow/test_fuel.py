from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.states import State
from planner_kit.tow.driving_range import check_range, supply_of
from planner_kit.tow.fuel import fuel_use, use_by_step
from planner_kit.tow.leg import FuelUse
from planner_kit.tow.road_load import climbing_speeds_kmh, road_load
from planner_kit.trip.household import Car

from .conftest import make_outfit


def steps(gradient=0.0, speed=75.0, km=100.0, road_class="primary"):
    return pd.DataFrame(
        {
            "length_m": [km * 1000], "time_s": [km / speed * 3600], "speed_kmh": [speed],
            "gradient_pct": [gradient], "road_class": [road_class],
        }
    )  # fmt: skip


def test_own_figure_comes_back_for_the_drive_that_it_belongs_to():
    car = Car(name="c", fuel="diesel", towing_l_per_100km=11.5)
    fuel = fuel_use(steps(), make_outfit(), car)
    assert fuel.likely == pytest.approx(11.5, abs=0.01)
    assert fuel.low < fuel.likely < fuel.high
    assert "own towing figure" in fuel.source


@pytest.mark.common_practice(
    source="cars with a caravan of 1.4 t use about 9 to 15 l of diesel in 100 km"
)
def test_model_alone_gives_a_usual_figure():
    car = Car(name="c", fuel="diesel")
    assert 9 < fuel_use(steps(), make_outfit(), car).likely < 15


def test_ferry_uses_no_fuel():
    car = Car(name="c", fuel="diesel")
    assert fuel_use(steps(road_class="ferry"), make_outfit(), car).likely == 0


def test_electric_is_in_kwh_and_gets_some_back_downhill():
    car, outfit = Car(name="c", fuel="electric"), make_outfit(fuel="electric")
    flat = fuel_use(steps(), outfit, car)
    assert flat.unit == "kWh"
    assert 25 < flat.likely < 60
    assert fuel_use(steps(gradient=-6.0), outfit, car).likely < flat.likely


@given(more=st.floats(0, 1500), gradient=st.floats(0, 15), speed=st.floats(20, 100))
@settings(max_examples=40, deadline=None)
def test_more_mass_never_costs_less_on_the_level_or_uphill(more, gradient, speed):
    car = Car(name="c", fuel="diesel")
    light = fuel_use(steps(gradient, speed), make_outfit(), car).likely
    heavy = fuel_use(steps(gradient, speed), make_outfit(caravan_kg=1450 + more), car).likely
    assert heavy >= light - 1e-9


def test_unknown_mass_is_assumed_aloud():
    assert any("caravan's mass" in text for text in road_load(make_outfit(caravan_kg=None),
                                                              towing=True).assumed)  # fmt: skip


def test_climbing_speed_balances_power_by_hand():
    # At 10 % a train of 3450 kg needs about 3450 x 9.81 x (0.0995 + 0.0108) = 3734 N and air.
    outfit = make_outfit()
    speed = float(climbing_speeds_kmh(np.array([10.0]), outfit)[0]) / 3.6
    air = 0.5 * 1.225 * road_load(outfit, towing=True).drag_area_m2 * speed**2
    assert (3734 + air) * speed == pytest.approx(110_000 * 0.75, rel=0.01)
    assert climbing_speeds_kmh(np.array([-5.0, np.nan]), outfit).tolist() == [np.inf, np.inf]


def held(likely, *, short=0.0, **car):
    fuel = FuelUse(likely * 0.9, likely, likely * 1.1, "l", "test")
    supply = supply_of(fuel, np.array([likely]), Car(name="c", fuel="diesel", **car),
                       at_start_frac=1.0, reserve_frac=0.2)  # fmt: skip
    nothing = pd.DataFrame(columns=["name", "kind", "at_km", "filled", "room"])
    return supply, check_range(fuel, supply, 400, nothing, short)


def test_range_is_held_against_the_tank_less_the_reserve():
    supply, check = held(30, tank_l=60)
    assert supply.lasts
    assert check.state is State.FINE
    assert check.limit == pytest.approx(48)


@pytest.mark.parametrize(("likely", "state"), [(46, State.LOOK), (70, State.NOT_FINE)])
def test_a_tank_that_does_not_last_is_told_by_how_much(likely, state):
    supply, check = held(likely, short=likely * 1.1 - 48, tank_l=60)
    assert not supply.lasts
    assert check.state is state
    assert f"{likely * 1.1 - 48:.0f} l are missing" in check.sentence


def test_use_of_the_steps_sums_to_that_of_the_drive():
    steps = pd.DataFrame({"length_m": [5000.0, 3000.0], "time_s": [240.0, 200.0],
                          "speed_kmh": [75.0, 54.0], "gradient_pct": [1.0, -2.0],
                          "road_class": ["primary", "ferry"]})  # fmt: skip
    outfit, car = make_outfit(), Car(name="c", fuel="diesel")
    each = use_by_step(steps, outfit)
    assert each[1] == 0
    assert fuel_use(steps, outfit, car).likely == pytest.approx(each.sum())


def test_range_of_an_unknown_tank_is_unknown():
    _, check = held(10)
    assert check.state is State.UNKNOWN
