"""What each night on a site costs, for one arrival day or many at once.

Amounts are whole numbers of the currency's smallest unit, so that sums are exact; a price that is
not known is `UNKNOWN` and makes whatever it is part of unknown.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Literal

import numpy as np
import pandas as pd

from planner_kit.reference import constant
from planner_kit.sites.amounts import UNKNOWN, in_smallest

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy.typing as npt

    from planner_kit.pitch import ElectricityNeed, MainsUse
    from planner_kit.sites.tariff_rules import NightCalendar
    from planner_kit.trip.household import Household, Person
    from planner_kit.trip.prices import Price

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
    use : MainsUse or None
        What a night draws, for metered hook-up; see `planner_kit.pitch.mains_use`.
    booked_on : date or None
        When it is or would be booked, for offers to those who book early.
    """

    hookup: bool = True
    awning: bool = True
    use: MainsUse | None = None
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
        A row of `planner_kit.sites.read_sites`, with its site_id.
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
    if has_hookup and wishes.use is not None:
        need = wishes.use.at(str(site["site_id"]))
        metered_part = metered_charge(site, rules, calendar, need, wishes.use.price, one)
        charges += [] if metered_part is None else [metered_part]
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


def is_metered(site: Mapping[Any, Any], rules: Sequence[Mapping[str, Any]]) -> bool:
    """Whether a site counts kilowatt-hours: by its tariff, its row, or the price it names."""
    if any(rule["rule"] == "kwh" for rule in rules):
        return True
    told = site.get("hookup_metered")
    if told is None or pd.isna(told):
        return not pd.isna(site.get("kwh_price"))
    return bool(told)


def metered_charge(
    site: Mapping[Any, Any],
    rules: Sequence[dict[str, Any]],
    calendar: NightCalendar,
    need: ElectricityNeed,
    listed: Price | None,
    one: Ints,
    level: Literal["low", "likely", "high"] = "likely",
) -> Charge | None:
    """What a site's meter counts on each night; None where the site has none.

    Parameters
    ----------
    site : mapping
        A row of `planner_kit.sites.read_sites`.
    rules : sequence of dict
        The site's own.
    calendar : NightCalendar
    need : ElectricityNeed
        Of one night. [kWh]
    listed : Price or None
        Of a kilowatt-hour, from the household's price list, where the site names none.
    one : ndarray, shape (starts,)
        Ones.
    level : str
        Which end of the range of kilowatt-hours and their price.

    Notes
    -----
    The tariff's price goes before the site list's, and that before the price list's. A use that is
    not known as a whole (electric heating without temperatures) has no price at all.
    """
    if not is_metered(site, rules):
        return None
    own, currency = [rule for rule in rules if rule["rule"] == "kwh"], str(site["currency"])
    base, source = site.get("kwh_price"), ""
    if pd.isna(base) and listed is not None and listed.currency == currency:
        base, source = getattr(listed, level), f"price list, kwh_site: {listed.source}"
    total, gap = need.total, _use_gap(need)
    if not gap and pd.isna(base) and not own:
        gap = f"neither the site nor the price list (kwh_site) has a price in {currency}"
    if gap or total is None:
        return _layered("kwh", f"metered electricity: {gap}", UNKNOWN, (), calendar, one, currency)
    free = max((float(rule["included"] or 0) for rule in own), default=0.0)
    paid = max(getattr(total, level) - free, 0.0)
    what = f"metered electricity, about {max(total.likely - free, 0.0):.1f} kWh a night"
    if len(need.uses) > 1:
        what += f" ({_use_words(need)})"
    price = None if pd.isna(base) else float(base) * paid
    unit = in_smallest(price, currency)
    charge = _layered("kwh", what, unit, own, calendar, one, currency, factor=paid)
    return replace(charge, words=[(what, source), *charge.words[1:]])


def _use_gap(need: ElectricityNeed) -> str:
    """Why the kilowatt-hours of a night are not known; empty where they are."""
    if need.total is None:
        return "the household's use is not known"
    if not need.not_counted:
        return ""
    known = f"without it {need.total.likely:.1f} kWh a night"
    return f"not known for {'; '.join(need.not_counted)}; {known}"


def _use_words(need: ElectricityNeed) -> str:
    """What the electricity of a night goes into: "appliances 4.1, heating 2.0"."""
    return ", ".join(f"{name} {use.likely:.1f}" for name, use in need.uses.items())


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
