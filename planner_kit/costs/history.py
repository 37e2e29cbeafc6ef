"""What the trip costs beside what earlier trips cost, night by night."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from planner_kit.costs.report import TripCost
    from planner_kit.trip.trip import Trip

HISTORY_COLUMNS = ("trip", "start", "nights", "what", "total", "per_night", "against_this_pct")


def earlier_trips(
    cost: TripCost, trip: Trip, others: Iterable[Trip], default_currency: str
) -> pd.DataFrame:
    """A trip's likely cost and what earlier ones really came to.

    Parameters
    ----------
    cost : TripCost
    trip : Trip
    others : iterable of Trip
        Those that ended before this one starts and note what was spent.
    default_currency : str
        Of trips that name none; trips in another currency than this one's are left out.

    Returns
    -------
    history : DataFrame
        trip, start, nights, what (``planned`` or ``spent``), total, per_night, against_this_pct
        (this trip's cost a night against that one's), newest first. Only kinds that the earlier
        trip noted are in its figures, and its comparison takes only those of this trip.
    """
    rows: list[tuple[str, dt.date, int, str, float, float, float]] = [
        (trip.name, trip.start, trip.nights, "planned", cost.likely, cost.per_night, math.nan)
    ]
    for other in sorted(others, key=lambda one: one.start, reverse=True):
        currency = other.budget.currency or default_currency
        spent = () if other.actuals is None else other.actuals.spent
        if not spent or other.end > trip.start or currency != cost.currency:
            continue
        total = sum(one.amount for one in spent)
        kinds = {one.kind for one in spent}
        like = float(cost.lines.loc[cost.lines["kind"].isin(kinds), "likely"].sum()) / trip.nights
        per_night = total / other.nights
        gap = 100 * (like - per_night) / per_night if per_night else math.nan
        rows.append((other.name, other.start, other.nights, "spent", total, per_night, gap))
    return pd.DataFrame(rows, columns=list(HISTORY_COLUMNS))
