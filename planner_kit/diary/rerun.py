"""Last year's trip with new dates: a new trip file, its record, what changed and what conflicts."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd
import tomlkit

from planner_kit.diary.conflicts import CONFLICT_COLUMNS, rows_gone
from planner_kit.diary.facts import read_facts
from planner_kit.diary.new_dates import NewDates, in_school_holidays, kept_weekday
from planner_kit.diary.record import Record, record_trip
from planner_kit.diary.run import earlier_record
from planner_kit.errors import PlanFileError
from planner_kit.files import read_words, write_whole
from planner_kit.region import open_region
from planner_kit.sites import read_school_holidays, read_sites
from planner_kit.trip.moving import moved_text
from planner_kit.trip.reading import read_inputs, read_trip, resolve_inside, resolve_region

if TYPE_CHECKING:
    from planner_kit.diary.running import Progress
    from planner_kit.trip.trip import Trip


@dataclass(frozen=True)
class Rerun:
    """A trip that was run again.

    Attributes
    ----------
    dates : NewDates
    trip_path : Path or None
        The new trip file, for the bookings of the new dates; None where none was written.
    record : Record or None
        None where the trip cannot be planned as it stands: `conflicts` says why.
    reran : Path or None
        The record of the old dates, which the new one is compared with.
    conflicts : DataFrame
        See `planner_kit.diary.conflicts.conflicts_of`; sites that are no longer listed come first.
    """

    dates: NewDates
    trip_path: Path | None
    record: Record | None
    reran: Path | None
    conflicts: pd.DataFrame


@dataclass(frozen=True)
class Earlier:
    """A trip of earlier dates: its file's text and place, and its record.

    Attributes
    ----------
    trip_path : Path
    folder : Path
        The planning folder, which the trip's lists lie in.
    trip : Trip
    record : Path or None
    records : Path
        The folder of records.
    """

    trip_path: Path
    folder: Path
    trip: Trip
    record: Path | None
    records: Path


def earlier_trip(source: Path, to: Path | None = None) -> Earlier:
    """The trip of a trip file or of a record folder.

    Parameters
    ----------
    source : Path
        A trip.toml, or the folder of a record that lies in a folder of the planning folder.
    to : Path, optional
        The folder of records; ``records`` beside the trip file, or that of the record.

    Returns
    -------
    earlier : Earlier

    Raises
    ------
    PlanFileError
        If it is neither, or cannot be used.
    """
    if source.is_dir():
        trip_path = source / "trip.toml"
        if not (source / "facts.json").is_file() or not trip_path.is_file():
            raise PlanFileError(
                "it is not the folder of a record", str(source), "name a trip file or a record"
            )
        place = source.resolve()
        return Earlier(
            trip_path, place.parent.parent, read_trip(trip_path), place, to or place.parent
        )
    trip = read_trip(source)
    records = to or source.resolve().parent / "records"
    last = earlier_record(records, trip.id, of_start=trip.start)
    if last is not None and read_facts(last / "facts.json")["trip"]["start"] != str(trip.start):
        last = None  # of other dates: the old ones were never recorded
    return Earlier(source, source.resolve().parent, trip, last, records)


def new_dates(
    earlier: Earlier,
    *,
    start: dt.date | None = None,
    year: int | None = None,
    holidays: str | None = None,
) -> NewDates:
    """The new dates of an earlier trip.

    Parameters
    ----------
    earlier : Earlier
    start : date, optional
        The new first day, as a person chose it.
    year : int, optional
        The year; the one after the trip's if not given.
    holidays : str, optional
        Fit the trip into these school holidays of the year; empty for those nearest to the old
        dates. Without it the weekday is kept.

    Returns
    -------
    dates : NewDates

    Raises
    ------
    PlanFileError
        If the day is the old one, or see `in_school_holidays`.
    """
    trip = earlier.trip
    if start is not None:
        if start == trip.start:
            raise PlanFileError(
                f"{start} is the first day that it has already", str(earlier.trip_path),
                "give another day",
            )  # fmt: skip
        return NewDates(start, f"{start:%A} {start.day} {start:%B} {start.year}, as you chose")
    year = trip.start.year + 1 if year is None else year
    if holidays is None:
        return kept_weekday(trip.start, year)
    beside, names = earlier.folder / "trip.toml", trip.files
    listed = names.school_holidays
    return in_school_holidays(
        trip.start,
        trip.nights,
        read_school_holidays(resolve_inside(listed, beside) if listed else None),
        year=year,
        name=holidays,
        country=open_region(resolve_region(names.region, beside)).country,
    )


def rerun_trip(
    source: Path,
    *,
    to: Path | None = None,
    start: dt.date | None = None,
    year: int | None = None,
    holidays: str | None = None,
    planned_on: dt.date | None = None,
    template: Path | str | None = None,
    progress: bool | Progress = True,
) -> Rerun:
    """Run an earlier trip with new dates.

    Length, sites and wishes stay; prices, opening, daylight, law and deadlines are computed anew;
    nothing that was booked is carried over. A new trip file is written beside the lists.

    Parameters
    ----------
    source, to
        See `earlier_trip`.
    start, year, holidays
        See `new_dates`.
    planned_on, template, progress
        See `planner_kit.diary.record_trip`.

    Returns
    -------
    rerun : Rerun

    Raises
    ------
    PlannerKitError
        If a file cannot be used; nothing is then written.
    """
    earlier = earlier_trip(source, to)
    dates = new_dates(earlier, start=start, year=year, holidays=holidays)
    gone = _gone(earlier)
    if (gone["state"] == "not fine").any():
        return Rerun(dates, None, None, earlier.record, gone)
    path = earlier.folder / f"trip_{dates.start.isoformat()}_{earlier.trip.id}.toml"
    made = _write_new(earlier, dates.start, path, set(gone["before"]))
    try:
        record = record_trip(
            path,
            earlier.records,
            planned_on=planned_on,
            template=template,
            progress=progress,
            compare_with=earlier.record,
        )
    except BaseException:
        if made:
            path.unlink(missing_ok=True)
        raise
    found = [gone, record.conflicts] if record.conflicts is not None else [gone]
    parts = [part for part in found if len(part)]
    conflicts = (
        pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=CONFLICT_COLUMNS)
    )
    return Rerun(dates, path, record, earlier.record, conflicts)


def _gone(earlier: Earlier) -> pd.DataFrame:
    """The sites of the trip that its list has lost."""
    listed = earlier.trip.files.sites
    path = resolve_inside(listed, earlier.folder / "trip.toml") if listed else None
    known = set(map(str, read_sites(path).index))
    return rows_gone(earlier.trip, known, listed or "the site list (the trip names none)")


def _write_new(earlier: Earlier, start: dt.date, path: Path, gone: set[Any]) -> bool:
    """Write the new trip file; False where it lies there already with the same text."""
    document = tomlkit.parse(moved_text(read_words(earlier.trip_path, most_mb=2), start))
    if gone and "candidates" in document:
        kept = [site for site in earlier.trip.candidates if site not in gone]
        document["candidates"] = kept
    text = tomlkit.dumps(document)
    if path.exists():
        if read_words(path, most_mb=2) == text:
            return False
        raise PlanFileError(
            "it lies there already and was changed since",
            str(path),
            f"plan it with: planner-kit record {path.name}",
        )
    write_whole(path, text)
    read_inputs(path)
    return True


def rerun_sentences(rerun: Rerun) -> list[str]:
    """What a rerun found, in sentences: dates, what conflicts, where the new trip file lies."""
    found = [f"New first day: {rerun.dates.why}."]
    if rerun.record is None:
        found.append("The trip cannot be planned as it stands, and nothing was written.")
    elif rerun.reran is None:
        found.append("There is no record of the old dates, so nothing is compared with them.")
    if len(rerun.conflicts):
        found.append("What conflicts now:")
        for row in rerun.conflicts.to_dict("records"):
            found.append(
                f"  {row['state']}: {row['what']}, before: {row['before']}; now: "
                f"{row['now'].rstrip('.')} ({row['do']})."
            )
    elif rerun.reran is not None:
        found.append("Nothing that held before conflicts with the new dates.")
    if rerun.trip_path is not None:
        found.append(f"The new trip file, for what you book now: {rerun.trip_path}")
    return found
