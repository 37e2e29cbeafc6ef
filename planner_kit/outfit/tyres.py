"""Checks of the caravan's tyres: what they may carry, how fast, their age and pressure."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.outfit.matching import gaps, limit_check, no_better_than_look
from planner_kit.reference import constant
from planner_kit.rules.speed import highest_towing_limit_kmh
from planner_kit.rules.tyres import made_on, tyre_load_kg, tyre_speed_kmh
from planner_kit.states import Check, State

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from planner_kit.trip.household import Household


def tyre_checks(household: Household, *, on: dt.date) -> list[Check]:
    """The caravan's tyres: load index against the axle, age and pressure.

    Parameters
    ----------
    household : Household
    on : date
    """
    return [
        _tyre_load_check(household),
        _tyre_age_check(household, on=on),
        _tyre_pressure_check(household),
    ]


def tyre_speed_check(household: Household, *, countries: Iterable[str], on: dt.date) -> Check:
    """The speed symbol of the caravan's tyres against the law.

    Parameters
    ----------
    household : Household
    countries : iterable of str
        Whose highest legal speed for the outfit the symbol is held against.
    on : date
    """
    countries = tuple(countries)
    subject = "speed symbol of the caravan's tyres"
    symbol = household.caravan.tyre.speed_symbol
    speed = None if symbol is None else tyre_speed_kmh(symbol)
    legal = highest_towing_limit_kmh(
        countries,
        caravan_plate_kg=household.caravan.mtplm_kg,
        train_plate_kg=household.car.gross_train_kg,
        on=on,
    )
    where = ", ".join(countries) or "no country"
    silent = [
        country if country != "unknown" else "the country that is not known"
        for country in countries
        if highest_towing_limit_kmh(
            (country,),
            caravan_plate_kg=household.caravan.mtplm_kg,
            train_plate_kg=household.car.gross_train_kg,
            on=on,
        )
        is None
    ]
    rule = f"symbol {symbol}, against the highest legal speed of the outfit in {where}"
    source = "table of speed symbols (data/reference/tyre_speed_symbol.csv)"
    gap = gaps(
        "the tyres' speed symbol" if symbol is None else "",
        f"speed symbol {symbol} in the table" if symbol is not None and speed is None else "",
        f"a speed limit for towing in {', '.join(silent) or where}" if legal is None else "",
    )
    if speed is None or legal is None:
        state, sentence, margin = State.UNKNOWN, f"Unknown; still missing: {gap}.", None
    else:
        margin = speed - legal
        state = State.FINE if margin >= 0 else State.NOT_FINE
        sentence = (
            "The tyres may go faster than the law lets the outfit."
            if margin >= 0
            else f"The law allows {legal:,.0f} km/h, these tyres only {speed:,.0f} km/h: stay "
            "below that, or have others fitted."
        )
    return Check(
        subject, state, sentence, figure=legal, limit=speed, unit="km/h", margin=margin,
        rule=rule, source=source, basis="published",
    )  # fmt: skip


def _tyre_pressure_check(household: Household) -> Check:
    """Pressure is the handbook's to say: never more than something to look at."""
    told = household.caravan.tyre.pressure_bar
    if told is None:
        state = State.UNKNOWN
        sentence = "Unknown: the pressure is missing; take it from the plate or the handbook."
    else:
        state = State.LOOK
        sentence = (
            f"{told:g} bar is written down: hold it against the plate or the handbook for this "
            "load, and check it cold before you drive, the spare too."
        )
    return Check(
        "pressure of the caravan's tyres", state, sentence, figure=told, unit="bar",
        rule="the pressure on the plate or in the handbook", source="no source",
        basis="common practice",
    )  # fmt: skip


def _tyre_load_check(household: Household) -> Check:
    caravan = household.caravan
    index = caravan.tyre.load_index
    one_kg = None if index is None else tyre_load_kg(index)
    axle_kg = caravan.axle_limit_kg
    by = "axle limit on the caravan's plate"
    if axle_kg is None and caravan.mtplm_kg is not None:
        axle_kg, by = caravan.mtplm_kg / caravan.axles, "MTPLM shared over the axles"
    check = limit_check(
        "caravan's tyres against the axle",
        axle_kg,
        None if one_kg is None else 2 * one_kg,
        rule=f"two tyres of load index {index} on an axle, against the {by}"
        if index is not None
        else f"two tyres on an axle, against the {by}",
        missing=gaps(
            "the tyres' load index" if index is None else "",
            f"load index {index} in the table" if index is not None and one_kg is None else "",
            "the caravan's axle limit and MTPLM" if axle_kg is None else "",
        ),
        source="Arrêté du 24 octobre 1994 relatif aux pneumatiques, annexe II: load indices "
        "(data/reference/tyre_load_index.csv)",
        basis="published",
    )
    if caravan.axle_limit_kg is None:
        return no_better_than_look(check, "Look up the axle limit, which may be higher.")
    return check


def _tyre_age_check(household: Household, *, on: dt.date) -> Check:
    subject = "age of the caravan's tyres"
    look, most = (constant("outfit", name).value for name in ("tyre_age_look", "tyre_age_most"))
    rule = f"look closely from {look:.0f} years, change at {most:.0f}"
    code = household.caravan.tyre.made
    day = None if code is None else made_on(code)
    years = None if day is None else (on - day).days / 365.25
    if years is None or years < 0:
        gap = (
            "the date on the sidewall (four digits) is missing"
            if code is None
            else f"'{code}' is no week and year before the trip"
        )
        state, sentence, years = State.UNKNOWN, f"Unknown: {gap}.", None
    elif years > most:
        state, sentence = State.NOT_FINE, f"{years:.0f} years old: have them changed."
    elif years > look:
        state, sentence = State.LOOK, f"{years:.0f} years old: have them looked at."
    else:
        state, sentence = State.FINE, f"{years:.1f} years old; look for cracks and bulges too."
    return Check(
        subject,
        state,
        sentence,
        figure=years,
        limit=most,
        unit="years",
        margin=None if years is None else most - years,
        rule=rule,
        source="no source",
        basis="common practice",
    )
