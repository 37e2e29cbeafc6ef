"""A loading in figures: what rests on what, what would change it, how it compares."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.outfit.car_axles import car_load
from planner_kit.outfit.compared import compare_loadings
from planner_kit.outfit.loading import with_totals
from planner_kit.outfit.rearranging import Rearrangement, Situation, rearrange
from planner_kit.outfit.what_if import what_ifs
from planner_kit.reference import constant

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from planner_kit.outfit.masses import Masses
    from planner_kit.outfit.noseweight import Noseweight
    from planner_kit.outfit.report import Outfit
    from planner_kit.trip.household import Car, Caravan, Household


@dataclass(frozen=True)
class LoadPlan:
    """What is known of a loading beyond the checks.

    Attributes
    ----------
    effects : DataFrame
        One row for each thing in the caravan that has a mass and a place: item, mass_kg, x_m,
        nose_kg (what it adds to the ball), per_metre_kg (what the ball gains when it moves a metre
        forward), home_kg (what the ball gains when it stays at home), at_tail_kg and at_front_kg
        (what the ball gains when it moves to the rearmost and the foremost place of the list).
    advice : Rearrangement or None
        The fewest things to move; None when mass or noseweight is unknown.
    sway : DataFrame or None
        One row for each loading that is compared: loading, yaw_inertia_kg_m2, damping (ratio at the
        compared speed), low and high (over the range of tyre stiffness), trend_pct (critical speed
        of the model against that of the plain loading, which lies close together at the same
        noseweight). None when a figure is missing.
    sway_sentence : str
        What the comparison says, or what is missing for it.
    outside : tuple of str
        Sentences on things that lie where the caravan has no floor.
    packed : DataFrame
        One row for each person who packs something: person, caravan_kg, car_kg, not_weighed.
    what_if : DataFrame
        What awning, battery, bicycles and tank change when they move or fill, as from `what_ifs`.
    """

    effects: pd.DataFrame
    advice: Rearrangement | None
    sway: pd.DataFrame | None
    sway_sentence: str
    outside: tuple[str, ...]
    packed: pd.DataFrame
    what_if: pd.DataFrame


def load_plan(
    household: Household,
    outfit: Outfit,
    items: pd.DataFrame,
    masses: Masses,
    nose: Noseweight,
    *,
    on: dt.date,
    party: Iterable[str] = (),
    band: tuple[float, float] | None = None,
    with_advice: bool = True,
) -> LoadPlan:
    """A loading's effects, the fewest moves that mend it, and how it compares.

    Parameters
    ----------
    household : Household
    outfit : Outfit
    items : DataFrame
        The loading list.
    masses : Masses
    nose : Noseweight
        Where it was not measured, the middle of its range counts for the band, and the worse end
        for each limit.
    on : date
    party : iterable of str
        Who comes along; empty for everybody.
    band : (float, float), optional
        Noseweight wanted, as shares of the laden caravan; the usual shares if not given. [1]
    with_advice : bool
        Whether to look for moves, compare loadings and fill the tables, which takes longer than
        the figures; without it only `outside` is filled.

    Returns
    -------
    plan : LoadPlan
    """
    span = outfit.ball_to_axle_m
    outside = tuple(outside_floor(items, outfit, width_m=household.caravan.width_m))
    if not with_advice:
        none = pd.DataFrame()
        return LoadPlan(none, None, None, "", outside, none, none)
    effects, packed = _effects(items, span), _packed(items)
    now = _situation(household, outfit, items, masses, nose, on=on, party=party, band=band)
    advice = None if now is None else rearrange(items, now)
    sway, sentence = compare_loadings(household, outfit, items, masses, nose, advice)
    changes = what_ifs(household, outfit, items, nose)
    return LoadPlan(effects, advice, sway, sentence, outside, packed, changes)


def outside_floor(items: pd.DataFrame, outfit: Outfit, *, width_m: float | None) -> list[str]:
    """A sentence for each thing whose place lies off the caravan, lengthwise or sideways.

    Parameters
    ----------
    items : DataFrame
    outfit : Outfit
        Lengthwise the caravan reaches from the ball to a rack behind its tail.
    width_m : float or None
        Of the caravan. [m]

    Returns
    -------
    sentences : list of str
        None for a direction in which the caravan's measure is not known.
    """
    table = with_totals(items)
    inside = table[table["vehicle"] == "caravan"]
    said = []
    if outfit.ball_to_axle_m is not None and outfit.axle_to_tail_m is not None:
        front_m = outfit.ball_to_axle_m
        back_m = -outfit.axle_to_tail_m - constant("outfit", "beyond_tail").value
        off = inside[(inside["x_m"] > front_m) | (inside["x_m"] < back_m)]
        said += [
            f"{row['item']} is said to lie {row['x_m']:+.1f} m from the axle, but the caravan "
            f"reaches from {back_m:+.1f} m (with a rack) to {front_m:+.1f} m: mend x_m in the "
            "loading list."
            for _, row in off.iterrows()
        ]
    if width_m is not None and "y_m" in inside.columns:
        off = inside[inside["y_m"].abs() > width_m / 2]
        said += [
            f"{row['item']} is said to lie {abs(row['y_m']):.1f} m beside the middle, but the "
            f"caravan is {width_m:.2f} m wide, half of it to each side: mend y_m in the loading "
            "list."
            for _, row in off.iterrows()
        ]
    return said


def _effects(items: pd.DataFrame, span_m: float | None) -> pd.DataFrame:
    table = with_totals(items)
    inside = table[(table["vehicle"] == "caravan") & table["x_m"].notna() & (table["total_kg"] > 0)]
    mass, place = inside["total_kg"].to_numpy(float), inside["x_m"].to_numpy(float)
    per_metre = mass / span_m if span_m else np.full(len(mass), np.nan)
    tail, front = (place.min(), place.max()) if len(place) else (0.0, 0.0)
    frame = pd.DataFrame(
        {
            "item": inside["item"].to_numpy(),
            "mass_kg": mass,
            "x_m": place,
            "nose_kg": per_metre * place,
            "per_metre_kg": per_metre,
            "home_kg": -per_metre * place,
            "at_tail_kg": per_metre * (tail - place),
            "at_front_kg": per_metre * (front - place),
        }
    )
    order = np.argsort(-np.abs(frame["nose_kg"].to_numpy()), kind="stable")
    return frame.iloc[order].reset_index(drop=True)


def _packed(items: pd.DataFrame) -> pd.DataFrame:
    """What each person packs, heaviest in the caravan first."""
    columns = ["person", "caravan_kg", "car_kg", "not_weighed"]
    if "person" not in items.columns:
        return pd.DataFrame(columns=columns)
    table = with_totals(items)
    table = table[table["person"].fillna("").astype(str).str.strip() != ""]
    in_caravan = table["vehicle"] == "caravan"
    rows = pd.DataFrame(
        {
            "person": table["person"].astype(str).str.strip(),
            "caravan_kg": table["total_kg"].where(in_caravan, 0.0),
            "car_kg": table["total_kg"].where(~in_caravan, 0.0),
            "not_weighed": table["total_kg"].isna().astype(int),
        }
    )
    packed = rows.groupby("person", as_index=False).sum()
    return packed.sort_values("caravan_kg", ascending=False, kind="stable").reset_index(drop=True)[
        columns
    ]


def _towing_limit_kg(car: Car, caravan: Caravan) -> float | None:
    unbraked = caravan.braked is False
    return car.towing_limit_unbraked_kg if unbraked else car.towing_limit_braked_kg


def _lower(*limits: float | None) -> float | None:
    known = [limit for limit in limits if limit is not None]
    return min(known) if known else None


def usual_band() -> tuple[float, float]:
    """The usual share of noseweight, from low to high. [1]."""
    return constant("outfit", "noseweight_low").value, constant("outfit", "noseweight_high").value


def _situation(
    household: Household,
    outfit: Outfit,
    items: pd.DataFrame,
    masses: Masses,
    nose: Noseweight,
    *,
    on: dt.date,
    party: Iterable[str],
    band: tuple[float, float] | None,
) -> Situation | None:
    car, caravan = household.car, household.caravan
    if masses.caravan_kg is None or nose.kg is None or outfit.ball_to_axle_m is None:
        return None
    low, high = band if band is not None else usual_band()
    towing = _towing_limit_kg(car, caravan)
    ball_m = outfit.ball_behind_rear_axle_m
    axles = car_load(
        household, nose, items=items, on=on, ball_behind_rear_axle_m=ball_m, party=party
    )
    leverage = (
        1 + ball_m / car.wheelbase_m if ball_m is not None and car.wheelbase_m is not None else 1.4
    )
    return Situation(
        caravan_kg=masses.caravan_kg,
        nose_kg=nose.kg,
        ball_to_axle_m=outfit.ball_to_axle_m,
        share_low=low,
        share_high=high,
        nose_most_kg=_lower(car.towball_limit_kg, caravan.noseweight_limit_kg),
        caravan_most_kg=_lower(caravan.mtplm_kg, towing),
        axle_most_kg=caravan.axle_limit_kg,
        axles=caravan.axles,
        # Only what the list itself makes known: a car loaded to its plate by assumption has no room
        car_kg=masses.car_kg,
        car_most_kg=car.gross_kg,
        train_most_kg=car.gross_train_kg,
        rear_kg=axles.rear_high_kg,
        rear_most_kg=car.rear_axle_limit_kg,
        rear_per_nose=leverage,
        rear_per_boot=constant("outfit", "boot").high,
        rear_per_roof=constant("outfit", "roof").high,
        front_kg=axles.front_high_kg,
        front_most_kg=car.front_axle_limit_kg,
        front_per_boot=1 - constant("outfit", "boot").low,
        front_per_roof=1 - constant("outfit", "roof").low,
        roof_kg=masses.roof_load_kg,
        roof_most_kg=car.roof_limit_kg,
        nose_low_kg=nose.low_kg,
        nose_high_kg=nose.high_kg,
    )
