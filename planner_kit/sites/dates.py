"""What a stay costs on other dates: many sites and many days of arrival at once."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.sites.amounts import smallest_amount
from planner_kit.sites.discounts import stay_extras, stay_sums
from planner_kit.sites.fit import is_open
from planner_kit.sites.nightly import Wishes, night_charges, party_on, rules_for_stay
from planner_kit.sites.tariff import people_of, use_of
from planner_kit.sites.tariff_rules import NightCalendar, TariffRules, no_rules
from planner_kit.sites.terms import least_stay, may_arrive

if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from planner_kit.pitch import MainsUse
    from planner_kit.trip.household import Household


def prices_by_start(
    sites: pd.DataFrame,
    seasons: pd.DataFrame,
    starts: Sequence[dt.date],
    nights: int,
    household: Household,
    party: Sequence[str] = (),
    *,
    hookup: bool = True,
    awning: bool = True,
    rules: TariffRules | None = None,
    booked_on: dt.date | None = None,
    use: MainsUse | None = None,
) -> pd.DataFrame:
    """The total price of a stay on each site from each day of arrival.

    Parameters
    ----------
    sites : DataFrame, n rows
        See `read_sites`.
    starts : sequence of date, length m
        Days of arrival, in any order.
    nights, household, party, hookup, awning, rules, booked_on, use
        See `planner_kit.sites.tariff.site_price`.

    Returns
    -------
    prices : DataFrame, n rows and m columns
        Indexed by site id, columns the days; NaN where a part of the price is not known. Each row
        is in the site's own currency and equals `price_sum` of `site_price` for that day.
    """
    rules = rules or no_rules()
    first, last = min(starts), max(starts)
    calendar = NightCalendar(first, (last - first).days + nights, rules)
    at = np.array([(day - first).days for day in starts], dtype=np.int64)
    group = party_on(people_of(household, party), len(household.dogs), starts)
    wishes = Wishes(hookup, awning, use_of(household, party, use), booked_on)
    spans: dict[str, list[tuple[str, Any, Any]]] = {}
    for site_id, season, start, end in zip(
        seasons["site_id"], seasons["season"], seasons["start"], seasons["end"], strict=True
    ):
        spans.setdefault(str(site_id), []).append((season, start, end))
    totals = np.empty((len(sites), len(starts)))
    records: list[dict[str, Any]] = sites.to_dict("records")  # type: ignore[assignment]
    for place, (site_id, cells) in enumerate(zip(sites.index, records, strict=True)):
        row = {**cells, "site_id": str(site_id)}
        own = rules_for_stay(rules.of_site(str(site_id)), nights, household)
        charges = night_charges(
            row, spans.get(str(site_id), ()), own, calendar, group, nights, wishes
        )
        extras = stay_extras(row, own, charges, calendar, at, nights, household, group, wishes)
        total = np.zeros(len(at))
        for charge in charges:
            total += stay_sums(charge, at, nights)
        for extra in extras:
            total += extra.amount
        totals[place] = total * float(smallest_amount(str(row["currency"])))
    return pd.DataFrame(totals.round(6), index=sites.index, columns=list(starts))


def shifted_dates(
    site: pd.DataFrame,
    seasons: pd.DataFrame,
    start: dt.date,
    nights: int,
    household: Household,
    party: Sequence[str] = (),
    *,
    earlier_days: int = 14,
    later_days: int = 14,
    hookup: bool = True,
    awning: bool = True,
    rules: TariffRules | None = None,
    use: MainsUse | None = None,
) -> pd.DataFrame:
    """What moving a stay would save, cheapest first.

    Parameters
    ----------
    site : DataFrame, 1 row
        The site, as a frame.
    start : date
        The planned arrival.
    earlier_days, later_days : int
        How far the family allows it to move.
    seasons, nights, household, party, hookup, awning, rules, use
        See `prices_by_start`.

    Returns
    -------
    dates : DataFrame
        arrive, leave, price, saved (against the planned dates; negative where dearer), allowed
        (yes, no or unknown), why (season, shortest stay and arrival weekday that stand against
        it). Allowed dates come first, of equal prices the nearest to the plan.
    """
    rules = rules or no_rules()
    starts = [start + dt.timedelta(days=n) for n in range(-earlier_days, later_days + 1)]
    prices = prices_by_start(
        site, seasons, starts, nights, household, party,
        hookup=hookup, awning=awning, rules=rules, use=use,
    ).iloc[0]  # fmt: skip
    row = site.iloc[0]
    own = rules_for_stay(rules.of_site(str(site.index[0])), nights, household)
    calendar = NightCalendar(starts[0], len(starts) + nights, rules)
    at = np.arange(len(starts))
    listed = np.nan if pd.isna(row["min_nights"]) else float(row["min_nights"])
    least = least_stay(own, listed, calendar, at)
    welcome = may_arrive(own, calendar, at)
    rows = []
    for place, day in enumerate(starts):
        leave = day + dt.timedelta(days=nights)
        opened = is_open(row, day, leave)
        against = []
        if opened is False:
            against.append("the site is closed then")
        if least[place] > nights:
            against.append(f"the site asks for {least[place]:g} nights then")
        if not welcome[place]:
            against.append(f"the site takes no arrivals on that {day:%A}")
        unsure = opened is None or np.isnan(least[place])
        rows.append(
            {
                "arrive": day,
                "leave": leave,
                "price": prices[day],
                "saved": prices[start] - prices[day],
                "allowed": "no" if against else "unknown" if unsure else "yes",
                "why": "; ".join(against),
            }
        )
    frame = pd.DataFrame(rows)
    order = pd.DataFrame(
        {
            "allowed": frame["allowed"].map({"yes": 0, "unknown": 1, "no": 2}),
            "price": frame["price"].fillna(np.inf),
            "far": [abs((day - start).days) for day in frame["arrive"]],
        }
    )
    return frame.loc[order.sort_values(["allowed", "price", "far"]).index].reset_index(drop=True)
