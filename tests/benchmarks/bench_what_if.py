"""How long a what-if of a trip's cost takes; run this file with python."""

import datetime as dt
import statistics
import tempfile
import time
from pathlib import Path

from planner_kit.costs import Change, changed_lines, what_if
from planner_kit.demo import demo_folder
from planner_kit.pitch import mains_use
from planner_kit.plan import plan_trip
from planner_kit.trip_files import read_files


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = demo_folder(Path(name) / "island", progress=False)
        plan = plan_trip(read_files(folder / "trip_2027.toml"), planned_on=dt.date(2027, 1, 9))
    files, cost = plan.files, plan.cost
    use = mains_use(files.inputs, files.prices)
    total = (cost.low, cost.likely, cost.high)
    changes = {
        "fuel 10 % dearer": Change(prices={"fuel": 1.1}),
        "one night fewer": Change(more_nights=-1),
        "two weeks earlier": Change(days_later=-14),
        "another site": Change(site_id="S08"),
        "another site, with a meter": Change(site_id="S09"),
        "the tow's lines exchanged": Change(tow=plan.tow.cost_lines),
    }
    for words, change in changes.items():
        wall, busy = [], []
        for _ in range(30):
            begun, used = time.perf_counter(), time.process_time()
            lines = changed_lines(
                cost.lines, files.inputs, files.sites, files.seasons, change,
                planned_on=plan.planned_on, rules=files.rules, rates=files.rates, use=use,
            )  # fmt: skip
            what_if(words, cost.lines, lines, total_before=total)
            wall.append((time.perf_counter() - begun) * 1000)
            busy.append((time.process_time() - used) * 1000)
        print(f"{words:28} median {statistics.median(wall):5.1f} ms, worst {max(wall):5.1f} ms, "
              f"processor {statistics.median(busy):5.1f} ms")  # fmt: skip


if __name__ == "__main__":
    main()
