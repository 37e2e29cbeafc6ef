"""A club's trips at once on a local Dask cluster: time, memory, one worker against two.

Run by hand: ``python tests/benchmarks/bench_many.py [TRIPS] [TRIPS_FOR_SCALING]``. The households
are copies of the demo's, each with four weekends on sites of the demo island; the template is a
copy that looks at outfit, tow, site and money only: no pitch, no days out, no paper.

Dask watches its workers and keeps what it saw: 1.6 MB for each trip here. That is switched off, so
that time and memory are those of the trips.
"""

from __future__ import annotations

import datetime as dt
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import nbformat

from planner_kit.demo import demo_folder
from planner_kit.diary.many import Outcome, many_sentences, record_many
from planner_kit.reference import shipped_folder

SITES = ("S01", "S08", "S11", "S13", "S15", "S04", "S06")
DAY = dt.date(2027, 1, 9)
TRIP = """\
schema = 1
id = "weekend-{number}"
name = "Weekend {number} of household {household}"
start = {start}

[files]
household = "household.toml"
region = "../region"
sites = "sites.csv"
seasons = "seasons.csv"
tolls = "tolls.csv"
prices = "prices.csv"

[[stays]]
site = "{site}"
nights = 2
"""


def make_club(folder: Path, trips: int) -> None:
    """Households of four trips each, over one region."""
    demo = demo_folder(folder.parent / "demo", progress=False)
    shutil.copytree(demo / "region", folder / "region")
    people = (demo / "household.toml").read_text(encoding="utf-8")
    for at in range(trips):
        home = folder / f"h{at // 4:04d}"
        home.mkdir(exist_ok=True)
        for name in ("sites", "seasons", "tolls", "prices", "items"):
            shutil.copy(demo / f"{name}.csv", home)
        for name in ("sites", "seasons", "tolls", "prices", "items"):
            shutil.copy(demo / f"{name}.csv", home)
        (home / "household.toml").write_text(people, encoding="utf-8")
        start = dt.date(2027, 4, 2) + dt.timedelta(days=7 * (at % 24))
        text = TRIP.format(number=at, household=at // 4, start=start, site=SITES[at % len(SITES)])
        (home / f"trip_{at % 4}.toml").write_text(text, encoding="utf-8")


def light_template(folder: Path) -> Path:
    """The weekend template with outfit, tow, site and money only: what people do with a copy."""
    notebook = nbformat.read(shipped_folder("templates") / "weekend.ipynb", as_version=4)
    cells = []
    for cell in notebook.cells:
        if cell.cell_type == "code":
            if any(part in cell.source for part in ("pitch_stage", "outings_stage")):
                continue
            cell.source = (
                cell.source.split("\nshow_tow_map(")[0]
                .replace("pitches, outings", "(), ()")
                .replace("compare_with=compare_with)", "compare_with=compare_with, paper=False)")
            )
        cells.append(cell)
    notebook.cells = cells
    path = folder / "light.ipynb"
    nbformat.write(notebook, path)
    return path


os.environ["DASK_DISTRIBUTED__WORKER__PROFILE__ENABLED"] = "false"


def measured(folder: Path, trips: int, workers: int) -> None:
    """One run over a fresh club on a cluster of so many workers."""
    from distributed import Client, LocalCluster

    base = folder / f"{trips}_{workers}"
    club = base / "club"
    club.mkdir(parents=True)
    make_club(club, trips)
    template = light_template(base)
    with LocalCluster(
        n_workers=workers, threads_per_worker=1, processes=True, dashboard_address=None
    ) as cluster:
        begun = time.perf_counter()
        many = record_many(
            club, base / "records", planned_on=DAY, template=template,
            cluster=cluster.scheduler_address, tell=_every_fifty(begun),
        )  # fmt: skip
        spent = time.perf_counter() - begun
        with Client(cluster) as client:
            most, cpu = client.run(_most_memory_mb), client.run(time.process_time)
    print("\n".join(many_sentences(many)[:-1]))
    print(
        f"{trips} trips, {workers} worker(s): {spent:.0f} s, {spent / trips:.2f} s a trip, "
        f"{sum(cpu.values()) / trips:.2f} s of processor a trip with all imports, "
        f"most memory of a worker {max(most.values()):.0f} MB",
        flush=True,
    )


def _every_fifty(begun: float) -> Callable[[Outcome, int, int], None]:
    def tell(_outcome: Outcome, done: int, count: int) -> None:
        if done % 50 == 0:
            spent = time.perf_counter() - begun
            print(f"  {done} of {count} after {spent:.0f} s", flush=True)

    return tell


def _most_memory_mb() -> float:
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def main() -> None:
    trips = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    scaling = int(sys.argv[2]) if len(sys.argv) > 2 else 100
    with tempfile.TemporaryDirectory() as folder:
        for workers in (1, 2):
            measured(Path(folder), scaling, workers)
        measured(Path(folder), trips, 2)


if __name__ == "__main__":
    main()
