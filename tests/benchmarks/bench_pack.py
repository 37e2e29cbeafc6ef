"""How long the folder and its map take once a trip is planned; run by hand with a trip file."""

from __future__ import annotations

import datetime as dt
import sys
import tempfile
import time
from pathlib import Path

from planner_kit.pack import print_map, write_pack
from planner_kit.plan import plan_trip
from planner_kit.trip_files import read_files


def main(trip_file: str) -> None:
    """Print the seconds of the first and the best of five runs."""
    plan = plan_trip(read_files(Path(trip_file)), planned_on=dt.date(2027, 1, 15))
    route = plan.tow.legs[0].route.geometry
    with tempfile.TemporaryDirectory() as folder:
        jobs = {
            "map": lambda: print_map(plan.files.region, route=route),
            "folder": lambda: write_pack(plan, Path(folder)),
        }
        for name, job in jobs.items():
            took_s = []
            for _ in range(5):
                begin = time.perf_counter()
                job()
                took_s.append(time.perf_counter() - begin)
            print(f"{name}: first {took_s[0]:.2f} s, best {min(took_s):.2f} s")


if __name__ == "__main__":
    main(sys.argv[1])
