from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.region.bends import bend_radius_m
from planner_kit.region.sampling import lines_from


def _radius(x, y) -> float:
    return float(bend_radius_m(lines_from(np.asarray(x), np.asarray(y), np.array([0, len(x)])))[0])


@settings(max_examples=30, deadline=None)
@given(st.floats(8, 300), st.floats(0.5, 2.5), st.floats(0, 6))
def test_arc_gives_its_radius(radius: float, turn: float, facing: float) -> None:
    a = facing + np.linspace(0, turn, max(int(radius * turn / 2), 4))
    if radius * turn < 25:
        return
    assert _radius(radius * np.cos(a), radius * np.sin(a)) == pytest.approx(radius, rel=0.1)


def test_straight_road_has_no_bend() -> None:
    assert _radius([0, 50, 200], [0, 50, 200]) == np.inf


def test_mapping_noise_of_half_a_metre_is_no_tight_bend() -> None:
    noise = np.random.default_rng(1).normal(0, 0.25, 100)
    assert _radius(np.arange(100) * 15.0, noise) > 45


def test_hairpin_is_tight() -> None:
    a = np.linspace(-np.pi / 2, np.pi / 2, 12)
    x = np.concatenate([[-80], 7 * np.cos(a), [-80]])
    y = np.concatenate([[-7], 7 * np.sin(a), [7]])
    assert 6 < _radius(x, y) < 11


def test_right_angle_corner_is_tighter_than_a_gentle_curve() -> None:
    assert _radius([0, 60, 60], [0, 0, 60]) < 12


@pytest.mark.parametrize("degrees", [60, 90, 120])
def test_a_corner_drawn_with_one_point_stays_within_the_error_of_the_map(degrees) -> None:
    turn = np.radians(degrees)
    found = _radius([0, 60, 60 + 60 * np.cos(turn)], [0, 0, 60 * np.sin(turn)])
    # An arc that touches both legs passes this far inside the corner.
    assert found * (1 / np.cos(turn / 2) - 1) <= 2.0 + 1e-6 or found < 10


def test_a_slight_bend_drawn_with_one_point_is_no_tight_bend() -> None:
    turn = np.radians(20)
    assert _radius([0, 60, 60 + 60 * np.cos(turn)], [0, 0, 60 * np.sin(turn)]) > 100


def test_a_narrow_zigzag_stays_tight() -> None:
    # Two turns of 48.4 degrees with 12.04 m between them: 6.02 / tan(24.2 degrees) = 13.4 m each.
    assert _radius([0, 40, 48, 90], [0, 0, 9, 9]) < 13.5


def test_lines_do_not_touch_each_other() -> None:
    a = np.linspace(0, 2, 60)
    x = np.concatenate([[0, 100], 30 * np.cos(a), [0, 100]])
    y = np.concatenate([[0, 0], 30 * np.sin(a), [50, 50]])
    radius = bend_radius_m(lines_from(x, y, np.array([0, 2, 62, 64])))
    assert radius[0] == radius[2] == np.inf
    assert radius[1] == pytest.approx(30, rel=0.05)


def test_line_of_no_length_is_straight() -> None:
    assert _radius([5, 5], [5, 5]) == np.inf
