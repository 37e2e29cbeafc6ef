"""Checks of the caravan's tyres: what they may carry, and their age."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.outfit.matching import gaps, limit_check, no_better_than_look
from planner_kit.reference import constant
from planner_kit.rules.tyres import made_on, tyre_load_kg
from planner_kit.states import Check, State

if TYPE_CHECKING:
    import datetime as dt

    from planner_kit.trip.household import Household


def tyre_checks(household: Household, *, on: dt.date) -> list[Check]:
    """The caravan's tyres: load index against the axle, and age."""
    return [_tyre_load_check(household), _tyre_age_check(household, on=on)]


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
        source="load index chart (data/reference/tyre_load_index.csv)",
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
