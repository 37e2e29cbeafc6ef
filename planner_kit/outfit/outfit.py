"""The outfit that the other stages draw on: masses, lengths and what was assumed."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.outfit.car_axles import car_load
from planner_kit.outfit.masses import masses_of
from planner_kit.outfit.noseweight import estimated_noseweight
from planner_kit.outfit.report import Outfit
from planner_kit.outfit.statics import ball_on_car
from planner_kit.reference import constant

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    import pandas as pd

    from planner_kit.outfit.masses import Masses
    from planner_kit.trip.household import Car, Caravan, Household


def outfit_of(
    household: Household,
    *,
    items: pd.DataFrame | None = None,
    on: dt.date,
    party: Iterable[str] = (),
) -> Outfit:
    """Tow car and caravan of a household as one thing on the road.

    Parameters
    ----------
    household : Household
    items : DataFrame, optional
        The loading list from `read_items`.
    on : date
        The first day of the trip, for ages.
    party : iterable of str
        Names of those who come along; empty for everybody.

    Returns
    -------
    outfit : Outfit
        Where a load is not known the vehicle is taken to be loaded to its plate, and `assumed` says
        so.
    """
    car, caravan, party = household.car, household.caravan, tuple(party)
    masses = masses_of(household, items=items, on=on, party=party)
    assumed: list[str] = []
    car_kg, caravan_kg = _car_kg(car, masses, assumed), _caravan_kg(caravan, masses, assumed)
    overhang_m, coupled_m = _ball_behind_axle_m(car, assumed), _shipping_m(caravan, assumed)
    to_axle_m = _ball_to_axle_m(caravan, coupled_m, assumed)
    max_axle_kg = _heaviest_axle_kg(car, caravan, assumed)
    driven_kg = _driven_kg(household, items, on, party, overhang_m, to_axle_m, assumed)
    clearance_m = constant("outfit", "ball_clearance").value
    return Outfit(
        car_kg=car_kg,
        caravan_kg=caravan_kg,
        train_kg=_sum(car_kg, caravan_kg),
        caravan_plate_kg=caravan.mtplm_kg,
        train_plate_kg=car.gross_train_kg,
        car_gross_kg=car.gross_kg,
        max_axle_kg=max_axle_kg,
        # The ball stands out behind the bumper; the shipping length begins at the hitch.
        length_m=_sum(car.length_m, coupled_m, clearance_m),
        width_m=_widest(car.width_m, caravan.width_m),
        height_m=_widest(car.height_m, caravan.height_m),
        car_length_m=car.length_m,
        car_wheelbase_m=car.wheelbase_m,
        ball_behind_rear_axle_m=overhang_m,
        ball_to_axle_m=to_axle_m,
        axle_to_tail_m=(
            None if coupled_m is None or to_axle_m is None else max(coupled_m - to_axle_m, 0.0)
        ),
        car_width_m=car.width_m,
        caravan_width_m=caravan.width_m,
        power_kw=car.power_kw,
        fuel=car.fuel,
        assumed=tuple(assumed),
        turning_circle_m=car.turning_circle_m,
        driven=car.drive,
        driven_axle_kg=driven_kg,
    )


def _driven_kg(
    household: Household,
    items: pd.DataFrame | None,
    on: dt.date,
    party: Iterable[str],
    ball_behind_rear_axle_m: float | None,
    ball_to_axle_m: float | None,
    assumed: list[str],
) -> float | None:
    """What the driven wheels of the laden, coupled car carry; None where a figure is missing."""
    nose = estimated_noseweight(
        items,
        measured_kg=household.loading.noseweight_measured_kg,
        mass_in_running_order_kg=household.caravan.mass_in_running_order_kg,
        ball_to_axle_m=ball_to_axle_m,
    )
    load = car_load(
        household,
        nose,
        items=items,
        on=on,
        ball_behind_rear_axle_m=ball_behind_rear_axle_m,
        party=party,
    )
    front, rear = load.front_kg, load.rear_kg
    car = household.car
    if front is None or rear is None:
        front, rear = _empty_axles_kg(car, nose.high_kg, ball_behind_rear_axle_m)
        if front is not None and rear is not None and car.drive is not None:
            assumed.append(
                "The driven wheels are taken to carry no more than those of the empty car, less "
                f"what the ball lifts, because {load.missing} is missing."
            )
    if front is None or rear is None or car.drive is None:
        return None
    return {"front": front, "rear": rear, "all": front + rear}[car.drive]


def _empty_axles_kg(
    car: Car, nose_kg: float | None, ball_behind_rear_axle_m: float | None
) -> tuple[float | None, float | None]:
    """The axles of the empty car with the ball's load; None where a figure is missing."""
    if (
        car.front_axle_kerb_kg is None
        or car.rear_axle_kerb_kg is None
        or car.wheelbase_m is None
        or ball_behind_rear_axle_m is None
        or nose_kg is None
    ):
        return None, None
    ball = ball_on_car(
        nose_kg, wheelbase_m=car.wheelbase_m, ball_behind_rear_axle_m=ball_behind_rear_axle_m
    )
    return car.front_axle_kerb_kg + ball.front_kg, car.rear_axle_kerb_kg + ball.rear_kg


