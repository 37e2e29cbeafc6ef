"""The days out, rides, daylight and memberships of a stay as tables and drawings of a record."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.pack import print_map
from planner_kit.pack.profile_chart import heights_chart
from planner_kit.pack.ride_sheets import (
    escapes_sentence,
    hard_words,
    origin_words,
    recorded_sentence,
)
from planner_kit.trip import display
from planner_kit.views import look

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.outings.report import OutingsReport
    from planner_kit.outings.stay_rides import StayRide
    from planner_kit.region import Region
    from planner_kit.trip.household import Units
    from planner_kit.trip_files import TripFiles

_BY = {"car": "by car", "foot": "on foot", "bike": "by bicycle"}
_DRAWN = 6
_WORK = (
    "Work at the pedals is the power of whoever sets the pace times the time in motion; 360 kJ are "
    "100 Wh, if a motor were to do it."
)


def days_html(
    days: pd.DataFrame, units: Units, *, gap_frac: float = 0.0, caption: str = "The days"
) -> str:
    """The days of a stay with their hours, ways and reasons.

    Parameters
    ----------
    days : DataFrame
        The columns of `planner_kit.outings.day_rows.DAY_COLUMNS`.
    units : Units
    gap_frac : float
        How far the plan may be below the best there is.
    caption : str
        Empty where a heading stands above the table already.
    """
    clocks = {
        name: ["" if pd.isna(one) else display.clock(one, units) for one in days[name]]
        for name in ("start", "arrive", "leave", "end")
    }
    there = [
        f"{arrive} to {leave}" if arrive else ""
        for arrive, leave in zip(clocks["arrive"], clocks["leave"], strict=True)
    ]
    ways = [
        "" if pd.isna(minutes) else f" {_BY.get(str(by), '')}".rstrip()
        + (f", {display.duration(minutes)}" if by == "car" else "")
        for by, minutes in zip(days["by"], days["drive_min"], strict=True)
    ]  # fmt: skip
    shown = days.assign(
        day=[display.day(day, units, "short") for day in days["day"]],
        what=[f"{what}{way}" for what, way in zip(days["what"], ways, strict=True)],
        start=clocks["start"],
        end=clocks["end"],
        there=there,
    )
    how = (
        "No other plan of these places is worth more."
        if gap_frac < 1e-6
        else "These days are worth at most "
        f"{display.number(100 * gap_frac, units, 1)} % less than the best there can be."
    )
    columns = {
        "day": "Day", "what": "What", "name": "Where", "start": "Set out", "there": "There",
        "end": "Back or on", "why": "Why",
    }  # fmt: skip
    blank = ("name", "start", "there", "end")
    return look.table(shown, columns, caption=caption, blank=blank) + look.paragraphs([how])


def left_out_html(left_out: pd.DataFrame, *, most: int = 15) -> str:
    """What is in no day, best first, and why; nothing where all is planned."""
    if left_out.empty:
        return ""
    return look.table(
        left_out.head(most), {"name": "Left out", "why": "Why"}, caption="What was left out and why"
    )


def light_html(report: OutingsReport, units: Units) -> str:
    """Sunrise, sunset and the end of twilight on the days out."""
    if report.light.empty:
        return ""
    shown = report.light.assign(
        day=[display.day(day, units) for day in report.light["day"]],
        **{
            name: [
                "does not happen" if pd.isna(one) else display.clock(one, units)
                for one in report.light[name]
            ]
            for name in ("sunrise", "sunset", "dusk")
        },
    )
    columns = {"day": "Day", "sunrise": "Sunrise", "sunset": "Sunset", "dusk": "Dark from"}
    return look.table(shown, columns, caption="Daylight on the days out")


def memberships_html(report: OutingsReport, units: Units) -> str:
    """What each membership saves in its year, and the break-even by who comes."""
    if report.memberships.empty:
        return ""
    by = report.by_composition
    shown = by.assign(
        saved=[display.money(one, units.currency, units) for one in by["saved"]],
        fee=[display.money(one, units.currency, units) for one in by["fee_per_year"]],
        needed=["not known" if pd.isna(one) else f"{one:.0f}" for one in by["visits_needed"]],
    )
    columns = {
        "name": "Membership", "who": "For", "saved": "Saves", "fee": "Fee a year",
        "needed": "Visits that earn it",
    }  # fmt: skip
    table = look.table(
        shown,
        columns,
        caption="Is the membership worth it? Entry and parking in its year, by who comes",
        figures=("saved", "fee", "needed"),
    )
    return table + look.bullets(report.memberships["sentence"])


def rides_html(files: TripFiles, rides: Sequence[StayRide]) -> str:
    """The rides and walks of a stay: a table, then each with its map and its heights."""
    if not rides:
        return ""
    units = files.inputs.household.units
    parts = [rides_table(rides, units)]
    for ride in rides[:_DRAWN]:
        parts += [look.paragraphs([f"{ride.name}."]), ride_html(files.region, ride, units)]
    return "".join(parts)


def rides_table(rides: Sequence[StayRide], units: Units) -> str:
    """The rides as a table: how, how long, how hard."""
    shown = pd.DataFrame(
        [
            {
                "name": ride.name,
                "how": f"{_BY[ride.mode]}, {ride.kind}",
                "length": display.distance(ride.length_km, units, 1),
                "climb": "not known" if np.isnan(ride.climb_m) else f"{ride.climb_m:.0f} m",
                "time": display.duration(ride.time_min),
                "work": "none" if np.isnan(ride.energy_kj) else f"{ride.energy_kj:.0f} kJ",
                "hard": hard_words(ride),
                "free": f"{100 * ride.shares['traffic_free']:.0f} %",
                "origin": origin_words(ride),
            }
            for ride in rides
        ]
    )
    columns = {
        "name": "Ride or walk", "how": "How", "length": "Length", "climb": "Climb", "time": "Time",
        "work": "Work at the pedals", "hard": "For children", "free": "Traffic-free",
    }  # fmt: skip
    table = look.table(
        shown,
        columns,
        caption="Rides and walks",
        figures=("length", "climb", "time", "work", "free"),
        below={"name": "origin"},
    )
    cycled = any(not np.isnan(ride.energy_kj) for ride in rides)
    return table + look.paragraphs([_WORK] if cycled else [])


def ride_html(region: Region, ride: StayRide, units: Units) -> str:
    """A ride's map, heights, ways home and what is not known of it."""
    drawn = print_map(region, route=ride.geometry, size_mm=(150.0, 75.0), units=units)
    return f"{drawn}{ride_words_html(ride, units)}"


def ride_words_html(ride: StayRide, units: Units, *, chart: bool = True) -> str:
    """A ride's heights, unless a chart shows them already, its ways home and what is not known."""
    heights = ride.profile["height_m"].to_numpy(dtype=float)
    along = display.distance_in_units(1.0, units) * ride.profile["km"].to_numpy(dtype=float)
    known = len(heights) > 1 and bool(np.isfinite(heights).any())
    drawn = chart and known
    shown = heights_chart(along, heights, units, size_mm=(150.0, 38.0)) if drawn else ""
    said = (recorded_sentence(ride), escapes_sentence(ride, units), *ride.unknowns)
    told = [word for word in said if word]
    return f"{shown}{look.bullets(told)}"
