"""The index of records, derived from the record folders each time."""

from __future__ import annotations

import logging
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from planner_kit.diary.facts import read_facts
from planner_kit.errors import PlanFileError

if TYPE_CHECKING:
    from collections.abc import Iterable

# tow, the kind of leg (old kits: its number), its turn among those of its kind, the figure.
_LEG = re.compile(r"tow\.[a-z0-9]+(\.\d+)?\.[a-z_]+$")
_log = logging.getLogger(__name__)

INDEX_COLUMNS = (
    "record", "trip", "name", "start", "end", "nights", "sites", "site_names", "tow_km",
    "tow_drive_min", "cost_likely", "currency", "spent", "towed_km", "tow_hours", "tow_fuel_l",
    "household", "state", "folder",
)  # fmt: skip


def record_folders(folder: Path) -> list[Path]:
    """The folders below `folder` that hold a record, by name; unfinished ones are left out."""
    if not folder.is_dir():
        return []
    return sorted(
        path.parent for path in folder.glob("*/facts.json") if not path.parent.name.startswith(".")
    )


_warned: set[str] = set()


def _warn_once(words: str) -> None:
    """Log what is wrong with a record, not again each time that a view looks at the records."""
    if words not in _warned:
        _warned.add(words)
        _log.warning("%s", words)


def readable_facts(folder: str | Path) -> list[tuple[Path, dict[str, Any]]]:
    """Every record below a folder with its facts; one that cannot be read is logged and left out.

    Returns
    -------
    records : list of (Path, dict)
        By the name of the record's folder.
    """
    found = []
    for path in record_folders(Path(folder)):
        try:
            found.append((path, read_facts(path / "facts.json")))
        except PlanFileError as error:
            _warn_once(str(error))
    return found


def read_index(folder: Path) -> pd.DataFrame:
    """One row for each record below a folder, newest trip first.

    Parameters
    ----------
    folder : Path
        The folder that records are written to.

    Returns
    -------
    index : DataFrame
        The columns of `INDEX_COLUMNS`; `state` says "whole", or why a record cannot be read.
    """
    rows = []
    for path in record_folders(folder):
        try:
            rows.append(_row(path, read_facts(path / "facts.json")))
        except PlanFileError as error:
            _warn_once(str(error))
            rows.append({"record": path.name, "state": str(error), "folder": str(path)})
    index = pd.DataFrame(rows, columns=list(INDEX_COLUMNS))
    return index.sort_values(["start", "record"], ascending=False, ignore_index=True)


def visited_before(folder: Path, day: str) -> tuple[str, ...]:
    """What the trips that ended before `day` (ISO 8601) visited, as their files say."""
    places: dict[str, None] = {}
    for _, facts in readable_facts(folder):
        if str(facts["trip"].get("end", "")) < day:
            places.update(dict.fromkeys(facts.get("visited", [])))
    return tuple(places)


def _row(path: Path, facts: dict[str, Any]) -> dict[str, Any]:
    figures = {figure["key"]: figure for figure in facts["figures"]}
    actuals = facts.get("actuals") or {}
    spent = actuals.get("spent", [])
    return {
        "record": path.name,
        "trip": facts["trip"]["id"],
        "name": facts["trip"]["name"],
        "start": facts["trip"]["start"],
        "end": facts["trip"]["end"],
        "nights": facts["trip"]["nights"],
        "sites": ", ".join(facts["trip"]["sites"]),
        "site_names": ", ".join(facts["trip"]["site_names"]),
        "tow_km": _total(figures, legs_with(figures, "km")),
        "tow_drive_min": _total(figures, legs_with(figures, "drive_min")),
        "cost_likely": figures.get("cost.likely", {}).get("value"),
        "currency": figures.get("cost.likely", {}).get("unit"),
        "spent": sum(line["amount"] for line in spent) if spent else None,
        "towed_km": actuals.get("tow_km"),
        "tow_hours": actuals.get("tow_hours"),
        "tow_fuel_l": actuals.get("tow_fuel_l"),
        "household": facts["trip"].get("household"),
        "state": "whole",
        "folder": str(path),
    }


def legs_with(figures: Iterable[str], what: str) -> list[str]:
    """The keys of a figure of every leg: ``tow.out.km``, and not of the ways compared with it."""
    return [key for key in figures if _LEG.match(key) and key.rpartition(".")[2] == what]


def _total(figures: dict[str, Any], keys: list[str]) -> float | None:
    values = [figures[key]["value"] for key in keys]
    return None if not values or None in values else sum(values)
