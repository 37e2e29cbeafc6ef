"""A loading in figures: what rests on what, what would change it, how it compares."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd

from planner_kit.outfit.car_axles import car_load
from planner_kit.outfit.loading import with_totals
from planner_kit.outfit.rearranging import Rearrangement, Situation, rearrange
from planner_kit.outfit.statics import centre_m, yaw_inertia_kg_m2
from planner_kit.outfit.sway import SwayModel, critical_speed_kmh, damping
from planner_kit.reference import constant

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from planner_kit.outfit.masses import Masses
    from planner_kit.outfit.noseweight import Noseweight
    from planner_kit.outfit.report import Outfit
    from planner_kit.trip.household import Car, Caravan, Household

    Array = NDArray[np.float64]

_STANDARD_GRAVITY = 9.80665
_ENDS: tuple[Literal["value", "low", "high"], ...] = ("value", "low", "high")


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
        of the model against the loading as it is). None when a figure is missing.
    sway_sentence : str
        What the comparison says, or what is missing for it.
    outside : tuple of str
        Sentences on things that lie where the caravan has no floor.
    packed : DataFrame
        One row for each person who packs something: person, caravan_kg, car_kg, not_weighed.
    """

    effects: pd.DataFrame
    advice: Rearrangement | None
    sway: pd.DataFrame | None
    sway_sentence: str
    outside: tuple[str, ...]
    packed: pd.DataFrame


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
        Whether to look for moves and compare loadings, which takes longer than the figures.

    Returns
    -------
    plan : LoadPlan
    """
    span = outfit.ball_to_axle_m
    effects = _effects(items, span)
    outside = tuple(outside_floor(items, outfit, width_m=household.caravan.width_m))
    packed = _packed(items)
    if not with_advice:
        return LoadPlan(effects, None, None, "", outside, packed)
    now = _situation(household, outfit, items, masses, nose, on=on, party=party, band=band)
    advice = None if now is None else rearrange(items, now)
    sway, sentence = _sway(household, outfit, items, masses, nose, advice)
    return LoadPlan(effects, advice, sway, sentence, outside, packed)


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
        nose_low_kg=nose.low_kg,
        nose_high_kg=nose.high_kg,
    )


def sway_model(
    household: Household,
    outfit: Outfit,
    *,
    car_kg: float,
    caravan_kg: float,
    nose_kg: float,
    inertia_kg_m2: float,
    end: Literal["value", "low", "high"] = "value",
) -> SwayModel | None:
    """The outfit in the linear model; None where a measure of the car or caravan is missing.

    Notes
    -----
    The car's centre of mass comes from its empty axle loads, its yaw inertia from its wheelbase;
    tyres are stiff sideways in proportion to their load, by one factor for the car and one for the
    caravan, whose range ``end`` chooses from.
    """
    car = household.car
    wheelbase, ball = car.wheelbase_m, outfit.ball_behind_rear_axle_m
    front_kerb, rear_kerb, span = (
        car.front_axle_kerb_kg,
        car.rear_axle_kerb_kg,
        outfit.ball_to_axle_m,
    )
    if not (wheelbase and ball is not None and front_kerb and rear_kerb and span):
        return None
    front_m = wheelbase * rear_kerb / (front_kerb + rear_kerb)
    lifted = nose_kg * ball / wheelbase
    front_kg = car_kg * (wheelbase - front_m) / wheelbase - lifted
    rear_kg = car_kg * front_m / wheelbase + nose_kg + lifted
    on_car, on_caravan = (
        getattr(constant("outfit", name), end) * _STANDARD_GRAVITY
        for name in ("cornering_car", "cornering_caravan")
    )
    return SwayModel(
        car_kg=car_kg,
        car_inertia_kg_m2=car_kg * (constant("outfit", "car_gyration").value * wheelbase) ** 2,
        front_m=front_m,
        rear_m=wheelbase - front_m,
        ball_m=wheelbase - front_m + ball,
        caravan_kg=caravan_kg,
        caravan_inertia_kg_m2=inertia_kg_m2,
        ball_to_centre_m=span - centre_m(nose_kg, caravan_kg, span),
        ball_to_axle_m=span,
        front_n_per_rad=on_car * front_kg,
        rear_n_per_rad=on_car * rear_kg,
        caravan_n_per_rad=on_caravan * (caravan_kg - nose_kg),
    )


def _sway(
    household: Household,
    outfit: Outfit,
    items: pd.DataFrame,
    masses: Masses,
    nose: Noseweight,
    advice: Rearrangement | None,
) -> tuple[pd.DataFrame | None, str]:
    caravan, span = household.caravan, outfit.ball_to_axle_m
    body, width = caravan.body_length_m, caravan.width_m
    if (
        masses.caravan_kg is None
        or nose.kg is None
        or span is None
        or body is None
        or width is None
        or outfit.car_kg is None
    ):
        return None, (
            "Loadings cannot be compared: mass and noseweight of the caravan, its body length and "
            "width, and the laden car must be known."
        )
    table = with_totals(items).reset_index(drop=True)
    here = table[(table["vehicle"] == "caravan") & table["x_m"].notna() & (table["total_kg"] > 0)]
    mass, place = here["total_kg"].to_numpy(float), here["x_m"].to_numpy(float)
    empty_kg = masses.caravan_kg - float(mass.sum())
    empty_x = (nose.kg * span - float(mass @ place)) / empty_kg
    loadings = {"as it is loaded": (mass, place)}
    if advice is not None and advice.solved and advice.moves:
        loadings["after the advice"] = _after(here, advice)
    loadings |= _compared(mass, place)
    rows = []
    speed = constant("outfit", "sway_speed").value
    for name, (kg, x_m) in loadings.items():
        inertia = yaw_inertia_kg_m2(empty_kg, empty_x, body, width, kg, x_m)
        nose_kg = (empty_kg * empty_x + float(kg @ x_m)) / span
        models = [
            sway_model(
                household,
                outfit,
                car_kg=outfit.car_kg,
                caravan_kg=empty_kg + float(kg.sum()),
                nose_kg=nose_kg,
                inertia_kg_m2=inertia,
                end=end,
            )
            for end in _ENDS
        ]
        if models[0] is None:
            return None, (
                "Loadings cannot be compared: the car's wheelbase, rear overhang and empty axle "
                "loads must be known."
            )
        ratios = [damping(model, speed) for model in models if model is not None]
        rows.append(
            {
                "loading": name,
                "yaw_inertia_kg_m2": inertia,
                "nose_kg": nose_kg,
                "damping": ratios[0],
                "low": min(ratios),
                "high": max(ratios),
                "critical": critical_speed_kmh(models[0], most_kmh=600),
            }
        )
    frame = pd.DataFrame(rows)
    critical = frame.pop("critical").astype(float)
    frame["trend_pct"] = (critical / critical.iloc[0] - 1) * 100
    return frame, _sway_sentence(frame, speed)


def _compared(mass: Array, place: Array) -> dict[str, tuple[Array, Array]]:
    """Three other ways to lay the same things; the first two keep the noseweight as it is."""
    total, moment = float(mass.sum()), float(mass @ place)
    if not total:
        return {}
    front, tail = float(place.max()), float(place.min())
    others = {
        "close together, same noseweight": (np.array([total]), np.array([moment / total])),
        "half a metre further back": (mass, place - 0.5),
    }
    if front > tail:
        ahead = (moment - total * tail) / (front - tail)
        others["at the two ends, same noseweight"] = (
            np.array([ahead, total - ahead]),
            np.array([front, tail]),
        )
    return others


def _after(here: pd.DataFrame, advice: Rearrangement) -> tuple[Array, Array]:
    """Masses and places in the caravan when the advice is followed."""
    lying = {
        int(str(row)): (float(kg), float(x_m))
        for row, kg, x_m in zip(here.index, here["total_kg"], here["x_m"], strict=True)
    }
    arrived = []
    for move in advice.moves:
        if move.row in lying:
            kg, x_m = lying[move.row]
            lying[move.row] = (kg - move.mass_kg, x_m)
        if move.to_x_m is not None:
            arrived.append((move.mass_kg, move.to_x_m))
    both = np.array([*lying.values(), *arrived], dtype=float).reshape(-1, 2)
    both = both[both[:, 0] > 1e-9]
    return both[:, 0], both[:, 1]


def _sway_sentence(frame: pd.DataFrame, speed_kmh: float) -> str:
    order = frame.sort_values("damping", ascending=False, kind="stable")["loading"].tolist()
    return (
        f"By a linear model at {speed_kmh:g} km/h the swing dies down soonest with the caravan "
        f"loaded in this order: {', then '.join(order)}. The model ranks loadings of this outfit. "
        "It names no safe speed: it knows no wind, ruts, steering, stabiliser or worn tyre."
    )
