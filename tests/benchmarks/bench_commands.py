"""Whole commands: import, help and the demo's record, with their time and most memory.

Run by hand: ``python tests/benchmarks/bench_commands.py``. Each is a process of its own, run five
times (the record twice); the middle time and the most memory are printed.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from planner_kit.demo import demo_folder


def measured(arguments: list[str], runs: int) -> tuple[float, float]:
    """Middle time in seconds, and the most memory of any run in MB, children included."""
    times, most_mb = [], 0.0
    for _ in range(runs):
        begun = time.perf_counter()
        process = subprocess.Popen(arguments, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        most_mb = max(most_mb, _most_mb(process))
        times.append(time.perf_counter() - begun)
        if process.returncode:
            raise SystemExit(f"{' '.join(arguments)} ended with {process.returncode}")
    return statistics.median(times), most_mb


def _most_mb(process: subprocess.Popen[bytes]) -> float:
    """Wait for a process; the largest sum of what it and its children held at one moment."""
    import psutil

    watched, most = psutil.Process(process.pid), 0
    while process.poll() is None:
        try:
            family = [watched, *watched.children(recursive=True)]
            most = max(most, sum(each.memory_info().rss for each in family))
        except psutil.NoSuchProcess:
            pass
        time.sleep(0.01)
    return most / 1e6


def main() -> None:
    """Print the table."""
    python = [sys.executable, "-c"]
    kit = [sys.executable, "-m", "planner_kit.cli"]
    os.environ["PLANNER_KIT_CACHE"] = "off"
    with tempfile.TemporaryDirectory() as name:
        demo = demo_folder(Path(name) / "demo", progress=False)
        trip, to = str(demo / "trip_2027.toml"), str(Path(name) / "records")
        rows = (
            ("import planner_kit", [*python, "import planner_kit"], 5),
            ("planner-kit --help", [*kit, "--help"], 5),
            ("planner-kit check of a trip and all it names", [*kit, "check", trip], 5),
            ("planner-kit record of the demo's trip", [*kit, "record", trip, "--to", to], 2),
        )
        for what, arguments, runs in rows:
            seconds, most_mb = measured(arguments, runs)
            print(f"{what:50} {seconds:8.2f} s {most_mb:8.0f} MB")


if __name__ == "__main__":
    main()
