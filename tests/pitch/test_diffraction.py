from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.pitch.diffraction import (
    bullington_loss_db,
    delta_bullington,
    smooth_earth_heights_m,
    spherical_earth_loss_db,
)

RADIUS_KM = 8495.0
heights = st.lists(st.floats(0, 400), min_size=5, max_size=30)


@settings(max_examples=50, deadline=None)
@given(heights, st.floats(2, 80), st.floats(2, 80))
def test_loss_is_never_negative_and_the_same_both_ways(profile, near_m, far_m) -> None:
    h = np.asarray(profile)
    d = np.linspace(0, 12, len(h))
    there = delta_bullington(d, h, h[0] + near_m, h[-1] + far_m, 0.8, RADIUS_KM).loss_db
    back = delta_bullington(d, h[::-1], h[-1] + far_m, h[0] + near_m, 0.8, RADIUS_KM).loss_db
    assert there >= 0
    assert there == pytest.approx(back, abs=1e-6)


def test_many_profiles_at_once_agree_with_one_by_one() -> None:
    rng = np.random.default_rng(7)
    h = rng.uniform(0, 200, (6, 80)).cumsum(axis=1) / 20
    d = np.linspace(0, [3, 5, 8, 13, 21, 34], 80).T
    f = np.array([0.5, 0.7, 0.8, 0.9, 1.8, 2.6])
    together = delta_bullington(d, h, h[:, 0] + 3, h[:, -1] + 30, f, RADIUS_KM)
    for i in range(6):
        one = delta_bullington(d[i], h[i], h[i, 0] + 3, h[i, -1] + 30, f[i], RADIUS_KM)
        assert together.loss_db[i] == pytest.approx(float(one.loss_db), abs=1e-9)


def test_unknown_ground_gives_no_figure() -> None:
    h = np.full(20, 10.0)
    h[7] = np.nan
    loss = bullington_loss_db(np.linspace(0, 5, 20), h, 40, 40, 0.8, RADIUS_KM)
    assert np.isnan(loss)


def test_smooth_line_through_a_straight_slope_is_that_slope() -> None:
    start, end = smooth_earth_heights_m(np.linspace(0, 10, 21), np.linspace(50, 150, 21))
    assert start == pytest.approx(50)
    assert end == pytest.approx(150)


def test_loss_beyond_the_horizon_grows_with_distance() -> None:
    loss = spherical_earth_loss_db(np.array([40.0, 60.0, 80.0, 120.0]), 30, 10, 0.8, RADIUS_KM)
    assert np.all(np.diff(loss) > 0)
