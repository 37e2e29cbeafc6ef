"""What the sites stage hands on: prices, fit, shortlist, bookings and deadlines."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

    from planner_kit.states import Check
    from planner_kit.trip.money import CostLine


@dataclass(frozen=True)
class SitesReport:
    """The sites stage's result for the whole trip.

    Attributes
    ----------
    stays : DataFrame
        site_id, name, arrive, leave, nights, price, price_before_discount, currency, booking
        state and reference, arrive_from, arrive_until, depart_by, phone, one row for each stay.
    price_lines : DataFrame
        site_id, what, quantity, unit_price, amount, currency, source: how each price adds up.
    shortlist : DataFrame, sorted best first
        Every candidate: site_id, name, lat, lon, price, currency, fit (state word), score,
        ``part_<criterion>`` columns that sum to the score, removed_by (must-have, or empty).
    deadlines : DataFrame
        on (date), what, why, site_id, state (done, to do, late), uid.
    checks : tuple of Check
        Fit of each booked site, season, bookings.
    cost_lines : tuple of CostLine
    unknowns : tuple of str
    criteria : DataFrame or None
        How good each candidate is by each criterion before any weight, by site id.
    removed : Series or None
        The must-haves that each candidate fails, in words.
    """

    stays: pd.DataFrame
    price_lines: pd.DataFrame
    shortlist: pd.DataFrame
    deadlines: pd.DataFrame
    checks: tuple[Check, ...]
    cost_lines: tuple[CostLine, ...]
    unknowns: tuple[str, ...]
    criteria: pd.DataFrame | None = None
    removed: pd.Series | None = None
