"""What each axle of the tow car carries, with people, luggage, roof and ball."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner_kit.outfit.loading import load_kg
from planner_kit.outfit.masses import counted_driver_kg, person_kg
from planner_kit.outfit.matching import gaps, limit_check, no_better_than_look
from planner_kit.outfit.statics import ball_on_car, load_on_car
from planner_kit.reference import constant

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    import pandas as pd

    from planner_kit.outfit.noseweight import Noseweight
    from planner_kit.states import Check
    from planner_kit.trip.household import Household


@dataclass(frozen=True)
class CarLoad:
    """What the axles of the laden car carry, coupled; None where a figure is missing.

    Attributes
    ----------
    front_kg, rear_kg : float or None
        By the usual places of seats and boot. [kg]
    front_high_kg, rear_high_kg : float or None
        With everything as far forward, and as far back, as it usually is. [kg]
    lifted_kg : float or None
        What the ball takes off the front axle. [kg]
    missing : str
        What would be needed to know them.
    """

    front_kg: float | None
    rear_kg: float | None
    front_high_kg: float | None
    rear_high_kg: float | None
    lifted_kg: float | None
    missing: str = ""


def car_load(
    household: Household,
    nose: Noseweight,
    *,
    items: pd.DataFrame | None,
    on: dt.date,
    ball_behind_rear_axle_m: float | None,
    party: Iterable[str] = (),
) -> CarLoad:
    """The loads of the car's axles.

    Parameters
    ----------
    household : Household
    nose : Noseweight
        Its upper end counts; for the most that the front axle may carry its lower end, which lifts
        that axle least.
    items : DataFrame or None
        The loading list; a weighed load of the car goes before it and counts as lying in the boot.
    on : date
    ball_behind_rear_axle_m : float or None
        [m]
    party : iterable of str
        Who comes along; empty for everybody.

    Returns
    -------
    load : CarLoad

    Notes
    -----
    Two people sit in front, drivers first; the rest behind them; dogs lie in the boot. Where seats
    and boot are is in ``data/reference/outfit.csv`` as shares of the wheelbase, with a range.
    """
    car = household.car
    boot, roof = household.loading.car_load_kg, 0.0
    if boot is None and items is not None and len(items):
        boot, on_roof = load_kg(items, "car"), load_kg(items, "roof")
        boot, roof = (None, 0.0) if boot is None or on_roof is None else (boot, on_roof)
    missing = gaps(
        "the car's axle loads when empty (front_axle_kerb_kg, rear_axle_kerb_kg)"
        if car.front_axle_kerb_kg is None or car.rear_axle_kerb_kg is None
        else "",
        "the car's wheelbase" if car.wheelbase_m is None else "",
        "the car's rear overhang" if ball_behind_rear_axle_m is None else "",
        "what is loaded in the car" if boot is None else "",
        "the noseweight" if nose.high_kg is None else "",
    )
    if (
        car.front_axle_kerb_kg is None
        or car.rear_axle_kerb_kg is None
        or car.wheelbase_m is None
        or ball_behind_rear_axle_m is None
        or boot is None
        or nose.high_kg is None
    ):
        return CarLoad(None, None, None, None, None, missing)
    names = set(party)
    people = [p for p in household.people if not names or p.name in names]
    people.sort(key=lambda person: not person.drives)
    masses = [person_kg(person, on=on) for person in people]
    masses[:1] = [max(mass - counted_driver_kg(household), 0.0) for mass in masses[:1]]
    dogs = len(household.dogs) * constant("outfit", "dog_mass").value
    where = ("seat_front", "seat_rear", "boot", "roof")
    loads = (sum(masses[:2]), sum(masses[2:]), boot + dogs, roof)
    ball, light = (
        ball_on_car(
            kg, wheelbase_m=car.wheelbase_m, ball_behind_rear_axle_m=ball_behind_rear_axle_m
        )
        for kg in (nose.high_kg, nose.high_kg if nose.low_kg is None else nose.low_kg)
    )
    axles = []
    for end in ("value", "low", "high"):
        places = [getattr(constant("outfit", name), end) * car.wheelbase_m for name in where]
        axles.append(load_on_car(loads, places, wheelbase_m=car.wheelbase_m))
    front = car.front_axle_kerb_kg + ball.front_kg
    rear = car.rear_axle_kerb_kg + ball.rear_kg
    usual, forward, back = axles
    return CarLoad(
        front_kg=front + usual.front_kg,
        rear_kg=rear + usual.rear_kg,
        front_high_kg=car.front_axle_kerb_kg + light.front_kg + forward.front_kg,
        rear_high_kg=rear + back.rear_kg,
        lifted_kg=-ball.front_kg,
    )


def car_axle_checks(household: Household, load: CarLoad) -> list[Check]:
    """Both axles of the car against their plates."""
    car = household.car
    rear = limit_check(
        "load on the car's rear axle",
        load.rear_high_kg,
        car.rear_axle_limit_kg,
        rule="rear axle limit on the car's plate",
        missing=gaps(
            load.missing,
            "" if car.rear_axle_limit_kg is not None else "the car's rear axle limit",
        ),
    )
    front = limit_check(
        "load on the car's front axle",
        load.front_high_kg,
        car.front_axle_limit_kg,
        rule="front axle limit on the car's plate",
        missing=gaps(
            load.missing,
            "" if car.front_axle_limit_kg is not None else "the car's front axle limit",
        ),
    )
    if load.lifted_kg is None:
        return [rear, front]
    does = "steers and drives" if car.drive in ("front", "all") else "steers"
    lifted = f"The ball lifts {load.lifted_kg:,.0f} kg off the front axle, which {does}."
    sums = "By the usual places of seats and boot; a weighbridge tells."
    return [no_better_than_look(rear, sums), no_better_than_look(front, f"{lifted} {sums}")]
