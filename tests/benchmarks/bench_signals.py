"""How long signal forecasts take: ten masts to a pitch, the hills around it, whole rasters.

Run by hand: ``python tests/benchmarks/bench_signals.py``. The ground is made of waves and noise, so
no file is needed.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np

from planner_kit.pitch.coverage_map import coverage_map
from planner_kit.pitch.signal_path import signal_paths
from planner_kit.pitch.skyline import skyline
from planner_kit.region.terrain import Terrain


def made_terrain(cells: int) -> Terrain:
    """A square of arc-second-by-three ground, the same hills whatever its size."""
    rng = np.random.default_rng(4)
    y, x = np.mgrid[0:cells, 0:cells] * 1.0
    height = 150 + 90 * np.sin(x / 61) * np.cos(y / 47) + 60 * np.sin((x + 2 * y) / 23)
    height += rng.normal(0, 4, height.shape)
    return Terrain(np.maximum(height, 0).astype(np.int16), -0.5, 54.5, 1 / 1200, 1 / 1200)


def best_of(times: int, work: Callable[[], object]) -> float:
    """Shortest of some runs, in s."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return min(taken)


def main() -> None:
    terrain = made_terrain(1201)
    lat, lon = 54.0, 0.0
    rng = np.random.default_rng(1)
    masts = lat + rng.uniform(-0.25, 0.25, 10), lon + rng.uniform(-0.3, 0.3, 10)
    ten = best_of(
        5,
        lambda: signal_paths(
            (lat, lon), masts, np.full(10, 1.5), np.full(10, 30.0), np.full(10, 800.0),
            np.ones(10), terrain, None,
        ),
    )  # fmt: skip
    print(f"ten masts to one pitch, full profiles    {1000 * ten:7.1f} ms")
    print(f"hills all round, 72 directions           "
          f"{1000 * best_of(5, lambda: skyline(terrain, lat, lon)):7.1f} ms")  # fmt: skip
    for cells in (301, 601, 1201, 2401):
        ground = made_terrain(cells)
        middle = 54.5 - cells / 2400, -0.5 + cells / 2400
        wall, busy = time.perf_counter(), time.process_time()
        coverage_map(*middle, 40.0, 60.0, 800.0, ground, workers=2)
        wall, busy = time.perf_counter() - wall, time.process_time() - busy
        # On a machine that is busy with other things the processor time tells the growth.
        print(f"one mast to {cells:4d} x {cells:4d} cells           {wall:9.2f} s"
              f"   {1e6 * busy / cells**2:6.2f} us of processor a cell")  # fmt: skip


if __name__ == "__main__":
    main()
