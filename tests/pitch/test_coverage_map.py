from __future__ import annotations

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from planner_kit.pitch.coverage_map import coverage_map
from planner_kit.pitch.propagation import free_space_loss_db
from planner_kit.pitch.signal_path import great_circles, signal_paths
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
    paths = signal_paths(
        (lat, lon), MAST[:2], np.full(200, 1.5), np.full(200, MAST[2]), np.full(200, MAST[4]),
        np.ones(200), terrain, None, step_m=terrain.step_lat_deg * 111_000,
    )  # fmt: skip
    free_dbm = MAST[3] - free_space_loss_db(paths.distance_km[:, -1], MAST[4])
    each = free_dbm - paths.diffraction_db
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


def test_great_circle_stays_near_the_geodesic() -> None:
    lon, lat = great_circles(np.array([0.0]), np.array([50.0]), 1.2, 50.4, 11)
    line = Geodesic.WGS84.InverseLine(50.0, 0.0, 50.4, 1.2)
    for i in range(11):
        other = line.Position(line.s13 * i / 10)
        gap = Geodesic.WGS84.Inverse(lat[0, i], lon[0, i], other["lat2"], other["lon2"])["s12"]
        assert gap < 30
