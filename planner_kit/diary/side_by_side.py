"""Recorded trips side by side: how far, how long, what it costs, what is wrong or not known."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from planner_kit.diary.facts import read_facts
from planner_kit.diary.index import legs_with

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence


def side_by_side(folders: Sequence[str | Path]) -> pd.DataFrame:
    """One row for each record.

    Parameters
    ----------
    folders : sequence of path
        Record folders.

    Returns
    -------
    trips : DataFrame
        record, name, start, end, nights, sites (by name); tow_km, tow_drive_min, tow_door_min,
        breaks, fuel (sums of all legs; NaN where one is not known); cost_low, cost_likely,
        cost_high, currency, cost_per_night; not_fine, look_at, unknown (counts of checks); and a
        column
        ``cost_<kind>`` for each kind of cost that any of them has.

    Raises
    ------
    PlanFileError
        If a record cannot be read.
    """
    rows = [_row(Path(folder), read_facts(Path(folder) / "facts.json")) for folder in folders]
    trips = pd.DataFrame(rows)
    kinds = [column for column in map(str, trips) if column.startswith("cost_")]
    trips[kinds] = trips[kinds].astype(float)
    return trips


def _row(folder: Path, facts: Mapping[str, Any]) -> dict[str, Any]:
    trip = facts["trip"]
    figures = {figure["key"]: figure for figure in facts["figures"]}
    states = [check["state"] for check in facts["checks"]]
    cost = {key: _value(figures, f"cost.{key}") for key in ("low", "likely", "high")}
    kinds = {
        key.removeprefix("cost."): _value(figures, key)
        for key, figure in figures.items()
        if key.startswith("cost.") and str(figure["label"]).endswith(" in all")
    }
    nights = int(trip["nights"])
    return {
        "record": folder.name,
        "name": trip["name"],
        "start": trip["start"],
        "end": trip["end"],
        "nights": nights,
        "sites": ", ".join(trip["site_names"]),
        **{
            name: _sum(figures, end)
            for name, end in (
                ("tow_km", "km"), ("tow_drive_min", "drive_min"), ("tow_door_min", "door_min"),
                ("breaks", "breaks"), ("fuel", "fuel"),
            )
        },
        **{f"cost_{key}": value for key, value in cost.items()},
        "cost_per_night": cost["likely"] / nights if nights else np.nan,
        "currency": figures.get("cost.likely", {}).get("unit", ""),
        "not_fine": states.count("not fine"),
        "look_at": states.count("look at this"),
        "unknown": states.count("unknown"),
        **{f"cost_{kind}": value for kind, value in kinds.items()},
    }  # fmt: skip


def _value(figures: Mapping[str, Any], key: str) -> float:
    value = figures.get(key, {}).get("value")
    return np.nan if value is None else float(value)


def _sum(figures: Mapping[str, Any], end: str) -> float:
    """The sum over all legs; not known where one leg is not."""
    legs = legs_with(figures, end)
    return float(sum(_value(figures, key) for key in legs)) if legs else np.nan


def with_worth(trips: pd.DataFrame, *, hour: float, unknown: float) -> pd.DataFrame:
    """The trips with what they feel like in money, the least first.

    Parameters
    ----------
    trips : DataFrame
        See `side_by_side`.
    hour : float
        What an hour of towing, door to door, is felt to cost. [household's currency]
    unknown : float
        What each check that is not fine or not known is felt to cost. [household's currency]

    Returns
    -------
    trips : DataFrame
        With the columns ``felt_money``, ``felt_time``, ``felt_doubt`` and their sum ``felt``; a
        trip whose cost or time is not known comes last, with NaN. Trips whose money is of another
        currency than the first one's have NaN too.
    """
    same = trips["currency"] == trips["currency"].iloc[0] if len(trips) else trips["currency"]
    found = trips.assign(
        felt_money=trips["cost_likely"].where(same),
        felt_time=trips["tow_door_min"].astype(float) / 60 * hour,
        felt_doubt=(trips["not_fine"] + trips["unknown"]) * unknown,
    )
    found["felt"] = found[["felt_money", "felt_time", "felt_doubt"]].sum(axis=1, skipna=False)
    return found.sort_values("felt", kind="stable", na_position="last", ignore_index=True)
