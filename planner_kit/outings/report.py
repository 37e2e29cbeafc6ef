"""What the outings stage hands on: attractions ranked with their parts, and a plan of days."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from planner_kit.outings.stay_rides import StayRide
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
        day, start, end, attraction_id, name, what (outing, rest, wet-day plan), why, by (car, foot
        or bike).
    left_out : DataFrame
        attraction_id, name, why.
    checks : tuple of Check
    cost_lines : tuple of CostLine
    unknowns : tuple of str
    rides : tuple of StayRide
        The household's own rides and those found on the map.
    light : DataFrame
        day, dawn, sunrise, sunset, dusk of the days out; see `sun_table`.
    visits : DataFrame
        The planned outings as `membership_worth` takes them.
    memberships : DataFrame
        Of the whole trip, in the report of its first stay only: see `trips_worth`.
    by_composition : DataFrame
        The same for the ways in which the household may go out; see `worth_by_composition`.
    gap_frac : float
        How far the plan of days may be below the best there is.
    """

    site_id: str
    ranking: pd.DataFrame
    days: pd.DataFrame
    left_out: pd.DataFrame
    checks: tuple[Check, ...]
    cost_lines: tuple[CostLine, ...]
    unknowns: tuple[str, ...]
    rides: tuple[StayRide, ...] = ()
    light: pd.DataFrame = field(default_factory=pd.DataFrame)
    visits: pd.DataFrame = field(default_factory=pd.DataFrame)
    memberships: pd.DataFrame = field(default_factory=pd.DataFrame)
    by_composition: pd.DataFrame = field(default_factory=pd.DataFrame)
    gap_frac: float = 0.0
