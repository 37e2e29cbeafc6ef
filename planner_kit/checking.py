"""Saying in sentences what is wrong with any file that a person wrote."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.costs.rates import read_rates
from planner_kit.diary import read_facts
from planner_kit.diary.running import template_parameters
from planner_kit.errors import PlanFileError, PlannerKitError
from planner_kit.outfit import odd_plates, read_items
from planner_kit.outings import read_attractions
from planner_kit.outings.rides import read_gpx
from planner_kit.outings.stay_checks import unreadable_hours
from planner_kit.pitch import read_masts
from planner_kit.region.extract import read_extract
from planner_kit.region.manifest import read_about
from planner_kit.region.tiles import find_tile
from planner_kit.sites import read_seasons, read_sites
from planner_kit.sites.confirmation import read_confirmation
from planner_kit.sites.free_days import read_school_holidays
from planner_kit.sites.gathering import read_matches
from planner_kit.sites.tariff_rules import read_tariffs
from planner_kit.summary import odd_in_files
from planner_kit.trip.lists import list_header
from planner_kit.trip.prices import read_prices, read_tolls
from planner_kit.trip.reading import read_household, read_toml
from planner_kit.trip_files import read_files

if TYPE_CHECKING:
    from planner_kit.states import Check

# Which list a CSV is: the column that only this list has.
_LISTS: dict[str, tuple[str, Callable[[Path], object]]] = {
    "pitch_length_m": ("site list", read_sites),
    "rule": ("tariff list", read_tariffs),
    "from_currency": ("list of exchange rates", lambda path: read_rates(path, "GBP")),
    "place_id": ("list of matches", read_matches),
    "season": ("season list", read_seasons),
    "attraction_id": ("attraction list", read_attractions),
    "mast_id": ("mast list", read_masts),
    "toll_name": ("toll list", read_tolls),
    "mass_kg": ("loading list", read_items),
    "item": ("price list", read_prices),
    "site_id": ("site list", read_sites),
    "end": ("list of school holidays", read_school_holidays),
}


def check_files(paths: Iterable[Path]) -> tuple[list[str], bool]:
    """One sentence for each file.

    Parameters
    ----------
    paths : iterable of Path
        Household and trip files, CSV lists, GPX, extracts, terrain tiles, templates, records.

    Returns
    -------
    sentences : list of str
    all_well : bool
        Whether every file can be used.
    """
    sentences, all_well = [], True
    for path in paths:
        try:
            sentences.append(f"{path}: {check_file(path)}.")
        except PlannerKitError as error:
            sentences.append(str(error))
            all_well = False
    if not sentences:
        sentences.append("No file was named, so nothing was checked.")
    return sentences, all_well


def check_file(path: Path) -> str:
    """What a file is, when it can be used.

    Parameters
    ----------
    path : Path

    Returns
    -------
    verdict : str
        Such as ``a trip file, and all it names can be used``; no full stop.

    Raises
    ------
    PlanFileError
        If it cannot be used, or is of no kind that the kit reads.
    """
    if not path.exists():
        raise PlanFileError("there is no such file", str(path), "check the name")
    if path.is_dir():
        raise PlanFileError("it is a folder", str(path), "name the files in it")
    name = path.name.lower()
    for ending, (kind, read) in _BY_ENDING.items():
        if name.endswith(ending):
            read(path)
            return f"{_with_article(kind)} that can be used"
    if name.endswith(".toml"):
        return _check_toml(path)
    if name.endswith((".csv", ".geojson")):
        return _check_list(path)
    raise PlanFileError(
        "the kit does not read this kind of file",
        str(path),
        "give .toml, .csv, .geojson, .gpx, .osm.pbf, .hgt, .tif, .pdf, .ipynb or facts.json",
    )


_BY_ENDING: dict[str, tuple[str, Callable[[Path], object]]] = {
    ".gpx": ("GPX file", read_gpx),
    ".osm.pbf": ("map extract", read_extract),
    ".hgt": ("terrain tile", find_tile),
    ".hgt.zip": ("terrain tile", find_tile),
    ".tif": ("terrain grid", find_tile),
    ".tiff": ("terrain grid", find_tile),
    ".pdf": ("confirmation", read_confirmation),
    ".ipynb": ("template", template_parameters),
    ".json": ("record", read_facts),
}


def _check_toml(path: Path) -> str:
    tables = read_toml(path)
    if path.name.lower() == "region.toml":
        read_about(path)
        return "what a region's files say of it, and it can be used"
    if "stays" in tables or "start" in tables:
        files = read_files(path)
        odd = [*odd_plates(files.inputs.household), *odd_in_files(files)]
        return f"a trip file, and all that it names can be used{_looked_over(odd)}"
    odd = odd_plates(read_household(path))
    return f"a household file that can be used{_looked_over(odd)}"


def _looked_over(odd: Iterable[Check]) -> str:
    """What is hardly right in files that can be used; empty where nothing is."""
    told = " ".join(check.sentence for check in odd)
    return f"; look at this: {told.rstrip('.')}" if told else ""


def _check_list(path: Path) -> str:
    header = list_header(path)
    for column, (kind, read) in _LISTS.items():
        if column in header:
            found = read(path)
            verdict = f"{_with_article(kind)} that can be used"
            if isinstance(found, pd.DataFrame) and "opening_hours" in found:
                told = unreadable_hours(found).rstrip(".")
                return f"{verdict}; look at this: {told}" if told else verdict
            return verdict
    raise PlanFileError(
        "it names no column that the kit knows a list by",
        f"{path}, row 1",
        f"a list has one of the columns {', '.join(_LISTS)}",
    )


def _with_article(kind: str) -> str:
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"
