from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.pitch.horizon import sight_along


class Line:
    def __init__(self, distance_m, height_m) -> None:
        self.distance_m = np.asarray(distance_m, dtype=float)
        self.height_m = np.asarray(height_m, dtype=float)


def test_high_masts_see_each_other_over_level_ground() -> None:
    line = Line(np.linspace(0, 5000, 101), np.full(101, 20.0))
    sight = sight_along(line, 30, 30, 800)
    assert sight.line_of_sight == "yes"
    # Bulge in the middle of 5 km on 8495 km: 500 x 2.5 x 2.5 / 8495 = 0.37 m.
    assert abs(sight.clearance_m - (30 - 0.37)) < 0.01


def test_earth_itself_hides_a_far_mast() -> None:
    line = Line(np.linspace(0, 100_000, 501), np.zeros(501))
    assert sight_along(line, 2, 30, 800).line_of_sight == "no"


def test_hill_is_told_where_it_stands() -> None:
    height = np.full(101, 20.0)
    height[30] = 90.0
    sight = sight_along(Line(np.linspace(0, 5000, 101), height), 2, 30, 800)
    assert sight.line_of_sight == "no"
    assert sight.tightest_km == 1.5
    assert sight.clearance_m < 0
    assert sight.clearance_share < 0


def test_gap_in_the_ground_is_unknown_unless_the_rest_hides_the_mast() -> None:
    height = np.full(101, 20.0)
    height[60:70] = np.nan
    line = Line(np.linspace(0, 5000, 101), height)
    assert sight_along(line, 30, 30, 800).line_of_sight == "unknown"
    height[30] = 200.0
    assert sight_along(line, 30, 30, 800).line_of_sight == "no"


def test_unknown_antenna_height_is_unknown() -> None:
    line = Line(np.linspace(0, 5000, 101), np.full(101, 20.0))
    assert sight_along(line, 30, float("nan"), 800).line_of_sight == "unknown"


def test_without_frequency_the_line_is_still_told() -> None:
    line = Line(np.linspace(0, 5000, 101), np.full(101, 20.0))
    sight = sight_along(line, 30, 30, float("nan"))
    assert sight.line_of_sight == "yes"
    assert np.isnan(sight.clearance_share)


@settings(max_examples=50, deadline=None)
@given(
    st.lists(st.floats(0, 300), min_size=3, max_size=40),
    st.floats(1, 60),
    st.floats(1, 60),
    st.floats(0.1, 100),
)
def test_higher_mast_never_loses_the_line(heights, near_m, far_m, more_m) -> None:
    line = Line(np.linspace(0, 8000, len(heights)), heights)
    if sight_along(line, near_m, far_m, 800).line_of_sight == "yes":
        assert sight_along(line, near_m, far_m + more_m, 800).line_of_sight == "yes"


@settings(max_examples=50, deadline=None)
@given(st.lists(st.floats(0, 300), min_size=3, max_size=40), st.floats(1, 60), st.floats(1, 60))
def test_sight_is_the_same_from_either_end(heights, near_m, far_m) -> None:
    there = Line(np.linspace(0, 8000, len(heights)), heights)
    back = Line(np.linspace(0, 8000, len(heights)), heights[::-1])
    one, other = sight_along(there, near_m, far_m, 800), sight_along(back, far_m, near_m, 800)
    assert abs(one.clearance_share - other.clearance_share) < 1e-6
