"""Maps of a tow at a scale that shows its roads: strips along the way, and the last miles."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import shapely
from shapely.ops import substring

from planner_kit.pack import blocks
from planner_kit.pack.leg_points import leg_points
from planner_kit.pack.print_map import print_map
from planner_kit.reference import constant
from planner_kit.states import State
from planner_kit.tow.route_card import turn_words
from planner_kit.tow.whereabouts import road_kind
from planner_kit.trip import display

if TYPE_CHECKING:
    from shapely.geometry import LineString

    from planner_kit.pack.blocks import Block
    from planner_kit.plan import TripPlan
    from planner_kit.tow.leg import Leg
    from planner_kit.trip.household import Units

Bounds = tuple[float, float, float, float]
_MOST_STRIPS = 6


def strip_sheet(plan: TripPlan, leg: Leg, width_mm: float) -> Block:
    """The whole way in strips, three to a page, and codes of its places for a phone.

    Parameters
    ----------
    plan : TripPlan
    leg : Leg
        Its route must not be empty.
    width_mm : float
        Room for drawings between the margins. [mm]

    Returns
    -------
    sheet : dict
    """
    units = plan.files.inputs.household.units
    length_km = leg.route.length_km
    most_km = constant("pack", "strip_length").value
    count = int(np.clip(np.ceil(length_km / most_km), 1, _MOST_STRIPS))
    edges = np.linspace(0.0, 1.0, count + 1)
    # Three of them and the codes fill a page.
    height_mm = 66.0 if count < 3 else 52.0
    figures = []
    points = leg_points(plan, leg)
    for begin, end in pairwise(edges):
        part = substring(leg.route.geometry, begin, end, normalized=True)
        span = " to ".join(display.distance(share * length_km, units, 0) for share in (begin, end))
        figures.append(
            blocks.figure(
                print_map(
                    plan.files.region,
                    route=leg.route.geometry,
                    points=points,
                    bounds=_around(part, 0.14),
                    size_mm=(width_mm, height_mm),
                    units=units,
                ),
                f"Map of the tow from {span}.",
                f"{span} from the start.",
                width_mm=width_mm,
            )
        )
    return blocks.sheet(
        "strips",
        f"The way in strips: {display.day(leg.day, units, 'short')}",
        [
            *figures,
            blocks.heading("Positions for a phone"),
            blocks.text(
                "Point the camera at a square: the phone's own map opens, without a signal too if "
                "it has the map stored. A phone's map does not know the caravan: stay on this way.",
                small=True,
            ),
            blocks.codes(_positions(plan, leg)),
        ],
        intro=f"From {leg.from_name} to {leg.to_name}, in driving order. North is up.",
    )


def last_miles_sheet(plan: TripPlan, leg: Leg, width_mm: float) -> Block:
    """The end of the way on a large map, what the site asks on arrival, and codes for a phone.

    Parameters
    ----------
    plan : TripPlan
    leg : Leg
        A leg that ends at a site.
    width_mm : float
        Room for drawings between the margins. [mm]

    Returns
    -------
    sheet : dict
    """
    units = plan.files.inputs.household.units
    # The map shows what the report below it tells, road by road.
    last_km = constant("pack", "last_miles").value
    if leg.approach is not None and not leg.approach.stretches.empty:
        last_km = leg.approach.length_km
    share = max(0.0, 1.0 - last_km / leg.route.length_km) if leg.route.length_km > 0 else 0.0
    part = substring(leg.route.geometry, share, 1.0, normalized=True)
    approach = [check for check in leg.checks if check.subject.startswith("approach")]
    return blocks.sheet(
        "last miles",
        f"The last {display.distance(min(last_km, leg.route.length_km), units)}: {leg.to_name}",
        [
            blocks.figure(
                print_map(
                    plan.files.region,
                    route=leg.route.geometry,
                    points=leg_points(plan, leg),
                    bounds=_around(part, 0.12),
                    size_mm=(width_mm, 80.0),
                    units=units,
                ),
                f"Large map of the last part of the way to {leg.to_name}.",
                "The dark line is the tow; arrows point the way. North is up.",
                width_mm=width_mm,
            ),
            blocks.facts(_arrival_facts(plan, leg), columns=4),
            blocks.checks(approach)
            or blocks.text("Nothing is known about the last miles beyond what this map shows."),
            *_stretches(leg, units),
        ],
        intro=f"Arrive about {display.clock(leg.arrive, units)}.",
    )


def _stretches(leg: Leg, units: Units) -> list[Block | None]:
    """The last miles road by road, and what to look at by eye in the order in which it comes."""
    approach = leg.approach
    if approach is None or approach.stretches.empty:
        return []
    rows = [
        (
            display.distance(row["from_end_km"], units),
            _turn(row["turn_deg"]) + road_words(str(row["road_class"]), str(row["name"])),
            _on_two_lines(
                display.dimension(row["width_m"], units, "limit"),
                str(row["width_known"]).replace("as tagged", "by the map"),
            )
            if row["width_m"] == row["width_m"]
            else "not known",
            _on_two_lines(display.gradient(row["steepest_pct"], units)),
            "none"
            if row["bend_radius_m"] == float("inf")
            else _on_two_lines(display.metres(row["bend_radius_m"], units)),
            blocks.noted_cell("no", f"{_count(row['passing_places'])} mapped")
            if row["meets"] == "no"
            else {"yes": "yes"}.get(row["meets"], "unknown"),
            blocks.state_cell(row["state"]),
        )
        for row in approach.stretches.to_dict("records")
    ]
    return [
        blocks.table(
            [("before the end", "auto right"), ("road", "1fr"), ("width", "1fr"),
             ("steepest", "auto"), ("tightest bend", "auto"), ("a car can pass", "auto"),
             ("state", "auto")],
            rows,
        ),
        blocks.heading("Look at, in this order"),
        blocks.ticks(approach.look_at),
    ]  # fmt: skip


def road_words(road_class: str, name: str) -> str:
    """A road by its name and its kind, as people call it; without a name by its kind alone."""
    kind = road_kind(road_class)
    return f"{kind} without a name" if name.startswith("unnamed ") else f"{name} ({kind})"


def _on_two_lines(figure: str, note: str = "") -> blocks.Cell:
    """A figure, and below it in small letters what it is in other units, and a note."""
    first, _, rest = figure.partition(" (")
    return blocks.noted_cell(first, ", ".join(part for part in (rest.rstrip(")"), note) if part))


def _count(places: int) -> str:
    return {0: "no passing place", 1: "1 passing place"}.get(places, f"{places} passing places")


def _turn(turn_deg: float) -> str:
    """The turn into a road, before its name; empty where one goes on."""
    words = turn_words(turn_deg)
    return "" if words == "go on" else f"{words} into "


def _arrival_facts(plan: TripPlan, leg: Leg) -> list[tuple[str, object]]:
    stays = plan.sites.stays
    here = stays[stays["name"].astype(str) == leg.to_name]
    if here.empty:
        return [("arrive from", "unknown"), ("arrive until", "unknown"), ("phone", "unknown")]
    row = here.iloc[0]
    booking = plan.files.inputs.trip.stays[int(here.index[0])].booking
    return [
        ("arrive from", row["arrive_from"] or "unknown"),
        ("arrive until", row["arrive_until"] or "unknown"),
        ("phone", row["phone"] or "unknown"),
        ("gate code", booking.arrival_code or "none given"),
    ]


def _positions(plan: TripPlan, leg: Leg) -> list[tuple[str, float, float]]:
    """The site, the rests on the way, and the nearest other site that would do."""
    lon, lat = leg.route.geometry.coords[-1][:2]
    places = [(leg.to_name, lat, lon)]
    places += [
        (f"rest: {row['name'] or row['kind']}", float(row["lat"]), float(row["lon"]))
        for row in leg.rests.to_dict("records")[:2]
    ]
    spare = _plan_b(plan, leg, lat, lon)
    return [*places, *([spare] if spare else [])]


def _plan_b(plan: TripPlan, leg: Leg, lat: float, lon: float) -> tuple[str, float, float] | None:
    """The nearest candidate of the shortlist that is not out and not plainly unfit."""
    rows = plan.sites.shortlist
    if rows.empty:
        return None
    usable = rows[
        (rows["removed_by"].astype(str) == "")
        & (rows["fit"].astype(str) != State.NOT_FINE.value)
        & (rows["name"].astype(str) != leg.to_name)
        & rows["lat"].notna()
        & rows["lon"].notna()
    ]
    if usable.empty:
        return None
    across = (usable["lon"] - lon) * np.cos(np.radians(lat))
    row = usable.loc[np.hypot(across, usable["lat"] - lat).idxmin()]
    return f"plan B: {row['name']}", float(row["lat"]), float(row["lon"])


def _around(part: LineString, more_frac: float) -> Bounds:
    """The frame of a piece of the way, with some room; never so small that no road is seen."""
    west, south, east, north = shapely.bounds(part)
    room_lon = max((east - west) * more_frac, 0.004)
    room_lat = max((north - south) * more_frac, 0.003)
    return west - room_lon, south - room_lat, east + room_lon, north + room_lat
