"""Each driver's licence and the law on size, for the countries of the trip."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from planner_kit.rules.licence import licence_covers
from planner_kit.rules.limits import RULES, law_of
from planner_kit.states import Check, State

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from planner_kit.outfit.report import Outfit
    from planner_kit.rules.limits import Rule
    from planner_kit.trip.household import Household, Person


def licence_checks(
    household: Household,
    *,
    countries: Iterable[str],
    on: dt.date,
    party: Iterable[str] = (),
) -> list[Check]:
    """One check for each driver and country; one unknown check when nobody is said to drive.

    Parameters
    ----------
    household : Household
    countries : iterable of str
        ISO 3166-1 alpha-2 codes.
    on : date
    party : iterable of str
        Who comes along; empty for everybody.

    Returns
    -------
    checks : list of Check

    Notes
    -----
    A licence is held against the rule of the country driven in and, where it was given elsewhere,
    against the rule of the country that gave it. Where that is not said (licence_country), the
    check is never fine.
    """
    names = set(party)
    drivers = [p for p in household.people if p.drives and (not names or p.name in names)]
    if not drivers:
        return [
            Check(
                "driving licence",
                State.UNKNOWN,
                "Unknown: nobody who comes along is said to drive (drives = true).",
            )
        ]
    return [
        _driver_check(household, driver, country, on)
        for driver in drivers
        for country in dict.fromkeys(countries)
    ]


def _driver_check(household: Household, driver: Person, country: str, on: dt.date) -> Check:
    subject = f"licence of {driver.name} in {country}"
    if driver.licence is None:
        return Check(
            subject, State.UNKNOWN, f"Unknown: the licence category of {driver.name} is missing."
        )
    here, issuer = (
        licence_covers(
            where,
            driver.licence,
            car_gross_kg=household.car.gross_kg,
            caravan_plate_kg=household.caravan.mtplm_kg,
            on=on,
        )
        for where in (country, driver.licence_country or country)
    )
    # The stricter of the two decides.
    answer = min((here, issuer), key=lambda each: _GRAVEST.index(each.covers))
    if driver.licence_since is not None and driver.licence_since > on:
        state = State.NOT_FINE
        sentence = f"{driver.name} has the licence only from {driver.licence_since}."
    elif answer.covers is None:
        state, sentence = State.UNKNOWN, f"Unknown: {answer.why}."
    elif answer.covers:
        state, sentence = _covered(driver, country, answer.why)
    else:
        state = State.NOT_FINE
        sentence = (
            f"{answer.why[0].upper()}{answer.why[1:]}; this outfit is heavier. Ask the office that "
            "gave the licence what it covers."
        )
    return Check(
        subject,
        state,
        sentence,
        rule=f"licence category {driver.licence} in {country}",
        source=answer.source,
        basis=answer.basis if answer.basis != "unknown" else "computed",
    )


_GRAVEST = [False, None, True]


def _covered(driver: Person, country: str, why: str) -> tuple[State, str]:
    """State and sentence for a licence that covers the outfit by every rule held."""
    covers = f"Category {driver.licence} covers this outfit ({why})"
    if driver.licence_country is None:
        return State.LOOK, (
            f"{covers} if the licence was given in {country}; which country gave it is not said "
            "(licence_country)."
        )
    if driver.licence_country != country:
        return State.LOOK, (
            f"{covers} by the rules of {country} and of {driver.licence_country}, which gave the "
            "licence; ask whether it is recognised there for this outfit."
        )
    return State.FINE, f"{covers}."


def size_checks(
    household: Household, outfit: Outfit, *, countries: Iterable[str], on: dt.date
) -> list[Check]:
    """The outfit's size and brakes against the law of each country.

    Parameters
    ----------
    household : Household
    outfit : Outfit
    countries : iterable of str
        ISO 3166-1 alpha-2 codes.
    on : date

    Returns
    -------
    checks : list of Check
        For each country: width, length, train length, height and brakes, and its rules of conduct
        to read.
    """
    caravan = household.caravan
    whole = caravan.shipping_length_m
    # A body that is measured alone, where only the whole length is known, is never longer than it.
    body = caravan.body_length_m if caravan.body_length_m is not None else whole
    figures = {
        "trailer_width_m": caravan.width_m,
        "train_length_m": outfit.length_m,
        "height_m": outfit.height_m,
    }
    checks = []
    for country in dict.fromkeys(countries):
        by_body = law_of(country, "trailer_length_m", on=on).measured == "body"
        figures["trailer_length_m"] = body if by_body else whole
        checks += [_size_check(country, rule, figures[rule], on) for rule in _SIZES]
        checks.append(_brakes_check(household, country, on))
        checks += _conduct_checks(country, on)
    return checks


_SIZES = ("trailer_width_m", "trailer_length_m", "train_length_m", "height_m")


def _size_check(country: str, rule: str, figure_m: float | None, on: dt.date) -> Check:
    law = law_of(country, rule, on=on)
    subject = f"{RULES[rule]} in {country}"
    margin = None
    if not law.known:
        state, sentence = State.UNKNOWN, law.text[0].upper() + law.text[1:]
    elif math.isnan(law.value):
        state, sentence = State.LOOK, law.text
    elif figure_m is None:
        state, sentence = State.UNKNOWN, f"Unknown: the {RULES[rule]} is missing. {law.text}"
    else:
        margin = law.value - figure_m
        state = State.FINE if margin >= 0 else State.NOT_FINE
        sentence = law.text if margin >= 0 else f"{-margin:.2f} m too much. {law.text}"
    state, sentence = _by_memory(law, state, sentence)
    return Check(
        subject,
        state,
        sentence,
        figure=figure_m,
        limit=None if math.isnan(law.value) else law.value,
        unit="m",
        margin=margin,
        rule=f"law of {country}",
        source=_source(law.source, law.edition),
        basis=law.basis if law.known else "computed",
    )


def _brakes_check(household: Household, country: str, on: dt.date) -> Check:
    caravan, kerb_kg = household.caravan, household.car.kerb_kg
    law = law_of(country, "brakes_over_kg", on=on)
    subject = f"brakes of the caravan in {country}"
    plate = caravan.mtplm_kg
    if not law.known:
        state, sentence = State.UNKNOWN, law.text[0].upper() + law.text[1:]
    elif caravan.braked:
        state, sentence = State.FINE, "The caravan is said to have brakes; have them checked."
    elif plate is None:
        state, sentence = State.UNKNOWN, "Unknown: the caravan's MTPLM is missing."
    elif plate > law.value and caravan.braked is None:
        state = State.UNKNOWN
        sentence = f"Unknown: whether the caravan has brakes is not said (braked). {law.text}"
    elif plate > law.value:
        state, sentence = State.NOT_FINE, law.text
    elif kerb_kg is None or plate > kerb_kg / 2:
        # Most laws hold a light caravan against half of the car too, each counting it its own way.
        state = State.LOOK
        sentence = (
            "The car's kerb mass is missing: the caravan may be too heavy for it without brakes. "
            if kerb_kg is None
            else f"{plate:,.0f} kg is more than half of the car's kerb mass: ask whether the "
            "caravan may go without brakes behind this car. "
        ) + law.text
    else:
        state, sentence = State.FINE, law.text
    if not caravan.braked:
        state, sentence = _by_memory(law, state, sentence)
    return Check(
        subject,
        state,
        sentence,
        # With brakes the plate decides nothing.
        figure=None if caravan.braked else plate,
        limit=law.value if law.known and not caravan.braked else None,
        unit="kg",
        rule=law.text,
        source=_source(law.source, law.edition),
        basis=law.basis if law.known else "computed",
    )


def _conduct_checks(country: str, on: dt.date) -> list[Check]:
    """Rules that no figure can settle, to be read by whoever drives; unknown ones say so."""
    checks = []
    for rule in ("lane", "mirrors", "coupling", "equipment"):
        law = law_of(country, rule, on=on)
        state = State.LOOK if law.known else State.UNKNOWN
        sentence = law.text if law.known else law.text[0].upper() + law.text[1:]
        checks.append(
            Check(
                f"{RULES[rule]} in {country}",
                *_by_memory(law, state, sentence),
                rule=f"law of {country}",
                source=_source(law.source, law.edition),
                basis=law.basis if law.known else "computed",
            )
        )
    return checks


def _by_memory(law: Rule, state: State, sentence: str) -> tuple[State, str]:
    """A rule that nobody has looked up says so, and never makes a check better than look."""
    if law.basis != "from memory":
        return state, sentence
    return (
        State.LOOK if state is State.FINE else state,
        f"{sentence} This rule is from memory: look it up before you rely on it.",
    )


def _source(source: str, edition: str) -> str:
    return f"{source}, {edition}" if edition else source
