"""A plan of days as rows that people read."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.outings.travel import CAR, FOOT
from planner_kit.reference import constant

if TYPE_CHECKING:
    from planner_kit.outings.day_problem import Book, Record, Setting
    from planner_kit.outings.tours import Tour, TourPlan

DAY_COLUMNS = (
    "day", "start", "end", "attraction_id", "name", "what", "why", "arrive", "leave", "drive_min",
    "drive_km", "cost", "by",
)  # fmt: skip
_MERITS = {
    "part_rating": "what others think of it",
    "part_drive": "a short way",
    "part_cost": "its price",
    "part_age": "your ages",
    "part_wet_day": "a roof",
    "part_likes": "what you like",
    "part_time": "more time there than on the way",
}


def day_rows(book: Book, plan: TourPlan, wet: tuple[Book, tuple[Tour, ...]]) -> pd.DataFrame:
    """The rows of `DAY_COLUMNS` for a plan and the tours under a roof that may replace it."""
    rows: list[Record] = []
    tours = {tour.day: tour for tour in plan.tours if tour.places}
    rainy = {tour.day: tour for tour in wet[1]}
    for at, day in enumerate(book.setting.days):
        if at not in tours:
            empty: Record = dict.fromkeys(DAY_COLUMNS)
            chosen = len(book.setting.days) - len(tours) <= len(book.setting.days) - (
                book.problem.most_days or 0
            )
            why = "a rest day" if chosen else "nothing fits: see what was left out and why"
            none: Record = {"attraction_id": "", "name": "", "what": "rest", "why": why}
            rows.append({**empty, "day": day, **none})
            continue
        rows += _rows_of(book, tours[at], "outing")
        if at in rainy:
            rows += _rows_of(wet[0], rainy[at], "wet-day plan")
        elif any(book.rows[place]["indoor"] != "yes" for place in tours[at].places):
            rows[-1]["why"] += "; no place under a roof fits this day, should it rain"
    frame = pd.DataFrame(rows, columns=list(DAY_COLUMNS))
    for name in ("start", "end", "arrive", "leave"):
        frame[name] = pd.to_datetime(frame[name], utc=True).dt.tz_convert(str(book.setting.zone))
    for name in ("drive_min", "drive_km", "cost"):
        frame[name] = frame[name].astype("float64")
    return frame


def _rows_of(book: Book, tour: Tour, what: str) -> list[Record]:
    midnight = dt.datetime.combine(book.setting.days[tour.day], dt.time(0), book.setting.zone)

    def at(minute: float) -> dt.datetime:
        return midnight + dt.timedelta(minutes=minute)

    rows: list[Record] = []
    before, sets_out = 0, tour.leave_min
    for number, (place, start) in enumerate(zip(tour.places, tour.starts_min, strict=True)):
        row = book.rows[place]
        leave = start + float(book.problem.visit_min[place])
        last = number == len(tour.places) - 1
        drive = book.problem.drive_min[before, place + 1]
        km = book.km[before, place + 1]
        if last:
            drive, km = drive + book.problem.drive_min[place + 1, 0], km + book.km[place + 1, 0]
        notes = _notes(book, tour, row)
        if leave <= tour.meal_min < (np.inf if last else tour.starts_min[number + 1]):
            notes.append(f"a meal at {at(tour.meal_min):%H:%M}, before you go on")
        if last:
            notes += light_home(book.setting, tour.day, at(tour.back_min))
        reason = "if it rains, instead of this day's outings" if what != "outing" else (
            "a must" if str(row["attraction_id"]) in book.must else _merit(row)
        )  # fmt: skip
        rows.append(
            {
                "day": book.setting.days[tour.day],
                "start": at(sets_out),
                "end": at(tour.back_min if last else leave),
                "attraction_id": row["attraction_id"],
                "name": row["name"],
                "what": what,
                "why": "; ".join(dict.fromkeys([reason, *notes])),
                "arrive": at(start),
                "leave": at(leave),
                "drive_min": float(drive),
                "drive_km": float(km),
                "cost": row["cost"],
                "by": row["by"],
            }
        )
        before, sets_out = place + 1, leave
    return rows


def _notes(book: Book, tour: Tour, row: Record) -> list[str]:
    """What a person should know of a visit: what is not known, and the walk from the car."""
    hours = book.setting.hours[str(row["attraction_id"])][tour.day]
    unsure = hours.state == "unknown"
    notes = [hours.note] if hours.note and not unsure else []
    if np.isnan(float(row["time_needed_min"])):
        needed = float(constant("outing_constants", "time_needed_if_unknown_min"))
        notes.append(f"the time it takes is not known, {needed:.0f} min are kept for it")
    walk = float(row.get("walk_min", 0))
    if row["by"] != CAR:
        how = "on foot" if row["by"] == FOOT else "by bicycle"
        notes.append(f"{how}, {float(row['travel_min']):.0f} min each way")
    elif walk > 0:
        notes.append(f"the last {walk:.0f} min are on foot")
    if unsure:
        notes.append(f"{hours.note or 'opening hours are not known'}: ask before you go")
    return notes


def light_home(setting: Setting, day: int, back: dt.datetime) -> list[str]:
    """What to know of the light on the way home; nothing where the party is back by sunset."""
    light = setting.light.get(setting.days[day])
    if light is None or light.sunset is None or back <= light.sunset:
        return []
    if light.dusk is None or back <= light.dusk:
        return [f"the way home is in twilight, sunset is at {light.sunset:%H:%M}"]
    return [f"the way home is in the dark, the last light is at {light.dusk:%H:%M}"]


def _merit(place: Record) -> str:
    """The two largest parts of the score that tell one place from another."""
    parts = {words: float(place[name]) for name, words in _MERITS.items() if name in place}
    best = sorted((name for name in parts if parts[name] > 0), key=lambda name: -parts[name])[:2]
    return f"ranks high for {' and '.join(best)}" if best else "ranks high"
