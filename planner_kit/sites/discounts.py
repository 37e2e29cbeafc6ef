"""What comes off the price of a stay and what is put on it: memberships, offers, taxes, fees."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from planner_kit.sites.amounts import UNKNOWN, in_smallest
from planner_kit.sites.nightly import age_words, counted_people, rule_source

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy.typing as npt

    from planner_kit.sites.nightly import Bools, Charge, Ints, PartyOnDays, Wishes
    from planner_kit.sites.tariff_rules import NightCalendar
    from planner_kit.trip.household import Household, Membership

    Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Extra:
    """Something that is added to or taken off a whole stay.

    Attributes
    ----------
    part : str
        discount, tax, fee, card, or the part of something paid once a stay.
    what : str
        In a person's words, for the first of the days of arrival.
    amount : ndarray, shape (starts,)
        In the currency's smallest unit; NaN where not known; negative for a discount.
    source : str
    """

    part: str
    what: str
    amount: Floats
    source: str


def stay_sums(charge: Charge, at: Ints, nights: int, holds: Bools | None = None) -> Floats:
    """What a charge comes to for each day of arrival; NaN where a night's price is not known.

    Parameters
    ----------
    charge : Charge
    at : ndarray, shape (starts,)
        Place of each arrival day in the calendar.
    nights : int
    holds : ndarray of bool, shape (days,), optional
        Only these nights count.
    """
    unit = charge.unit if holds is None else np.where(holds, charge.unit, 0)
    sums = np.concatenate(([0], np.cumsum(np.maximum(unit, 0))))
    gone = np.concatenate(([0], np.cumsum(unit == UNKNOWN)))
    total = (sums[at + nights] - sums[at]) * charge.count
    unknown = ((gone[at + nights] - gone[at]) > 0) & (charge.count > 0)
    return np.where(unknown, np.nan, total.astype(float))


def stay_extras(
    site: Mapping[str, Any],
    rules: Sequence[dict[str, Any]],
    charges: Sequence[Charge],
    calendar: NightCalendar,
    at: Ints,
    nights: int,
    household: Household,
    party: PartyOnDays,
    wishes: Wishes,
) -> list[Extra]:
    """Everything that is not paid by the night, discounts first.

    Parameters
    ----------
    site, rules, charges, calendar, party, nights, wishes
        See `planner_kit.sites.nightly.night_charges`.
    at : ndarray, shape (starts,)
        Place of each arrival day in the calendar.
    household : Household
        For its memberships.

    Notes
    -----
    An offer and a member price are put together only where the offer says so; otherwise the one
    that saves more is taken. Of several offers the best is taken.
    """
    currency = str(site["currency"])
    found = _once_a_stay(rules, at, party, currency, wishes)
    best = _discount(site, rules, charges, calendar, at, nights, household, wishes)
    if best is not None:
        found.append(best)
    sums = {index: stay_sums(charge, at, nights) for index, charge in enumerate(charges)}
    # What a meter counts is paid on leaving: no fee of the booking is reckoned from it.
    booked = [sums[i] for i, charge in enumerate(charges) if charge.part != "kwh"]
    priced = sum(booked, np.zeros(len(at)))
    base = sum(
        (sums[i] for i, c in enumerate(charges) if c.part in ("pitch", "adult", "child", "person")),
        np.zeros(len(at)),
    )
    off = np.zeros(len(at)) if best is None else best.amount
    for rule in rules:
        if rule["rule"] == "tax":
            found.append(_tax(rule, calendar, at, nights, party, base + off, currency))
    gross = priced + sum((extra.amount for extra in found), np.zeros(len(at)))
    for kind in ("fee", "card"):
        before = gross
        for rule in rules:
            if rule["rule"] == kind:
                extra = _fee(rule, calendar, at, before, currency)
                found.append(extra)
                gross = gross + extra.amount
    return found


def _rounded(value: Floats) -> Floats:
    """Halves rounded up, as `amounts.amount_of` does; a hair covers binary fractions."""
    return np.floor(value + 0.5 + 1e-7)


def _once_a_stay(
    rules: Sequence[dict[str, Any]], at: Ints, party: PartyOnDays, currency: str, wishes: Wishes
) -> list[Extra]:
    found = []
    for rule in rules:
        if rule["unit"] != "stay" or rule["rule"] not in ("person", "dog", "awning", "hookup"):
            continue
        wanted = {"awning": wishes.awning, "hookup": wishes.hookup}.get(rule["rule"], True)
        count = np.ones(len(at), dtype=np.int64) * int(wanted)
        if rule["rule"] == "person":
            count = counted_people(party, rule)
        if rule["rule"] == "dog":
            count = count * party.dogs
        count = np.maximum(count - int(rule["included"] or 0), 0)
        if count.any():
            what = age_words(rule) if rule["rule"] == "person" else rule["rule"]
            amount = count.astype(float) * in_smallest(float(rule["amount"]), currency)
            words = f"{rule['note'] or what}, once for the stay"
            found.append(Extra(rule["rule"], words, amount, rule_source(rule)))
    return found


def _discount(
    site: Mapping[str, Any],
    rules: Sequence[dict[str, Any]],
    charges: Sequence[Charge],
    calendar: NightCalendar,
    at: Ints,
    nights: int,
    household: Household,
    wishes: Wishes,
) -> Extra | None:
    member = _member(site, rules, charges, calendar, at, nights, household)
    offers = [
        (_offer(rule, charges, calendar, at, nights, wishes), rule)
        for rule in rules
        if rule["rule"] == "offer"
    ]
    best = member
    for offer, rule in offers:
        if offer is None:
            continue
        candidate = offer
        if rule["with_member"] is True and member is not None:
            together = _member(
                site, rules, charges, calendar, at, nights, household, taken=-offer.amount
            )
            if together is not None:
                candidate = Extra(
                    "discount", f"{offer.what}; {together.what}", offer.amount + together.amount,
                    f"{offer.source}; {together.source}",
                )  # fmt: skip
        if best is None:
            best = candidate
            continue
        unknown = np.isnan(best.amount) | np.isnan(candidate.amount)
        amount = np.where(unknown, np.nan, np.minimum(best.amount, candidate.amount))
        first = candidate if candidate.amount[0] < best.amount[0] else best
        best = Extra("discount", first.what, amount, first.source)
    if best is None or not np.any(np.nan_to_num(best.amount, nan=1.0)):
        return None
    return best


def _offer(
    rule: dict[str, Any],
    charges: Sequence[Charge],
    calendar: NightCalendar,
    at: Ints,
    nights: int,
    wishes: Wishes,
) -> Extra | None:
    """What an offer takes off the pitch (and, by percent, off people too)."""
    every = int(rule["from_nights"])
    holds, unsure = calendar.nights_of(rule)
    window = at[:, None] + np.arange(nights)
    count = holds[window].sum(axis=1)
    not_known = unsure[window].any(axis=1)
    early = _booked_early(rule, calendar, at, wishes)
    name = rule["note"] or (
        f"{every} nights for {every - int(rule['amount'])}"
        if rule["unit"] == "nights"
        else f"{rule['amount']:g} % off from {every} nights"
    )
    if rule["unit"] == "nights":
        prices = charges[0].unit[window]
        hidden = ~holds[window]
        not_known |= ((prices == UNKNOWN) & ~hidden).any(axis=1)
        cheapest = np.sort(np.where(hidden, np.iinfo(np.int64).max // 1000, prices), axis=1)
        free = np.minimum(count // every * int(rule["amount"]), nights)
        sums = np.concatenate([np.zeros((len(at), 1), np.int64), np.cumsum(cheapest, axis=1)], 1)
        amount = sums[np.arange(len(at)), free].astype(float)
    else:
        base = _people_and_pitch(charges, at, nights, holds)
        amount = _rounded(np.where(count >= every, base, 0.0) * float(rule["amount"]) / 100)
    amount = np.where(early, amount, 0.0)
    return Extra("discount", name, np.where(not_known & early, np.nan, -amount), rule_source(rule))


def _booked_early(rule: dict[str, Any], calendar: NightCalendar, at: Ints, wishes: Wishes) -> Bools:
    if rule["days_ahead"] is None:
        return np.ones(len(at), dtype=bool)
    if wishes.booked_on is None:
        return np.zeros(len(at), dtype=bool)
    ahead = calendar.days[at] - np.datetime64(wishes.booked_on, "D")
    return np.asarray(ahead.astype("int64") >= int(rule["days_ahead"]))


def _people_and_pitch(
    charges: Sequence[Charge], at: Ints, nights: int, holds: Bools | None = None
) -> Floats:
    total = np.zeros(len(at))
    for charge in charges:
        if charge.part in ("pitch", "adult", "child", "person"):
            total = total + stay_sums(charge, at, nights, holds)
    return total


def membership_of(site: Mapping[str, Any], household: Household) -> Membership | None:
    """The household's membership that lowers the price of a site, valid or not."""
    for membership in household.memberships:
        if membership.id == site["club"] and membership.kind in ("sites", "both"):
            return membership
    return None


