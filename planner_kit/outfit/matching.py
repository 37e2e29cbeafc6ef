"""Checks of the masses of car and caravan against their plates.

Every check gives the figure, the limit, the margin and what sets the limit; a figure or a plate
that is missing makes the check unknown.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner_kit.outfit.lower_limit import LowerLimit
from planner_kit.outfit.statics import beam_loads
from planner_kit.reference import constant
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from planner_kit.outfit.masses import Masses
    from planner_kit.outfit.noseweight import Noseweight
    from planner_kit.trip.household import Caravan, Household

_PLATE = "the plates and handbooks, as written in the household file"
_RATIO = "advice among people who tow"


def limit_check(
    subject: str,
    figure_kg: float | None,
    limit_kg: float | None,
    *,
    rule: str,
    missing: str = "",
    source: str = _PLATE,
    basis: str = "plate",
    remedy: str = "take things out first",
) -> Check:
    """A mass held against a limit that must not be passed.

    Parameters
    ----------
    subject : str
        What is checked, in a person's words.
    figure_kg, limit_kg : float or None
        [kg]
    rule : str
        What sets the limit.
    missing : str
        What is missing, for the sentence, when either figure is None.
    source, basis : str
        Of the limit.
    remedy : str
        What to do when the limit is passed.

    Returns
    -------
    check : Check
        Fine when the margin is more than a twentieth of the limit, "look at this" when it is less,
        "not fine" when it is negative, unknown when a figure is missing.
    """
    if figure_kg is None or limit_kg is None:
        gap = missing or "a figure"
        return Check(
            subject,
            State.UNKNOWN,
            f"Unknown; still missing: {gap}.",
            figure=figure_kg,
            limit=limit_kg,
            unit="kg",
            rule=rule,
            source=source,
            basis=basis,
        )
    margin = limit_kg - figure_kg
    near = constant("outfit", "near_limit").value * limit_kg
    if margin < 0:
        state, sentence = State.NOT_FINE, f"{_kilograms(-margin)} too heavy: {remedy}."
    elif margin < near:
        only = "Only " if margin >= 1 else ""
        state, sentence = State.LOOK, f"{only}{_kilograms(margin)} left: weigh it on a weighbridge."
    else:
        state, sentence = State.FINE, f"{margin:,.0f} kg left."
    return Check(subject, state, sentence, figure_kg, limit_kg, "kg", margin, rule, source, basis)


def _kilograms(mass_kg: float) -> str:
    return f"{mass_kg:,.0f} kg" if mass_kg >= 1 else "Less than 1 kg"


def no_better_than_look(check: Check, sentence: str) -> Check:
    """The check, with "fine" turned into "look at this" and a sentence that says why."""
    if check.state is not State.FINE:
        return check
    return replace(check, state=State.LOOK, sentence=f"{check.sentence} {sentence}")


def mass_checks(household: Household, masses: Masses, nose: Noseweight) -> list[Check]:
    """The checks of car, train and towing masses against the plates."""
    car, caravan = household.car, household.caravan
    # Where it was not measured, the noseweight counts at the upper end of what it may be.
    nose_kg = nose.high_kg if nose.high_kg is not None else car.towball_limit_kg
    car_and_nose = None if masses.car_kg is None or nose_kg is None else masses.car_kg + nose_kg
    train_kg = (
        None
        if masses.car_kg is None or masses.caravan_kg is None
        else masses.car_kg + masses.caravan_kg
    )
    unbraked = caravan.braked is False
    towing_limit = car.towing_limit_unbraked_kg if unbraked else car.towing_limit_braked_kg
    brakes = "unbraked" if unbraked else "braked"
    laden_car = limit_check(
        "laden car with the noseweight",
        car_and_nose,
        car.gross_kg,
        rule="gross mass on the car's plate",
        missing=gaps(
            masses.car_missing,
            "" if nose_kg is not None else "the noseweight",
            "" if car.gross_kg is not None else "the car's gross mass",
        ),
    )
    if not nose.measured:
        laden_car = no_better_than_look(laden_car, "Measure the noseweight, which counts here.")
    towing = limit_check(
        f"laden caravan against the car's {brakes} towing limit",
        masses.caravan_kg,
        towing_limit,
        rule=f"the car's towing limit for a trailer that is {brakes}",
        missing=gaps(
            masses.caravan_missing,
            "" if towing_limit is not None else f"the car's {brakes} towing limit",
        ),
    )
    if caravan.braked is None:
        towing = no_better_than_look(
            towing, "That is the limit with brakes; whether it has any is not said (braked)."
        )
    return [
        laden_car,
        limit_check(
            "car and caravan together",
            train_kg,
            car.gross_train_kg,
            rule="gross train mass on the car's plate",
            missing=gaps(
                masses.car_missing,
                masses.caravan_missing,
                "" if car.gross_train_kg is not None else "the car's gross train mass",
            ),
        ),
        limit_check(
            "laden caravan against its plate",
            masses.caravan_kg,
            caravan.mtplm_kg,
            rule="MTPLM on the caravan's plate",
            missing=gaps(
                masses.caravan_missing,
                "" if caravan.mtplm_kg is not None else "the caravan's MTPLM",
            ),
        ),
        towing,
        _payload_check(household, masses, towing_limit),
        *_roof_checks(household, masses),
        _axle_check(household, masses, nose),
        _ratio_check(household),
    ]


def _payload_check(household: Household, masses: Masses, towing_limit_kg: float | None) -> Check:
    """What is loaded against what the lower of the limits of car and caravan leaves for it."""
    caravan = household.caravan
    running, load = caravan.mass_in_running_order_kg, masses.caravan_load_kg
    lower = LowerLimit(
        {"the caravan's MTPLM": caravan.mtplm_kg, "the car's towing limit": towing_limit_kg}
    )
    payload = None if lower.kg is None or running is None else lower.kg - running
    # A limit that is not known may be the lower one; a known one that is passed is passed anyway.
    sure = not lower.missing or (payload is not None and load is not None and load > payload)
    check = limit_check(
        "payload used in the caravan",
        load if sure else None,
        payload if sure else None,
        rule=f"payload: {lower.words or 'the lower limit'}, less the mass in running order",
        missing=gaps(
            "what is loaded in the caravan" if load is None else "",
            *lower.missing,
            "" if running is not None else "the caravan's mass in running order",
        ),
    )
    return lower.named_in(check)


def _roof_checks(household: Household, masses: Masses) -> list[Check]:
    if not masses.has_roof_load:
        return []
    return [
        limit_check(
            "load on the car's roof",
            masses.roof_load_kg,
            household.car.roof_limit_kg,
            rule="the car's roof load limit",
            missing=gaps(
                "the mass of something on the roof" if masses.roof_load_kg is None else "",
                "" if household.car.roof_limit_kg is not None else "the car's roof load limit",
            ),
        )
    ]


def _axle_check(household: Household, masses: Masses, nose: Noseweight) -> Check:
    caravan = household.caravan
    # The lower the noseweight, the more the axle carries.
    low = nose.low_kg if nose.low_kg is not None else 0.0
    load = None if masses.caravan_kg is None else (masses.caravan_kg - low) / caravan.axles
    axles = "each axle" if caravan.axles == 2 else "the axle"
    check = limit_check(
        f"load on {axles} of the caravan",
        load,
        caravan.axle_limit_kg,
        rule="axle limit on the caravan's plate",
        missing=gaps(
            masses.caravan_missing,
            "" if caravan.axle_limit_kg is not None else "the caravan's axle limit",
        ),
    )
    if caravan.axles == 1 or load is None:
        return check
    return no_better_than_look(check, _lean_sentence(caravan, load, low))


def _lean_sentence(caravan: Caravan, axle_kg: float, nose_kg: float) -> str:
    """What a ball that stands too low does to the front one of two axles."""
    words = "Two axles share evenly only on a level caravan"
    span, spacing = caravan.ball_to_axle_m, caravan.axle_spacing_m
    if span is None or spacing is None:
        return f"{words}: a ball that is too low loads the front one more."
    lean_m = constant("outfit", "ball_too_low").value
    mass_kg = 2 * axle_kg + nose_kg
    loads = beam_loads(
        [mass_kg],
        [nose_kg * span / mass_kg],
        ball_to_axle_m=span,
        axle_spacing_m=spacing,
        nose_down_m=lean_m,
        stiffness_kg_per_m=axle_kg / constant("outfit", "spring_travel").value,
    )
    more = loads.axles_kg[0] - axle_kg
    return (
        f"{words}: a ball {lean_m * 100:.0f} cm too low puts some {more:,.0f} kg more on the front."
    )


def _ratio_check(household: Household) -> Check:
    """The plated caravan against the empty car: advice, not law."""
    subject = "caravan's plated mass as a share of the car's kerb mass"
    kerb, plate = household.car.kerb_kg, household.caravan.mtplm_kg
    advised, most = (constant("outfit", name) for name in ("ratio_advised", "ratio_most"))
    rule = f"advised up to {advised.value:.0%}, for practised drivers up to {most.value:.0%}"
    driver_kg = constant("outfit", "adult_mass").value
    # A car that weighs no more than its driver is a slip of the pen, which other checks name.
    believed = kerb is not None and kerb > driver_kg
    if kerb is None or plate is None or not believed:
        gap = gaps(
            "" if believed else "the car's kerb mass", "" if plate else "the caravan's MTPLM"
        )
        return Check(
            subject,
            State.UNKNOWN,
            f"Unknown; still missing: {gap}.",
            unit="%",
            limit=advised.value * 100,
            rule=rule,
            source=_RATIO,
            basis=advised.basis,
        )
    ratio = plate / (kerb - driver_kg if household.car.kerb_includes_driver else kerb)
    without = plate / (kerb - driver_kg)
    unsaid = household.car.kerb_includes_driver is None
    if unsaid and ratio <= advised.value < without:
        state, sentence = (
            State.LOOK,
            f"Inside the advice only if the kerb mass holds no driver; if it does, this is "
            f"{without:.0%} (say kerb_includes_driver).",
        )
    elif ratio <= advised.value:
        state, sentence = State.FINE, "The car is heavy enough by the usual advice."
    elif ratio <= most.value:
        state, sentence = (
            State.LOOK,
            "More than the usual advice for people new to towing: drive slowly and load low.",
        )
    else:
        state, sentence = (
            State.NOT_FINE,
            "The caravan is heavier than the empty car, which the usual advice warns against.",
        )
    return Check(
        subject,
        state,
        sentence,
        figure=ratio * 100,
        limit=advised.value * 100,
        unit="%",
        margin=(advised.value - ratio) * 100,
        rule=rule,
        source=advised.source,
        basis=advised.basis,
    )


def plate_faults(household: Household) -> list[Check]:
    """Plates that contradict one another, as checks that are not fine; none when they agree."""
    car, caravan = household.car, household.caravan
    pairs = (
        (
            "the caravan's mass in running order",
            caravan.mass_in_running_order_kg,
            "its MTPLM",
            caravan.mtplm_kg,
        ),
        ("the car's kerb mass", car.kerb_kg, "its gross mass", car.gross_kg),
        ("the car's gross mass", car.gross_kg, "its gross train mass", car.gross_train_kg),
    )
    return [
        Check(
            "figures that do not agree",
            State.NOT_FINE,
            f"{small.capitalize()} ({low:,.0f} kg) is more than {large} ({high:,.0f} kg): one of "
            "the two is wrong in the household file, so look at the plates again.",
            figure=low,
            limit=high,
            unit="kg",
            margin=high - low,
            rule=f"{small} cannot be more than {large}",
            source=_PLATE,
            basis="plate",
        )
        for small, low, large, high in pairs
        if low is not None and high is not None and low > high
    ]


def gaps(*parts: str) -> str:
    """What is missing as one phrase, each thing once."""
    return " and ".join(dict.fromkeys(part for part in parts if part))
