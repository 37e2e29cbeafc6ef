"""Making a record: run a template for a trip and keep all that came out, whole or not at all."""

from __future__ import annotations

import contextlib
import datetime as dt
import os
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import nbformat
import papermill
from traitlets.config import Config

from planner_kit.diary.comparing import compare_records
from planner_kit.diary.facts import facts_of, facts_text, read_facts
from planner_kit.diary.index import record_folders, visited_before
from planner_kit.diary.learning import learnt_from_records
from planner_kit.diary.run import (
    Run,
    begin_run,
    drop_leftovers,
    earlier_record,
    one_run,
    write_run,
)
from planner_kit.errors import PlanFileError, PlannerKitError, nearest_name
from planner_kit.files import whole_folder, write_whole
from planner_kit.pack import write_calendar, write_html_twin, write_pack
from planner_kit.plan import read_files, with_learnt
from planner_kit.reference import shipped_folder
from planner_kit.tow import write_tow_gpx
from planner_kit.trip.moving import moved_trip_text
from planner_kit.trip.trip import SignalReading

if TYPE_CHECKING:
    import pandas as pd

    from planner_kit.plan import TripFiles, TripPlan

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
    """

    folder: Path
    facts: dict[str, Any]
    before: Path | None
    changes: pd.DataFrame | None
    warnings: tuple[str, ...] = ()


def record_trip(
    trip_path: Path,
    to: Path,
    *,
    start: dt.date | None = None,
    planned_on: dt.date | None = None,
    template: Path | str | None = None,
    progress: bool = True,
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
    progress : bool
        Whether to show a progress bar.

    Returns
    -------
    record : Record

    Raises
    ------
    PlannerKitError
        If a file cannot be used, or another run records the same trip just now; no record is
        then written.
    """
    files = read_files(trip_path, start=start)
    trip = files.inputs.trip
    to = to.resolve()
    notebook = template_path(template, stays=len(trip.stays), nights=trip.nights)
    name = f"{trip.start.isoformat()}_{trip.id}"
    with one_run(to, trip.id):
        drop_leftovers(to, name)
        folder = _free_name(to, name)
        run = begin_run(to, notebook)
        return _recorded(files, trip_path, folder, notebook, run, start, planned_on, progress)


def _recorded(
    files: TripFiles,
    trip_path: Path,
    folder: Path,
    notebook: Path,
    run: Run,
    start: dt.date | None,
    planned_on: dt.date | None,
    progress: bool,
) -> Record:
    trip, to = files.inputs.trip, folder.parent
    before = earlier_record(to, trip.id)
    with whole_folder(folder) as beside:
        text = (
            moved_trip_text(trip_path, trip.start)
            if start is not None and start != _start_in(trip_path)
            else trip_path.read_text(encoding="utf-8-sig")
        )
        write_whole(beside / "trip.toml", text)
        parameters = {
            "trip_file": str(trip_path.resolve()),
            "record_folder": str(beside),
            "start": trip.start.isoformat(),
            "planned_on": (planned_on or dt.date.today()).isoformat(),
            "records": str(to),
        }
        write_run(run, beside)
        run_template(notebook, beside / NOTEBOOK_NAME, parameters, progress=progress)
        facts = read_facts(beside / "facts.json")
        changes = compare_records(before, beside) if before is not None else None
    return Record(folder, facts, before, changes, run.warnings)


def run_template(
    template: Path, out: Path, parameters: dict[str, str], *, progress: bool = True
) -> None:
    """Execute a template with papermill, its progress told by the headings of its cells.

    Raises
    ------
    PlanFileError
        If the template is no notebook, has no cell tagged ``parameters``, or lacks one of them.
    PlannerKitError
        If the kit refuses an input while it runs; the sentence is the kit's.
    """
    known = template_parameters(template)
    for name in parameters:
        if name not in known:
            raise PlanFileError(
                f"its parameters cell does not set '{name}'",
                str(template),
                nearest_name(name, known),
            )
    try:
        papermill.execute_notebook(
            str(template),
            str(out),
            parameters=parameters,
            engine_name="planner_kit",
            kernel_name="python3",
            progress_bar=progress,
            log_output=False,
        )
    except papermill.PapermillExecutionError as error:
        if error.ename in ("PlanFileError", "NoRouteError", "PlannerKitError"):
            raise PlannerKitError(error.evalue) from None
        raise


@dataclass(frozen=True)
class Finished:
    """What was written into a record folder.

    Attributes
    ----------
    files : dict of str to Path
        What each file is, and where it lies.
    before : Path or None
        The earlier record of the same trip.
    changes : DataFrame or None
        What changed since then; see `compare_records`.
    """

    files: dict[str, Path]
    before: Path | None
    changes: pd.DataFrame | None


