"""What a trip would cost with something changed: its lines, as a slider moves."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.costs.trip_cost import trip_lines
from planner_kit.costs.what_if import with_lines, with_prices
from planner_kit.pitch import mains_use
from planner_kit.sites.bookings import booking_cost_lines
from planner_kit.sites.deadlines import booking_day
from planner_kit.sites.metered import stay_meter
from planner_kit.sites.site_list import site_of
from planner_kit.sites.tariff import season_spans, stay_price
from planner_kit.sites.terms import deposit_of
from planner_kit.trip.money import cost_frame
from planner_kit.trip.trip import Booking

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner_kit.costs.rates import ExchangeRate
    from planner_kit.pitch import MainsUse
    from planner_kit.sites.tariff_rules import TariffRules
    from planner_kit.trip.money import CostLine
    from planner_kit.trip.reading import TripInputs
    from planner_kit.trip.trip import Stay, Trip

# What is used up on the pitch goes with the nights there.
_BY_NIGHT = ("gas",)


@dataclass(frozen=True)
class Change:
    """What is different from the plan.

    Attributes
    ----------
    stay : int
        The stay that is longer, shorter or elsewhere, from 0.
    site_id : str
        Its site; empty for the planned one.
    more_nights, days_later : int
        Nights that the stay is longer, days that the whole trip is later; either may be negative.
    prices : mapping of str to float
        Factors by kind of spending, such as ``{"fuel": 1.1}``.
    tow : sequence of CostLine or None
        The tow's lines on another way or to another site; None for the planned ones.
    """

    stay: int = 0
    site_id: str = ""
    more_nights: int = 0
    days_later: int = 0
    prices: Mapping[str, float] = field(default_factory=dict)
    tow: Sequence[CostLine] | None = None


def changed_trip(trip: Trip, change: Change) -> Trip:
    """The trip as it would be; only bookings whose site and days stay are kept."""
    moved_days = change.days_later
    stays = []
    for number, stay in enumerate(trip.stays):
        update: dict[str, object] = {}
        if number == change.stay:
            update["site"] = change.site_id or stay.site
            update["nights"] = max(stay.nights + change.more_nights, 1)
        here = number == change.stay and (update["site"], update["nights"]) != (
            stay.site, stay.nights,
        )  # fmt: skip
        if moved_days or here:
            update["booking"] = Booking()
        stays.append(stay.model_copy(update=update))
        if number == change.stay:
            # Whatever comes after a longer or shorter stay begins on another day.
            moved_days += stays[-1].nights - stay.nights
    start = trip.start + dt.timedelta(days=change.days_later)
    return trip.model_copy(update={"start": start, "stays": tuple(stays)})


def changed_lines(
    lines: pd.DataFrame,
    inputs: TripInputs,
    sites: pd.DataFrame,
    seasons: pd.DataFrame,
    change: Change,
    *,
    planned_on: dt.date,
    rules: TariffRules | None = None,
    rates: Mapping[str, ExchangeRate] | None = None,
    use: MainsUse | None = None,
) -> pd.DataFrame:
    """A trip's cost lines with something changed.

    Parameters
    ----------
    lines : DataFrame
        As planned; see `planner_kit.costs.report.TripCost`.
    inputs : TripInputs
    sites, seasons : DataFrame
        See `planner_kit.sites.read_sites` and `read_seasons`.
    change : Change
    planned_on : date
    rules : TariffRules, optional
    rates : mapping of str to ExchangeRate, optional
    use : MainsUse, optional
        What a night draws from the mains, as the plan has it; see `planner_kit.sites.plan_sites`.

    Returns
    -------
    lines : DataFrame
        Sites with their meters, food and yearly shares reckoned anew, the tow where it is given;
        gas goes with the nights; days of payment that depend on the trip's days move with it.
        Outings stay.

    Raises
    ------
    PlanFileError
        If the site list has no such site.

    Notes
    -----
    Money that is paid for a stay is counted against its new price only while its booking holds:
    what a site keeps when a stay is called off is for the ledger to say.
    """
    changed = lines
    before = inputs.trip
    trip = changed_trip(before, change)
    if trip != before:
        new = replace(inputs, trip=trip)
        found: list[CostLine] = []
        use = use or mains_use(inputs)
        for stay, (arrive, _) in zip(trip.stays, trip.stay_dates(), strict=True):
            found += _stay_lines(new, sites, seasons, stay, arrive, planned_on, rules, use)
        fresh = cost_frame(trip_lines(new, found, rates=rates))
        changed = with_lines(_moved(changed, before, trip), ("sites", "costs"), fresh)
    if change.tow is not None:
        own = trip_lines_of(inputs, change.tow, rates)
        changed = with_lines(changed, ("tow",), own)
    return with_prices(changed, change.prices) if change.prices else changed


def trip_lines_of(
    inputs: TripInputs,
    lines: Sequence[CostLine],
    rates: Mapping[str, ExchangeRate] | None = None,
) -> pd.DataFrame:
    """Lines of one stage in the trip's currency, without food and yearly shares."""
    frame = cost_frame(trip_lines(inputs, lines, rates=rates))
    return frame[frame["stage"] != "costs"]


def _stay_lines(
    inputs: TripInputs,
    sites: pd.DataFrame,
    seasons: pd.DataFrame,
    stay: Stay,
    arrive: dt.date,
    planned_on: dt.date,
    rules: TariffRules | None,
    use: MainsUse,
) -> tuple[CostLine, ...]:
    household = inputs.household
    site = site_of(sites, stay.site, str(inputs.trip_path))
    price, source = stay_price(
        site, season_spans(seasons, stay.site), arrive, stay.nights, household, inputs.trip.party,
        hookup=stay.hookup, awning=stay.awning, rules=rules,
    )  # fmt: skip
    opens = None if pd.isna(site["opens_days_ahead"]) else int(site["opens_days_ahead"])
    day = booking_day(stay, arrive, planned_on, opens)
    deposit = deposit_of(site, rules, household, stay.nights, price.total, day)
    booked = booking_cost_lines(
        stay, str(site["name"]), arrive, price, source, planned_on, deposit=deposit
    )
    return (*booked, *stay_meter(stay, site, rules, household, arrive, use))


def _moved(lines: pd.DataFrame, before: Trip, after: Trip) -> pd.DataFrame:
    """The lines of other stages on the new days, what is used on the pitch by the nights."""
    moved = lines.copy()
    by = after.start - before.start
    if by:
        moved["on"] = [
            None if pd.isna(day) else day if state == "paid" else day + by
            for day, state in zip(lines["on"], lines["state"], strict=True)
        ]
    share = after.nights / before.nights
    if share != 1:
        used = (lines["kind"].isin(_BY_NIGHT) & (lines["stage"] == "pitch")).to_numpy()
        factor = np.where(used, share, 1.0)
        for column in ("low", "likely", "high"):
            moved[column] = lines[column].to_numpy() * factor
    return moved
