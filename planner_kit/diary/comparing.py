"""What changed between two records, by how much, and why."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pandas as pd

from planner_kit.diary.facts import read_facts
from planner_kit.diary.reasons import (
    BASE,
    CAUSES,
    JOIN,
    OF_THE_BASE,
    ONLY_WITH_PARTS,
    PART,
    SOURCE,
)

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

CHANGE_COLUMNS = ("what", "before", "after", "change", "unit", "cause", "why")
_ORDER = (*CAUSES, "files changed", "kit")
# What the state of some checks can hang on, of what may differ between records as a whole.
_OF_CHECKS = (
    *((word, ("dates", "day of planning", "trip file"))
      for word in ("booking at ", "payment at ", "cancellation at ", "figures of the booking at ")),
    *((word, ("dates", "trip file")) for word in ("temperatures", "gas in the cold", "awning and")),
    *((word, ("dates", "files changed")) for word in ("open season of ", "opening hours of ")),
)  # fmt: skip
_UNSAID = "no reason of its own is kept"
_NUMBER = re.compile(r"\d[\d.,]*")


def compare_records(older: Path, newer: Path) -> pd.DataFrame:
    """The table of what changed between two record folders.

    Parameters
    ----------
    older, newer : Path
        Record folders.

    Returns
    -------
    changes : DataFrame
        what, before, after, change (NaN for words), unit, cause (of
        `planner_kit.diary.reasons.CAUSES`, or ``files changed`` and ``kit``; several are joined by
        commas, after ``one of:`` where it is not known which), why; one row for each figure, check
        or booking that differs, in the order of the newer record.

    Raises
    ------
    PlanFileError
        If a folder holds no facts that can be read.
    """
    return compare_facts(read_facts(older / "facts.json"), read_facts(newer / "facts.json"))


def compare_facts(older: dict[str, Any], newer: dict[str, Any]) -> pd.DataFrame:
    """The same as `compare_records`, for facts that were read already."""
    differ = _differences(older, newer)
    rows = [
        *_dates(older, newer),
        *_figures(older, newer, differ),
        *_checks(older, newer, differ),
        *_bookings(older, newer),
    ]
    return pd.DataFrame(rows, columns=list(CHANGE_COLUMNS))


def _dates(older: dict[str, Any], newer: dict[str, Any]) -> list[dict[str, Any]]:
    rows = []
    for key, what, unit in (
        ("start", "first day", ""), ("end", "last day", ""), ("nights", "nights", "nights"),
    ):  # fmt: skip
        before, after = older["trip"].get(key), newer["trip"].get(key)
        if before != after:
            rows.append(_row(what, before, after, unit, ["dates"], "the trip has other dates"))
    return rows


def _differences(older: dict[str, Any], newer: dict[str, Any]) -> dict[str, str]:
    """What differs between two records as a whole, by cause: for what keeps no reason of its own.

    The trip file as a whole counts only where nothing finer is known to differ: it holds the
    dates too.
    """
    was, now = older["trip"], newer["trip"]
    found = {}
    if (was.get("start"), was.get("end")) != (now.get("start"), now.get("end")):
        found["dates"] = (
            f"{was.get('start')} to {was.get('end')} before, {now.get('start')} to "
            f"{now.get('end')} now"
        )
    if was.get("planned_on") != now.get("planned_on"):
        found["day of planning"] = f"{was.get('planned_on')} before, {now.get('planned_on')} now"
    if _taught(older) != _taught(newer):
        found["learnt"] = f"from {_taught(older)} before, from {_taught(newer)} now"
    files = _changed_inputs(older, newer)
    if files:
        found["files changed"] = ", ".join(files)
    before, after = older.get("inputs", {}).get("trip"), newer.get("inputs", {}).get("trip")
    if before != after and before is not None and after is not None:
        found["trip file"] = "another one, or changed since"
    if older.get("kit_version") != newer.get("kit_version"):
        found["kit"] = f"{older.get('kit_version')} before, {newer.get('kit_version')} now"
    return found


def _taught(facts: dict[str, Any]) -> str:
    trips = int((facts.get("learnt") or {}).get("trips", 0))
    return f"{trips} trip" + ("" if trips == 1 else "s")


def _changed_inputs(older: dict[str, Any], newer: dict[str, Any]) -> list[str]:
    before, after = older.get("inputs", {}), newer.get("inputs", {})
    return sorted(
        what for what in after if what != "trip" and before.get(what) not in (None, after[what])
    )


def _unsaid(differ: dict[str, str]) -> tuple[list[str], str]:
    """Causes and words for a change that keeps no reason of its own."""
    if not differ:
        return [], f"{_UNSAID}, and nothing that the records keep differs"
    told = "; ".join(f"{cause}: {words}" for cause, words in differ.items())
    one = "what differs" if len(differ) == 1 else "one of what differs"
    return list(differ), f"{_UNSAID}; {one}: {told}"


def _figures(
    older: dict[str, Any], newer: dict[str, Any], differ: dict[str, str]
) -> list[dict[str, Any]]:
    before = {figure["key"]: figure for figure in older["figures"]}
    after = {figure["key"]: figure for figure in newer["figures"]}
    rows = []
    for key in [*after, *(key for key in before if key not in after)]:
        old, new = before.get(key), after.get(key)
        old_value = old["value"] if old else None
        new_value = new["value"] if new else None
        if old_value == new_value:
            continue
        shown = new or old or {}
        causes, why = _because(old, new, differ)
        unsure = why.startswith(_UNSAID)
        if not causes and old is not None and new is not None:
            # A sum has the causes of the parts that moved, or else of what differs as a whole.
            for kind in _moved_parts(old, new):
                part = f"cost.{kind}"
                if part in before and part in after:
                    causes += _because(before[part], after[part], differ)[0]
            causes, unsure = causes or list(differ), unsure or not causes
        rows.append(
            _row(shown["label"], old_value, new_value, shown["unit"], causes, why, unsure=unsure)
        )
    return rows


def _because(
    old: dict[str, Any] | None, new: dict[str, Any] | None, differ: dict[str, str]
) -> tuple[list[str], str]:
    """The causes of a figure's change, and what changed in them."""
    if old is None:
        return [], "the older record does not have it"
    if new is None:
        return [], "the newer record does not have it"
    was, now = old["reasons"], new["reasons"]
    moved, words_of_parts, repriced = _parts(was, now)
    bases = [name for name in now if name.startswith(BASE) and name in was]
    steady = bool(bases) and all(was[name] == now[name] for name in bases)
    idle = {*(ONLY_WITH_PARTS if not repriced else ()), *(OF_THE_BASE if steady else ())}
    causes, told = _turned_reasons(was, now, idle)
    if not told and not words_of_parts:  # nothing else says why: what seemed idle may
        causes, told = _turned_reasons(was, now, set())
    causes += moved
    told += words_of_parts
    if not told:
        return _unsaid(differ)
    return list(dict.fromkeys(causes)), "; ".join(told)


