from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.tow.swept_path import Turning, steady_radii_m, sweep, turned_rad, turning_of

from .conftest import make_outfit

OUTFIT = Turning(2.8, 1.0, 1.1, 4.3, 2.9, 1.85, 2.3, 5.0)


def test_straight_on_turns_nothing():
    assert turned_rad(3.0, np.array([0.5]), np.array([0.0]))[0] == 0


def test_axle_drawn_sideways_turns_towards_the_step():
    turned = turned_rad(3.0, np.array([0.01]), np.array([np.pi / 2]))
    assert turned[0] == pytest.approx(0.01 / 3.0, rel=1e-3)


def test_wide_circles_hardly_sweep_more_than_the_widest_body():
    inner, outer = steady_radii_m(OUTFIT, np.array([500.0]))
    assert (outer - inner)[0] == pytest.approx(2.3, abs=0.1)


@given(st.floats(8, 60), st.floats(1.05, 3))
@settings(max_examples=40, deadline=None)
def test_tighter_circles_sweep_more(radius, wider):
    inner, outer = steady_radii_m(OUTFIT, np.array([radius, radius * wider]))
    width = outer - inner
    assert width[0] >= width[1] - 1e-9


def test_a_long_turn_comes_to_the_steady_circle():
    path = sweep(OUTFIT, np.array([12.0]), np.array([4 * np.pi]))
    away = np.hypot(path.inner_x, path.inner_y - 12.0)
    inner, _ = steady_radii_m(OUTFIT, np.array([12.0]))
    assert away.min() == pytest.approx(inner[0], abs=0.05)


@given(st.floats(5, 40), st.floats(0.2, 3.0))
@settings(max_examples=30, deadline=None)
def test_the_caravan_never_cuts_in_more_than_on_the_steady_circle(radius, angle):
    path = sweep(OUTFIT, np.array([radius]), np.array([angle]))
    away = np.hypot(path.inner_x, path.inner_y - radius)
    inner, _ = steady_radii_m(OUTFIT, np.array([radius]))
    least = inner[0] if np.isfinite(inner[0]) else -OUTFIT.caravan_width_m
    assert away.min() >= least - 0.05


def test_many_turns_at_once_are_each_as_if_alone():
    radius, angle = np.array([7.0, 15.0, 30.0]), np.array([2.0, 1.0, 0.5])
    many = sweep(OUTFIT, radius, angle)
    for column in range(3):
        one = sweep(OUTFIT, radius[[column]], angle[[column]])
        assert one.inner_y[:, 0] == pytest.approx(many.inner_y[:, column])


@pytest.mark.parametrize("missing", ["car_wheelbase_m", "ball_to_axle_m", "axle_to_tail_m"])
def test_a_missing_length_makes_turning_unknown(missing):
    assert turning_of(make_outfit(**{missing: None})) is None


def test_a_missing_turning_circle_is_assumed_and_told():
    turning = turning_of(make_outfit())
    assert turning is not None
    assert "turning circle" in turning.assumed[0]
    known = turning_of(make_outfit(turning_circle_m=11.0))
    assert known is not None
    assert known.assumed == ()
    assert known.radius_m < turning.radius_m
