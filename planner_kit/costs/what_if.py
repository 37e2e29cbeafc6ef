"""What would change: a trip's cost with other dates, prices, nights, route or site, by line."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.costs.trip_cost import total_range

if TYPE_CHECKING:
    from collections.abc import Mapping

_FIGURES = re.compile(r"\d+(?:[.,]\d+)*")
DIFFERENCE_COLUMNS = (
    "kind", "what", "before", "after", "difference", "change",
)  # fmt: skip


@dataclass(frozen=True)
class WhatIf:
    """A trip's cost beside what it would be.

    Attributes
    ----------
    name : str
    lines : DataFrame
        The lines as they would be, in the columns of `planner_kit.trip.money.COST_COLUMNS`.
    differences : DataFrame
        kind, what, before, after, difference, change (dearer, cheaper, new, gone, not known), of
        the lines that change only.
    before, after : tuple of float
        Low, likely and high of both totals.
    """

    name: str
    lines: pd.DataFrame
    differences: pd.DataFrame
    before: tuple[float, float, float]
    after: tuple[float, float, float]


def what_if(
    name: str,
    before: pd.DataFrame,
    after: pd.DataFrame,
    *,
    total_before: tuple[float, float, float] | None = None,
) -> WhatIf:
    """Two costings side by side.

    Parameters
    ----------
    name : str
        What is different, in a person's words.
    before, after : DataFrame
        Cost lines in one currency; see `planner_kit.trip.money.cost_frame`.
    total_before : tuple of float, optional
        Low, likely and high of `before`, where they are known already.

    Returns
    -------
    found : WhatIf
    """
    first = total_before or total_range(before)
    return WhatIf(name, after, line_differences(before, after), first, total_range(after))


def line_differences(before: pd.DataFrame, after: pd.DataFrame) -> pd.DataFrame:
    """The lines that differ between two costings; see `WhatIf.differences`.

    Lines are the same when kind and words are, whatever figures stand in the words ("food for 4
    people on 8 days" and "... on 7 days"); several alike are added up.
    """
    old_lines, new_lines = _by_line(before), _by_line(after)
    rows = []
    for key in dict.fromkeys([*old_lines, *new_lines]):
        old, new = old_lines.get(key), new_lines.get(key)
        was = math.nan if old is None else old.amount
        now = math.nan if new is None else new.amount
        change = _change(was, now, old is not None, new is not None)
        if change:
            words = new.what if new is not None else old.what  # type: ignore[union-attr]
            gap = (0.0 if new is None else now) - (0.0 if old is None else was)
            rows.append((key[0], words, was, now, gap, change))
    return pd.DataFrame(rows, columns=list(DIFFERENCE_COLUMNS))


@dataclass(frozen=True)
class _Sum:
    """Lines alike, added up: NaN as soon as one is not known."""

    amount: float
    what: str


def _by_line(lines: pd.DataFrame) -> dict[tuple[str, str], _Sum]:
    found: dict[tuple[str, str], _Sum] = {}
    rows = zip(lines["kind"], lines["what"], lines["likely"], strict=True)
    for kind, what, amount in rows:
        # What is left to pay of a booking is the same line as the price of an unbooked stay.
        key = (str(kind), _FIGURES.sub("#", str(what).removesuffix(": balance")))
        before = found.get(key)
        if before is None:
            found[key] = _Sum(float(amount), str(what))
        else:
            found[key] = _Sum(before.amount + float(amount), before.what)
    return found


def _change(old: float, new: float, was: bool, now: bool) -> str:
    if not was:
        return "new"
    if not now:
        return "gone"
    if math.isnan(old) and math.isnan(new):
        return ""
    if math.isnan(old) or math.isnan(new):
        return "not known"
    if abs(new - old) < 0.005:
        return ""
    return "dearer" if new > old else "cheaper"


def with_prices(lines: pd.DataFrame, factors: Mapping[str, float]) -> pd.DataFrame:
    """The lines with kinds of spending dearer or cheaper by a factor.

    Money that is paid or booked stays as it is.

    Parameters
    ----------
    lines : DataFrame
    factors : mapping of str to float
        By kind, such as ``{"fuel": 1.1}``.
    """
    changed = lines.copy()
    factor = changed["kind"].map(factors).fillna(1.0).to_numpy(float)
    factor = np.where(changed["state"] == "expected", factor, 1.0)
    for column in ("low", "likely", "high"):
        changed[column] = changed[column] * factor
    return changed


def with_lines(lines: pd.DataFrame, stages: tuple[str, ...], new: pd.DataFrame) -> pd.DataFrame:
    """The lines with those of some stages exchanged for new ones.

    Parameters
    ----------
    lines : DataFrame
    stages : tuple of str
        Whose lines go: "sites", "tow" ...
    new : DataFrame
        Their new lines.
    """
    kept = lines[~lines["stage"].isin(stages)]
    frames = [frame for frame in (kept, new) if len(frame)]
    return pd.concat(frames, ignore_index=True) if frames else lines.iloc[:0]
