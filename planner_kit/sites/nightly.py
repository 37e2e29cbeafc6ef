"""What each night on a site costs, for one arrival day or many at once.

Amounts are whole numbers of the currency's smallest unit, so that sums are exact; a price that is
not known is `UNKNOWN` and makes whatever it is part of unknown.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from planner_kit.reference import constant
from planner_kit.sites.amounts import UNKNOWN, in_smallest

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy.typing as npt

    from planner_kit.sites.tariff_rules import NightCalendar
    from planner_kit.trip.household import Household, Person

    Ints = npt.NDArray[np.int64]
    Bools = npt.NDArray[np.bool_]
    SeasonSpan = tuple[str, Any, Any]


@dataclass(frozen=True)
class PartyOnDays:
    """Who pays on each of several arrival days.

    Attributes
    ----------
    ages : ndarray, shape (people, starts)
        Whole years on the day of arrival; NaN where not known.
    adults : ndarray of bool, shape (people, starts)
    dogs : int
    """

    ages: npt.NDArray[np.float64]
    adults: Bools
    dogs: int


@dataclass(frozen=True)
class Wishes:
    """What a stay asks for that costs extra.

    Attributes
    ----------
    hookup, awning : bool
    kwh_per_night : float or None
        For metered hook-up. [kWh]
    booked_on : date or None
        When it is or would be booked, for offers to those who book early.
    """

    hookup: bool = True
    awning: bool = True
    kwh_per_night: float | None = None
    booked_on: dt.date | None = None


@dataclass(frozen=True)
class Charge:
    """Something that is paid for each night of a stay.

    Attributes
    ----------
    part : str
        pitch, adult, child, person, dog, awning, hookup or kwh.
    unit : ndarray, shape (days,)
        Price of one on each night of the calendar, or `UNKNOWN`.
    label : ndarray of int, shape (days,)
        Which of `words` the price of each night is.
    words : list of (str, str)
        In words what is paid, and who says so ("" for the site list).
    count : ndarray, shape (starts,)
        How many of it.
    nights : int or None
        The most nights that are charged; None for all.
    """

    part: str
    unit: Ints
    label: npt.NDArray[np.int64]
    words: list[tuple[str, str]]
    count: Ints
    nights: int | None = None


def party_on(people: Sequence[Person], dogs: int, starts: Sequence[dt.date]) -> PartyOnDays:
    """Ages of those who come on each day of arrival."""
    adult_age = int(constant("site_tariff", "adult_from_age").value)
    ages = [[_number(person.age_on(day)) for day in starts] for person in people]
    adults = [[person.is_adult_on(day, adult_age) for day in starts] for person in people]
    shape = (len(people), len(starts))
    return PartyOnDays(
        np.array(ages, dtype=float).reshape(shape),
        np.array(adults, dtype=bool).reshape(shape),
        dogs,
    )


def _number(age: int | None) -> float:
    return np.nan if age is None else float(age)


def night_charges(
    site: Mapping[str, Any],
    seasons: Sequence[SeasonSpan],
    rules: Sequence[dict[str, Any]],
    calendar: NightCalendar,
    party: PartyOnDays,
    nights: int,
    wishes: Wishes,
) -> list[Charge]:
    """Everything that is paid by the night on a site.

    Parameters
    ----------
    site : mapping
        A row of `planner_kit.sites.read_sites`.
    seasons : sequence of (season, start, end)
        The site's own.
    rules : sequence of dict
        The site's own, those for other lengths of stay left out; see `read_tariffs`.
    calendar : NightCalendar
    party : PartyOnDays
    nights : int
        Length of the stay.
    wishes : Wishes

    Returns
    -------
    charges : list of Charge
        The pitch first.
    """
    currency = str(site["currency"])
    people_rules = [rule for rule in rules if rule["rule"] == "person" and rule["unit"] == "night"]
    per_person = any(rule["rule"] == "person" for rule in rules)
    charges = [_pitch(site, seasons, rules, calendar, per_person)]
    starts = party.ages.shape[1]
    if per_person:
        charges += _people_by_age(people_rules, calendar, party, currency)
    else:
        charges += _people_of_list(site, calendar, party, currency)
    one = np.ones(starts, dtype=np.int64)
    has_hookup = wishes.hookup and site["hookup_a"] != 0
    for part, what, count, wanted in (
        ("dog", "dogs", one * party.dogs, party.dogs > 0),
        ("awning", "awning", one, wishes.awning),
        ("hookup", "hook-up", one, has_hookup),
    ):
        if wanted:
            own = [rule for rule in rules if rule["rule"] == part and rule["unit"] == "night"]
            stay = any(rule["rule"] == part and rule["unit"] == "stay" for rule in rules)
            metered = part == "hookup" and any(rule["rule"] == "kwh" for rule in rules)
            base = in_smallest(site[f"{part}_price"], currency)
            if base == UNKNOWN and (stay or metered):
                base = 0
            free = max((int(rule["included"] or 0) for rule in own), default=0)
            charge = _layered(
                part, what, base, own, calendar, np.maximum(count - free, 0), currency
            )
            if own or not (stay or metered) or base != 0:
                charges.append(charge)
    metered_rows = [rule for rule in rules if rule["rule"] == "kwh"]
    if has_hookup and metered_rows:
        charges.append(_metered(metered_rows, calendar, wishes, one, currency))
    return charges


def _layered(
    part: str,
    what: str,
    base: int,
    rules: Sequence[dict[str, Any]],
    calendar: NightCalendar,
    count: Ints,
    currency: str,
    factor: float = 1.0,
) -> Charge:
    """A price for each night: the site list's, over it the rules in the order of the file."""
    unit = np.full(len(calendar.days), base, dtype=np.int64)
    label = np.zeros(len(calendar.days), dtype=np.int64)
    words = [(what, "")]
    for rule in rules:
        holds, unsure = calendar.nights_of(rule)
        unit[holds] = in_smallest(float(rule["amount"]) * factor, currency)
        label[holds] = len(words)
        words.append((_named(what, rule), rule_source(rule)))
        if unsure.any():
            unit[unsure] = UNKNOWN
            label[unsure] = len(words)
            why = f"{what}, not known whether the nights are in the school holidays"
            words.append((why, rule_source(rule)))
    return Charge(part, unit, label, words, count)


