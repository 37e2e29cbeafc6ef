"""Finding the way: for an outfit and for a car alone."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.tow.alternatives import Alternative, alternative_paths
from planner_kit.tow.costing import Costing, RoadSystem, road_system
from planner_kit.tow.leg import Choice
from planner_kit.tow.route import Drive, route_of
from planner_kit.tow.stages import (
    Position,
    drive_ends,
    find_drives,
    private_at,
)
from planner_kit.tow.whereabouts import METRIC

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from planner_kit.outfit.report import Outfit
    from planner_kit.region.region import Region
    from planner_kit.tow.leg import Route
    from planner_kit.trip.household import AvoidRoad, TowWeights, Units


def find_route(
    region: Region,
    outfit: Outfit,
    start: Position,
    end: Position,
    *,
    weights: TowWeights,
    via: Sequence[Position] = (),
    avoid: Sequence[AvoidRoad] = (),
    on: dt.date | None = None,
    tolls: pd.DataFrame | None = None,
    units: Units = METRIC,
) -> Route:
    """The best way for an outfit from one place to another.

    Parameters
    ----------
    region : Region
    outfit : Outfit
    start, end : (float, float)
        lat, lon; each beside a road. [deg]
    weights : TowWeights
        The household's dislikes.
    via : sequence of (float, float)
        Places to pass, in order; the outfit goes on in the direction in which it came if it can.
    avoid : sequence of AvoidRoad
        Roads never to be towed on.
    on : date, optional
        The day, for the law; today where it is left out.
    tolls : DataFrame, optional
        Toll prices, weighed at ``weights.money_per_hour``.
    units : Units
        In which the sentences of the checks tell distances.

    Returns
    -------
    route : Route
        It never crosses a limit that the map has and the outfit breaks.

    Raises
    ------
    NoRouteError
        If a place is far from any road, or no way is open; the sentence says which limits stand
        in the way.
    """
    choices = find_alternatives(
        region, outfit, start, end, weights=weights, via=via, avoid=avoid, on=on, tolls=tolls,
        units=units, most=0,
    )  # fmt: skip
    return choices[0].route


def find_alternatives(
    region: Region,
    outfit: Outfit,
    start: Position,
    end: Position,
    *,
    weights: TowWeights,
    via: Sequence[Position] = (),
    avoid: Sequence[AvoidRoad] = (),
    on: dt.date | None = None,
    tolls: pd.DataFrame | None = None,
    units: Units = METRIC,
    most: int = 3,
) -> tuple[Choice, ...]:
    """The best way and others that are genuinely different; see `find_route` for the arguments.

    Parameters
    ----------
    region, outfit, start, end, weights, via, avoid, on, tolls, units
        As for `find_route`. With points on the way, the dearest stage between two of them has
        alternatives and the others stay.
    most : int
        Alternatives wanted beside the best way.

    Returns
    -------
    choices : tuple of Choice
        The best way first. Each of the others is admissible as `planner_kit.tow.alternatives`
        defines it; the roads may have fewer than are asked for, or none.

    Raises
    ------
    NoRouteError
        See `find_route`.
    """
    day = on or dt.date.today()
    system = road_system(region)
    points = [start, *via, end]
    opened = private_at(system, points)
    costing = system.towing(outfit, weights, on=day, avoid=avoid, opened=opened, tolls=tolls)
    drives = find_drives(system, costing.slot, costing, points)
    choices = [Choice("best", route_of(system, costing, drives, outfit, units=units), 1.0, 0.0)]
    if most == 0:
        return tuple(choices)
    for stage, drive, told in _other_drives(system, costing, drives, most):
        whole = [*drives[:stage], drive, *drives[stage + 1 :]]
        route = route_of(system, costing, whole, outfit, units=units)
        choices.append(
            Choice(
                "wider alternative" if told.wide else "alternative",
                route,
                told.shared_frac,
                told.longer_frac,
            )
        )
    return tuple(choices)


def _other_drives(
    system: RoadSystem, costing: Costing, drives: list[Drive], most: int
) -> list[tuple[int, Drive, Alternative]]:
    """Alternatives to the dearest of some drives, each with the place of that drive."""
    costs = [float(costing.road_cost_s[drive.directed] @ drive.shares()) for drive in drives]
    stage = int(np.argmax(costs))
    drive = drives[stage]
    ends = drive_ends(
        system,
        costing,
        drive.begin,
        drive.end,
        came=int(drive.directed[0]) if stage > 0 else None,
        arriving=int(drive.directed[-1]) if stage < len(drives) - 1 else None,
    )
    best = None if ends is None else system.search.path(costing.slot, ends.starts, ends.targets)
    if ends is None or best is None:
        return []
    if ends.direct is not None and ends.direct[0] <= best.cost_s:
        return []
    found = alternative_paths(
        system, costing.slot, costing, best, ends.starts, ends.targets, most=most,
        begins=ends.begins(costing),
    )  # fmt: skip
    return [(stage, ends.drive(system, other.path), other) for other in found]


def car_route(
    region: Region, start: Position, end: Position, *, on: dt.date | None = None
) -> Route:
    """The quickest way for a car alone; see `find_route` for the errors."""
    day = on or dt.date.today()
    system = road_system(region)
    costing = system.driving(on=day, opened=private_at(system, [start, end]))
    drives = find_drives(system, costing.slot, costing, [start, end])
    return route_of(system, costing, drives, None)
