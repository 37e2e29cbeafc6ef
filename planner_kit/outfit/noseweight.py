"""Noseweight: the load of the caravan on the tow ball, in kilograms as people read it.

The caravan is taken as a stiff beam that rests on the ball and on the middle of its axle or axles.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from planner_kit.outfit.loading import with_totals
from planner_kit.outfit.lower_limit import LowerLimit
from planner_kit.outfit.matching import gaps, limit_check, no_better_than_look
from planner_kit.reference import constant
from planner_kit.states import Check, State

if TYPE_CHECKING:
    import pandas as pd

    from planner_kit.outfit.masses import Masses
    from planner_kit.trip.household import Household


@dataclass(frozen=True)
class Noseweight:
    """A noseweight and how it is known.

    Attributes
    ----------
    kg : float or None
        [kg]
    low_kg, high_kg : float or None
        Between which it is believed to lie; both equal `kg` when it was measured. [kg]
    measured : bool
    missing : str
        What would be needed to know it, when it is not known.
    """

    kg: float | None
    low_kg: float | None
    high_kg: float | None
    measured: bool
    missing: str = ""


def nose_from_load_kg(mass_kg: float, in_front_of_axle_m: float, ball_to_axle_m: float) -> float:
    """What a mass in the caravan adds to the noseweight; negative when it lies behind the axle.

    Parameters
    ----------
    mass_kg : float
        [kg]
    in_front_of_axle_m : float
        Distance of the mass in front of the axle. [m]
    ball_to_axle_m : float
        Distance from the tow ball to the middle of the axle or axles. [m]

    Returns
    -------
    noseweight_kg : float
        [kg]

    Notes
    -----
    Moments about the axle: ``nose * ball_to_axle = mass * distance``.
    """
    return mass_kg * in_front_of_axle_m / ball_to_axle_m


def estimated_noseweight(
    items: pd.DataFrame | None,
    *,
    measured_kg: float | None,
    mass_in_running_order_kg: float | None,
    ball_to_axle_m: float | None,
) -> Noseweight:
    """The measured noseweight, or else one reckoned from where things lie.

    Parameters
    ----------
    items : DataFrame or None
        The loading list; x_m is the distance in front of the axle.
    measured_kg : float or None
        From a gauge. [kg]
    mass_in_running_order_kg, ball_to_axle_m : float or None
        [kg], [m]

    Returns
    -------
    noseweight : Noseweight

    Notes
    -----
    The noseweight of the empty caravan is on no plate. It is taken as the usual share of its mass,
    and the spread of that share is the spread of the answer: it tells how things should be moved,
    and does not take the place of a gauge.
    """
    if measured_kg is not None:
        return Noseweight(measured_kg, measured_kg, measured_kg, measured=True)
    missing = []
    if items is None or items.empty:
        missing.append("a loading list with the place of each thing")
    if mass_in_running_order_kg is None:
        missing.append("the caravan's mass in running order")
    if ball_to_axle_m is None:
        missing.append("the distance from ball to axle")
    if items is None or items.empty or mass_in_running_order_kg is None or ball_to_axle_m is None:
        return Noseweight(None, None, None, measured=False, missing=", ".join(missing))
    table = with_totals(items)
    inside = table[table["vehicle"] == "caravan"]
    gaps = inside.loc[inside["mass_kg"].isna() | inside["x_m"].isna(), "item"]
    if len(gaps):
        names = ", ".join(str(name) for name in gaps.iloc[:3])
        more = f" and {len(gaps) - 3} more" if len(gaps) > 3 else ""
        return Noseweight(
            None, None, None, measured=False, missing=f"mass or place of {names}{more}"
        )
    moved = float((inside["total_kg"] * inside["x_m"]).sum()) / ball_to_axle_m
    low, high = (
        mass_in_running_order_kg * constant("outfit", name).value + moved
        for name in ("noseweight_low", "noseweight_high")
    )
    return Noseweight((low + high) / 2, low, high, measured=False)


def shifted_noseweight(
    nose: Noseweight, before: pd.DataFrame, after: pd.DataFrame, *, ball_to_axle_m: float | None
) -> Noseweight:
    """A measured noseweight after the loading was changed.

    Parameters
    ----------
    nose : Noseweight
        As measured with the list `before`.
    before, after : DataFrame
        The loading list when it was measured, and now.
    ball_to_axle_m : float or None
        [m]

    Returns
    -------
    noseweight : Noseweight
        No longer measured; unknown where a thing that changed has no mass or place.
    """
    if nose.kg is None or not nose.measured:
        return nose
    was, now_is = Counter(_in_caravan(before)), Counter(_in_caravan(after))
    if was == now_is:
        return nose
    if ball_to_axle_m is None:
        return Noseweight(None, None, None, measured=False, missing="the distance of the axle")
    changed = (now_is - was, was - now_is)
    lacking = {thing.item for things in changed for thing in things if np.isnan(thing.moment_kg_m)}
    if lacking:
        names = ", ".join(sorted(lacking))
        return Noseweight(None, None, None, measured=False, missing=f"mass or place of {names}")
    come, gone = (sum(t.moment_kg_m * many for t, many in things.items()) for things in changed)
    now = nose.kg + (come - gone) / ball_to_axle_m
    return Noseweight(now, now, now, measured=False)


class _Thing(NamedTuple):
    """A line of the list in the caravan; NaN is written as words, so that it equals itself."""

    item: str
    mass: str
    place: str

    @property
    def moment_kg_m(self) -> float:
        return float(self.mass) * float(self.place)


def _in_caravan(items: pd.DataFrame) -> list[_Thing]:
    table = with_totals(items)
    inside = (table["vehicle"] == "caravan").to_numpy(bool)
    columns = (table[name].to_numpy()[inside] for name in ("item", "total_kg", "x_m"))
    return [
        _Thing(str(item), repr(float(mass)), repr(float(x_m)))
        for item, mass, x_m in zip(*columns, strict=True)
    ]


def noseweight_checks(household: Household, masses: Masses, nose: Noseweight) -> list[Check]:
    """The noseweight against the lower of the limits, and against the usual share of the mass."""
    car, caravan = household.car, household.caravan
    lower = LowerLimit(
        {
            "the car's tow ball limit": car.towball_limit_kg,
            "the caravan's noseweight limit": caravan.noseweight_limit_kg,
        }
    )
    missing = gaps(f"the noseweight ({nose.missing})" if nose.kg is None else "", *lower.missing)
    over = nose.low_kg is not None and lower.kg is not None and nose.low_kg > lower.kg
    figure = nose.high_kg
    if missing:
        # What is not known may be lower still; what is passed already is passed anyway.
        figure = nose.low_kg if over else None
    check = limit_check(
        "noseweight on the tow ball",
        figure,
        lower.kg if figure is not None else None,
        rule=lower.words,
        missing=missing,
        remedy="move load back towards the axle",
    )
    check = lower.named_in(check)
    if not nose.measured:
        check = no_better_than_look(
            check,
            _by_the_list(nose),
        )
    return [check, _share_check(masses, nose)]


def _by_the_list(nose: Noseweight) -> str:
    if nose.kg is None or nose.low_kg is None or nose.high_kg is None:
        return ""
    if nose.low_kg == nose.high_kg:
        return f"By the loading list it is {nose.kg:,.0f} kg; measure it again before you drive."
    return (
        f"By the loading list it lies between {nose.low_kg:,.0f} and {nose.high_kg:,.0f} kg; "
        "measure it before you drive."
    )


def _share_check(masses: Masses, nose: Noseweight) -> Check:
    subject = "noseweight as a share of the laden caravan"
    usual = constant("outfit", "noseweight_low")
    low, high = usual.value, constant("outfit", "noseweight_high").value
    rule = f"usual share {low:.0%} to {high:.0%}; the limits on the plates come first"
    if nose.kg is None or masses.caravan_kg is None:
        gap = gaps("the noseweight" if nose.kg is None else "", masses.caravan_missing)
        return Check(
            subject,
            State.UNKNOWN,
            f"Unknown; still missing: {gap}.",
            unit="%",
            rule=rule,
            source=usual.source,
            basis=usual.basis,
        )
    share = nose.kg / masses.caravan_kg
    if share < low:
        state, sentence = State.LOOK, "Light on the nose: the caravan may snake. Move load forward."
    elif share > high:
        state, sentence = State.LOOK, "Heavy on the nose: the car steers lightly. Move load back."
    elif nose.measured:
        state, sentence = State.FINE, "Inside the usual share."
    else:
        state, sentence = State.LOOK, "Inside the usual share by the list; measure it."
    edge = high if share > (low + high) / 2 else low
    return Check(
        subject,
        state,
        sentence,
        figure=share * 100,
        limit=edge * 100,
        unit="%",
        margin=min(share - low, high - share) * 100,
        rule=rule,
        source=usual.source,
        basis=usual.basis,
    )
