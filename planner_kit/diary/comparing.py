"""What changed between two records, by how much, and why."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from planner_kit.diary.facts import read_facts

if TYPE_CHECKING:
    from pathlib import Path

CHANGE_COLUMNS = ("what", "before", "after", "change", "unit", "why")


def compare_records(older: Path, newer: Path) -> pd.DataFrame:
    """The table of what changed between two record folders.

    Parameters
    ----------
    older, newer : Path
        Record folders.

    Returns
    -------
    changes : DataFrame
        what, before, after, change (NaN for words), unit, why; one row for each figure, check or
        booking that differs, in the order of the newer record.

    Raises
    ------
    PlanFileError
        If a folder holds no facts that can be read.
    """
    return compare_facts(read_facts(older / "facts.json"), read_facts(newer / "facts.json"))


def compare_facts(older: dict[str, Any], newer: dict[str, Any]) -> pd.DataFrame:
    """The same as `compare_records`, for facts that were read already."""
    rows = [
        *_dates(older, newer),
        *_figures(older, newer),
        *_checks(older, newer),
        *_bookings(older, newer),
    ]
    return pd.DataFrame(rows, columns=list(CHANGE_COLUMNS))


def _dates(older: dict[str, Any], newer: dict[str, Any]) -> list[dict[str, Any]]:
    rows = []
    for key, what in (("start", "first day"), ("end", "last day"), ("nights", "nights")):
        before, after = older["trip"].get(key), newer["trip"].get(key)
        if before != after:
            rows.append(_row(what, before, after, "", "the trip was given new dates"))
    return rows


def _figures(older: dict[str, Any], newer: dict[str, Any]) -> list[dict[str, Any]]:
    before = {figure["key"]: figure for figure in older["figures"]}
    after = {figure["key"]: figure for figure in newer["figures"]}
    files = _changed_inputs(older, newer)
    rows = []
    for key in [*after, *(key for key in before if key not in after)]:
        old, new = before.get(key), after.get(key)
        old_value = old["value"] if old else None
        new_value = new["value"] if new else None
        if old_value != new_value:
            shown = new or old or {}
            why = _why(old, new, files)
            rows.append(_row(shown["label"], old_value, new_value, shown["unit"], why))
    return rows


def _why(old: dict[str, Any] | None, new: dict[str, Any] | None, files: list[str]) -> str:
    if old is None:
        return "it was not in the older record"
    if new is None:
        return "it is not in the newer record"
    reasons = [
        f"{name}: {old['reasons'].get(name, 'not said')} -> {now}"
        for name, now in new["reasons"].items()
        if old["reasons"].get(name) != now
    ]
    if reasons:
        return "; ".join(reasons)
    if files:
        return f"changed since: {', '.join(files)}"
    return "follows from the dates"


def _changed_inputs(older: dict[str, Any], newer: dict[str, Any]) -> list[str]:
    before, after = older.get("inputs", {}), newer.get("inputs", {})
    return sorted(
        what for what in after if what != "trip" and before.get(what) not in (None, after[what])
    )


def _checks(older: dict[str, Any], newer: dict[str, Any]) -> list[dict[str, Any]]:
    rows = []
    for old, new in paired_checks(older["checks"], newer["checks"]):
        if old is not None and new is not None and old["state"] != new["state"]:
            rows.append(_row(new["subject"], old["state"], new["state"], "", new["sentence"]))
    return rows


def paired_checks(
    older: list[dict[str, Any]], newer: list[dict[str, Any]]
) -> list[tuple[dict[str, Any] | None, dict[str, Any] | None]]:
    """The checks of two records side by side, by their subject and its turn, in the newer's order.

    Parameters
    ----------
    older, newer : list of dict
        Each with at least ``subject``; a subject may come more than once.

    Returns
    -------
    pairs : list of (dict or None, dict or None)
        Older and newer check; None where a record has none. Those that only the older one has
        come last.
    """
    before, after = _by_turn(older), _by_turn(newer)
    return [
        *((before.get(key), check) for key, check in after.items()),
        *((check, None) for key, check in before.items() if key not in after),
    ]


def _by_turn(checks: list[dict[str, Any]]) -> dict[tuple[str, int], dict[str, Any]]:
    turns: dict[str, int] = {}
    found = {}
    for check in checks:
        turn = turns[check["subject"]] = turns.get(check["subject"], 0) + 1
        found[check["subject"], turn] = check
    return found


def _bookings(older: dict[str, Any], newer: dict[str, Any]) -> list[dict[str, Any]]:
    was = [{**booking, "subject": booking["site"]} for booking in older.get("bookings", [])]
    now = [{**booking, "subject": booking["site"]} for booking in newer.get("bookings", [])]
    moved = older["trip"].get("start") != newer["trip"].get("start")
    rows = []
    for old, booking in paired_checks(was, now):
        if old is not None and booking is not None and old["state"] != booking["state"]:
            why = (
                "a booking holds for its own dates only and was not carried over"
                if moved
                else "the trip file says so"
            )
            rows.append(
                _row(f"booking at {booking['site']}", old["state"], booking["state"], "", why)
            )
    return rows


def _row(what: str, before: Any, after: Any, unit: str, why: str) -> dict[str, Any]:
    numbers = all(
        isinstance(value, (int, float)) and not isinstance(value, bool) for value in (before, after)
    )
    return {
        "what": what,
        "before": "not known" if before is None else before,
        "after": "not known" if after is None else after,
        "change": round(after - before, 2) if numbers else None,
        "unit": unit,
        "why": why,
    }
