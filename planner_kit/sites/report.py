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
        state and reference, arrive_from, arrive_until, depart_by, phone, one row for each stay; the
        price is that of the booking, without what a meter counts.
    price_lines : DataFrame
        site_id, part, what, quantity, unit_price, amount, currency, source: how each price adds up.
    shortlist : DataFrame, sorted best first
        Every candidate: site_id, name, lat, lon, price (with what a meter would count), currency,
        metered (how much of the price that is; 0 without a meter), fit (state word), score,
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
    must_haves : DataFrame or None
        See `planner_kit.sites.what_each_removed`.
    offers : DataFrame or None
        Whether each candidate has what a household can insist on; see
        `planner_kit.sites.must_have_table`.
    margins : DataFrame or None
        How far each weight may move before another site comes first; see
        `planner_kit.sites.weighing.weight_margins`.
    people : DataFrame or None
        What each person who has weights of their own makes of the sites; see
        `planner_kit.sites.weighing.group_ranking`. None where nobody has.
    ledger : DataFrame or None
        All bookings of this trip and the others as they stand; see
        `planner_kit.sites.ledger.bookings_on`.
    dates : DataFrame or None
        What other days would cost at the longest stay's site, cheapest first; see
        `planner_kit.sites.dates.shifted_dates`. None where the trip may not be moved.
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
    must_haves: pd.DataFrame | None = None
    offers: pd.DataFrame | None = None
    margins: pd.DataFrame | None = None
    people: pd.DataFrame | None = None
    ledger: pd.DataFrame | None = None
    dates: pd.DataFrame | None = None
