"""A process killed at any moment leaves earlier data whole, and the next run finishes and tidies.

``PLANNER_KIT_FUZZ_CASES=100 python -m pytest tests/fuzz/test_interrupted.py`` kills more often.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from planner_kit.region import build_region, open_region
from planner_kit.trip.reading import read_trip
from tests.fuzz.mutations import CASES

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
KILLS = CASES or 5
BUILD = """
import sys
from pathlib import Path
from planner_kit.region import build_region
print("ready", flush=True)
extract, tile, folder = (Path(name) for name in sys.argv[1:])
build_region(extract, [tile], folder, name=sys.stdin.readline().strip(), progress=False)
"""
EDIT = """
import itertools, sys
from pathlib import Path
from planner_kit.trip.editing import set_booking
print("ready", flush=True)
sys.stdin.readline()
for number in itertools.count():
    set_booking(Path(sys.argv[1]), 1, {"reference": f"R-{number}", "paid": float(number)})
"""


def _killed_after(code: str, arguments: list[Path], told: str, delay_s: float) -> bool:
    """Run code in a process, kill it after a delay; whether it was still running."""
    process = subprocess.Popen(
        [sys.executable, "-c", code, *map(str, arguments)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    assert process.stdin is not None
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    process.stdin.write(f"{told}\n")
    process.stdin.flush()
    time.sleep(delay_s)
    running = process.poll() is None
    process.kill()
    process.communicate()
    return running


def test_killed_build_leaves_the_older_region_and_the_next_one_finishes(tmp_path: Path) -> None:
    extract, tile, folder = DEMO / "sallowey.osm.pbf", DEMO / "N49W015.hgt.zip", tmp_path / "region"
    begun = time.perf_counter()
    build_region(extract, [tile], folder, name="Kill 0", progress=False)
    usual_s = time.perf_counter() - begun
    chance = random.Random(20270109)
    named, stopped = {"Kill 0"}, 0
    for number in range(1, KILLS + 1):
        delay_s = chance.uniform(0, 1.2 * usual_s)
        stopped += _killed_after(BUILD, [extract, tile, folder], f"Kill {number}", delay_s)
        named.add(f"Kill {number}")
        region = open_region(folder)
        assert region.manifest["name"] in named
        assert len(region.roads) > 6_000
        assert region.terrain is not None
    assert stopped > 0, "no build was still running when it was killed"
    region = build_region(extract, [tile], folder, name="At last", progress=False)
    assert region.manifest["name"] == "At last"
    assert [path.name for path in tmp_path.iterdir()] == ["region"]


def test_killed_edit_leaves_a_whole_trip_file_with_its_comments(tmp_path: Path) -> None:
    path = tmp_path / "trip_2027.toml"
    shutil.copy(DEMO / path.name, path)
    chance = random.Random(20270110)
    for _ in range(KILLS):
        assert _killed_after(EDIT, [path], "", chance.uniform(0, 0.3))
        trip = read_trip(path)
        assert trip.stays[0].booking.currency == "GBP"
        assert "# first Saturday of the school holidays" in path.read_text()
    from planner_kit.trip.editing import set_booking

    set_booking(path, 1, {"reference": "R-last"})
    assert read_trip(path).stays[0].booking.reference == "R-last"
    assert [each.name for each in tmp_path.iterdir()] == [path.name]


def _heeds_the_keyboard() -> None:
    """A test run in the background has the signal of the keyboard switched off, and so its own."""
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.mark.skipif(os.name != "posix", reason="a signal is sent to a process")
def test_build_stopped_from_the_keyboard_says_so_and_leaves_nothing(tmp_path: Path) -> None:
    process = subprocess.Popen(
        [
            sys.executable, "-m", "planner_kit.cli", "region", str(DEMO / "sallowey.osm.pbf"),
            str(DEMO / "N49W015.hgt.zip"), "--to", str(tmp_path / "region"),
        ],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        preexec_fn=_heeds_the_keyboard,
    )  # fmt: skip
    until = time.monotonic() + 60
    while not list(tmp_path.iterdir()) and time.monotonic() < until:
        time.sleep(0.02)
    process.send_signal(signal.SIGINT)
    _, told = process.communicate(timeout=60)
    assert process.returncode == 130
    assert "stopped; nothing half-written was left behind" in told
    assert "Traceback" not in told
    assert list(tmp_path.iterdir()) == []
