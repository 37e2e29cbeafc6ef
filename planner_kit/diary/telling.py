"""What a record found, and what the diary holds, in a few sentences."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING

from planner_kit.diary.book import write_book, write_tables
from planner_kit.diary.history import by_year, query_records, search_records, write_index
from planner_kit.diary.index import read_index
from planner_kit.errors import PlanFileError
from planner_kit.region import open_region
from planner_kit.trip import display, read_household
from planner_kit.trip.reading import read_trip, resolve_region

if TYPE_CHECKING:
    from pathlib import Path

    from planner_kit.diary.record import Record
    from planner_kit.region import Region


def record_sentences(record: Record) -> list[str]:
    """What a record found, and where it lies.

    Parameters
    ----------
    record : Record

    Returns
    -------
    sentences : list of str
        Trip, tow with hours and breaks, cost, the things to look at, changes, files.
    """
    facts = record.facts
    sentences = list(facts["sentences"])
    if facts["look_at"]:
        sentences.append("Look at these first:")
        sentences.extend(f"  {n}. {thing}" for n, thing in enumerate(facts["look_at"], start=1))
    if record.changes is not None and record.before is not None:
        count = len(record.changes)
        sentences.append(
            f"{count} figure{'' if count == 1 else 's'} changed since the record "
            f"{record.before.name}; changes.csv says which and why."
        )
    sentences.append(f"The record lies in {record.folder}")
    sentences.append(f"The folder to print is {record.folder / 'pack.pdf'}")
    return sentences


def diary_sentences(
    folder: Path,
    *,
    records: str = "records",
    search: str | None = None,
    question: str | None = None,
    book: Path | None = None,
    tables: Path | None = None,
    index: bool = False,
) -> list[str]:
    """What was asked of the diary of a planning folder, and what was written.

    Parameters
    ----------
    folder : Path
        The planning folder; its household.toml says how figures are read.
    records : str
        The folder of records in it.
    search : str, optional
        Words to look for.
    question : str, optional
        See `planner_kit.diary.history.query_records`.
    book, tables : Path, optional
        Where the book and the tables are written.
    index : bool
        Whether to write the index as Parquet.

    Returns
    -------
    sentences : list of str
        The records and years when nothing was asked.

    Raises
    ------
    PlannerKitError
        If the folder holds no household or no record, or a question is not understood.
    """
    if not folder.is_dir():
        raise PlanFileError("there is no such folder", str(folder), "check the name")
    units = read_household(folder / "household.toml").units
    place = folder / records
    listed = read_index(place)
    if listed.empty:
        raise PlanFileError("it holds no record", str(place), "make one: planner-kit record TRIP")
    found: list[str] = []
    if search is not None:
        hits = search_records(place, search)
        found += [f"{hit.record}: {hit.where}: {hit.text}" for hit in hits.itertuples()]
        found.append(f"{len(hits)} place{'' if len(hits) == 1 else 's'} found.")
    if question is not None:
        found.append(query_records(place, question).to_string(index=False))
    if book is not None:
        beside = folder / "household.toml"
        write_book(place, book, units=units, region=region_of(folder), photos_beside=beside)
        found.append(f"The book of all trips: {book}")
    if tables is not None:
        found += [f"Written: {path}" for path in write_tables(place, tables)]
    if index:
        found.append(f"Written: {write_index(place)}")
    if found:
        return found
    for row in listed.to_dict("records"):
        told = row["state"] if row["state"] != "whole" else (
            f"{row['name']}, {row['nights']:g} nights, "
            f"{display.distance(row['tow_km'], units)} under tow, "
            f"{display.money(row['cost_likely'], str(row['currency']), units)} planned"
        )  # fmt: skip
        found.append(f"{row['record']}: {told}")
    for year in by_year(listed).to_dict("records"):
        spent = display.money(year["spent"], str(year["currency"]), units)
        found.append(
            f"{year['year']}: {year['trips']} trip{'' if year['trips'] == 1 else 's'}, "
            f"{display.distance(year['towed_km'], units)} towed, spent: {spent}"
        )
    return found


def region_of(folder: Path) -> Region | None:
    """The region of the newest trip file in a planning folder; None where there is none."""
    trips = []
    for path in sorted(folder.glob("trip*.toml")):
        with contextlib.suppress(PlanFileError):
            trip = read_trip(path)
            trips.append((trip.start, resolve_region(trip.files.region, path)))
    for _, place in sorted(trips, reverse=True):
        with contextlib.suppress(PlanFileError):
            return open_region(place)
    return None
