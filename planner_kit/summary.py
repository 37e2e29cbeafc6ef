"""A plan in a few sentences: what was found, and what to look at first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.outfit import freed_sentences
from planner_kit.outings.stay_checks import unreadable_hours
from planner_kit.rules.plausible import odd_cells, odd_figures
from planner_kit.states import Check, State
from planner_kit.trip import display

if TYPE_CHECKING:
    from planner_kit.plan import TripPlan
    from planner_kit.tow.leg import Leg
    from planner_kit.trip.household import Units
    from planner_kit.trip_files import TripFiles


def all_checks(plan: TripPlan) -> tuple[Check, ...]:
    """Every check of every stage, in the order of the stages; first what the files say oddly."""
    checks = [
        *odd_in_files(plan.files),
        *plan.outfit.checks,
        *plan.tow.checks,
        *plan.sites.checks,
        *plan.cost.checks,
    ]
    for pitch in plan.pitches:
        checks.extend(pitch.checks)
    for outings in plan.outings:
        checks.extend(outings.checks)
    return tuple(checks)


def odd_in_files(files: TripFiles) -> tuple[Check, ...]:
    """Figures in the trip's lists, and of what was driven, that are hardly right.

    Those of the household's car and caravan are among the checks of the outfit.

    Parameters
    ----------
    files : TripFiles

    Returns
    -------
    checks : tuple of Check
        To look at; each names file, row and column.
    """
    inputs, checks = files.inputs, list[Check]()
    lists = {
        "items": (files.items, "item"),
        "sites": (files.sites, "site_id"),
        "attractions": (files.attractions, "attraction_id"),
        "masts": (files.masts, "mast_id"),
        "prices": (files.prices, "item"),
        "tolls": (files.tolls, "toll_name"),
    }
    for what, (frame, label) in lists.items():
        if frame is not None and what in files.paths and len(frame):
            checks += odd_cells(frame, what, files.paths[what].name, label=label)
    unread = unreadable_hours(files.attractions) if "attractions" in files.paths else ""
    if unread:
        sentence = f"{files.paths['attractions'].name}: {unread}"
        checks.append(Check("opening hours", State.UNKNOWN, sentence))
    actuals = inputs.trip.actuals
    if actuals is not None:
        driven = {
            "towing_l_per_100km": _per_100(actuals.tow_fuel_l, actuals.tow_km),
            "solo_l_per_100km": _per_100(actuals.solo_fuel_l, actuals.solo_km),
            "towing_kmh": _per(actuals.tow_km, actuals.tow_hours),
        }
        checks += odd_figures(driven, "actuals", f"{inputs.trip_path.name}, [actuals], worked out:")
    return tuple(checks)


def _per(amount: float | None, of: float | None) -> float | None:
    return None if amount is None or not of else amount / of


def _per_100(amount: float | None, of: float | None) -> float | None:
    share = _per(amount, of)
    return None if share is None else 100 * share


def things_to_look_at(plan: TripPlan, count: int | None = 3) -> tuple[Check, ...]:
    """The gravest checks of a plan, each thing said once.

    First what is not fine; then what the outfit's plates do not tell and what comes near a limit;
    then what else is not known; last the reminders that have no figure.

    Parameters
    ----------
    plan : TripPlan
    count : int or None
        How many at most; None for all.

    Returns
    -------
    checks : tuple of Check
    """
    told: dict[str, Check] = {}
    for check in all_checks(plan):
        if check.state is not State.FINE:
            told.setdefault(check.sentence if check.figure is not None else check.subject, check)
    outfit = set(plan.outfit.checks)
    return tuple(sorted(told.values(), key=lambda check: _gravity(check, outfit))[:count])


def _gravity(check: Check, outfit: set[Check]) -> int:
    if check.state is State.NOT_FINE:
        return 0
    if check.state is State.UNKNOWN:
        return 1 if check in outfit else 2
    return 1 if check.figure is not None and check.limit is not None else 3


def trip_sentences(plan: TripPlan) -> tuple[str, ...]:
    """Where to, how long, what it costs: the plan in sentences in the household's units."""
    trip, units = plan.files.inputs.trip, plan.files.inputs.household.units
    names = ", then ".join(str(name) for name in plan.sites.stays["name"])
    nights = f"{trip.nights} night" + ("" if trip.nights == 1 else "s")
    first = (
        f"{trip.name}: {nights} at {names}, "
        f"{display.day(trip.start, units)} to {display.day(trip.end, units)}."
    )
    cost = plan.cost
    money = (
        f"It costs about {display.money(cost.likely, cost.currency, units, whole=True)} "
        f"({display.money_range(cost.low, cost.high, cost.currency, units)})."
    )
    legs = (_leg_sentence(leg, units) for leg in plan.tow.legs)
    return (first, *legs, money, *_left_at_home(plan, units))


def _left_at_home(plan: TripPlan, units: Units) -> list[str]:
    """What earlier trips did not need, in one sentence; none where they said nothing."""
    lines = plan.outfit.not_needed
    told = [] if lines is None else freed_sentences(lines, units)
    return [" ".join(told)] if told else []


def _leg_sentence(leg: Leg, units: Units) -> str:
    breaks = len(leg.rests)
    resting = "no break" if breaks == 0 else f"{breaks} break" + ("" if breaks == 1 else "s")
    longer = leg.route.length_km - leg.car_route.length_km
    against = (
        f", {display.distance(longer, units)} further than a car alone would go"
        if longer >= 0.5
        else ""
    )
    what = {"out": "Tow out", "home": "Tow home", "move": "Tow on"}[leg.kind]
    to = "" if leg.kind == leg.to_name == "home" else f" to {leg.to_name}"
    return (
        f"{what}{to}: {display.distance(leg.route.length_km, units)}{against}, "
        f"{display.duration(leg.route.time_min)} of driving with {resting}; leave at "
        f"{display.clock(leg.depart, units)}, arrive about {display.clock(leg.arrive, units)}."
    )