def finish_record(plan: TripPlan, folder: str | Path, records: str | Path) -> Finished:
    """Write facts, pack, GPX, calendar and changes of a plan into a record folder.

    Parameters
    ----------
    plan : TripPlan
    folder : path
        The record's folder, which exists.
    records : path
        The folder that holds the earlier records.

    Returns
    -------
    finished : Finished
    """
    folder, before = Path(folder), earlier_record(Path(records), plan.files.inputs.trip.id)
    files = {"figures": folder / "facts.json"}
    write_whole(files["figures"], facts_text(facts_of(plan)))
    files["folder to print"] = write_pack(plan, folder)
    files["folder on a phone"] = write_html_twin(plan, folder)
    files["tow for a satnav"] = write_tow_gpx(plan.tow, folder / "tow.gpx")
    files["calendar"] = write_calendar(plan, folder / "calendar.ics")
    changes = None
    if before is not None:
        changes = compare_records(before, folder)
        files["what changed"] = folder / "changes.csv"
        write_whole(files["what changed"], changes.to_csv(index=False))
    return Finished(files, before, changes)


def places_visited(records: str | Path, before: dt.date) -> tuple[str, ...]:
    """Attractions that the trips recorded in a folder went to before a day."""
    return visited_before(Path(records), before.isoformat()) if str(records) else ()


def signal_readings(records: str | Path, before: dt.date) -> tuple[SignalReading, ...]:
    """What phones showed on the trips recorded in a folder that ended before a day."""
    found: list[SignalReading] = []
    for path in record_folders(Path(records)) if str(records) else ():
        with contextlib.suppress(PlanFileError):
            facts = read_facts(path / "facts.json")
            if str(facts["trip"].get("end", "")) < before.isoformat():
                given = (facts.get("actuals") or {}).get("signals", [])
                found += [SignalReading.model_validate(reading) for reading in given]
    return tuple(dict.fromkeys(found))


def learn_from(records: str | Path, files: TripFiles) -> TripFiles:
    """The files of a trip with what the records of the trips before it taught."""
    inputs = files.inputs
    learnt = learnt_from_records(records, inputs.household, before=inputs.trip.start)
    return with_learnt(files, learnt)


def template_path(template: Path | str | None, *, stays: int = 1, nights: int = 7) -> Path:
    """The notebook of a template: a path, a name of the kit's own, or the one that fits a trip.

    Parameters
    ----------
    template : path or None
    stays, nights : int
        Of the trip; several stays are a ``tour``, up to three nights a ``weekend``.

    Raises
    ------
    PlanFileError
        If it is neither a file nor the name of a template of the kit.
    """
    own = {path.stem: path for path in sorted(shipped_folder("templates").glob("*.ipynb"))}
    if template is None:
        template = "tour" if stays > 1 else "weekend" if nights <= 3 else "trip_record"
    if str(template) in own:
        return own[str(template)]
    if not Path(template).is_file():
        raise PlanFileError(
            "there is neither such a file nor a template of that name",
            str(template),
            nearest_name(str(template), own),
        )
    return Path(template)


def _start_in(trip_path: Path) -> dt.date:
    return read_files(trip_path).inputs.trip.start


def _free_name(to: Path, name: str) -> Path:
    # The dot keeps the number apart from a trip id, which cannot hold one.
    number, folder = 1, to / name
    while folder.exists():
        number += 1
        folder = to / f"{name}.{number}"
    return folder


def template_parameters(template: Path) -> list[str]:
    """The names that a template's parameters cell sets.

    Raises
    ------
    PlanFileError
        If the file is missing or no notebook, or no cell is tagged ``parameters``.
    """
    try:
        notebook = nbformat.read(template, as_version=4)
    except FileNotFoundError as error:
        raise PlanFileError("there is no such file", str(template), "check the name") from error
    except Exception as error:  # nbformat raises many kinds for a file that is no notebook
        raise PlanFileError(
            f"it is not a notebook ({type(error).__name__})", str(template), "choose another file"
        ) from error
    if not any("parameters" in cell.metadata.get("tags", []) for cell in notebook.cells):
        raise PlanFileError(
            "no cell is tagged 'parameters'", str(template), "tag the cell that sets them"
        )
    if not notebook.metadata.get("kernelspec", {}).get("name"):
        raise PlanFileError(
            "it does not say which kernel runs it", str(template), "save it from JupyterLab"
        )
    return list(papermill.inspect_notebook(str(template)))


class _EngineWithHeadings(papermill.engines.NBClientEngine):  # type: ignore[misc]
    """The usual engine, whose progress bar names the part of the notebook that runs."""

    @classmethod
    def execute_managed_notebook(cls, nb_man: Any, kernel_name: str, **more: Any) -> None:
        headings = _headings_of(nb_man.nb.cells)
        begin = nb_man.cell_start

        def begin_and_tell(cell: Any, cell_index: int = 0, **rest: Any) -> Any:
            if nb_man.pbar is not None:
                nb_man.pbar.set_description_str(headings[cell_index][:40])
            return begin(cell, cell_index, **rest)

        nb_man.cell_start = begin_and_tell
        if os.name == "posix":  # nobody else on the machine can listen to the kernel
            more["config"] = Config({"KernelManager": {"transport": "ipc"}})
        super().execute_managed_notebook(nb_man, kernel_name, **more)


def _headings_of(cells: list[Any]) -> list[str]:
    """The heading that each cell stands under."""
    headings, heading = [], "starting"
    for cell in cells:
        first = cell.source.strip().splitlines()[:1]
        if cell.cell_type == "markdown" and first and first[0].startswith("#"):
            heading = first[0].lstrip("# ")
        headings.append(heading)
    return headings


papermill.engines.papermill_engines.register("planner_kit", _EngineWithHeadings)
