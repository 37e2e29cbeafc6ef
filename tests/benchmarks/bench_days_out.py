"""How quickly the days out follow a slider and an edit, and a loop is found; run with python.

PYTHONPATH names the project's folder. Prints wall and processor time, so that other load on the
machine shows.
"""

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd

from planner_kit.demo import demo_folder
from planner_kit.outings import (
    CRITERIA,
    find_rides,
    outing_weights,
    rank_attractions,
    score_places,
    stay_criteria,
)
from planner_kit.region import build_region
from planner_kit.trip_files import read_files
from planner_kit.views.tune import AttractionTuner
from tests.benchmarks.rank_attractions import made_table
from tests.conftest import open_data_extracts, open_data_terrain

PLACES = 2000


def measured(what: str, do: Callable[[int], object], times: int, bar_ms: float) -> None:
    """Print median and worst of some turns."""
    wall, processor = [], []
    for turn in range(times):
        start, begun = time.perf_counter(), time.process_time()
        do(turn)
        wall.append(1000 * (time.perf_counter() - start))
        processor.append(1000 * (time.process_time() - begun))
    print(
        f"{what:48} median {statistics.median(wall):6.0f} ms, worst {max(wall):6.0f} ms, processor "
        f"{statistics.median(processor):6.0f} ms (bar {bar_ms:.0f} ms)",
        flush=True,
    )


def widened(table: pd.DataFrame, rows: int) -> pd.DataFrame:
    """A stay's table with as many places, copies of its own with other figures and hours."""
    rng = np.random.default_rng(3)
    whole = pd.concat([table] * (rows // len(table) + 1), ignore_index=True).head(rows)
    whole["attraction_id"] = [f"x{n}" for n in range(rows)]
    whole["name"] = [f"{name} {n}" for n, name in enumerate(whole["name"])]
    for name in CRITERIA:
        figures = whole[f"criterion_{name}"].to_numpy(dtype=float)
        whole[f"criterion_{name}"] = np.clip(figures + rng.normal(0, 0.1, rows), 0, 1)
    for name in ("drive_min", "travel_min"):
        whole[name] = whole[name] * rng.uniform(0.8, 1.2, rows)
    return whole


def main() -> None:
    """Print one line for each thing that people wait for."""
    with tempfile.TemporaryDirectory() as home:
        folder = demo_folder(Path(home) / "demo", progress=False)
        files = read_files(folder / "trip_2027.toml")
        stay = files.inputs.trip.stays[0]
        dates = files.inputs.trip.stay_dates()[0]
        site = files.sites.loc[stay.site]
        table = stay_criteria(
            files.inputs, files.region, site, *dates, attractions=files.attractions
        )
        tuner = AttractionTuner(files, widened(table, PLACES), 0)
        tuner._repr_mimebundle_()  # as a notebook shows it
        sliders = list(tuner.sliders.values())

        def slide(turn: int) -> None:
            sliders[turn % len(sliders)].value = (turn * 1.5) % 10

        def replan(turn: int) -> None:
            slide(turn)
            tuner.settle()

        def edit(turn: int) -> None:
            planner = tuner.planner
            out = planner.plan.days[planner.plan.days["what"] == "outing"]
            planner.place.value = out["attraction_id"].iloc[turn % len(out)]
            planner.day.value = planner.day.options[turn % len(planner.day.options)][1]
            (planner.pin if turn % 2 else planner.leave_out).click()

        measured(f"a slider, {PLACES} places: chart, map, tables", slide, 40, 100)
        measured(f"the days after a slider, {PLACES} places", replan, 10, 2000)
        measured(f"pin or leave out, {PLACES} places", edit, 10, 2000)
        hundred = made_table(100_000)
        weights = [
            {name: float((turn + at) % 5) for at, name in enumerate(CRITERIA)} for turn in range(7)
        ]
        measured("100,000 places scored", lambda t: score_places(hundred, weights[t % 7]), 25, 100)
        measured(
            "100,000 places scored, the best 12 shown",
            lambda t: rank_attractions(hundred, weights[t % 7], top=12), 25, 100,
        )  # fmt: skip
        measured(
            "100,000 places in order with all their facts",
            lambda t: rank_attractions(hundred, weights[t % 7]), 25, 100,
        )  # fmt: skip
        here = float(site["lat"]), float(site["lon"])
        rank_attractions(table, outing_weights(files.inputs.household))
        loops(files.region, here, "demo island")
        for name, extract in open_data_extracts().items():
            region = build_region(
                extract, open_data_terrain(extract), Path(home) / name, progress=False
            )
            middle = region.places.iloc[len(region.places) // 2]
            loops(region, (float(middle["lat"]), float(middle["lon"])), name)


def loops(region: object, start: tuple[float, float], name: str) -> None:
    """Print how long loops take around a place."""
    for mode, length_km in (("bike", 20.0), ("foot", 6.0)):
        measured(
            f"loops, {mode} {length_km:.0f} km, {name}",
            lambda _, m=mode, k=length_km: find_rides(region, start, length_km=k, mode=m), 5, 2000,
        )  # fmt: skip


if __name__ == "__main__":
    sys.exit(main())
