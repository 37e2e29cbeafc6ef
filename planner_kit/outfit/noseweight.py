"""Noseweight: the load of the caravan on the tow ball, in kilograms as people read it.

The caravan is taken as a stiff beam that rests on the ball and on the middle of its axle or axles.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner_kit.outfit.loading import with_totals
from planner_kit.reference import constant

if TYPE_CHECKING:
    import pandas as pd


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
    if items is None:
        missing.append("a loading list with the place of each thing")
    if mass_in_running_order_kg is None:
        missing.append("the caravan's mass in running order")
    if ball_to_axle_m is None:
        missing.append("the distance from ball to axle")
    if items is None or mass_in_running_order_kg is None or ball_to_axle_m is None:
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
