"""Every tow of a trip: out, from site to site, and home, each with its times, stops and costs."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from planner_kit.errors import NoRouteError
from planner_kit.rules.cautions import cautions_for
from planner_kit.states import Check, State
from planner_kit.tow.approach import approach_report
from planner_kit.tow.arrival import check_arrival, check_departure, received_hours
from planner_kit.tow.charges import crossings, fuel_line, toll_lines
from planner_kit.tow.climbing import climb_checks
from planner_kit.tow.comparing import compare_routes
from planner_kit.tow.corners import route_corners
from planner_kit.tow.driving_range import check_range, supply_of
from planner_kit.tow.find import car_route, find_alternatives
from planner_kit.tow.fuel import fuel_use, price_item, use_by_step
from planner_kit.tow.leg import Leg, TowReport
from planner_kit.tow.network import keeps_left
from planner_kit.tow.pace import at_learnt_pace
from planner_kit.tow.rests import plan_rests
from planner_kit.tow.road_facts import roughness_frac
from planner_kit.tow.whereabouts import PlaceNames, Way
from planner_kit.trip.display import distance, duration
from planner_kit.trip.wording import household_words, with_feet

if TYPE_CHECKING:
    from planner_kit.outfit.report import Outfit
    from planner_kit.region.region import Region
    from planner_kit.tow.leg import Route
    from planner_kit.trip.household import Units
    from planner_kit.trip.reading import TripInputs

Kind = Literal["out", "move", "home"]


@dataclass(frozen=True)
class LegEnd:
    """A place where a leg begins or ends; `site` is None for home."""

    name: str
    lat: float
    lon: float
    site: pd.Series | None


@dataclass(frozen=True)
class LegPlan:
    """One leg before it is routed."""

    kind: Kind
    begin: LegEnd
    end: LegEnd
    day: dt.date
    at: dt.time
    via: tuple[tuple[float, float], ...]


def plan_tow(
    inputs: TripInputs,
    region: Region,
    outfit: Outfit,
    sites: pd.DataFrame,
    *,
    tolls: pd.DataFrame,
    prices: pd.DataFrame,
) -> TowReport:
    """Every tow of a trip.

    Parameters
    ----------
    inputs : TripInputs
    region : Region
    outfit : Outfit
    sites : DataFrame
        The household's sites, indexed by site_id.
    tolls, prices : DataFrame
        The household's toll prices and price list.

    Returns
    -------
    report : TowReport

    Raises
    ------
    NoRouteError
        If the outfit cannot be brought to a stay; the sentence names the leg and what stands in
        the way.
    """
    legs = [
        _leg(plan, inputs, region, outfit, tolls=tolls, prices=prices)
        for plan in leg_plans(inputs, sites)
    ]
    return TowReport(tuple(legs), cautions_for("low_bridges", "fatigue", "brakes", "law"))


def leg_plans(inputs: TripInputs, sites: pd.DataFrame) -> list[LegPlan]:
    """The legs of a trip before they are routed: out, from site to site, and home.

    Parameters
    ----------
    inputs : TripInputs
    sites : DataFrame
        The household's sites, indexed by site_id.
    """
    trip, home = inputs.trip, inputs.household.home
    at_home = LegEnd(home.name, home.lat, home.lon, None)
    via = tuple((point.lat, point.lon) for point in trip.tow.via)
    stops = [at_home]
    for stay in trip.stays:
        site = pd.Series(sites.loc[stay.site])
        stops.append(
            LegEnd(str(site["name"]), float(str(site["lat"])), float(str(site["lon"])), site)
        )
    stops.append(at_home)
    days = [trip.start, *(leave for _, leave in trip.stay_dates())]
    plans = []
    for number, (begin, end) in enumerate(pairwise(stops)):
        last = number == len(stops) - 2
        kind: Kind = "out" if number == 0 else "home" if last else "move"
        at = trip.tow.depart_home if kind == "home" else trip.tow.depart
        points = {"out": via, "home": via[::-1], "move": ()}[kind]
        plans.append(LegPlan(kind, begin, end, days[number], at, points))
    return plans


def _leg(
    plan: LegPlan,
    inputs: TripInputs,
    region: Region,
    outfit: Outfit,
    *,
    tolls: pd.DataFrame,
    prices: pd.DataFrame,
) -> Leg:
    household, trip = inputs.household, inputs.trip
    start, end = (plan.begin.lat, plan.begin.lon), (plan.end.lat, plan.end.lon)
    try:
        choices = find_alternatives(
            region,
            outfit,
            start,
            end,
            weights=household.preferences.tow,
            via=plan.via,
            avoid=(*household.avoid_roads, *trip.tow.avoid),
            on=plan.day,
            tolls=tolls,
            units=household.units,
        )
        alone = car_route(region, start, end, on=plan.day)
    except NoRouteError as error:
        told = with_feet(household_words(str(error), household.units), household.units)
        raise NoRouteError(f"{plan.begin.name} to {plan.end.name}: {told}") from error
    zone, unknowns = _zone(region)
    route, taught = at_learnt_pace(choices[0].route, inputs.learnt)
    stint_min = household.preferences.drive_stint_min
    if inputs.learnt is not None and inputs.learnt.stint_min is not None:
        stint_min = min(stint_min, inputs.learnt.stint_min.value)
    depart = dt.datetime.combine(plan.day, plan.at, zone)
    roads = region.roads.iloc[route.road_id]
    rough = roughness_frac(roads)
    fuel = fuel_use(route.steps, outfit, household.car, rough_frac=rough, learnt=inputs.learnt)
    supply = supply_of(
        fuel,
        use_by_step(route.steps, outfit, rough_frac=rough),
        household.car,
        at_start_frac=trip.tow.fuel_at_start_frac if plan.kind == "out" else 1.0,
        reserve_frac=household.preferences.reserve_frac,
    )
    left, names = keeps_left(region, roads), PlaceNames(region.places)
    rests = plan_rests(
        route,
        region.places,
        outfit,
        depart,
        stint_min=stint_min,
        break_min=household.preferences.break_min,
        keeps_left=left,
        dual=roads["dual"].to_numpy(dtype=bool),
        supply=supply,
        ages=_ages(inputs, plan.day),
        received=received_hours(plan.end.site),
        country=_country(roads),
        car_charge_kw=household.car.charge_kw,
    )
    # A drive over a change of the clocks takes as long as any other.
    arrive = _later(depart, route.time_min + rests.extra_min)
    currency = household.units.currency
    corners = route_corners(
        route,
        region.roads,
        outfit,
        keeps_left=left,
        names=names,
        units=household.units,
    )
    approach = approach_report(
        route,
        region.roads,
        outfit,
        plan.end.name,
        corners=corners.table,
        units=household.units,
        at_home=plan.kind == "home",
    )
    checks = [
        *check_departure(plan.begin.site, plan.begin.name, depart, units=household.units),
        *check_arrival(plan.end.site, plan.end.name, depart, arrive, units=household.units),
        rests.check,
        check_range(fuel, supply, route.length_km, rests.stops, rests.short, units=household.units),
        _compared(route, alone, household.units),
        *approach.checks,
        *corners.checks,
        *climb_checks(Way(region.roads, route.steps, names, household.units), outfit),
        *route.near_limits,
    ]
    met = crossings(route.steps, region.roads)
    lines = (
        fuel_line(
            fuel,
            prices,
            price_item(outfit.fuel),
            what=f"tow from {plan.begin.name} to {plan.end.name}",
            currency=currency,
            on=plan.day,
        ),
        *toll_lines(
            met,
            tolls,
            length_m=outfit.length_m,
            vehicle="car_and_caravan",
            currency=currency,
            on=plan.day,
        ),
    )
    if plan.kind != "out":
        unknowns += ("How full the tank is when you leave is not known; full was assumed.",)
    return Leg(
        kind=plan.kind,
        from_name=plan.begin.name,
        to_name=plan.end.name,
        day=plan.day,
        depart=depart,
        arrive=arrive,
        route=route,
        car_route=alone,
        rests=rests.stops,
        fuel=fuel,
        checks=tuple(checks),
        cost_lines=lines,
        unknowns=(*route.unknowns, *unknowns, *taught),
        approach=approach,
        corners=corners,
        rest_notes=rests.explained,
        ways=compare_routes(
            choices,
            region,
            outfit,
            household,
            prices=prices,
            tolls=tolls,
            on=plan.day,
            learnt=inputs.learnt,
        ),
    )


def _later(moment: dt.datetime, minutes: float) -> dt.datetime:
    """A moment some minutes on, counted in real time and shown on the local clock."""
    real = moment.astimezone(dt.UTC) + dt.timedelta(minutes=round(minutes))
    return real.astimezone(moment.tzinfo)


def _zone(region: Region) -> tuple[dt.tzinfo, tuple[str, ...]]:
    if region.time_zone is None:
        return dt.UTC, ("The region's time zone is not known; times are shown as if it were UTC.",)
    return ZoneInfo(region.time_zone), ()


def _ages(inputs: TripInputs, day: dt.date) -> tuple[int | None, ...]:
    """The ages of those who come along; None for one that is not known."""
    party = set(inputs.trip.party)
    people = (p for p in inputs.household.people if not party or p.name in party)
    return tuple(person.age_on(day) for person in people)


def _country(roads: pd.DataFrame) -> str:
    """The country in which most of the way lies; empty where none is known."""
    known = roads["country"].astype(str)
    known = known[known != "unknown"]
    return "" if known.empty else str(known.mode().iloc[0])


def _compared(route: Route, alone: Route, units: Units) -> Check:
    more_min, more_km = route.time_min - alone.time_min, route.length_km - alone.length_km
    shared = np.intersect1d(route.road_id, alone.road_id)
    lengths = alone.steps.set_index("road_id")["length_m"].groupby(level=0).sum()
    share = float(lengths.reindex(shared).sum() / max(float(lengths.sum()), 1e-9))
    return Check(
        subject="tow beside the drive of a car alone",
        state=State.FINE,
        sentence=f"The tow takes {_more(duration(abs(more_min)), more_min)} and is "
        f"{_more(distance(abs(more_km), units), more_km, 'longer', 'shorter')} beside a car alone; "
        f"{share:.0%} of the car's way is the same.",
        figure=route.time_min,
        limit=alone.time_min,
        unit="min",
        margin=-more_min,
        rule="for comparison, not a limit",
        source="computed on the same map",
    )


def _more(shown: str, value: float, more: str = "more", less: str = "less") -> str:
    return f"{shown} {more if value >= 0 else less}"