def _turned_reasons(
    was: dict[str, str], now: dict[str, str], idle: set[str]
) -> tuple[list[str], list[str]]:
    """Causes and words of the reasons that both records have and that differ."""
    causes, told = [], []
    for name in now:
        if name.startswith(PART) or name in idle or name not in was or was[name] == now[name]:
            continue
        cause, _, what = name.partition(": ")
        words = _turned(was[name], now[name])
        if words:
            if not name.startswith(BASE):
                causes.append(cause)
            told.append(f"{what}: {words}")
    return causes, told


def _turned(before: str, now: str) -> str:
    """What of a reason changed; of a list what went and what came, and nothing for its order."""
    if JOIN not in before and JOIN not in now:
        return f"{before} before, {now} now"
    had, has = before.split(JOIN), now.split(JOIN)
    gone = [one for one in had if one not in has and one != "none"]
    come = [one for one in has if one not in had and one != "none"]
    parts = [
        f"{words} {', '.join(ones)}" for words, ones in (("before", gone), ("now", come)) if ones
    ]
    return ", ".join(parts)


def _moved_parts(old: dict[str, Any], new: dict[str, Any]) -> list[str]:
    was, now = old["reasons"], new["reasons"]
    names = dict.fromkeys([*was, *now])
    return [
        name.removeprefix(PART)
        for name in names
        if name.startswith(PART) and was.get(name) != now.get(name)
    ]