def _member(
    site: Mapping[str, Any],
    rules: Sequence[dict[str, Any]],
    charges: Sequence[Charge],
    calendar: NightCalendar,
    at: Ints,
    nights: int,
    household: Household,
    *,
    taken: Floats | None = None,
) -> Extra | None:
    """What a membership takes off; `taken` is what an offer took off before."""
    own = [rule for rule in rules if rule["rule"] == "member"]
    membership = membership_of(site, household)
    if membership is None and own:
        membership = next((m for m in household.memberships if m.id == own[0]["club"]), None)
    if membership is None:
        return None
    until = membership.valid_until
    valid = calendar.between(None, until)
    count = valid[at[:, None] + np.arange(nights)].sum(axis=1)
    rule = own[-1] if own else None
    currency = str(site["currency"])
    if rule is not None and rule["unit"] != "percent":
        unit = in_smallest(float(rule["amount"]), currency)
        amount = (count if rule["unit"] == "night" else (count > 0).astype(int)) * float(unit)
        what = f"{membership.name}: member price"
        return Extra("discount", what, -amount, rule_source(rule))
    listed = site["member_discount_pct"]
    has_listed = listed is not None and listed == listed
    percent = float(listed) if has_listed else membership.discount_pct
    source = "site list" if has_listed else f"household's membership '{membership.id}'"
    if rule is not None:
        percent, source = float(rule["amount"]), rule_source(rule)
    if percent == 0 or not count.any():
        return None
    base = _people_and_pitch(charges, at, nights, valid)
    if taken is not None:
        base = np.maximum(base - taken, 0)
    what = f"{membership.name}: {percent:g} % off pitch and people"
    if count[0] < nights:
        what += f", on the {count[0]} of {nights} nights while it is valid"
    return Extra("discount", what, -_rounded(base * percent / 100), source)


