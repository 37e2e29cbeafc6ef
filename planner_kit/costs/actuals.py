"""After the trip: what was planned against what was spent."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.costs.trip_cost import total_range

if TYPE_CHECKING:
    from planner_kit.costs.report import TripCost
    from planner_kit.trip.trip import Trip

ACTUALS_COLUMNS = (
    "kind", "planned_low", "planned", "planned_high", "not_priced", "spent", "difference",
    "difference_pct", "outcome",
)  # fmt: skip


def plan_against_spent(cost: TripCost, trip: Trip) -> pd.DataFrame:
    """One row for each kind of spending, and one for the whole trip.

    Parameters
    ----------
    cost : TripCost
    trip : Trip
        Its ``actuals``, amounts in the trip's currency.

    Returns
    -------
    table : DataFrame
        kind, planned_low, planned, planned_high (sums of the kind's lines; for ``total`` the
        range of the total), not_priced (lines whose price was unknown), spent (NaN where nothing
        was noted: not noted is not nothing), difference and difference_pct (spent less planned),
        outcome. Empty without actuals. The outcome is ``as planned`` within the range, ``dearer``,
        ``cheaper``, ``not planned``, ``not noted``, ``not priced`` where no price was known, or
        ``partly planned`` where one was missing.

    Notes
    -----
    The total compares only the kinds for which spending was noted.
    """
    if trip.actuals is None or not trip.actuals.spent:
        return pd.DataFrame(columns=list(ACTUALS_COLUMNS))
    spent = pd.DataFrame([{"kind": s.kind, "spent": s.amount} for s in trip.actuals.spent])
    paid = spent.groupby("kind")["spent"].sum()
    kinds = list(dict.fromkeys([*cost.lines["kind"], *paid.index]))
    rows = []
    for kind in kinds:
        own = cost.lines[cost.lines["kind"] == kind]
        priced = own.dropna(subset=["likely"])
        planned = float(priced["likely"].sum()) if len(priced) else math.nan
        low = float(priced["low"].fillna(priced["likely"]).sum()) if len(priced) else math.nan
        high = float(priced["high"].fillna(priced["likely"]).sum()) if len(priced) else math.nan
        missing = len(own) - len(priced)
        rows.append(_row(kind, low, planned, high, missing, float(paid.get(kind, math.nan))))
    noted = cost.lines[cost.lines["kind"].isin(paid.index)]
    low, planned, high = total_range(noted)
    missing = int(noted["likely"].isna().sum())
    rows.append(_row("total", low, planned, high, missing, float(paid.sum())))
    return pd.DataFrame(rows, columns=list(ACTUALS_COLUMNS))


def _row(
    kind: str, low: float, planned: float, high: float, missing: int, spent: float
) -> dict[str, object]:
    difference = spent - planned
    return {
        "kind": kind,
        "planned_low": low,
        "planned": planned,
        "planned_high": high,
        "not_priced": missing,
        "spent": spent,
        "difference": difference,
        "difference_pct": 100 * difference / planned if planned else math.nan,
        "outcome": _outcome(low, planned, high, missing, spent),
    }


def _outcome(low: float, planned: float, high: float, missing: int, spent: float) -> str:
    if math.isnan(spent):
        return "not noted"
    if math.isnan(planned):
        return "not priced" if missing else "not planned"
    if missing:
        return "partly planned"
    half_cent = 0.005
    if spent > high + half_cent:
        return "dearer"
    return "cheaper" if spent < low - half_cent else "as planned"
