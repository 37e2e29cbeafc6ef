from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.rules import cautions_for
from planner_kit.states import State
from planner_kit.tow import find_route
from planner_kit.tow.climbing import (
    approved_gradient_pct,
    climb_checks,
    gripped_gradient_pct,
    start_limits,
)
from planner_kit.tow.hills import descent_checks, long_descents
from planner_kit.tow.whereabouts import PlaceNames, Way
from planner_kit.trip.household import TowWeights

from .conftest import make_outfit, make_region

DAY = dt.date(2027, 7, 24)
POINTS = [(52.0, 0.02 * n) for n in range(5)]
GRIPS = {"driven": "front", "driven_axle_kg": 1000.0}


def way(*roads, **outfit):
    region = make_region(POINTS[: len(roads) + 1], [(n, n + 1, r) for n, r in enumerate(roads)])
    fits = make_outfit(**{**GRIPS, **outfit})
    route = find_route(
        region, fits, POINTS[0], POINTS[len(roads)], weights=TowWeights(steep=0), on=DAY
    )
    return Way(region.roads, route.steps, PlaceNames(region.places)), fits


def test_a_train_at_its_plate_starts_on_twelve_per_cent():
    outfit = make_outfit(train_kg=3700.0, train_plate_kg=3700.0)
    assert approved_gradient_pct(outfit) == pytest.approx(12.0, abs=0.1)


@given(st.floats(1500, 3700))
@settings(max_examples=30, deadline=None)
def test_a_lighter_train_starts_on_at_least_as_much(train_kg):
    lighter = approved_gradient_pct(make_outfit(train_kg=train_kg, train_plate_kg=3700.0))
    assert lighter is not None
    assert lighter >= 11.9


def test_grip_by_hand_on_a_car_without_height():
    # Rear-wheel drive would gain; all wheels carry the whole car: mu * car = train * tan + ...
    outfit = make_outfit(driven="all", driven_axle_kg=2075.0)
    steepest = gripped_gradient_pct(outfit, grip=0.5)
    assert steepest is not None
    tan = steepest / 100
    pull = 3450 * (9.80665 * tan + 0.0108 * 9.80665 + 0.15 * np.sqrt(1 + tan**2))
    assert pull == pytest.approx(0.5 * 2075 * 9.80665, rel=0.02)


def test_front_wheels_grip_less_uphill_than_rear_wheels_with_the_same_load():
    front, rear = (
        gripped_gradient_pct(make_outfit(driven=end, driven_axle_kg=1000.0), grip=0.5)
        for end in ("front", "rear")
    )
    assert front is not None
    assert rear is not None
    assert front < rear


def test_wet_grips_less_than_dry_and_loose_least():
    found = start_limits(make_outfit(**GRIPS))
    assert found.loose_pct is not None
    assert found.loose_pct < found.wet_pct < found.dry_pct


@pytest.mark.parametrize(
    ("steep", "state"), [(5.0, State.FINE), (14.0, State.LOOK), (45.0, State.NOT_FINE)]
)
def test_the_steepest_climb_decides(steep, state):
    all_wheels = {"driven": "all", "driven_axle_kg": 2075.0}
    check = climb_checks(*way({}, {"steepest_up_pct": steep}, **all_wheels))[0]
    assert check.state is state
    assert check.figure == pytest.approx(steep)
    assert check.lat == pytest.approx(52.0)


@pytest.mark.parametrize(
    "missing", [{"driven": None}, {"train_plate_kg": None}, {"driven_axle_kg": None}]
)
def test_what_is_missing_makes_a_start_unknown_and_is_named(missing):
    check = climb_checks(*way({"steepest_up_pct": 3.0}, **missing))[0]
    assert check.state is State.UNKNOWN
    assert "Not known" in check.sentence


def test_no_gradient_at_all_is_unknown():
    nothing = {"steepest_up_pct": np.nan, "steepest_down_pct": np.nan, "gradient_pct": np.nan}
    checks = climb_checks(*way(nothing))
    assert [check.state for check in checks] == [State.UNKNOWN]


def test_a_long_steep_climb_slows_a_weak_car_and_is_told():
    hill = {"gradient_pct": 14.0, "steepest_up_pct": 14.0}
    check = climb_checks(*way({}, hill, power_kw=60.0))[1]
    assert check.state is State.LOOK
    assert "holds no more than" in check.sentence
    strong = climb_checks(*way({}, hill, power_kw=300.0))[1]
    assert strong.state is State.FINE


def test_long_descents_are_joined_over_short_level_pieces_and_carry_the_caution():
    down, level = {"gradient_pct": -6.0}, {"gradient_pct": 0.0}
    found, _ = way(down, down, level)
    assert long_descents(found) == [(0, 1)]
    check = descent_checks(found)[0][1]
    assert check.state is State.LOOK
    assert check.figure == pytest.approx(0.06 * found.length_km(0, 1) * 1000, rel=0.01)
    assert cautions_for("descents")[0] in check.sentence


def test_a_gentle_or_short_descent_is_not_told():
    assert long_descents(way({"gradient_pct": -2.0}, {"gradient_pct": -2.0})[0]) == []
