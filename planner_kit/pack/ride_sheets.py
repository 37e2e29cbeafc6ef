"""The sheet of rides and walks of a stay: each with its map, its heights and how hard it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.pack import blocks
from planner_kit.pack.print_map import print_map
from planner_kit.pack.profile_chart import heights_chart
from planner_kit.trip import display

if TYPE_CHECKING:
    from planner_kit.outings.report import OutingsReport
    from planner_kit.outings.stay_rides import StayRide
    from planner_kit.pack.blocks import Block
    from planner_kit.plan import TripPlan
    from planner_kit.trip.household import Units

_MAPPED = 6  # rides with a map and profile of their own; the table names them all
_SURFACE_WORDS = {
    "traffic_free": "free of cars",
    "quiet": "quiet roads",
    "some_traffic": "some traffic",
    "busy": "busy roads",
    "unpaved": "unpaved",
    "surface_unknown": "surface not known",
    "off_map": "not on the map",
}


def ride_sheets(plan: TripPlan, report: OutingsReport, title: str, width_mm: float) -> list[Block]:
    """The rides and walks of a stay; no sheet where there is none.

    Parameters
    ----------
    plan : TripPlan
    report : OutingsReport
    title : str
        Name of the site.
    width_mm : float
        Room for drawings between the margins. [mm]
    """
    if not report.rides:
        return []
    units = plan.files.inputs.household.units
    found: list[Block | None] = [
        blocks.table(
            [
                ("", "auto right"), ("ride or walk", "1fr"), ("length", "auto right"),
                ("climb", "auto right"), ("moving", "auto right"), ("for children", "auto"),
                ("start", "auto right"),
            ],
            [
                (
                    str(number),
                    blocks.noted_cell(
                        f"{ride.name} ({_WAYS[ride.mode]}, {ride.kind})", origin_words(ride)
                    ),
                    display.distance(ride.length_km, units),
                    _climb(ride),
                    display.duration(ride.time_min),
                    blocks.state_cell(ride.difficulty),
                    "the pitch"
                    if ride.at_pitch
                    else f"{display.distance(ride.start_away_km, units)} away",
                )
                for number, ride in enumerate(report.rides, start=1)
            ],
        )
    ]  # fmt: skip
    for number, ride in enumerate(report.rides[:_MAPPED], start=1):
        found += _one(plan, number, ride, units, width_mm)
    if len(report.rides) > _MAPPED:
        found.append(
            blocks.text(
                f"The first {_MAPPED} have a map here; the ways of all are in rides.gpx beside "
                "the record."
            )
        )
    sheet = blocks.sheet(
        "rides",
        f"Rides and walks: {title}",
        found,
        intro="Times are in motion, without stops, at the pace of the slowest.",
    )
    return [sheet]


_WAYS = {"bike": "by bicycle", "foot": "on foot"}


def _climb(ride: StayRide) -> str:
    return "unknown" if display.is_missing(ride.climb_m) else f"{ride.climb_m:.0f} m"


def _one(
    plan: TripPlan, number: int, ride: StayRide, units: Units, width_mm: float
) -> list[Block | None]:
    parts = [
        f"{share * 100:.0f}% {_SURFACE_WORDS.get(kind, kind)}"
        for kind, share in ride.shares.items()
        if share >= 0.005
    ]
    words = [
        f"For children: {hard_words(ride)}.",
        "Of the way: " + ", ".join(parts) + "." if parts else "",
        recorded_sentence(ride),
        *ride.unknowns,
    ]
    start = ride.geometry.coords[0]
    points = pd.DataFrame(
        [(start[1], start[0], "start", str(number), "outing")],
        columns=["lat", "lon", "label", "mark", "kind"],
    )
    drawn = print_map(
        plan.files.region,
        route=ride.geometry,
        points=points,
        size_mm=(width_mm, 44.0),
        units=units,
    )
    height_m = ride.profile["height_m"].to_numpy(dtype=np.float64)
    known = len(height_m) > 1 and np.isfinite(height_m).any()
    along = display.distance_in_units(1.0, units) * ride.profile["km"].to_numpy(dtype=np.float64)
    chart = heights_chart(along, height_m, units, size_mm=(width_mm, 26.0)) if known else None
    return [
        blocks.heading(f"{number}. {ride.name}"),
        blocks.text(" ".join(word if word.endswith(".") else f"{word}." for word in words if word)),
        blocks.figure(
            drawn,
            f"Map of {ride.name}.",
            "The dark line is the way; arrows point the way round. North is up.",
            width_mm=width_mm,
        ),
        blocks.figure(
            chart, f"Heights along {ride.name}.", "Heights along the way.", width_mm=width_mm
        )
        or blocks.text("The heights along this way are not known."),
        blocks.text(escapes_sentence(ride, units)),
    ]


def hard_words(ride: StayRide) -> str:
    """How hard a ride is for children, and what makes it so."""
    joint = "," if ride.why.startswith("for ") else ":"
    return f"{ride.difficulty}{joint} {ride.why}"


def origin_words(ride: StayRide) -> str:
    """Where a ride comes from, with its file and those that hold the same way."""
    files = [ride.file] if ride.file else []
    same = f"the same way as {', '.join(ride.same_as)}" if ride.same_as else ""
    inside = "; ".join(filter(None, [*files, same]))
    return f"{ride.origin} ({inside})" if inside else ride.origin


def recorded_sentence(ride: StayRide) -> str:
    """How long a ride took when it was recorded; empty where its file holds no times."""
    if np.isnan(ride.recorded_min):
        return ""
    halts = "" if ride.halts_min < 1 else f" and {display.duration(ride.halts_min)} of halts"
    return f"When it was recorded it took {display.duration(ride.recorded_min)} in motion{halts}."


def escapes_sentence(ride: StayRide, units: Units) -> str:
    """The places along a ride from which the way back is short; empty where there is none."""
    told = [
        f"after {display.distance(row['km'], units, 1)} it is "
        f"{display.distance(row['back_km'], units, 1)} back"
        for row in ride.escapes.to_dict("records")
    ]
    return f"To cut it short: {'; '.join(told)} to the start." if told else ""
