"""How long the loading of the demo's caravan takes: run by hand, prints a table.

``python tests/benchmarks/bench_loading.py``
"""

from __future__ import annotations

import statistics
import tempfile
import time
from pathlib import Path

from planner_kit.reference import shipped_folder
from planner_kit.views.load import load_caravan


def milliseconds(call, times: int) -> tuple[float, float]:
    """Median and slowest of some runs."""
    taken = []
    for number in range(times):
        start = time.perf_counter()
        call(number)
        taken.append((time.perf_counter() - start) * 1000)
    return statistics.median(taken), max(taken)


def main() -> None:
    """Print the table."""
    demo = shipped_folder("data") / "demo"
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file in ("household.toml", "trip_2027.toml", "items.csv"):
            (folder / file).write_bytes((demo / file).read_bytes())
        planner = load_caravan(folder, trip="trip_2027.toml")
        line = planner.lines[0]

        def slide(number: int) -> None:
            line["spot"].value = 0.1 * (number % 20)

        def weigh(number: int) -> None:
            line["mass"].value = str(20 + number % 10)

        print(f"{'what':<44}{'median ms':>10}{'slowest':>9}")
        for what, call, times in (
            ("a place moves: plates, noseweight, picture", slide, 40),
            ("a mass changes: plates, noseweight, picture", weigh, 40),
            ("the fewest moves and loadings compared", lambda _: planner.show_advice(), 10),
        ):
            median, slowest = milliseconds(call, times)
            print(f"{what:<44}{median:>10.1f}{slowest:>9.1f}")


if __name__ == "__main__":
    main()
