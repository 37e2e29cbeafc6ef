"""What a stay costs, night by night, in lines that add up to the last penny."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.reference import constant
from planner_kit.sites.amounts import amount_of, as_number, smallest_amount, total_of

if TYPE_CHECKING:
    from collections.abc import Sequence

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


@dataclass(frozen=True)
class _Line:
    part: str
    what: str
    quantity: int
    unit_price: Decimal | None
    amount: Decimal | None
    source: str


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

    Returns
    -------
    lines : DataFrame
        site_id, part (pitch, adult, child, dog, awning, hookup, discount), what, quantity,
        unit_price, amount, currency, source; `amount` is NaN where the list does not say the
        price, and is never 0 for want of a figure. A discount is a negative amount.

    Notes
    -----
    Two adults are in the pitch price; a child does not take the place of a second adult. Everyone
    whose age is not known pays as an adult. The discount is taken off pitch and people for the
    nights on which the membership is valid, not off dogs, awning and hook-up; where the site list
    has no percentage, the membership's own holds.
    """
    currency = str(site["currency"])
    source = _source_of(site)
    days = [arrive + dt.timedelta(days=night) for night in range(nights)]
    prices = _night_prices(site, seasons, days, currency)
    lines = _pitch_lines(prices, source)
    for part, what, people, column in _extras(site, household, party, arrive, hookup, awning):
        unit = amount_of(site[column], currency)
        amount = None if unit is None else unit * people * nights
        lines.append(_Line(part, what, people * nights, unit, amount, source))
    lines.extend(_discount_lines(site, household, days, prices, lines, currency))
    frame = pd.DataFrame(
        [
            {
                "site_id": str(site.name),
                "part": line.part,
                "what": line.what,
                "quantity": line.quantity,
                "unit_price": as_number(line.unit_price),
                "amount": as_number(line.amount),
                "currency": currency,
                "source": line.source,
            }
            for line in lines
        ],
        columns=list(PRICE_COLUMNS),
    )
    return frame


def price_sum(lines: pd.DataFrame) -> PriceSum:
    """The exact total of the lines of `site_price`, before and after discount."""
    currency = "" if lines.empty else str(lines["currency"].iloc[0])
    amounts = [amount_of(float(value), currency) for value in lines["amount"]]
    parts = list(lines["part"])
    gross = [a for a, part in zip(amounts, parts, strict=True) if part != "discount"]
    missing = lines.loc[lines["amount"].isna() & (lines["part"] != "discount"), "what"]
    return PriceSum(
        total=total_of(amounts) if amounts else None,
        before_discount=total_of(gross) if gross else None,
        known=sum((a for a in amounts if a is not None), Decimal(0)),
        currency=currency,
        unknown=tuple(missing),
    )


def membership_for(site: pd.Series, household: Household) -> Membership | None:
    """The household's membership that lowers the price of a site, valid or not."""
    for membership in household.memberships:
        if membership.id == site["club"] and membership.kind in ("sites", "both"):
            return membership
    return None


def is_valid_on(membership: Membership, day: dt.date) -> bool:
    """Whether a membership holds on a day; one without an end does."""
    return membership.valid_until is None or day <= membership.valid_until


def people_of(household: Household, party: Sequence[str]) -> tuple[Person, ...]:
    """Those of the household who come; everybody when the party is empty."""
    return tuple(p for p in household.people if not party or p.name in party)


def _source_of(site: pd.Series) -> str:
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


def _night_prices(
    site: pd.Series, seasons: pd.DataFrame, days: list[dt.date], currency: str
) -> list[tuple[str, Decimal | None]]:
    """In words what each night's price is for, and the price; None where it is not known."""
    own = seasons[seasons["site_id"] == str(site.name)]
    flat = amount_of(_same_all_year(site), currency)
    nights = []
    for day in days:
        season = season_of(str(site.name), own, day)
        if season is not None:
            price = amount_of(float(site[f"price_{season}"]), currency)
            nights.append((f"{season} season", price))
        else:
            nights.append(("season not listed" if flat is None else "same price all year", flat))
    return nights


def _pitch_lines(prices: list[tuple[str, Decimal | None]], source: str) -> list[_Line]:
    lines = []
    for (words, unit), count in Counter(prices).items():
        amount = None if unit is None else unit * count
        lines.append(_Line("pitch", f"pitch with two adults, {words}", count, unit, amount, source))
    return lines


def _same_all_year(site: pd.Series) -> float | None:
    prices = {float(site[f"price_{season}"]) for season in ("low", "mid", "high")}
    only = prices.pop()
    return None if prices or pd.isna(only) else only


def _extras(
    site: pd.Series,
    household: Household,
    party: Sequence[str],
    arrive: dt.date,
    hookup: bool,
    awning: bool,
) -> list[tuple[str, str, int, str]]:
    """Part, words, how many of it each night, and the column of its price."""
    adult_age = int(constant("site_tariff", "adult_from_age").value)
    included = int(constant("site_tariff", "adults_included").value)
    people = people_of(household, party)
    adults = sum(person.is_adult_on(arrive, adult_age) for person in people)
    children, dogs = len(people) - adults, len(household.dogs)
    found = []
    if adults > included:
        found.append(("adult", "further adults", adults - included, "adult_price"))
    if children:
        found.append(("child", "children", children, "child_price"))
    if dogs:
        found.append(("dog", "dogs", dogs, "dog_price"))
    if awning:
        found.append(("awning", "awning", 1, "awning_price"))
    if hookup and site["hookup_a"] != 0:
        found.append(("hookup", "hook-up", 1, "hookup_price"))
    return found


def _discount_lines(
    site: pd.Series,
    household: Household,
    days: list[dt.date],
    prices: list[tuple[str, Decimal | None]],
    lines: list[_Line],
    currency: str,
) -> list[_Line]:
    membership = membership_for(site, household)
    if membership is None:
        return []
    valid = [is_valid_on(membership, day) for day in days]
    nights = sum(valid)
    listed = not pd.isna(site["member_discount_pct"])
    percent = float(site["member_discount_pct"]) if listed else membership.discount_pct
    if nights == 0 or percent == 0:
        return []
    source = "site list" if listed else f"household's membership '{membership.id}'"
    what = f"{membership.name}: {percent:g} % off pitch and people"
    if nights < len(days):
        what += f", on the {nights} of {len(days)} nights while it is valid"
    pitch = total_of(price for (_, price), holds in zip(prices, valid, strict=True) if holds)
    people = total_of(line.amount for line in lines if line.part in ("adult", "child"))
    if pitch is None or people is None:
        return [_Line("discount", what, 1, None, None, source)]
    base = pitch + people * nights / len(days)
    step = smallest_amount(currency)
    off = -(base * Decimal(str(percent)) / 100).quantize(step, rounding=ROUND_HALF_UP)
    return [_Line("discount", what, 1, off, off, source)]