def _named(what: str, rule: dict[str, Any]) -> str:
    if rule["note"]:
        return f"{what}, {rule['note']}"
    said = " ".join(word for word in (rule["weekdays"], rule["days"]) if word)
    return f"{what}, {said}" if said else what


def rule_source(rule: dict[str, Any]) -> str:
    """Where a rule was read, with its row."""
    as_of = rule["as_of"]
    read = "" if as_of is None else f" on {as_of:%Y-%m-%d}"
    return f"tariff list row {rule['row']}: {rule['source'] or 'no source given'}{read}"


def _pitch(
    site: Mapping[str, Any],
    seasons: Sequence[SeasonSpan],
    rules: Sequence[dict[str, Any]],
    calendar: NightCalendar,
    per_person: bool,
) -> Charge:
    currency = str(site["currency"])
    what = "pitch" if per_person else "pitch with two adults"
    prices = {name: in_smallest(site[f"price_{name}"], currency) for name in ("low", "mid", "high")}
    flat = prices["low"] if len(set(prices.values())) == 1 else UNKNOWN
    unlisted = "season not listed" if flat == UNKNOWN else "same price all year"
    unit = np.full(len(calendar.days), flat, dtype=np.int64)
    label = np.zeros(len(calendar.days), dtype=np.int64)
    words = [(f"{what}, {unlisted}", "")]
    names = list(prices)
    words += [(f"{what}, {name} season", "") for name in names]
    for season, start, end in seasons:
        inside = calendar.between(start, end)
        unit[inside] = prices[season]
        label[inside] = names.index(season) + 1
    own = [rule for rule in rules if rule["rule"] == "pitch"]
    over = _layered("pitch", what, 0, own, calendar, np.ones(1, dtype=np.int64), currency)
    touched = over.label > 0
    unit[touched] = over.unit[touched]
    label[touched] = over.label[touched] + len(words) - 1
    return Charge("pitch", unit, label, [*words, *over.words[1:]], np.ones(1, dtype=np.int64))


