"""Where on a route the outfit comes near a limit, and its narrow pieces and sharp turns."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from planner_kit.reference import constant
from planner_kit.states import Check, State
from planner_kit.tow.hills import descent_checks, steep_checks
from planner_kit.tow.limits import SignedLimit, needed_width_m, number, signed_limits
from planner_kit.tow.passing import passing_width_m
from planner_kit.tow.whereabouts import METRIC, PlaceNames, Way, longest_runs, runs
from planner_kit.trip.display import dimension
from planner_kit.trip.display import number as shown_number

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from planner_kit.outfit.report import Outfit
    from planner_kit.tow.costing import RoadSystem
    from planner_kit.trip.household import Units

_OSM = "OpenStreetMap tags"
Found = list[tuple[float, Check]]


def _value(name: str) -> float:
    return constant("towing_costs", name).value


def route_checks(
    system: RoadSystem,
    columns: Mapping[str, NDArray[Any]],
    arcs: NDArray[np.int64],
    outfit: Outfit,
    names: PlaceNames,
    *,
    units: Units = METRIC,
) -> tuple[Check, ...]:
    """Where the outfit comes near a limit, and the hardest pieces, in driving order.

    Parameters
    ----------
    system : RoadSystem
    columns : mapping of str to ndarray
        Of the route's steps.
    arcs : ndarray of int64
        The turn before each step, -1 for none.
    outfit : Outfit
    names : PlaceNames
        The region's settlements.
    units : Units
        In which distances are told.

    Returns
    -------
    checks : tuple of Check
        Each with the position of the place.
    """
    way = Way(system.roads, columns, names, units)
    found: Found = [
        *_near_signs(way, outfit),
        *_near_barriers(system, way, arcs, outfit),
        *_near_width(way, outfit),
        *steep_checks(way),
        *descent_checks(way),
        *_narrow(way, outfit),
        *_sharp_turns(way, arcs),
    ]
    found.sort(key=lambda pair: pair[0])
    return tuple(check for _, check in found)


def _near_signs(way: Way, outfit: Outfit) -> Found:
    found: Found = []
    ways = way.rows.values("osm_way_id")
    for limit in signed_limits(outfit):
        told: set[tuple[int, float]] = set()
        signed = number(way.rows, limit.column)
        for place in np.flatnonzero(~np.isnan(signed)):
            key = int(ways[place]), float(signed[place])
            if key in told or limit.need is None:
                continue
            told.add(key)
            plated = _plate_above(limit.tag, outfit, signed[place])
            if not limit.near_at(signed[place]) and not plated:
                continue
            where = way.where(int(place))
            room = float(signed[place]) - limit.need
            found.append(
                (
                    float(way.start_km[place]),
                    Check(
                        subject=f"{limit.what} on {where}",
                        state=State.LOOK,
                        sentence=f"{way.at(int(place))}, {where}: "
                        f"{_sign_words(limit, float(signed[place]), way.units)}.{plated} "
                        "Obey the sign at the road.",
                        figure=limit.need,
                        limit=float(signed[place]),
                        unit=limit.unit,
                        margin=room,
                        rule=f"tag {limit.tag}",
                        source=f"{_OSM}, way {int(ways[place])}",
                        **way.position(int(place), middle=True),
                    ),
                )
            )
    return found


def _sign_words(limit: SignedLimit, signed: float, units: Units) -> str:
    """What a sign allows and how much that is more than the outfit has."""
    room = signed - (limit.need or 0.0)
    if limit.unit == "t":
        allows, more = (f"{shown_number(value, units, 2)} t" for value in (signed, room))
    else:
        allows, more = (dimension(value, units, "limit") for value in (signed, room))
    return f"{limit.tag} is signed {allows}, {more} more than the outfit's {limit.what}"


def _plate_above(tag: str, outfit: Outfit, signed: float) -> str:
    plate = outfit.train_plate_kg
    if tag == "maxweight" and plate is not None and plate / 1000 > signed:
        return (
            f" The train's plated mass of {plate / 1000:.2f} t is above it; where the sign counts "
            "plated masses this road is not allowed."
        )
    return ""


def _near_barriers(system: RoadSystem, way: Way, arcs: NDArray[np.int64], outfit: Outfit) -> Found:
    found: Found = []
    if len(arcs) == 0 or (arcs < 0).all():
        return found
    for limit in signed_limits(outfit)[:2]:
        rows, figures = system.signs.node_signed[limit.column]
        if not len(rows):
            continue
        junction = system.network.junction[np.maximum(arcs, 0)]
        at = np.minimum(np.searchsorted(rows, junction), len(rows) - 1)
        signed = np.where(rows[at] == junction, figures[at], np.nan)
        for place in np.flatnonzero(~np.isnan(signed) & (arcs >= 0)):
            if limit.need is None or not limit.near_at(signed[place]):
                continue
            room = float(signed[place]) - limit.need
            found.append(
                (
                    float(way.start_km[place]),
                    Check(
                        subject=f"{limit.what} at a barrier",
                        state=State.LOOK,
                        sentence=f"{way.at(int(place))}, at a barrier: "
                        f"{_sign_words(limit, float(signed[place]), way.units)}. Obey the sign at "
                        "the road.",
                        figure=limit.need,
                        limit=float(signed[place]),
                        unit=limit.unit,
                        margin=room,
                        rule=f"tag {limit.tag}",
                        source=_OSM,
                        **way.position(int(place)),
                    ),
                )
            )
    return found


def _near_width(way: Way, outfit: Outfit) -> Found:
    """Carriageways that are hardly wider than the outfit needs, or guessed to be narrower."""
    need = needed_width_m(outfit)
    width = way.numbers("width_m")
    found: Found = []
    for first, last in runs(width < need + _value("near_width")):
        place = first + int(np.argmin(width[first : last + 1]))
        least = float(width[place])
        how = way.width_words(first, last)
        sure = how == "as tagged"
        where = way.where(first)
        found.append(
            (
                float(way.start_km[first]),
                Check(
                    subject=f"carriageway width on {where}",
                    state=State.UNKNOWN if not sure and least < need else State.LOOK,
                    sentence=f"{way.at(first)}, {where}: for {way.length(first, last)} the "
                    f"carriageway is {dimension(least, way.units, 'limit')} wide, {how}; the "
                    f"outfit with its margin needs {dimension(need, way.units)}.",
                    figure=need,
                    limit=least,
                    unit="m",
                    margin=least - need,
                    rule="tag width" if sure else f"width {how}",
                    source=_OSM,
                    **way.position(place, middle=True),
                ),
            )
        )
    return found


def _narrow(way: Way, outfit: Outfit) -> Found:
    width = outfit.width_m if outfit.width_m is not None else _value("widest_lawful")
    need = passing_width_m(width)
    oneway = way.rows.values("oneway") != 0
    widths = way.numbers("width_m")
    found: Found = []
    for first, last, km in longest_runs(way, (widths < need) & ~oneway & ~way.ferry, 2):
        if km < _value("narrow_check"):
            continue
        least = float(widths[first : last + 1].min())
        where = way.where(first)
        found.append(
            (
                float(way.start_km[first]),
                Check(
                    subject=f"narrow road from {where}",
                    state=State.LOOK,
                    sentence=f"{way.at(first)}, {where}: {way.length(first, last)} on which a car "
                    "that comes the other way may have to wait or back up; "
                    f"{dimension(least, way.units, 'limit')} at the narrowest, widths "
                    f"{way.width_words(first, last)}.",
                    figure=least,
                    limit=need,
                    unit="m",
                    margin=least - need,
                    rule="outfit, oncoming car and half the usual room",
                    source=_OSM,
                    **way.position(first),
                ),
            )
        )
    return found


def _sharp_turns(way: Way, arcs: NDArray[np.int64]) -> Found:
    ring = way.rows.values("roundabout").astype(bool)
    turns = way.numbers("turn_deg")
    found: Found = []
    for place in np.flatnonzero((np.abs(turns) >= _value("sharp_turn")) & (arcs >= 0) & ~ring):
        turn, where = float(turns[place]), way.where(int(place))
        found.append(
            (
                float(way.start_km[place]),
                Check(
                    subject=f"sharp turn into {where}",
                    state=State.LOOK,
                    sentence=f"{way.at(int(place))}: a turn of "
                    f"{shown_number(abs(turn), way.units)} degrees to the "
                    f"{'right' if turn > 0 else 'left'} into {where}; swing wide, the caravan "
                    "cuts the corner.",
                    figure=abs(turn),
                    limit=_value("sharp_turn"),
                    unit="deg",
                    margin=_value("sharp_turn") - abs(turn),
                    rule="turn at a junction",
                    source="OpenStreetMap geometry",
                    **way.position(int(place)),
                ),
            )
        )
    return found
