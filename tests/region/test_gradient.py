from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.region.gradient import (
    Stretches,
    combine_gradients,
    structure_heights_m,
    terrain_gradients,
)
from planner_kit.region.sampling import lines_from


def _stretches(x, y, cuts=()) -> Stretches:
    lines = lines_from(np.asarray(x, float), np.asarray(y, float), np.array([0, len(x)]))
    ends = np.concatenate([[0.0], cuts, lines.length])
    return Stretches(lines, np.zeros(len(ends) - 1, dtype=int), ends[:-1], ends[1:])


@settings(max_examples=40, deadline=None)
@given(st.floats(-0.2, 0.2), st.floats(-0.2, 0.2), st.floats(5, 2000), st.floats(0, 6.28))
def test_road_on_a_plane_has_the_slope_of_the_plane(
    east: float, north: float, length: float, facing: float
) -> None:
    x, y = np.array([0, length * np.cos(facing)]), np.array([0, length * np.sin(facing)])
    frame = terrain_gradients(_stretches(x, y), lambda x, y: 300 + east * x + north * y)
    slope = 100 * (east * np.cos(facing) + north * np.sin(facing))
    row = frame.iloc[0]
    assert row["gradient_pct"] == pytest.approx(slope, abs=1e-6)
    assert row["steepest_up_pct"] == pytest.approx(max(slope, 0), abs=1e-6)
    assert row["steepest_down_pct"] == pytest.approx(max(-slope, 0), abs=1e-6)
    assert row["climb_m"] - row["descent_m"] == pytest.approx(slope * length / 100, abs=1e-6)


def test_hill_shows_both_sides_and_no_mean_gradient() -> None:
    frame = terrain_gradients(
        _stretches([0, 2000], [0, 0]), lambda x, y: 100 - 0.08 * np.abs(x - 1000)
    )
    row = frame.iloc[0]
    assert row["gradient_pct"] == pytest.approx(0, abs=1e-6)
    assert row["steepest_up_pct"] == pytest.approx(8)
    assert row["steepest_down_pct"] == pytest.approx(8)
    assert row["climb_m"] == pytest.approx(80, abs=3)


def test_turning_a_road_round_swaps_up_and_down() -> None:
    rng = np.random.default_rng(4)
    x, y = np.cumsum(rng.uniform(20, 90, 30)), rng.uniform(0, 50, 30)

    def ground(x, y):
        return 30 * np.sin(x / 200) + 10 * np.cos(y / 90)

    there = terrain_gradients(_stretches(x, y), ground).iloc[0]
    back = terrain_gradients(_stretches(x[::-1], y[::-1]), ground).iloc[0]
    assert there["gradient_pct"] == pytest.approx(-back["gradient_pct"])
    assert there["steepest_up_pct"] == pytest.approx(back["steepest_down_pct"])
    assert there["climb_m"] == pytest.approx(back["descent_m"])


def test_roads_of_a_way_add_up_to_the_way() -> None:
    def ground(x, y):
        return 20 * np.sin(x / 150)

    whole = terrain_gradients(_stretches([0, 900], [0, 0]), ground)
    cut = terrain_gradients(_stretches([0, 900], [0, 0], [13.0, 300.0, 610.5]), ground)
    rise = (cut["climb_m"] - cut["descent_m"]).sum()
    assert rise == pytest.approx(whole["climb_m"].sum() - whole["descent_m"].sum())
    assert cut["steepest_up_pct"].max() == pytest.approx(whole["steepest_up_pct"].max())


def test_unknown_terrain_gives_unknown_and_never_level() -> None:
    frame = terrain_gradients(_stretches([0, 500], [0, 0]), lambda x, y: np.full(x.shape, np.nan))
    assert frame.isna().all(axis=None)
    combined = combine_gradients(
        frame, np.array([np.nan]), np.array([False]), (np.array([np.nan]),) * 2, np.array([500.0])
    )
    assert combined["gradient_source"].tolist() == ["unknown"]


def test_void_in_the_middle_makes_the_road_unknown() -> None:
    frame = terrain_gradients(
        _stretches([0, 1500], [0, 0], [700.0]),
        lambda x, y: np.where((x > 200) & (x < 500), np.nan, 5.0),
    )
    assert frame["gradient_pct"].isna().tolist() == [True, False]


def test_bridge_is_drawn_straight_between_its_ends() -> None:
    # Node 1 hangs over the valley between 0 and 2; roads 2 and 3 stand on the ground.
    height = structure_heights_m(
        np.array([0, 1, 2, 0]),
        np.array([1, 2, 3, 4]),
        np.array([30.0, 90.0, 50.0, 50.0]),
        np.array([True, True, False, False]),
        np.array([100.0, 20.0, 112.0, 110.0, 99.0]),
    )
    assert height == pytest.approx([100, 103, 112, 110, 99])


def test_tag_wins_over_terrain_and_structure() -> None:
    frame = terrain_gradients(_stretches([0, 100], [0, 0]), lambda x, y: 0.02 * x)
    combined = combine_gradients(
        frame, np.array([-12.0]), np.array([True]), (np.zeros(1), np.zeros(1)), np.array([100.0])
    )
    row = combined.iloc[0]
    assert (row["gradient_source"], row["steepest_down_pct"], row["steepest_up_pct"]) == (
        "tag",
        12,
        0,
    )
    assert row["descent_m"] == pytest.approx(12)


def test_error_is_that_of_the_side_slope_and_none_on_the_fall_line() -> None:
    # Heights of a 92 m grid on a side slope of 50 %: 0.5 * 92 / sqrt(12) * sqrt(2) / 100 m.
    def hillside(x, y):
        return 0.5 * y

    along = terrain_gradients(_stretches([0, 400], [0, 0]), hillside, cell_m=92.0).iloc[0]
    up = terrain_gradients(_stretches([0, 0], [0, 400]), hillside, cell_m=92.0).iloc[0]
    assert along["gradient_error_pct"] == pytest.approx(18.8, abs=0.1)
    assert along["gradient_pct"] == pytest.approx(0, abs=1e-9)
    assert up["gradient_error_pct"] == pytest.approx(0, abs=1e-9)
    assert up["gradient_pct"] == pytest.approx(50)
