"""The ways of one tow, found and told: in the kernel, or in a process beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner_kit.diary import files_with_lessons
from planner_kit.errors import NoRouteError
from planner_kit.tow import (
    approach_report,
    compare_routes,
    find_alternatives,
    route_corners,
    start_limits,
)
from planner_kit.tow.climbing import climb_checks
from planner_kit.tow.drive import leg_plans
from planner_kit.tow.network import keeps_left
from planner_kit.tow.whereabouts import PlaceNames, Way
from planner_kit.trip.wording import with_feet
from planner_kit.views import look
from planner_kit.views.tow_parts import told_aloud
from planner_kit.views.tow_plan import outfit_on
from planner_kit.views.tow_tables import approach_html, corners_html, starts_html
from planner_kit.views.tow_ways import ways_html

if TYPE_CHECKING:
    from pathlib import Path

    from planner_kit.outfit import Outfit
    from planner_kit.tow.drive import LegPlan
    from planner_kit.tow.leg import Choice, Route
    from planner_kit.trip.household import AvoidRoad, TowWeights
    from planner_kit.trip_files import TripFiles

OTHERS = 3


@dataclass(frozen=True)
class OpenTow:
    """One tow of a trip with all that a search needs, read once.

    Attributes
    ----------
    files : TripFiles
    plan : LegPlan
    outfit : Outfit
    """

    files: TripFiles
    plan: LegPlan
    outfit: Outfit


@dataclass(frozen=True)
class WayWish:
    """What is wanted of a tow, small enough to be handed to another process at every key.

    Attributes
    ----------
    opened : str
        Names the opening of the trip's files that the wish belongs to.
    trip_path : Path
    leg : int
        Which tow of the trip, from 0.
    weights : TowWeights
    via : tuple of (float, float)
        Points on the way: lat, lon. [deg]
    avoid : tuple of AvoidRoad
        The household's roads never to be towed on.
    """

    opened: str
    trip_path: Path
    leg: int
    weights: TowWeights
    via: tuple[tuple[float, float], ...]
    avoid: tuple[AvoidRoad, ...]


@dataclass(frozen=True)
class WaysFound:
    """The ways for a wish, told.

    Attributes
    ----------
    choices : tuple of Choice
        The best first; empty where there is none.
    table : str
        The ways side by side, or why there is none, as markup.
    ends : tuple of str
        Of each way its last miles and its turns, as markup; empty where only the best was wanted.
    """

    choices: tuple[Choice, ...]
    table: str
    ends: tuple[str, ...]


# What was opened last. A process beside the kernel opens the same files once for all wishes.
_OPEN: dict[str, OpenTow] = {}


def open_tow(files: TripFiles, leg: int, name: str) -> OpenTow:
    """Open a tow of a trip, and keep it for the wishes that name it.

    Parameters
    ----------
    files : TripFiles
    leg : int
        From 0.
    name : str
        What wishes call this opening.
    """
    plan = leg_plans(files.inputs, files.sites)[leg]
    tow = OpenTow(files, plan, outfit_on(files, plan.day))
    _OPEN.clear()
    _OPEN[name] = tow
    return tow


def find_ways_for(wish: WayWish) -> WaysFound:
    """The ways for a wish, with others beside the best, whichever process this is.

    Parameters
    ----------
    wish : WayWish

    Raises
    ------
    PlannerKitError
        If the trip or one of its files cannot be used any more.
    """
    tow = _OPEN.get(wish.opened)
    if tow is None:
        tow = open_tow(files_with_lessons(wish.trip_path), wish.leg, wish.opened)
    return find_ways(tow, wish)


def find_ways(tow: OpenTow, wish: WayWish, *, others: bool = True) -> WaysFound:
    """The ways for a wish.

    Parameters
    ----------
    tow : OpenTow
    wish : WayWish
    others : bool
        Also those that are genuinely different from the best, and the last miles of each.
    """
    files, plan = tow.files, tow.plan
    household = files.inputs.household
    try:
        choices = find_alternatives(
            files.region,
            tow.outfit,
            (plan.begin.lat, plan.begin.lon),
            (plan.end.lat, plan.end.lon),
            weights=wish.weights,
            via=wish.via,
            avoid=(*wish.avoid, *files.inputs.trip.tow.avoid),
            on=plan.day,
            tolls=files.tolls,
            units=household.units,
            most=OTHERS if others else 0,
        )
    except NoRouteError as error:
        words = str(error)
        told = with_feet(f"{words[:1].upper()}{words[1:]}.", household.units)
        return WaysFound((), told_aloud(look.cautions([told])), ())
    compared = compare_routes(
        choices,
        files.region,
        tow.outfit,
        household,
        prices=files.prices,
        tolls=files.tolls,
        on=plan.day,
        learnt=files.inputs.learnt,
        corners=others,
    )
    table = look.part(ways_html(compared, household.units, searched=others))
    ends = tuple(_end_html(tow, each.route) for each in choices) if others else ()
    return WaysFound(choices, table, ends)


def _end_html(tow: OpenTow, route: Route) -> str:
    """The last miles of a way, and the turns that are hard to get round."""
    region, units = tow.files.region, tow.files.inputs.household.units
    corners = route_corners(
        route,
        region.roads,
        tow.outfit,
        keeps_left=keeps_left(region, region.roads.iloc[route.road_id]),
        units=units,
    )
    approach = approach_report(
        route,
        region.roads,
        tow.outfit,
        tow.plan.end.name,
        corners=corners.table,
        units=units,
        at_home=tow.plan.kind == "home",
    )
    way = Way(region.roads, route.steps, PlaceNames(region.places), units)
    return look.part(
        look.checks_table([*approach.checks, *corners.checks, *climb_checks(way, tow.outfit)]),
        starts_html(start_limits(tow.outfit), units),
        approach_html(approach, units),
        corners_html(corners, units),
        units=units,
    )