def _parts(was: dict[str, str], now: dict[str, str]) -> tuple[list[str], list[str], bool]:
    """The parts of a sum that changed, with the cause where another source gives it.

    The last says whether a part that both have costs something else from the same source.

    Parts are paired by their names, and by their names without the numbers in them: ``gas, 2.5 kg``
    and ``gas, 4.4 kg`` are the same part.
    """
    had = {name.removeprefix(PART): was[name] for name in was if name.startswith(PART)}
    has = {name.removeprefix(PART): now[name] for name in now if name.startswith(PART)}
    if not had:
        return [], [], False
    left = dict(had)
    causes, told, repriced = [], [], False
    pairs: list[tuple[str, str | None]] = []
    for name in has:
        if name in left:
            pairs.append((name, name))
            del left[name]
    for name in (name for name in has if name not in had):
        alike = next((each for each in left if _bare(each) == _bare(name)), None)
        pairs.append((name, alike))
        left.pop(alike or "", None)
    for name, before in pairs:
        amount, _, source = has[name].partition(SOURCE)
        if before is None:
            told.append(f"now also {name}: {amount}")
            continue
        old_amount, _, old_source = had[before].partition(SOURCE)
        if amount == old_amount and name == before:
            continue
        renamed = "" if name == before else f" ({before})"
        told.append(f"{name}: {old_amount} before{renamed}, {amount} now")
        if source != old_source and source and old_source:
            causes.append(_cause_of(source))
            told[-1] += f" ({source})"
        elif name == before:
            repriced = True
    told += [f"no longer {name}: {had[name].partition(SOURCE)[0]}" for name in left]
    return causes, told, repriced


def _bare(name: str) -> str:
    return _NUMBER.sub("#", name)


def _cause_of(source: str) -> str:
    """The cause that the source of a line of cost stands for."""
    for start, cause in (
        ("trip file", "trip file"), ("household file", "household"), ("booking", "bookings"),
    ):  # fmt: skip
        if source.startswith(start):
            return cause
    return "learnt" if "learnt from" in source else "prices"


def _checks(
    older: dict[str, Any], newer: dict[str, Any], differ: dict[str, str]
) -> list[dict[str, Any]]:
    rows = []
    for old, new in paired_checks(older["checks"], newer["checks"]):
        if old is not None and new is not None and old["state"] != new["state"]:
            subject = str(new["subject"])
            of = next((some for start, some in _OF_CHECKS if subject.startswith(start)), ())
            causes = [cause for cause in of if cause in differ] or list(differ)
            why = f"before: {old.get('sentence', '')} Now: {new['sentence']}"
            rows.append(_row(subject, old["state"], new["state"], "", causes, why, unsure=True))
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
    names = dict(zip(newer["trip"]["sites"], newer["trip"]["site_names"], strict=False))
    rows = []
    for old, booking in paired_checks(was, now):
        if old is not None and booking is not None and old["state"] != booking["state"]:
            why = (
                "a booking holds for its own dates only and was not carried over"
                if moved
                else "the trip file says so"
            )
            site = names.get(booking["site"], booking["site"])
            causes = ["dates", "bookings"] if moved else ["bookings"]
            rows.append(_row(f"booking at {site}", old["state"], booking["state"], "", causes, why))
    return rows


def _turn(cause: str) -> int:
    return _ORDER.index(cause) if cause in _ORDER else len(_ORDER)


def _row(
    what: str,
    before: Any,
    after: Any,
    unit: str,
    causes: Iterable[str],
    why: str,
    *,
    unsure: bool = False,
) -> dict[str, Any]:
    numbers = all(
        isinstance(value, (int, float)) and not isinstance(value, bool) for value in (before, after)
    )
    named = sorted(dict.fromkeys(causes), key=_turn)
    return {
        "what": what,
        "before": "not known" if before is None else before,
        "after": "not known" if after is None else after,
        "change": round(after - before, 4) if numbers else None,
        "unit": unit,
        "cause": ("one of: " if unsure and len(named) > 1 else "") + ", ".join(named),
        "why": why,
    }