def _people_of_list(
    site: Mapping[str, Any], calendar: NightCalendar, party: PartyOnDays, currency: str
) -> list[Charge]:
    included = int(constant("site_tariff", "adults_included").value)
    adults = party.adults.sum(axis=0).astype(np.int64)
    children = len(party.adults) - adults
    found = []
    for part, what, count in (
        ("adult", "further adults", np.maximum(adults - included, 0)),
        ("child", "children", children),
    ):
        if count.any():
            base = in_smallest(site[f"{part}_price"], currency)
            found.append(_layered(part, what, base, (), calendar, count, currency))
    return found


def age_words(rule: dict[str, Any]) -> str:
    """The ages that a rule speaks of, in words."""
    low, high = rule["from_age"], rule["to_age"]
    if low is None and high is None:
        return "people"
    if high is None:
        return f"people from {low}"
    return f"people of {low or 0} to {high}"


def counted_people(party: PartyOnDays, rule: dict[str, Any]) -> Ints:
    """How many of the party a rule's ages cover on each day; an unknown age is an adult's."""
    adult_age = constant("site_tariff", "adult_from_age").value
    ages = np.where(
        np.isnan(party.ages), np.where(party.adults, max(adult_age, 30), 10), party.ages
    )
    low = 0 if rule["from_age"] is None else rule["from_age"]
    high = 200 if rule["to_age"] is None else rule["to_age"]
    return np.asarray(((ages >= low) & (ages <= high)).sum(axis=0), dtype=np.int64)


def _people_by_age(
    rules: Sequence[dict[str, Any]], calendar: NightCalendar, party: PartyOnDays, currency: str
) -> list[Charge]:
    bands: dict[tuple[Any, Any], list[dict[str, Any]]] = {}
    for rule in rules:
        bands.setdefault((rule["from_age"], rule["to_age"]), []).append(rule)
    found, left = [], np.full(party.ages.shape[1], len(party.ages), dtype=np.int64)
    for own in bands.values():
        count = counted_people(party, own[0])
        left -= count
        free = max(int(rule["included"] or 0) for rule in own)
        paying = np.maximum(count - free, 0)
        if paying.any():
            found.append(
                _layered("person", age_words(own[0]), UNKNOWN, own, calendar, paying, currency)
            )
    if (left > 0).any():
        what = "people of ages that the tariff does not name"
        found.append(_layered("person", what, UNKNOWN, (), calendar, np.maximum(left, 0), currency))
    return found


def _metered(
    rules: Sequence[dict[str, Any]],
    calendar: NightCalendar,
    wishes: Wishes,
    one: Ints,
    currency: str,
) -> Charge:
    used = wishes.kwh_per_night
    if used is None:
        words = "metered electricity, the household's use is not known"
        return _layered("kwh", words, UNKNOWN, (), calendar, one, currency)
    free = max(float(rule["included"] or 0) for rule in rules)
    paid = max(used - free, 0.0)
    what = f"metered electricity, about {paid:.1f} kWh a night"
    return _layered("kwh", what, UNKNOWN, rules, calendar, one, currency, factor=paid)


def rules_for_stay(
    rules: Sequence[dict[str, Any]], nights: int, household: Household
) -> list[dict[str, Any]]:
    """The rules that can hold for a stay of a length, and for this household's memberships."""
    clubs = {m.id for m in household.memberships if m.kind in ("sites", "both")}
    return [
        rule
        for rule in rules
        if (rule["from_nights"] is None or rule["rule"] == "offer" or nights >= rule["from_nights"])
        and (rule["to_nights"] is None or nights <= rule["to_nights"])
        and (not rule["club"] or rule["club"] in clubs)
    ]
