"""What would change: a trip's cost with other dates, prices, nights, route or site, by line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.costs.trip_cost import total_range

if TYPE_CHECKING:
    from collections.abc import Mapping

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


def what_if(name: str, before: pd.DataFrame, after: pd.DataFrame) -> WhatIf:
    """Two costings side by side.

    Parameters
    ----------
    name : str
        What is different, in a person's words.
    before, after : DataFrame
        Cost lines in one currency; see `planner_kit.trip.money.cost_frame`.

    Returns
    -------
    found : WhatIf
    """
    return WhatIf(
        name, after, line_differences(before, after), total_range(before), total_range(after)
    )


def line_differences(before: pd.DataFrame, after: pd.DataFrame) -> pd.DataFrame:
    """The lines that differ between two costings; see `WhatIf.differences`.

    Lines are the same when kind and words are, whatever figures stand in the words ("food for 4
    people on 8 days" and "... on 7 days"); several alike are added up.
    """
    sums = [_by_line(lines) for lines in (before, after)]
    joined = sums[0].join(sums[1], how="outer", lsuffix="_before", rsuffix="_after", sort=False)
    rows = []
    kinds = joined.index.get_level_values("kind")
    for kind, row in zip(kinds, joined.to_dict("records"), strict=True):
        old, new = row["amount_before"], row["amount_after"]
        was, now = not pd.isna(row["count_before"]), not pd.isna(row["count_after"])
        words = row["what_after"] if now else row["what_before"]
        change = _change(old, new, was, now)
        if change:
            gap = (0.0 if not now else new) - (0.0 if not was else old)
            rows.append((kind, words, old, new, gap, change))
    return pd.DataFrame(rows, columns=list(DIFFERENCE_COLUMNS))


def _by_line(lines: pd.DataFrame) -> pd.DataFrame:
    shape = lines["what"].astype(str).str.replace(r"\d+(?:[.,]\d+)*", "#", regex=True)
    groups = lines.groupby([lines["kind"], shape.rename("shape")], sort=False)
    return pd.DataFrame(
        {
            "amount": groups["likely"].agg(lambda amounts: amounts.sum(skipna=False)),
            "count": groups["likely"].size().astype(float),
            "what": groups["what"].first(),
        }
    )


def _change(old: float, new: float, was: bool, now: bool) -> str:
    if not was:
        return "new"
    if not now:
        return "gone"
    if np.isnan(old) and np.isnan(new):
        return ""
    if np.isnan(old) or np.isnan(new):
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
