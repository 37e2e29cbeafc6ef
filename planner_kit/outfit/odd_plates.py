"""Figures of car and caravan that are hardly right, or that cannot all be right."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.reference import constant
from planner_kit.rules.plausible import odd_figures
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from planner_kit.trip.household import Household

_PLATE = "the plates and handbooks, as written in the household file"


def odd_plates(household: Household) -> list[Check]:
    """What in the household file looks like a slip of the pen; nothing when all of it is likely.

    Parameters
    ----------
    household : Household

    Returns
    -------
    checks : list of Check
        To look at, or not fine where a part is larger than the whole. A figure that is missing is
        passed over: the check that needs it says so.
    """
    car, caravan = household.car, household.caravan
    parts = (
        (car, "car", "[car]"),
        (caravan, "caravan", "[caravan]"),
        (caravan.tyre, "tyre", "[caravan.tyre]"),
        (household.loading, "loading", "[loading]"),
    )
    checks = []
    for part, what, where in parts:
        figures = {
            name: value
            for name, value in part.model_dump().items()
            if isinstance(value, (int, float)) and not isinstance(value, bool)
        }
        if what == "caravan":
            # What is not there has no size.
            figures = {name: value for name, value in figures.items() if value or name in _NEVER_0}
        checks += odd_figures(figures, what, f"household.toml, {where}")
    derived = {
        "body_kg_per_m": _ratio(caravan.mtplm_kg, caravan.body_length_m),
        "train_over_gross_kg": _less(car.gross_train_kg, car.gross_kg),
    }
    checks += odd_figures(derived, "outfit", "household.toml, worked out:")
    return [
        *checks,
        *_larger_parts(household),
        *_axle_sums(household),
        *_limits_too_low_together(household),
    ]


_NEVER_0 = frozenset({"mtplm_kg", "mass_in_running_order_kg", "axle_limit_kg"})


def _larger_parts(household: Household) -> list[Check]:
    """Lengths and masses of a part that are larger than the whole."""
    car, caravan = household.car, household.caravan
    pairs = (
        ("the caravan's length inside", caravan.internal_length_m, "that of its body",
         caravan.body_length_m, "m"),
        ("the caravan's body", caravan.body_length_m, "its length with the hitch",
         caravan.shipping_length_m, "m"),
        ("the distance from ball to axle", caravan.ball_to_axle_m, "the caravan's length",
         caravan.shipping_length_m, "m"),
        ("the caravan's track", caravan.track_width_m, "its width", caravan.width_m, "m"),
        ("the car's wheelbase", car.wheelbase_m, "its length", car.length_m, "m"),
        ("the measured noseweight", household.loading.noseweight_measured_kg,
         "the caravan's MTPLM", caravan.mtplm_kg, "kg"),
    )  # fmt: skip
    return [
        Check(
            "figures that do not agree",
            State.NOT_FINE,
            f"{small[0].upper()}{small[1:]} ({part:,.4g} {unit}) is more than {large} "
            f"({whole:,.4g} {unit}): one of the two is wrong in the household file.",
            figure=part,
            limit=whole,
            unit=unit,
            margin=whole - part,
            rule=f"{small} cannot be more than {large}",
            source=_PLATE,
            basis="plate",
        )
        for small, part, large, whole, unit in pairs
        if part is not None and whole is not None and part > whole
    ]


def _axle_sums(household: Household) -> list[Check]:
    """The empty axles together are the empty car, give or take a driver and the weighing."""
    car = household.car
    if car.front_axle_kerb_kg is None or car.rear_axle_kerb_kg is None or car.kerb_kg is None:
        return []
    total = car.front_axle_kerb_kg + car.rear_axle_kerb_kg
    slack = constant("outfit", "axle_sum_slack").value * car.kerb_kg
    slack += constant("outfit", "adult_mass").value
    if abs(total - car.kerb_kg) <= slack:
        return []
    return [
        Check(
            "figures that do not agree",
            State.LOOK,
            f"The car's empty axles carry {total:,.0f} kg together, but its kerb mass is "
            f"{car.kerb_kg:,.0f} kg: look at the papers again.",
            figure=total,
            limit=car.kerb_kg,
            unit="kg",
            margin=slack - abs(total - car.kerb_kg),
            rule="front and rear axle together carry the empty car",
            source=_PLATE,
            basis="plate",
        )
    ]


def _limits_too_low_together(household: Household) -> list[Check]:
    """Limits on what a vehicle rests on that together bear less than it may weigh."""
    car, caravan = household.car, household.caravan
    of_axles = None if caravan.axle_limit_kg is None else caravan.axle_limit_kg * caravan.axles
    cases = (
        ("the car's axle limits together", _sum(car.front_axle_limit_kg, car.rear_axle_limit_kg),
         "its gross mass", car.gross_kg),
        ("the caravan's axle and noseweight limits together",
         _sum(of_axles, caravan.noseweight_limit_kg), "its MTPLM", caravan.mtplm_kg),
    )  # fmt: skip
    return [
        Check(
            "figures that do not agree",
            State.LOOK,
            f"{what[0].upper()}{what[1:]} ({bears:,.0f} kg) are less than {whole} "
            f"({may_weigh:,.0f} kg): look at the plates again.",
            figure=bears,
            limit=may_weigh,
            unit="kg",
            margin=bears - may_weigh,
            rule=f"{what} bear at least {whole}",
            source=_PLATE,
            basis="plate",
        )
        for what, bears, whole, may_weigh in cases
        if bears is not None and may_weigh is not None and bears < may_weigh
    ]


def _sum(*parts: float | None) -> float | None:
    known = [part for part in parts if part is not None]
    return sum(known) if len(known) == len(parts) else None


def _ratio(over: float | None, under: float | None) -> float | None:
    return None if over is None or not under else over / under


def _less(whole: float | None, part: float | None) -> float | None:
    return None if whole is None or part is None else whole - part
