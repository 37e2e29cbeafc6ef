"""The terms of a stay that are no price: shortest stay, days of arrival, the deposit."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from planner_kit.sites.amounts import amount_of
from planner_kit.sites.nightly import rule_source, rules_for_stay
from planner_kit.sites.tariff_rules import WEEKDAYS, NightCalendar
from planner_kit.states import Check, State

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    import numpy.typing as npt

    from planner_kit.sites.nightly import Bools, Ints
    from planner_kit.sites.tariff_rules import TariffRules
    from planner_kit.trip.household import Household

    Floats = npt.NDArray[np.float64]


def least_stay(
    rules: Sequence[dict[str, Any]], listed: float, calendar: NightCalendar, at: Ints
) -> Floats:
    """The shortest stay that a site takes from each day of arrival; NaN where not known."""
    least = np.full(len(at), listed, dtype=float)
    for rule in rules:
        if rule["rule"] == "min_nights":
            holds, unsure = calendar.nights_of(rule)
            least[holds[at]] = float(rule["amount"])
            least[unsure[at]] = np.nan
    return least


def may_arrive(rules: Sequence[dict[str, Any]], calendar: NightCalendar, at: Ints) -> Bools:
    """Whether the site takes arrivals on each day; everywhere where no rule names weekdays."""
    allowed = np.ones(len(at), dtype=bool)
    for rule in rules:
        if rule["rule"] == "arrive_on":
            in_dates = calendar.between(rule["start"], rule["end"])[at]
            allowed = np.where(in_dates, calendar.nights_of(rule)[0][at], allowed)
    return allowed


@dataclass(frozen=True)
class Deposit:
    """What a site wants on booking.

    Attributes
    ----------
    amount : Decimal
    currency : str
    on : date
        When it is paid: with the booking.
    source : str
    """

    amount: Decimal
    currency: str
    on: dt.date
    source: str


def deposit_of(
    site: pd.Series,
    rules: TariffRules | None,
    household: Household,
    nights: int,
    total: Decimal | None,
    on: dt.date,
) -> Deposit | None:
    """The deposit that the tariff list asks for.

    Parameters
    ----------
    site : Series
        A row of `planner_kit.sites.read_sites`, its name the site id.
    rules : TariffRules or None
    household : Household
    nights : int
    total : Decimal or None
        The price of the stay.
    on : date
        The day of booking.

    Returns
    -------
    deposit : Deposit or None
        None where no rule asks for one, or it is a share of a price that is not known.
    """
    if rules is None:
        return None
    own = rules_for_stay(rules.of_site(str(site.name)), nights, household)
    asked = [rule for rule in own if rule["rule"] == "deposit"]
    if not asked:
        return None
    rule, currency = asked[-1], str(site["currency"])
    if rule["unit"] == "stay":
        amount = amount_of(float(rule["amount"]), currency)
    else:
        share = Decimal(str(rule["amount"])) / 100
        amount = None if total is None else amount_of(total * share, currency)
    return None if amount is None else Deposit(amount, currency, on, rule_source(rule))


def check_terms(
    site: pd.Series, rules: TariffRules | None, household: Household, arrive: dt.date, nights: int
) -> tuple[Check, ...]:
    """Whether the rules of the tariff list let a stay begin on its day and last so long.

    Parameters
    ----------
    site : Series
        A row of `planner_kit.sites.read_sites`, its name the site id.
    rules : TariffRules or None
    household : Household
    arrive : date
    nights : int

    Returns
    -------
    checks : tuple of Check
        Shortest stay and day of arrival, each only where the tariff list has a rule of it; the
        tariff's shortest stay goes before the site list's.
    """
    if rules is None:
        return ()
    own = rules_for_stay(rules.of_site(str(site.name)), nights, household)
    calendar, at = NightCalendar(arrive, nights, rules), np.zeros(1, dtype=np.int64)
    checks = []
    asked = [rule for rule in own if rule["rule"] == "min_nights"]
    if asked:
        listed = np.nan if pd.isna(site["min_nights"]) else float(site["min_nights"])
        least = float(least_stay(own, listed, calendar, at)[0])
        checks.append(_shortest(site, least, nights, rule_source(asked[-1])))
    days = [rule for rule in own if rule["rule"] == "arrive_on"]
    if days:
        welcome = bool(may_arrive(own, calendar, at)[0])
        state = State.FINE if welcome else State.NOT_FINE
        words = f"The site takes arrivals on {arrive:%A}s then."
        if not welcome:
            words = (
                f"The site takes no arrivals on a {arrive:%A} then, only on {_weekday_words(days)}."
            )
        told = rule_source(days[-1])
        checks.append(Check(f"day of arrival at {site['name']}", state, words, source=told))
    return tuple(checks)


def _shortest(site: pd.Series, least: float, nights: int, source: str) -> Check:
    subject = f"shortest stay at {site['name']}"
    if np.isnan(least):
        words = "Not known whether the site asks for a shortest stay on these days."
        return Check(subject, State.UNKNOWN, words, float(nights), unit="nights", source=source)
    state = State.FINE if nights >= least else State.NOT_FINE
    words = f"{nights} nights, where the site asks for {least:g} or more on these days."
    return Check(
        subject, state, words, float(nights), least, "nights", nights - least, source=source
    )


def _weekday_words(rules: Sequence[dict[str, Any]]) -> str:
    names = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
    named = {word for rule in rules for word in str(rule["weekdays"]).split()}
    return " and ".join(
        f"{name}s" for word, name in zip(WEEKDAYS, names, strict=True) if word in named
    )
