"""Many trips at once: each household's trips in order, the households beside each other.

On one machine the work goes to as many processes as are asked for; with an address it goes to the
workers of a Dask cluster, which must see the same folders and have the kit installed. Whoever runs
that cluster runs code in your name: name only one that is yours.
"""

from __future__ import annotations

import datetime as dt
import multiprocessing
import os
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from dataclasses import asdict, dataclass
from itertools import chain
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from planner_kit.diary.record import record_trip
from planner_kit.diary.run import same_record
from planner_kit.errors import PlanFileError, PlannerKitError
from planner_kit.files import write_whole
from planner_kit.spreadsheet import csv_text
from planner_kit.trip.reading import read_trip

if TYPE_CHECKING:
    from planner_kit.trip.trip import Trip

RECORDED, AS_BEFORE, REFUSED, FAILED = "recorded", "as before", "refused", "failed"
SUMMARY_NAME = "many.csv"
_DEAD = "the process that planned it ended; there may be too little memory"


@dataclass(frozen=True)
class Job:
    """One trip to record; plain values, so that any worker can be handed it."""

    trip_file: str
    to: str
    planned_on: str
    template: str


@dataclass(frozen=True)
class Outcome:
    """What became of a job.

    Attributes
    ----------
    trip_file : str
    state : str
        ``recorded``; ``as before`` where a record of the same inputs was there; ``refused`` for
        what a person has to mend; ``failed`` for a fault of the kit or a worker that died.
    record : str
        The record's folder.
    seconds : float
        By the worker's clock. [s]
    sentence : str
        Why it was refused or failed.
    """

    trip_file: str
    state: str
    record: str = ""
    seconds: float = 0.0
    sentence: str = ""


@dataclass(frozen=True)
class Many:
    """A run over many trips.

    Attributes
    ----------
    outcomes : DataFrame
        trip_file, state, record, seconds, sentence; by the name of the trip file.
    summary : Path
        The same as CSV.
    """

    outcomes: pd.DataFrame
    summary: Path


def record_many(
    folder: Path,
    to: Path | None = None,
    *,
    planned_on: dt.date | None = None,
    template: Path | str | None = None,
    workers: int | None = None,
    cluster: str | None = None,
    tell: Callable[[Outcome, int, int], None] | None = None,
) -> Many:
    """Record every trip below a folder; one that fails stops none of the others.

    Parameters
    ----------
    folder : Path
        Trip files (``trip*.toml``) lie in it or in folders below it.
    to : Path, optional
        Where the records go, sorted as the trip files are; ``records`` beside each trip file if
        not given. Trips of several households in one folder get a folder of records for each.
    planned_on : date, optional
        The day from which deadlines are counted; today if not given.
    template : path, optional
        See `record_trip`.
    workers : int, optional
        Processes on this machine; one for each of its cores if not given.
    cluster : str, optional
        The address of a Dask scheduler, such as ``tcp://127.0.0.1:8786``.
    tell : callable, optional
        Called with each outcome, how many are done and how many there are.

    Returns
    -------
    many : Many

    Raises
    ------
    PlanFileError
        If there is no trip file, or the cluster cannot be reached.

    Notes
    -----
    A household's trips run one after the other, by their first day, as each learns from those
    before it; so the records do not depend on how many workers there are. A run that was cut
    short goes on where it stopped: records whose inputs have not changed are left as they are.
    """
    if not folder.is_dir():
        raise PlanFileError("there is no such folder", str(folder), "check the name")
    day = (planned_on or dt.date.today()).isoformat()
    found: list[Outcome] = []
    groups, unread = _groups(folder, to, day, "" if template is None else str(template))
    count = len(unread) + sum(len(group) for group in groups)
    if not count:
        raise PlanFileError("no trip file lies in it", str(folder), "name them trip....toml")
    run = _on_cluster(groups, cluster) if cluster else _on_this_machine(groups, workers)
    for outcome in chain(unread, run):
        found.append(outcome)
        if tell is not None:
            tell(outcome, len(found), count)
    table = pd.DataFrame([asdict(one) for one in found]).sort_values("trip_file", ignore_index=True)
    summary = (to or folder) / SUMMARY_NAME
    write_whole(summary, csv_text(table))
    return Many(table, summary)


def record_one(job: Job) -> Outcome:
    """Record one trip and say what became of it; nothing that happens to it is raised."""
    begun = time.perf_counter()

    def outcome(state: str, record: Path | None = None, sentence: str = "") -> Outcome:
        spent = round(time.perf_counter() - begun, 3)
        return Outcome(job.trip_file, state, str(record or ""), spent, sentence)

    day, template = dt.date.fromisoformat(job.planned_on), job.template or None
    try:
        there = same_record(Path(job.trip_file), Path(job.to), planned_on=day, template=template)
        if there is not None:
            return outcome(AS_BEFORE, there)
        record = record_trip(
            Path(job.trip_file), Path(job.to), planned_on=day, template=template,
            progress=False, here=True,
        )  # fmt: skip
        return outcome(RECORDED, record.folder)
    except PlannerKitError as error:
        return outcome(REFUSED, sentence=str(error))
    except Exception as error:  # one trip's fault must not stop the others
        return outcome(FAILED, sentence=f"a fault of the kit: {type(error).__name__}: {error}")


