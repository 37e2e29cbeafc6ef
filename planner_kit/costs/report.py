"""What the costs stage hands on: the whole trip's money."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

    from planner_kit.states import Check


@dataclass(frozen=True)
class TripCost:
    """The costs stage's result.

    Attributes
    ----------
    lines : DataFrame
        The columns of `planner_kit.trip.money.COST_COLUMNS`, in the trip's currency.
    currency : str
    low, likely, high : float
        Total of what is known; low and high are the stated range of the sum, not the sum of the
        ranges.
    range_method : str
        How the range of the total was found, in one sentence.
    per_night, per_person : float
    by_month : DataFrame
        month, amount, state: when the money goes out.
    checks : tuple of Check
        Budget, unknown prices.
    """

    lines: pd.DataFrame
    currency: str
    low: float
    likely: float
    high: float
    range_method: str
    per_night: float
    per_person: float
    by_month: pd.DataFrame
    checks: tuple[Check, ...]
