"""What a stay costs, night by night, in lines that add up to the last penny."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from planner_kit.pitch import use_without_weather
from planner_kit.sites.amounts import UNKNOWN, amount_of, as_number, from_smallest, total_of
from planner_kit.sites.discounts import membership_of, stay_extras
from planner_kit.sites.nightly import Wishes, night_charges, party_on, rules_for_stay
from planner_kit.sites.tariff_rules import NightCalendar, TariffRules, no_rules

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence

    from planner_kit.pitch import MainsUse
    from planner_kit.sites.discounts import Extra
    from planner_kit.sites.nightly import Charge
    from planner_kit.trip.household import Household, Membership, Person

PRICE_COLUMNS = (
    "site_id", "part", "what", "quantity", "unit_price", "amount", "currency", "source",
)  # fmt: skip


@dataclass(frozen=True)
class PriceSum:
    """What the lines of a stay's price come to.

    Attributes
    ----------
    total, before_discount : Decimal or None
        None as soon as one line is unknown.
    known : Decimal
        The sum of the lines that are known.
    currency : str
    unknown : tuple of str
        What the lines with no price are for.
    """

    total: Decimal | None
    before_discount: Decimal | None
    known: Decimal
    currency: str
    unknown: tuple[str, ...]


def site_price(
    site: pd.Series,
    seasons: pd.DataFrame,
    arrive: dt.date,
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
    """The lines of a stay's price, which sum to its total.

    Parameters
    ----------
    site : Series
        A row of `read_sites`, its name the site id.
    seasons : DataFrame
        See `read_seasons`.
    arrive : date
    nights : int
    household : Household
    party : sequence of str
        Names of those who come; empty for the whole household.
    hookup, awning : bool
        Whether they are wanted.
    rules : TariffRules, optional
        What the site charges beyond the columns of the site list.
    booked_on : date, optional
        When the stay is or would be booked; without it no offer for early booking is counted.
    use : MainsUse, optional
        What a night draws where a meter counts it, as `planner_kit.pitch.mains_use` returns it;
        without it nothing is known of the weather, and electric heating makes the use unknown.

    Returns
    -------
    lines : DataFrame
        site_id, part (pitch, adult, child, person, dog, awning, hookup, kwh, discount, tax, fee,
        card), what, quantity, unit_price, amount, currency, source; `amount` is NaN where the list
        does not say the price, and is never 0 for want of a figure. A discount is a negative
        amount.

    Notes
    -----
    Two adults are in the pitch price unless the tariff list has prices for each person; a child
    does not take the place of a second adult. Everyone whose age is not known pays as an adult. The
    discount is taken off pitch and people for the nights on which the membership is valid, not off
    dogs, awning and hook-up; where the site list has no percentage, the membership's own holds.
    """
    lines = _stay_lines(
        site, season_spans(seasons, str(site.name)), arrive, nights, household, party,
        Wishes(hookup, awning, use_of(household, party, use), booked_on), rules,
    )  # fmt: skip
    return pd.DataFrame(lines, columns=list(PRICE_COLUMNS))


def stay_price(
    site: pd.Series,
    spans: Sequence[tuple[str, Any, Any]],
    arrive: dt.date,
    nights: int,
    household: Household,
    party: Sequence[str] = (),
    *,
    hookup: bool = True,
    awning: bool = True,
    rules: TariffRules | None = None,
) -> tuple[PriceSum, str]:
    """What a booking of a stay comes to, and the source of its first line.

    As `price_sum` of `without_meter` of `site_price`, for a stay that is looked at often.

    Parameters
    ----------
    spans : sequence of (season, first night, last night)
        See `season_spans`.
    site, arrive, nights, household, party, hookup, awning, rules
        See `site_price`.
    """
    wishes = Wishes(hookup, awning)
    lines = _stay_lines(site, spans, arrive, nights, household, party, wishes, rules)
    return _sum_of(lines), str(lines[0]["source"])


def _stay_lines(
    site: pd.Series,
    spans: Sequence[tuple[str, Any, Any]],
    arrive: dt.date,
    nights: int,
    household: Household,
    party: Sequence[str],
    wishes: Wishes,
    rules: TariffRules | None,
) -> list[dict[str, Any]]:
    rules = rules or no_rules()
    row = {"site_id": str(site.name), **{str(k): v for k, v in site.items()}}
    own = rules_for_stay(rules.of_site(str(site.name)), nights, household)
    calendar = NightCalendar(arrive, nights, rules)
    group = party_on(people_of(household, party), len(household.dogs), [arrive])
    charges = night_charges(row, spans, own, calendar, group, nights, wishes)
    at = np.zeros(1, dtype=np.int64)
    extras = stay_extras(row, own, charges, calendar, at, nights, household, group, wishes)
    return _lines(row, charges, extras)


def season_spans(seasons: pd.DataFrame, site_id: str) -> list[tuple[str, Any, Any]]:
    """The seasons of a site as (season, first night, last night)."""
    own = seasons[seasons["site_id"] == site_id]
    return list(zip(own["season"], own["start"], own["end"], strict=True))


def _lines(
    site: dict[str, Any], charges: Sequence[Charge], extras: Sequence[Extra]
) -> list[dict[str, Any]]:
    currency = str(site["currency"])
    listed = _source_of(site)
    lines: list[dict[str, Any]] = []

    def add(part: str, what: str, quantity: int, unit: Decimal | None, source: str) -> None:
        lines.append(
            {
                "site_id": site["site_id"],
                "part": part,
                "what": what,
                "quantity": quantity,
                "unit_price": as_number(unit),
                "amount": as_number(None if unit is None else unit * quantity),
                "currency": currency,
                "source": source,
            }
        )

    for charge in charges:
        pairs = Counter(zip(charge.label.tolist(), charge.unit.tolist(), strict=True))
        for (label, unit), times in pairs.items():
            what, source = charge.words[label]
            price = None if unit == UNKNOWN else from_smallest(unit, currency)
            add(charge.part, what, times * int(charge.count[0]), price, source or listed)
    for extra in extras:
        value = float(extra.amount[0])
        if value != 0:
            price = None if np.isnan(value) else from_smallest(int(value), currency)
            add(extra.part, extra.what, 1, price, extra.source)
    return lines


def without_meter(lines: pd.DataFrame) -> pd.DataFrame:
    """The lines of `site_price` that are paid by booking: all but what a meter counts."""
    return lines[lines["part"] != "kwh"]


def use_of(household: Household, party: Sequence[str], use: MainsUse | None) -> MainsUse:
    """What is drawn from the mains as told, or else without knowing how warm it is."""
    return use or use_without_weather(household, len(people_of(household, party)))


def price_sum(lines: pd.DataFrame) -> PriceSum:
    """The exact total of the lines of `site_price`, before and after discount."""
    return _sum_of(lines.to_dict("records"))


def _sum_of(lines: Sequence[Mapping[Any, Any]]) -> PriceSum:
    currency = str(lines[0]["currency"]) if lines else ""
    priced = [(line, amount_of(float(line["amount"]), currency)) for line in lines]
    amounts = [amount for _, amount in priced]
    gross = [amount for line, amount in priced if line["part"] != "discount"]
    missing = [
        line["what"] for line, amount in priced if amount is None and line["part"] != "discount"
    ]
    return PriceSum(
        total=total_of(amounts) if amounts else None,
        before_discount=total_of(gross) if gross else None,
        known=sum((a for a in amounts if a is not None), Decimal(0)),
        currency=currency,
        unknown=tuple(missing),
    )


def membership_for(site: pd.Series, household: Household) -> Membership | None:
    """The household's membership that lowers the price of a site, valid or not."""
    return membership_of({"club": site["club"]}, household)


def is_valid_on(membership: Membership, day: dt.date) -> bool:
    """Whether a membership holds on a day; one without an end does."""
    return membership.valid_until is None or day <= membership.valid_until


def people_of(household: Household, party: Sequence[str]) -> tuple[Person, ...]:
    """Those of the household who come; everybody when the party is empty."""
    return tuple(p for p in household.people if not party or p.name in party)


def _source_of(site: dict[str, Any]) -> str:
    as_of = site["as_of"]
    read = "" if pd.isna(as_of) else f" on {as_of:%Y-%m-%d}"
    return f"site list: {site['source'] or 'no source given'}{read}"


def season_of(site_id: str, seasons: pd.DataFrame, day: dt.date) -> str | None:
    """The season of a night, or None if no row covers it."""
    stamp = pd.Timestamp(day)
    rows = seasons[
        (seasons["site_id"] == site_id) & (seasons["start"] <= stamp) & (seasons["end"] >= stamp)
    ]
    return None if rows.empty else str(rows["season"].iloc[0])
