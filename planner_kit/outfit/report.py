"""What the outfit stage hands on: the outfit's figures, and the checks made on them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

    from planner_kit.outfit.load_plan import LoadPlan
    from planner_kit.outfit.masses import Masses
    from planner_kit.outfit.noseweight import Noseweight
    from planner_kit.states import Check


@dataclass(frozen=True)
class Outfit:
    """Tow car and caravan as one thing on the road; None where the household did not say.

    Attributes
    ----------
    car_kg, caravan_kg, train_kg : float or None
        Actual laden masses used for the trip. [kg]
    caravan_plate_kg, train_plate_kg : float or None
        MTPLM of the caravan; gross train mass of the car. [kg]
    car_gross_kg : float or None
        Gross mass of the car from its plate. [kg]
    max_axle_kg : float or None
        Heaviest axle load that the outfit can have, from the plates. [kg]
    length_m, width_m, height_m : float or None
        Whole outfit: length of car and caravan coupled, the wider width, the higher height. [m]
    car_length_m, car_wheelbase_m, ball_behind_rear_axle_m, ball_to_axle_m, axle_to_tail_m :
        float or None
        What turning needs. [m]
    car_width_m, caravan_width_m : float or None
        Body widths. [m]
    power_kw : float or None
        Engine or motor power. [kW]
    fuel : str
        diesel, petrol, hybrid or electric.
    assumed : tuple of str
        Sentences that say what was assumed for want of a figure.
    turning_circle_m : float or None
        Diameter of the car's turning circle between kerbs, from its papers. [m]
    driven : str or None
        front, rear or all: the axle that drives.
    driven_axle_kg : float or None
        Laden mass on the driven axle or axles, with the ball's load on them. [kg]
    """

    car_kg: float | None
    caravan_kg: float | None
    train_kg: float | None
    caravan_plate_kg: float | None
    train_plate_kg: float | None
    car_gross_kg: float | None
    max_axle_kg: float | None
    length_m: float | None
    width_m: float | None
    height_m: float | None
    car_length_m: float | None
    car_wheelbase_m: float | None
    ball_behind_rear_axle_m: float | None
    ball_to_axle_m: float | None
    axle_to_tail_m: float | None
    car_width_m: float | None
    caravan_width_m: float | None
    power_kw: float | None
    fuel: str
    assumed: tuple[str, ...] = ()
    turning_circle_m: float | None = None
    driven: str | None = None
    driven_axle_kg: float | None = None


@dataclass(frozen=True)
class OutfitReport:
    """The outfit stage's result.

    Attributes
    ----------
    outfit : Outfit
    checks : tuple of Check
        Masses, plates, law of each country, tyres; in the order people should read them.
    loading : DataFrame or None
        The loading plan, one row for each item: item, quantity, mass_kg, place, x_m, note.
    cautions : tuple of str
    masses : Masses or None
        Laden masses, and what is missing for them.
    noseweight : Noseweight or None
        Measured or reckoned.
    plan : LoadPlan or None
        What each thing does to the ball, the fewest moves, loadings compared; None without a list.
    floor : str or None
        The caravan's floor with the masses on it, as SVG.
    law : tuple of Check
        Those of `checks` that hang on the law of the countries driven in.
    not_needed : DataFrame or None
        What earlier trips did not need of the loading list; see
        `planner_kit.outfit.not_needed.not_needed_lines`. None without a list.
    """

    outfit: Outfit
    checks: tuple[Check, ...]
    loading: pd.DataFrame | None
    cautions: tuple[str, ...]
    masses: Masses | None = None
    noseweight: Noseweight | None = None
    plan: LoadPlan | None = None
    floor: str | None = None
    law: tuple[Check, ...] = ()
    not_needed: pd.DataFrame | None = None

    @property
    def plates(self) -> tuple[Check, ...]:
        """Those of the checks that hold in every country: plates, loading, tyres."""
        law = set(map(id, self.law))
        return tuple(check for check in self.checks if id(check) not in law)
