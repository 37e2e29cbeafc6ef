"""What the outings stage hands on: attractions ranked with their parts, and a plan of days."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

    from planner_kit.states import Check
    from planner_kit.trip.money import CostLine


@dataclass(frozen=True)
class OutingsReport:
    """The outings stage's result for one stay.

    Attributes
    ----------
    site_id : str
    ranking : DataFrame, sorted best first
        attraction_id, name, kind, lat, lon, indoor, drive_min, distance_km, cost, currency,
        free_with, rating (0-5 after shrinkage), open_days (count of trip days it is open; NaN
        unknown), opening_hours, score and one column ``part_<criterion>`` for each weight; the
        parts sum to the score.
    days : DataFrame
        day, start, end, attraction_id, name, what (outing, rest, wet-day plan), why.
    left_out : DataFrame
        attraction_id, name, why.
    checks : tuple of Check
    cost_lines : tuple of CostLine
    unknowns : tuple of str
    """

    site_id: str
    ranking: pd.DataFrame
    days: pd.DataFrame
    left_out: pd.DataFrame
    checks: tuple[Check, ...]
    cost_lines: tuple[CostLine, ...]
    unknowns: tuple[str, ...]