_KERB = {
    True: "; the car's kerb mass already holds a driver of 75 kg.",
    False: ", on top of the car's kerb mass, which holds no driver.",
    None: ", on top of the car's kerb mass. Whether that holds a driver of 75 kg is not said "
    "(kerb_includes_driver), so the heavier sum counts.",
}


def _car_kg(car: Car, masses: Masses, assumed: list[str]) -> float | None:
    if masses.car_kg is not None:
        assumed.append(
            f"People and dogs are taken to weigh {masses.people_kg:,.0f} kg together, by usual "
            f"masses{_KERB[car.kerb_includes_driver]}"
        )
        return masses.car_kg
    if car.gross_kg is not None:
        assumed.append(
            f"The car is taken to be loaded to its plate, {car.gross_kg:,.0f} kg, because "
            f"{masses.car_missing} is missing."
        )
    return car.gross_kg


def _caravan_kg(caravan: Caravan, masses: Masses, assumed: list[str]) -> float | None:
    if masses.caravan_kg is not None:
        return masses.caravan_kg
    if caravan.mtplm_kg is not None:
        assumed.append(
            f"The caravan is taken to be loaded to its plate, {caravan.mtplm_kg:,.0f} kg, because "
            f"{masses.caravan_missing} is missing."
        )
    return caravan.mtplm_kg


def _ball_behind_axle_m(car: Car, assumed: list[str]) -> float | None:
    if car.rear_overhang_m is None:
        return None
    clearance_m = constant("outfit", "ball_clearance").value
    assumed.append(f"The tow ball is taken to stand {clearance_m:g} m behind the car's rear end.")
    return car.rear_overhang_m + clearance_m


def _shipping_m(caravan: Caravan, assumed: list[str]) -> float | None:
    if caravan.shipping_length_m is not None or caravan.body_length_m is None:
        return caravan.shipping_length_m
    a_frame_m = constant("outfit", "a_frame").value
    assumed.append(
        f"The caravan's length with its A-frame is taken as body and {a_frame_m:g} m, because the "
        "shipping length is missing."
    )
    return caravan.body_length_m + a_frame_m


def _ball_to_axle_m(caravan: Caravan, shipping_m: float | None, assumed: list[str]) -> float | None:
    if caravan.ball_to_axle_m is not None or shipping_m is None:
        return caravan.ball_to_axle_m
    share = constant("outfit", "axle_share").value
    assumed.append(
        f"The axle is taken to be {share:.0%} of the caravan's length behind the ball, because the "
        "distance from ball to axle is missing."
    )
    return share * shipping_m


def _heaviest_axle_kg(car: Car, caravan: Caravan, assumed: list[str]) -> float | None:
    """The heaviest load of one axle by the plates; None unless every vehicle has a figure."""
    of_car = [kg for kg in (car.front_axle_limit_kg, car.rear_axle_limit_kg) if kg is not None]
    of_caravan = caravan.axle_limit_kg
    if of_caravan is None and caravan.mtplm_kg is not None:
        of_caravan = caravan.mtplm_kg / caravan.axles
        assumed.append(
            "The caravan's axle load is taken as its plated mass shared over its axles, because "
            "the axle limit is missing."
        )
    if len(of_car) < 2 or of_caravan is None:
        return None
    return max(*of_car, of_caravan)


def _sum(*parts: float | None) -> float | None:
    total = 0.0
    for part in parts:
        if part is None:
            return None
        total += part
    return total


def _widest(*parts: float | None) -> float | None:
    """The larger of two measures; unknown when either is, since the unknown one may be larger."""
    known = [part for part in parts if part is not None]
    return max(known) if len(known) == len(parts) else None
