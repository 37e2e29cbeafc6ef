"""Making a record: run a template for a trip and keep all that came out, whole or not at all."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from planner_kit.diary.comparing import compare_records
from planner_kit.diary.conflicts import read_conflicts
from planner_kit.diary.facts import read_facts
from planner_kit.diary.run import (
    begin_run,
    drop_leftovers,
    earlier_record,
    one_run,
    write_run,
)
from planner_kit.files import whole_folder, write_whole
from planner_kit.trip.moving import moved_trip_text
from planner_kit.trip.reading import read_trip
from planner_kit.trip_files import read_files

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

    from planner_kit.diary.running import Progress

NOTEBOOK_NAME = "record.ipynb"


@dataclass(frozen=True)
class Record:
    """A record that was just made.

    Attributes
    ----------
    folder : Path
        Where it lies.
    facts : dict
        Its figures; see `planner_kit.diary.facts.facts_of`.
    before : Path or None
        The earlier record of the same trip that it is compared with.
    changes : DataFrame or None
        What changed since then; see `compare_records`.
    warnings : tuple of str
        What was odd about the run: a clock that was set back.
    conflicts : DataFrame or None
        What was so in the earlier record and is not so now; see
        `planner_kit.diary.conflicts.conflicts_of`.
    """

    folder: Path
    facts: dict[str, Any]
    before: Path | None
    changes: pd.DataFrame | None
    warnings: tuple[str, ...] = ()
    conflicts: pd.DataFrame | None = None


def record_trip(
    trip_path: Path,
    to: Path,
    *,
    start: dt.date | None = None,
    planned_on: dt.date | None = None,
    template: Path | str | None = None,
    progress: bool | Progress = True,
    compare_with: Path | None = None,
    here: bool = False,
) -> Record:
    """Run a template for a trip into a record folder.

    Parameters
    ----------
    trip_path : Path
        A trip.toml.
    to : Path
        The folder that records are written to; the record gets a folder of its own in it.
    start : date, optional
        New first day; what was booked for the old dates is not carried over.
    planned_on : date, optional
        The day from which deadlines are counted; today if not given.
    template : path, optional
        A notebook with a cell tagged ``parameters``, or the name of one of the kit's own
        (``trip_record``, ``tour``, ``weekend``); the one that fits the trip if not given.
    progress : bool or callable
        Whether to show a progress bar; or what is called with the part that begins, the number of
        cells done and the number of all cells.
    compare_with : path, optional
        The record to compare with; without it the last one of the trip file's own dates, or, where
        there is none, of the same trip.
    here : bool
        Run the template in this process; see `planner_kit.diary.running.run_template`.

    Returns
    -------
    record : Record

    Raises
    ------
    PlannerKitError
        If a file cannot be used, or another run records the same trip just now; no record is
        then written.
    """
    from planner_kit.diary.running import run_template, template_path

    files = read_files(trip_path, start=start)
    trip = files.inputs.trip
    to = to.resolve()
    notebook = template_path(template, stays=len(trip.stays), nights=trip.nights)
    name = f"{trip.start.isoformat()}_{trip.id}"
    written = read_trip(trip_path).start
    with one_run(to, trip.id):
        drop_leftovers(to, name)
        folder = _free_name(to, name)
        run = begin_run(to, notebook)
        before = compare_with or earlier_record(to, trip.id, of_start=written)
        with whole_folder(folder) as beside:
            text = (
                moved_trip_text(trip_path, trip.start)
                if trip.start != written
                else trip_path.read_text(encoding="utf-8-sig")
            )
            write_whole(beside / "trip.toml", text)
            write_run(run, beside)
            parameters = {
                "trip_file": str(trip_path.resolve()),
                "record_folder": str(beside),
                "start": trip.start.isoformat(),
                "planned_on": (planned_on or dt.date.today()).isoformat(),
                "records": str(to),
                "compare_with": "" if before is None else str(before.resolve()),
            }
            run_template(notebook, beside / NOTEBOOK_NAME, parameters, progress=progress, here=here)
            facts = read_facts(beside / "facts.json")
            changes = compare_records(before, beside) if before is not None else None
            conflicts = read_conflicts(beside)
    return Record(folder, facts, before, changes, run.warnings, conflicts)


def _free_name(to: Path, name: str) -> Path:
    # The dot keeps the number apart from a trip id, which cannot hold one.
    number, folder = 1, to / name
    while folder.exists():
        number += 1
        folder = to / f"{name}.{number}"
    return folder