def record_group(jobs: tuple[Job, ...]) -> list[Outcome]:
    """`record_one` for a household's trips, in order."""
    return [record_one(job) for job in jobs]


def many_sentences(many: Many) -> list[str]:
    """How many trips were recorded, and each that was not, with the reason."""
    states = many.outcomes["state"].value_counts()
    counts = ", ".join(
        f"{states[state]} {state}"
        for state in (RECORDED, AS_BEFORE, REFUSED, FAILED)
        if state in states.index
    )
    count = len(many.outcomes)
    found = [f"{count} trip{'' if count == 1 else 's'}: {counts}."]
    bad = many.outcomes[many.outcomes["state"].isin((REFUSED, FAILED))]
    found += [f"  {row.state}: {row.trip_file}: {row.sentence}" for row in bad.itertuples()]
    found.append(f"The list of all lies in {many.summary}")
    return found


def _groups(
    folder: Path, to: Path | None, day: str, template: str
) -> tuple[list[tuple[Job, ...]], list[Outcome]]:
    """The jobs of each household in the order of their first days, and what cannot be read."""
    read: dict[Path, Trip] = {}
    unread = []
    for path in sorted(folder.rglob("trip*.toml")):
        inside = path.relative_to(folder)
        if (path.parent / "facts.json").exists() or any(p.startswith(".") for p in inside.parts):
            continue
        try:
            read[path] = read_trip(path)
        except PlanFileError as error:
            unread.append(Outcome(str(path), REFUSED, sentence=str(error)))
    households: dict[tuple[Path, str], list[Path]] = {}
    for path, trip in read.items():
        households.setdefault((path.parent, trip.files.household), []).append(path)
    groups = []
    for (place, household), paths in households.items():
        paths.sort(key=lambda path: (read[path].start, path.name))
        records = place / "records" if to is None else to / place.relative_to(folder)
        if sum(parent == place for parent, _ in households) > 1:
            records = records / Path(household).with_suffix("").name
        jobs = (Job(str(path), str(records), day, template) for path in paths)
        groups.append(tuple(jobs))
    return groups, unread


def _on_this_machine(groups: list[tuple[Job, ...]], workers: int | None) -> Iterator[Outcome]:
    """Each thread keeps a process of its own, so that one that dies takes nothing with it."""
    count = max(1, min(workers or _cores(), len(groups) or 1))
    own = threading.local()
    pools: list[ProcessPoolExecutor] = []

    def fresh() -> ProcessPoolExecutor:
        pool = ProcessPoolExecutor(1, mp_context=multiprocessing.get_context("spawn"))
        own.pool = pool
        pools.append(pool)
        return pool

    def run(group: tuple[Job, ...]) -> list[Outcome]:
        found = []
        for job in group:
            pool = getattr(own, "pool", None) or fresh()
            try:
                found.append(pool.submit(record_one, job).result())
            except BrokenProcessPool:
                found.append(Outcome(job.trip_file, FAILED, sentence=_DEAD))
                fresh()
        return found

    threads = ThreadPoolExecutor(count)
    try:
        for future in as_completed([threads.submit(run, group) for group in groups]):
            yield from future.result()
    finally:
        threads.shutdown(wait=False, cancel_futures=True)
        for pool in pools:
            pool.shutdown(wait=False, cancel_futures=True)


def _on_cluster(groups: list[tuple[Job, ...]], address: str) -> Iterator[Outcome]:
    try:
        from distributed import Client
        from distributed import as_completed as as_they_end
    except ImportError:
        raise PlanFileError(
            "Dask is not installed", "the cluster", "pip install 'planner_kit[cluster]'"
        ) from None
    try:
        client = Client(address, timeout="10s", set_as_default=False)
    except (OSError, ValueError) as error:
        raise PlanFileError(
            f"it cannot be reached ({error})", f"the cluster {address}", "check the address"
        ) from None
    with client, client.as_current():
        if not client.scheduler_info()["workers"]:
            raise PlanFileError(
                "it has no worker", f"the cluster {address}", "start one: dask worker ADDRESS"
            )
        futures = client.map(record_group, groups, pure=False)
        by_key = {future.key: group for future, group in zip(futures, groups, strict=True)}
        for future in as_they_end(futures):
            if future.status == "finished":
                yield from future.result()
            else:
                told = f"{_DEAD} ({type(future.exception()).__name__})"
                for job in by_key[future.key]:
                    yield Outcome(job.trip_file, FAILED, sentence=told)


def _cores() -> int:
    count: Any = getattr(os, "sched_getaffinity", lambda _: range(os.cpu_count() or 1))(0)
    return len(count)
