"""What the outfit can start on and climb: type approval, grip of the driven wheels, power."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant
from planner_kit.states import Check, State
from planner_kit.tow.road_load import climbing_speeds_kmh, load_value, road_load
from planner_kit.tow.whereabouts import runs
from planner_kit.trip.display import distance, gradient, mass, speed

if TYPE_CHECKING:
    from planner_kit.outfit.report import Outfit
    from planner_kit.tow.whereabouts import Way

_STEEPEST = np.linspace(0.0, 0.60, 601)


def _value(name: str) -> float:
    return constant("hills", name).value


@dataclass(frozen=True)
class Starts:
    """The gradients on which an outfit can be trusted to get away from rest; None: not known.

    Attributes
    ----------
    approved_pct : float or None
        By the type approval of the car: five starts within five minutes on 12 % with the train at
        its plated mass, carried over to the mass of this trip. [%]
    wet_pct, dry_pct, loose_pct : float or None
        By the grip of the driven wheels on wet and dry asphalt and on a loose road. [%]
    """

    approved_pct: float | None
    wet_pct: float | None
    dry_pct: float | None
    loose_pct: float | None


def start_limits(outfit: Outfit) -> Starts:
    """On what gradients an outfit gets away.

    Parameters
    ----------
    outfit : Outfit

    Returns
    -------
    starts : Starts

    References
    ----------
    .. [1] Commission Regulation (EU) No 1230/2012, Annex I part A, point 5; see
       ``data/reference/hills.csv`` for what was read.
    """
    grips = (
        gripped_gradient_pct(outfit, grip=_value(name))
        for name in ("grip_wet", "grip_dry", "grip_loose")
    )
    return Starts(approved_gradient_pct(outfit), *grips)


def approved_gradient_pct(outfit: Outfit) -> float | None:
    """The gradient on which the pull that type approval proves starts the train as laden [%].

    A train lighter than its plate starts on steeper hills with the same pull, a heavier one on
    flatter ones only; None where either mass is not known.
    """
    if outfit.train_kg is None or outfit.train_plate_kg is None:
        return None
    rolling = road_load(outfit, towing=True).rolling
    angle = np.arctan(_value("start_gradient") / 100)
    pull = outfit.train_plate_kg / outfit.train_kg * (np.sin(angle) + rolling * np.cos(angle))
    slopes = np.arctan(_STEEPEST)
    able = np.sin(slopes) + rolling * np.cos(slopes) <= pull + 1e-12
    return float(np.round(100 * _STEEPEST[able].max(), 1)) if able.any() else 0.0


def gripped_gradient_pct(outfit: Outfit, *, grip: float) -> float | None:
    """The steepest gradient on which the driven wheels get the outfit away without spinning [%].

    Parameters
    ----------
    outfit : Outfit
    grip : float
        Coefficient of friction between tyre and road.

    Returns
    -------
    gradient_pct : float or None
        None where the driven axle, its load, the wheelbase or a mass is not known.

    Notes
    -----
    Uphill, weight moves to the rear wheels: the car's own by the height of its centre of mass, and
    the caravan's pull by the height of the ball. Both unload a driven front axle.
    """
    if (
        outfit.driven is None
        or outfit.driven_axle_kg is None
        or outfit.car_wheelbase_m is None
        or outfit.car_kg is None
        or outfit.train_kg is None
    ):
        return None
    slopes = np.arctan(_STEEPEST)
    gravity, rolling = load_value("gravity"), road_load(outfit, towing=True).rolling
    hill = gravity * np.sin(slopes) + rolling * gravity * np.cos(slopes) + _value("getting_away")
    need_n = outfit.train_kg * hill
    drawn_n = (outfit.train_kg - outfit.car_kg) * hill
    moved_n = (
        outfit.car_kg * (gravity * np.sin(slopes) + _value("getting_away"))
        * _value("centre_height") + drawn_n * _value("ball_height")
    ) / outfit.car_wheelbase_m  # fmt: skip
    share = {"front": -1.0, "rear": 1.0, "all": 0.0}[outfit.driven]
    on_wheels_n = outfit.driven_axle_kg * gravity * np.cos(slopes) + share * moved_n
    able = grip * on_wheels_n >= need_n
    return float(np.round(100 * _STEEPEST[able].max(), 1)) if able[0] else 0.0


def climb_checks(way: Way, outfit: Outfit) -> tuple[Check, ...]:
    """Whether the outfit can start again on the steepest climb of a route, and how slow it gets.

    Parameters
    ----------
    way : Way
    outfit : Outfit
    """
    slope = way.numbers("steepest_up_pct")
    slope = np.where(way.ferry, np.nan, slope)
    if len(slope) == 0 or np.isnan(slope).all():
        return (
            Check(
                subject="starting on hills",
                state=State.UNKNOWN,
                sentence="No gradient is known for this way, so whether the outfit can start again "
                "on its hills is not known.",
                rule=_rule(),
                source=constant("hills", "start_gradient").source,
            ),
        )
    return (_start_check(way, outfit, int(np.nanargmax(slope)), slope), _speed_check(way, outfit))


def _rule() -> str:
    return (
        f"{_value('starts'):.0f} starts within {_value('starts_within'):.0f} min on "
        f"{_value('start_gradient'):g} % at the plated mass of the train; grip of the driven wheels"
    )


def _start_check(way: Way, outfit: Outfit, place: int, slope: np.ndarray) -> Check:
    worst = float(slope[place])
    starts = start_limits(outfit)
    where = f"{gradient(worst, way.units)}, {way.where(place)}"
    parts, missing = [], []
    state = State.FINE
    if starts.approved_pct is None:
        missing.append("the gross train mass on the car's plate and the laden masses")
    else:
        parts.append(
            f"the car's type approval ({_value('start_gradient'):g}% at "
            f"{mass(outfit.train_plate_kg, way.units)}) comes to "
            f"{gradient(starts.approved_pct, way.units)} at the "
            f"{mass(outfit.train_kg, way.units)} of this trip"
        )
        if worst > starts.approved_pct:
            state = State.LOOK
    if starts.wet_pct is None or starts.dry_pct is None:
        missing.append("the driven axle with its load, and the wheelbase")
    else:
        parts.append(
            f"the driven wheels grip up to about {gradient(starts.wet_pct, way.units)} in the wet, "
            f"{gradient(starts.dry_pct, way.units)} in the dry"
        )
        if worst > starts.dry_pct:
            state = State.NOT_FINE
        elif worst > starts.wet_pct:
            state = State.LOOK
    if missing and state is State.FINE:
        state = State.UNKNOWN
    advice = {
        State.FINE: "It can start again there.",
        State.LOOK: "Do not stop on it; wait below until it is clear.",
        State.NOT_FINE: "If it has to stop there it will not get away: take another way.",
        State.UNKNOWN: f"Not known: {' and '.join(missing)}.",
    }[state]
    told = "; ".join(parts)
    limits = [pct for pct in (starts.approved_pct, starts.wet_pct) if pct is not None]
    least = min(limits, default=None)
    return Check(
        subject="starting on hills",
        state=state,
        sentence=f"The steepest climb is {where}. {told[:1].upper()}{told[1:]}"
        f"{'. ' if told else ''}{advice} The car's handbook decides.",
        figure=worst,
        limit=least,
        unit="%",
        margin=None if least is None else least - worst,
        rule=_rule(),
        source=constant("hills", "start_gradient").source,
        basis="published",
        **way.position(place, middle=True),
    )


def _speed_check(way: Way, outfit: Outfit) -> Check:
    """How far the climbs slow the outfit down."""
    mean = way.numbers("gradient_pct")
    held = climbing_speeds_kmh(np.nan_to_num(mean), outfit)
    slow = (held < _value("slow_climb")) & ~way.ferry
    long = [(a, b) for a, b in runs(slow) if way.length_km(a, b) * 1000 >= _value("sustained")]
    known = outfit.power_kw is not None and outfit.train_kg is not None
    state = State.LOOK if long else State.FINE if known else State.UNKNOWN
    power = "" if known else " The engine's power or a mass is not known and was assumed."
    rule = "the speed at which the engine's pull and the hill balance"
    if not long:
        return Check(
            subject="climbing",
            state=state,
            sentence=f"{_never_slow(way, held)}{power}",
            unit="km/h",
            rule=rule,
            source="road load at the outfit's mass and power",
        )
    first, last = max(long, key=lambda run: way.length_km(*run))
    least = float(held[first : last + 1].min())
    return Check(
        subject="climbing",
        state=state,
        sentence=f"{way.at(first)}, {way.where(first)}: the engine holds no more than "
        f"{speed(least, way.units)} on {way.length(first, last)} of climb; change down early, let "
        f"others by where it is safe and watch the temperature.{power}",
        figure=least,
        limit=_value("slow_climb"),
        unit="km/h",
        margin=least - _value("slow_climb"),
        rule=f"{rule}; pointed out below {speed(_value('slow_climb'), way.units)} for "
        f"{distance(_value('sustained') / 1000, way.units)}",
        source="road load at the outfit's mass and power",
        **way.position(first),
    )


def _never_slow(way: Way, held_kmh: np.ndarray) -> str:
    """That no climb of a way slows the outfit down much, and which does so most."""
    slower = (np.asarray(way.steps["limited_by"]) == "climb") & np.isfinite(held_kmh)
    if not slower.any():
        return (
            "No climb slows the outfit: the engine could pull it faster than the law and the road "
            "let it."
        )
    place = int(np.argmin(np.where(slower, held_kmh, np.inf)))
    return (
        f"The climbs of this way slow the outfit down a little: most of all at "
        f"{distance(float(way.start_km[place]), way.units)}, {way.where(place)}, to about "
        f"{speed(float(held_kmh[place]), way.units)}."
    )
