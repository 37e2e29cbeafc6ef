"""Kills a run that makes a record at random moments, and looks at what is left each time.

By hand: ``python tests/benchmarks/kill_records.py [TIMES]``, 200 if not given. After each kill
every record that can be seen is whole, the earlier record has kept every byte, and the index reads;
at the end a run that is left alone finishes and sweeps up what the killed ones left.
"""

from __future__ import annotations

import hashlib
import json
import multiprocessing
import os
import random
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import nbformat

from planner_kit.diary import read_facts, read_index, record_trip

_FORK = multiprocessing.get_context("fork")
NEEDED = ("facts.json", "record.ipynb", "run.json", "trip.toml")


def state_of(record: Path) -> str:
    """A hash of every byte of a record."""
    digest = hashlib.sha256()
    for path in sorted(record.rglob("*")):
        digest.update(str(path.relative_to(record)).encode())
        digest.update(path.read_bytes() if path.is_file() else b"")
    return digest.hexdigest()


def damaged(records: Path) -> list[str]:
    """What is wrong with the records that can be seen; empty when all are whole."""
    wrong = []
    for record in sorted(records.iterdir()):
        if record.name.startswith(".") or not record.is_dir():
            continue
        missing = [name for name in NEEDED if not (record / name).is_file()]
        if missing:
            wrong.append(f"{record.name} lacks {missing}")
            continue
        read_facts(record / "facts.json")
        json.loads((record / "run.json").read_text(encoding="utf-8"))
        nbformat.validate(nbformat.read(record / "record.ipynb", as_version=4))
    index = read_index(records)
    return wrong + [str(state) for state in index["state"] if state != "whole"]


def killed_run(make: Callable[[], object], after_s: float) -> str:
    """Start a run and kill it; ``killed``, or ``ended`` where it was done before that."""
    run = _FORK.Process(target=make)
    run.start()
    run.join(after_s)
    if run.exitcode is not None:
        return "ended"
    run.kill()
    run.join()
    return "killed"


def kill_many(make: Callable[[], object], records: Path, times: int, *, seed: int) -> Counter[str]:
    """Kill so many runs, and look at the records after each.

    Parameters
    ----------
    make : callable
        Makes a record; it runs in a process of its own, in which all is imported already, so that
        the kills fall into the work and not into the start of Python.
    records : Path
    times, seed : int

    Returns
    -------
    counts : Counter
        killed, ended, damaged, lost (an earlier record changed or gone), left (folders that the
        last run did not sweep up).
    """
    dice, counts = random.Random(seed), Counter[str]()
    begun = time.perf_counter()
    assert killed_run(make, 600) == "ended"
    whole_s = time.perf_counter() - begun
    first = next(path for path in sorted(records.iterdir()) if path.is_dir())
    before = state_of(first)
    for number in range(1, times + 1):
        counts[killed_run(make, dice.uniform(0, whole_s))] += 1
        wrong = damaged(records)
        counts["damaged"] += len(wrong)
        counts["lost"] += not first.is_dir() or state_of(first) != before
        counts["most left at once"] = max(counts["most left at once"], len(left_over(records)))
        if wrong:
            print(f"after kill {number}: {wrong}")
        if number % 20 == 0:
            print(f"  {number}: {dict(counts)}", flush=True)
    seen = len(read_index(records))
    assert killed_run(make, 600) == "ended"
    assert len(read_index(records)) == seen + 1
    counts["damaged"] += len(damaged(records))
    counts["left"] += len(left_over(records))
    return counts


def left_over(records: Path) -> list[Path]:
    """What runs left half-made."""
    return [path for path in records.iterdir() if path.name.endswith((".part", ".old"))]


def main() -> None:
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    sys.path.insert(0, str(Path(__file__).parent))
    from bench_many import DAY, light_template, make_club

    os.environ.setdefault("PLANNER_KIT_CACHE", "off")
    with tempfile.TemporaryDirectory() as folder:
        base = Path(folder)
        club = base / "club"
        club.mkdir()
        make_club(club, 1)
        template = light_template(base)
        trip, records = club / "h0000" / "trip_0.toml", base / "records"

        def make() -> None:
            record_trip(trip, records, planned_on=DAY, template=template, progress=False, here=True)

        begun = time.perf_counter()
        counts = kill_many(make, records, times, seed=11)
        print(f"{times} runs in {time.perf_counter() - begun:.0f} s: {dict(counts)}")


if __name__ == "__main__":
    main()
