"""What earlier trips did not need, held against the loading list: what may stay at home."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pandas as pd

from planner_kit.outfit.loading import item_names, with_totals
from planner_kit.reference import read_table
from planner_kit.trip import display

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner_kit.trip.household import Units
    from planner_kit.trip.learnt import Learnt, NotNeeded

NOT_NEEDED_COLUMNS = ("line", "item", "place", "vehicle", "total_kg", "said", "trips", "told", "do")
LEAVE, THINK = "leave it at home", "think about it: most trips did not say so"
KEEP_SAFE = "keep it: it is carried for the day when something goes wrong"
KEEP_LISTED = "keep it: the loading list says that it is needed"


def not_needed_lines(items: pd.DataFrame, learnt: Learnt | None) -> pd.DataFrame:
    """The lines of a loading list that earlier trips did not need.

    Parameters
    ----------
    items : DataFrame
        The loading list from `planner_kit.outfit.read_items`.
    learnt : Learnt or None

    Returns
    -------
    lines : DataFrame
        line (its place in the list, from 0), item, place, vehicle, total_kg (NaN where it was not
        weighed), said and trips (counts), told (who said so), do; in the order of the list.
        Empty where nothing was said, or the things are no longer on the list.

    Notes
    -----
    A thing is found by its name, or by its name and whose it is, whatever its case. What is
    carried for safety (``data/reference/loading_kept.csv``) is never to be left.
    """
    if learnt is None or not learnt.not_needed:
        return pd.DataFrame(columns=list(NOT_NEEDED_COLUMNS))
    said = {_plain(each.item): each for each in learnt.not_needed}
    rows = []
    listed = zip(item_names(items), with_totals(items).to_dict("records"), strict=True)
    for line, (name, row) in enumerate(listed):
        each = said.get(_plain(name)) or said.get(_plain(str(row["item"])))
        if each is not None:
            rows.append(
                (line, name, str(row["place"]), str(row["vehicle"]), float(row["total_kg"]),
                 each.said, each.trips, each.told, _advice(str(row["item"]), row, each))
            )  # fmt: skip
    return pd.DataFrame(rows, columns=list(NOT_NEEDED_COLUMNS))


def with_not_needed(items: pd.DataFrame, learnt: Learnt | None) -> pd.DataFrame:
    """The loading list, where what may stay at home by earlier trips is marked as not needed.

    What the list itself says of a thing stays.
    """
    lines = not_needed_lines(items, learnt)
    leave = lines.loc[lines["do"] == LEAVE, "line"].to_numpy(int)
    if not len(leave):
        return items
    needed = (
        items["needed"].astype("boolean").copy()
        if "needed" in items.columns
        else pd.Series(pd.NA, index=items.index, dtype="boolean")
    )
    needed.iloc[leave] = needed.iloc[leave].fillna(value=False)
    return items.assign(needed=needed)


def freed_kg(lines: pd.DataFrame, vehicle: str | None = None) -> float:
    """What the lines that may be left weigh together, as far as it is known. [kg].

    Parameters
    ----------
    lines : DataFrame
        From `not_needed_lines`.
    vehicle : str, optional
        ``caravan``, or ``car`` with its roof; both if not given.
    """
    left = lines[lines["do"] == LEAVE]
    if vehicle is not None:
        left = left[(left["vehicle"] == "caravan") == (vehicle == "caravan")]
    return float(left["total_kg"].sum())


def freed_sentences(lines: pd.DataFrame, units: Units) -> list[str]:
    """What may stay at home and what that frees; empty where there is nothing to leave."""
    left = lines[lines["do"] == LEAVE]
    if left.empty:
        return []
    parts = [
        f"{display.mass(freed_kg(left, vehicle), units)} in the {vehicle}"
        for vehicle in ("caravan", "car")
        if freed_kg(left, vehicle) > 0
    ]
    found = [f"Earlier trips did not need: {', '.join(map(str, left['item']))}."]
    if parts:
        found.append(f"Left at home, that frees {' and '.join(parts)}.")
    not_weighed = left.loc[left["total_kg"].isna(), "item"].tolist()
    if not_weighed:
        found.append(f"Not weighed, so not counted: {', '.join(map(str, not_weighed))}.")
    return found


def not_needed_note(row: Mapping[Any, Any], units: Units) -> str:
    """What a loading list says beside such a line: who said so, what to do, what that frees."""
    freed = (
        f" ({display.mass(row['total_kg'], units)} less)"
        if row["do"] == LEAVE and not display.is_missing(row["total_kg"])
        else ""
    )
    return f"{row['told']}: {row['do']}{freed}"


def _advice(item: str, row: Mapping[Any, Any], each: NotNeeded) -> str:
    words = "|".join(re.escape(word) for word in read_table("loading_kept")["word"])
    if re.search(rf"\b(?:{words})s?\b", item, re.IGNORECASE):
        return KEEP_SAFE
    if not display.is_missing(row.get("needed")) and bool(row["needed"]):
        return KEEP_LISTED
    return LEAVE if each.mostly else THINK


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())
