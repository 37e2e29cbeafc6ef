"""A loading beside other ways to lay the same things: how each swings in the linear model."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd

from planner_kit.outfit.loading import with_totals
from planner_kit.outfit.statics import centre_m, yaw_inertia_kg_m2
from planner_kit.outfit.sway import SwayModel, critical_speed_kmh, damping
from planner_kit.reference import constant

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner_kit.outfit.masses import Masses
    from planner_kit.outfit.noseweight import Noseweight
    from planner_kit.outfit.rearranging import Rearrangement
    from planner_kit.outfit.report import Outfit
    from planner_kit.trip.household import Household

    Array = NDArray[np.float64]

_STANDARD_GRAVITY = 9.80665
_ENDS: tuple[Literal["value", "low", "high"], ...] = ("value", "low", "high")
# The loading that the others are held against.
PLAIN = "plain: close together, same noseweight"


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


def compare_loadings(
    household: Household,
    outfit: Outfit,
    items: pd.DataFrame,
    masses: Masses,
    nose: Noseweight,
    advice: Rearrangement | None,
) -> tuple[pd.DataFrame | None, str]:
    """The loading as it is beside other ways to lay the same things.

    Parameters
    ----------
    household : Household
    outfit : Outfit
    items : DataFrame
        The loading list.
    masses : Masses
    nose : Noseweight
    advice : Rearrangement or None
        Compared too, where it moves anything.

    Returns
    -------
    sway : DataFrame or None
        As in `LoadPlan`; None when a figure is missing.
    sentence : str
        What the comparison says, or what is missing for it.
    """
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
    if empty_kg <= 0:
        return None, (
            "Loadings cannot be compared: the things on the loading list weigh more than the whole "
            "laden caravan, so one of the masses is wrong."
        )
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
    plain = frame["loading"] == PLAIN
    frame["trend_pct"] = (
        (critical / float(critical[plain].iloc[0]) - 1) * 100 if plain.any() else np.nan
    )
    return frame, _sway_sentence(frame, speed)


def _compared(mass: Array, place: Array) -> dict[str, tuple[Array, Array]]:
    """Three other ways to lay the same things; the first two keep the noseweight as it is."""
    total, moment = float(mass.sum()), float(mass @ place)
    if not total:
        return {}
    front, tail = float(place.max()), float(place.min())
    others = {
        PLAIN: (np.array([total]), np.array([moment / total])),
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
    said = [f"By a linear model of car and caravan at {speed_kmh:g} km/h"]
    rows = frame.set_index("loading")
    if PLAIN in rows.index:
        now, plain = rows.iloc[0], rows.loc[PLAIN]
        said[0] += (
            f" a swing of this loading has a damping of {now['damping']:.3f}, against "
            f"{plain['damping']:.3f} for the plain one, in which the same things lie close "
            "together at the same noseweight."
        )
        said.append(_trend(float(now["trend_pct"])))
        said.append("A swing dies down soonest in this order:")
    else:
        said[0] += " a swing dies down soonest in this order:"
    said[-1] += f" {'; then '.join(order)}."
    said.append(
        "The model ranks loadings of this outfit. It names no safe speed: it knows no wind, ruts, "
        "steering, stabiliser or worn tyre."
    )
    return " ".join(said)


def _trend(pct: float) -> str:
    if np.isnan(pct):
        return "In the model neither grows a swing at any speed that was tried."
    if abs(pct) < 0.5:
        return "Its swings begin to grow at about the same speed of the model."
    way = "lower" if pct < 0 else "higher"
    return f"Its swings begin to grow at a speed of the model that is {abs(pct):.0f} % {way}."
