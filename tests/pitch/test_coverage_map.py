from __future__ import annotations

import numpy as np
import pytest

from planner_kit.pitch.coverage import median_levels_dbm
from planner_kit.pitch.coverage_map import coverage_map
from planner_kit.region.terrain import VOID, Terrain

MAST = (54.03, 0.02, 40.0, 60.0, 800.0)


def hills(rows: int = 90, columns: int = 90) -> Terrain:
    rng = np.random.default_rng(7)
    y, x = np.mgrid[0:rows, 0:columns]
    grid = sum(
        rng.uniform(20, 80) * np.exp(-((x - cx) ** 2 + (y - cy) ** 2) / rng.uniform(30, 200))
        for cx, cy in rng.uniform(0, columns, (25, 2))
    )
    return Terrain(np.asarray(grid, dtype=np.int16), -0.03, 54.07, 1 / 900, 1 / 1200)


def test_cells_agree_with_whole_profiles() -> None:
    terrain = hills()
    found = coverage_map(*MAST, terrain)
    rng = np.random.default_rng(3)
    row, column = rng.integers(0, 90, 200), rng.integers(0, 90, 200)
    lat = terrain.north_deg - row * terrain.step_lat_deg
    lon = terrain.west_deg + column * terrain.step_lon_deg
    each = median_levels_dbm(lat, lon, *MAST, terrain, step_m=terrain.step_lat_deg * 111_000)
    apart = np.abs(found[row, column] - each)
    assert np.median(apart) < 0.3
    assert np.quantile(apart, 0.9) < 2.0


def test_cells_behind_a_hole_are_not_known() -> None:
    terrain = hills()
    grid = terrain.grid.copy()
    grid[:, 60] = VOID
    holed = coverage_map(*MAST, Terrain(grid, -0.03, 54.07, 1 / 900, 1 / 1200))
    assert np.isnan(holed[:, 62:]).all()
    assert np.isfinite(holed[20:60, 30:57]).all()


def test_a_mast_off_the_terrain_gives_nothing() -> None:
    assert np.isnan(coverage_map(50.0, 9.0, 40.0, 60.0, 800.0, hills())).all()


def test_progress_rises_to_the_end() -> None:
    told: list[float] = []
    coverage_map(*MAST, hills(), progress=told.append)
    assert told == sorted(told)
    assert told[-1] == pytest.approx(1.0)
