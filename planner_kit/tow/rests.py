"""Where to stop on the way: breaks, meals, fuel or charge, all chosen at once."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.reference import constant
from planner_kit.states import Check, State
from planner_kit.tow.stop_choice import Needs, Offer, StopChoice, choose_stops
from planner_kit.tow.stop_offers import DriveLine, OfferMaker
from planner_kit.tow.stop_places import stops_beside
from planner_kit.trip.display import duration

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner_kit.outfit.report import Outfit
    from planner_kit.tow.driving_range import Supply
    from planner_kit.tow.leg import Route

_RULE = "The Highway Code (GB), rule 91"


def _value(name: str) -> float:
    return constant("rests", name).value


@dataclass(frozen=True)
class Rests:
    """The stops of a drive.

    Attributes
    ----------
    stops : DataFrame
        `REST_COLUMNS`, in driving order; minutes is all that the stop adds, the way there too;
        does says what is done (break, meal, fuel, charge to 80 %), filled what is put in
        [l or kWh], hours the place's hours on the day.
    extra_min : float
        What the stops add to the drive. [min]
    longest_stint_min : float
        The longest time at the wheel without a break. [min]
    short : float
        By how much the best stops still touch the reserve. [l or kWh]
    check : Check
    explained : tuple of str
        Why each stop was taken, and what the next best would cost.
    """

    stops: pd.DataFrame
    extra_min: float
    longest_stint_min: float
    short: float
    check: Check
    explained: tuple[str, ...]


def plan_rests(
    route: Route,
    places: pd.DataFrame,
    outfit: Outfit,
    depart: dt.datetime,
    *,
    stint_min: float,
    break_min: float,
    keeps_left: bool,
    dual: NDArray[np.bool_],
    supply: Supply | None = None,
    ages: Sequence[int | None] = (),
    received: tuple[dt.time | None, dt.time | None] = (None, None),
    country: str = "",
    car_charge_kw: float | None = None,
) -> Rests:
    """The best stops of a drive.

    Parameters
    ----------
    route : Route
    places : DataFrame
        The region's places.
    outfit : Outfit
    depart : datetime
        Local time.
    stint_min, break_min : float
        Longest stint and length of a break that the household wants. [min]
    keeps_left : bool
    dual : ndarray of bool, one for each step
        The carriageways are separate.
    supply : Supply, optional
        Fuel or charge; left out, no stop is made for it.
    ages : sequence of int or None
        Of those who come along, for what children need; None for an unknown age.
    received : (time, time) of None or time
        The hours in which the site receives one.
    country : str
        ISO 3166-1 alpha-2 code, for the public holidays of opening hours.
    car_charge_kw : float, optional
        The most that the car takes at a charging point. [kW]

    Returns
    -------
    rests : Rests
        A ferry that takes as long as a break counts as one and is not listed.

    References
    ----------
    .. [1] The Highway Code (GB), rule 91: a break of at least 15 minutes after every two hours.
    """
    young = [age for age in ages if age is not None and age < _value("child_under")]
    if any(age < _value("baby_under") for age in young):
        stint_min = min(stint_min, _value("baby_stint"))
    stops = stops_beside(route, places, outfit, keeps_left=keeps_left, dual=dual)
    line = DriveLine.of(route, supply)
    needs = _needs(line, depart, stint_min, supply, received)
    fill = supply is not None and supply.holds is not None and not supply.lasts
    maker = OfferMaker(line, needs, depart, country, break_min, bool(young),
                   supply if fill else None, car_charge_kw)  # fmt: skip
    # Where nothing is filled the tank does not matter.
    needs = needs if fill else _without_fuel(needs)
    offers = maker.offers(stops)
    choice = choose_stops(offers, needs)
    frame = maker.frame(stops, offers, choice)
    longest = _longest_stint(offers, choice, needs)
    why = _explained(offers, choice, needs, stops)
    check = _check(frame, longest, stint_min, break_min, choice)
    return Rests(frame, choice.extra_min, longest, choice.short, check, why)


def _needs(
    line: DriveLine,
    depart: dt.datetime,
    stint_min: float,
    supply: Supply | None,
    received: tuple[dt.time | None, dt.time | None],
) -> Needs:
    total = float(line.clock_min[-1])
    meals = []
    for name in ("lunch", "supper"):
        first = _minutes_to(depart, _hour(f"{name}_from"))
        last = _minutes_to(depart, _hour(f"{name}_until"))
        due = _value("meal_due")
        # Whoever sets off late or arrives early eats at home or on the pitch.
        if first >= -due and total >= last - due:
            meals.append((first, last))
    opens, shuts = received
    holds = None if supply is None else supply.holds
    return Needs(
        wheel_min=float(line.wheel_min[-1]),
        clock_min=total,
        used=float(line.used[-1]),
        stint_min=stint_min,
        level=float("inf") if supply is None or holds is None else holds * supply.at_start_frac,
        reserve=0.0 if supply is None or holds is None else holds * supply.reserve_frac,
        meals=tuple(meals),
        meal_missed=_value("meal_missed"),
        arrive_from=float("-inf") if opens is None else _minutes_to(depart, opens),
        arrive_until=float("inf") if shuts is None else _minutes_to(depart, shuts),
    )


def _without_fuel(needs: Needs) -> Needs:
    return Needs(
        needs.wheel_min, needs.clock_min, needs.used, needs.stint_min, float("inf"), 0.0,
        needs.meals, needs.meal_missed, needs.arrive_from, needs.arrive_until,
    )  # fmt: skip


def _hour(name: str) -> dt.time:
    return dt.time(int(_value(name)))


def _minutes_to(depart: dt.datetime, clock: dt.time) -> float:
    """From the start to an hour of the same day; below 0 for one before it [min]."""
    return (dt.datetime.combine(depart.date(), clock, depart.tzinfo) - depart).total_seconds() / 60


def _longest_stint(offers: Sequence[Offer], choice: StopChoice, needs: Needs) -> float:
    breaks = [offers[n].wheel_min for n in choice.offers if offers[n].is_break]
    breaks += [offer.wheel_min for offer in offers if offer.forced and offer.is_break]
    marks = np.sort(np.array([0.0, *breaks, needs.wheel_min]))
    return float(np.diff(marks).max(initial=0.0))


def _explained(
    offers: Sequence[Offer],
    choice: StopChoice,
    needs: Needs,
    stops: pd.DataFrame,
) -> tuple[str, ...]:
    """What the drive would cost without each stop: the price of the next best choice."""
    told = []
    for number in choice.offers:
        place = offers[number].place
        rest = [offer for offer in offers if offer.place != place]
        other = choose_stops(rest, needs)
        name = _named(stops, place)
        instead = [
            _named(stops, rest[n].place)
            for n in other.offers
            if rest[n].place not in {offers[m].place for m in choice.offers}
        ]
        at = f"at {' and '.join(dict.fromkeys(instead))}" if instead else "to do without"
        if other.short > choice.short + 1e-6:
            cost = "the reserve would be touched"
        elif other.over_min > choice.over_min + 1e-6:
            cost = f"{duration(other.over_min - choice.over_min)} would be driven beyond the stint"
        elif other.late_min > choice.late_min + 1e-6:
            cost = f"you would arrive {duration(other.late_min - choice.late_min)} too late"
        else:
            time = other.extra_min - choice.extra_min
            marks = other.cost_min - choice.cost_min - time
            parts = ["it would take no longer"]
            if round(abs(time)):
                parts = [f"it would take {duration(abs(time))} {'more' if time > 0 else 'less'}"]
            if round(marks) > 0:
                parts.append(
                    f"but is {duration(marks)} worse by room, side of the road, food or hours"
                )
            cost = " ".join(parts)
        told.append(f"{offers[number].does.capitalize()} at {name}. The next best is {at}: {cost}.")
    if choice.meals_missed:
        told.append("No mapped stop lies right for a meal; eat before you leave or after.")
    return tuple(told)


def _named(stops: pd.DataFrame, place: int) -> str:
    row = stops.iloc[place]
    return str(row["name"]) or f"an unnamed {str(row['kind']).replace('_', ' ')}"


def _check(
    stops: pd.DataFrame, longest: float, stint_min: float, break_min: float, choice: StopChoice
) -> Check:
    advised, advised_break = _value("stint_max"), _value("break_min")
    unsure = int((stops["room"] != "yes").sum())
    count = f"{len(stops)} stop" + ("" if len(stops) == 1 else "s")
    if choice.over_min > 1e-6:
        state = State.NOT_FINE
        sentence = (
            f"No mapped stop keeps you within {duration(stint_min)} at the wheel: the longest "
            f"stint is {duration(longest)}. Plan a break of your own, in a safe place."
        )
    elif longest > advised or break_min < advised_break:
        state = State.LOOK
        sentence = (
            f"The longest stint is {duration(longest)} with breaks of {duration(break_min)}; "
            f"advised is a break of at least {duration(advised_break)} every {duration(advised)}."
        )
    elif unsure:
        state = State.LOOK
        sentence = (
            f"{count}, longest stint {duration(longest)}; at {unsure} of them nobody mapped "
            "whether the outfit has room, so have another in mind."
        )
    else:
        state = State.FINE
        sentence = f"{count}; the longest stint is {duration(longest)}."
    return Check(
        subject="breaks",
        state=state,
        sentence=sentence,
        figure=longest,
        limit=min(stint_min, advised),
        unit="min",
        margin=min(stint_min, advised) - longest,
        rule="a break of 15 min after every two hours of driving is recommended",
        source=_RULE,
        basis="published",
    )