def _tax(
    rule: dict[str, Any],
    calendar: NightCalendar,
    at: Ints,
    nights: int,
    party: PartyOnDays,
    base: Floats,
    currency: str,
) -> Extra:
    holds, unsure = calendar.nights_of(rule)
    window = at[:, None] + np.arange(nights)
    count = holds[window].sum(axis=1)
    if rule["up_to_nights"] is not None:
        count = np.minimum(count, int(rule["up_to_nights"]))
    name = rule["note"] or "tourist tax"
    if rule["unit"] == "percent":
        amount = _rounded(base * float(rule["amount"]) / 100)
        what = f"{name}, {rule['amount']:g} % of pitch and people"
    else:
        people = counted_people(party, rule)
        amount = (count * people).astype(float) * in_smallest(float(rule["amount"]), currency)
        what = f"{name}, {people[0]} {age_words(rule)} for {count[0]} nights"
    return Extra(
        "tax", what, np.where(unsure[window].any(axis=1), np.nan, amount), rule_source(rule)
    )


def _fee(
    rule: dict[str, Any], calendar: NightCalendar, at: Ints, before: Floats, currency: str
) -> Extra:
    holds = calendar.nights_of(rule)[0][at]
    name = rule["note"] or {"fee": "booking fee", "card": "card fee"}[rule["rule"]]
    if rule["unit"] == "stay":
        amount = np.where(holds, float(in_smallest(float(rule["amount"]), currency)), 0.0)
        return Extra(rule["rule"], name, amount, rule_source(rule))
    amount = np.where(holds, _rounded(before * float(rule["amount"]) / 100), 0.0)
    return Extra(rule["rule"], f"{name}, {rule['amount']:g} %", amount, rule_source(rule))
