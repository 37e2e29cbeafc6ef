"""Real ground for outside checks, where the open data lie on the machine."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest

from planner_kit.pitch.signal_path import great_circles
from planner_kit.region.terrain import Terrain
from tests.conftest import open_data_files


def real_terrain() -> Terrain | None:
    for tile in open_data_files("regions/*/*.hgt"):
        place = re.fullmatch(r"([NS])(\d+)([EW])(\d+)", tile.stem)
        heights = np.fromfile(tile, dtype=">i2")
        side = math.isqrt(len(heights))
        if place is not None and side**2 == len(heights):
            south = int(place[2]) * (1 if place[1] == "N" else -1)
            west = int(place[4]) * (1 if place[3] == "E" else -1)
            step = 1 / (side - 1)
            grid = heights.reshape(side, side).astype(np.int16)
            return Terrain(grid, float(west), float(south + 1), step, step)
    return None


@pytest.fixture(scope="session")
def real_profiles() -> list[tuple[np.ndarray, float]]:
    """Heights over sixty real paths of 3 to 40 km, with their spacing in m."""
    terrain = real_terrain()
    if terrain is None:
        pytest.skip("the terrain tiles of the open data are not on this machine")
    rng = np.random.default_rng(2)
    rows, columns = terrain.grid.shape
    west, north = terrain.west_deg, terrain.north_deg
    east, south = west + columns * terrain.step_lon_deg, north - rows * terrain.step_lat_deg
    profiles: list[tuple[np.ndarray, float]] = []
    while len(profiles) < 60:
        lon, lat = rng.uniform(west, east, 2), rng.uniform(south, north, 2)
        away_m = 111_000 * np.hypot((lon[1] - lon[0]) * np.cos(np.radians(lat[0])), np.ptp(lat))
        if not 3_000 < away_m < 40_000:
            continue
        n = int(away_m // 90)
        path_lon, path_lat = great_circles(lon[0], lat[0], lon[1], lat[1], n)
        height = terrain.heights_m(path_lon, path_lat).ravel()
        if np.isfinite(height).all():
            profiles.append((height, float(away_m / (n - 1))))
    return profiles
