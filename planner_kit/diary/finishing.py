"""What a template calls: what earlier records know, and writing what the plan found."""

from __future__ import annotations

import contextlib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from planner_kit.diary.comparing import compare_records
from planner_kit.diary.conflicts import conflicts_of
from planner_kit.diary.facts import facts_of, facts_text, read_facts
from planner_kit.diary.index import record_folders, visited_before
from planner_kit.diary.learning import learnt_from_records
from planner_kit.diary.run import earlier_record
from planner_kit.errors import PlanFileError
from planner_kit.files import write_whole
from planner_kit.outings import write_rides
from planner_kit.pack import write_calendar, write_html_twin, write_pack
from planner_kit.spreadsheet import csv_text
from planner_kit.tow import write_tow_geojson, write_tow_gpx
from planner_kit.trip.trip import SignalReading
from planner_kit.trip_files import read_files, with_learnt

if TYPE_CHECKING:
    import datetime as dt

    import pandas as pd

    from planner_kit.plan import TripPlan
    from planner_kit.trip.household import Units
    from planner_kit.trip_files import TripFiles


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
    conflicts : DataFrame or None
        What was so then and is not so now; see `conflicts_of`.
    units : Units or None
        How the household reads figures.
    """

    files: dict[str, Path]
    before: Path | None
    changes: pd.DataFrame | None
    conflicts: pd.DataFrame | None = None
    units: Units | None = None


def finish_record(
    plan: TripPlan,
    folder: str | Path,
    records: str | Path,
    *,
    compare_with: str | Path = "",
    paper: bool = True,
) -> Finished:
    """Write facts, pack, GPX, calendar and changes of a plan into a record folder.

    Parameters
    ----------
    plan : TripPlan
    folder : path
        The record's folder, which exists.
    records : path
        The folder that holds the earlier records.
    compare_with : path, optional
        The record to compare with; the last one of the same trip if it is empty.
    paper : bool
        Whether to write the printable folder and its twin for a phone, which take the longest.

    Returns
    -------
    finished : Finished
    """
    folder, units = Path(folder), plan.files.inputs.household.units
    before = Path(compare_with) if str(compare_with) else None
    if before is None and str(records):
        before = earlier_record(Path(records), plan.files.inputs.trip.id)
    files = {"figures": folder / "facts.json"}
    write_whole(files["figures"], facts_text(facts_of(plan)))
    if paper:
        files["folder to print"] = write_pack(plan, folder)
        files["folder on a phone"] = write_html_twin(plan, folder)
    files["tow for a satnav"] = write_tow_gpx(plan.tow, folder / "tow.gpx", units=units)
    files["tow for a map"] = write_tow_geojson(plan.tow, folder / "tow.geojson")
    if any(report.rides for report in plan.outings):
        files["rides for a satnav"] = write_rides(plan.outings, plan.files.inputs, folder)
    files["calendar"] = write_calendar(plan, folder / "calendar.ics")
    if before is None:
        return Finished(files, None, None, units=units)
    changes, conflicts = compare_records(before, folder), _conflicts(plan, before)
    files["what changed"] = folder / "changes.csv"
    write_whole(files["what changed"], csv_text(changes))
    files["what conflicts"] = folder / "conflicts.csv"
    write_whole(files["what conflicts"], csv_text(conflicts))
    return Finished(files, before, changes, conflicts, units)


def _conflicts(plan: TripPlan, before: Path) -> pd.DataFrame:
    return conflicts_of(plan, read_facts(before / "facts.json"))


def places_visited(records: str | Path, before: dt.date) -> tuple[str, ...]:
    """Attractions that the trips recorded in a folder went to before a day."""
    return visited_before(Path(records), before.isoformat()) if str(records) else ()


def signal_readings(records: str | Path, before: dt.date) -> tuple[SignalReading, ...]:
    """What phones showed on the trips recorded in a folder that ended before a day.

    A reading that names no site was taken on the trip's first one.
    """
    found: list[SignalReading] = []
    for path in record_folders(Path(records)) if str(records) else ():
        with contextlib.suppress(PlanFileError):
            facts = read_facts(path / "facts.json")
            if str(facts["trip"].get("end", "")) < before.isoformat():
                given = (facts.get("actuals") or {}).get("signals", [])
                first = {"site": facts["trip"]["sites"][0]}
                found += [
                    SignalReading.model_validate(
                        reading if reading.get("site") else {**reading, **first}
                    )
                    for reading in given
                ]
    return tuple(dict.fromkeys(found))


def files_with_lessons(trip_path: Path) -> TripFiles:
    """The files of a trip with what the records beside it taught, as its record would use them.

    Raises
    ------
    PlanFileError
        See `planner_kit.trip_files.read_files`.
    """
    return learn_from(trip_path.parent / "records", read_files(trip_path))


def learn_from(records: str | Path, files: TripFiles) -> TripFiles:
    """The files of a trip with what the records of the trips before it taught."""
    inputs = files.inputs
    learnt = learnt_from_records(records, inputs.household, before=inputs.trip.start)
    return with_learnt(files, learnt)
