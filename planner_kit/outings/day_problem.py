"""The places of a stay as a problem of tours: ways, visits, hours, worth and limits in numbers."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from planner_kit.outings.tours import Meal, Tour, TourProblem, schedule_tour
from planner_kit.reference import constant

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping, Sequence
    from zoneinfo import ZoneInfo

    import pandas as pd

    from planner_kit.outings.travel import Between
    from planner_kit.region.opening import DayHours

    Record = dict[Hashable, Any]


@dataclass(frozen=True)
class DayLimits:
    """What a day out has to keep to.

    Attributes
    ----------
    back_by : time
        Local time by which the party is back at the pitch.
    max_drive_min : float
        Driving on one day, in all. [min]
    rest_days : int
        Days to keep free of outings.
    budget : float or None
        For all outings of the stay, in the household's currency.
    currency : str
    """

    back_by: dt.time
    max_drive_min: float
    rest_days: int = 0
    budget: float | None = None
    currency: str = "GBP"


@dataclass(frozen=True)
class Book:
    """The places that can be reached, and their problem."""

    rows: list[Record]
    problem: TourProblem
    km: np.ndarray
    days: Sequence[dt.date]
    hours: Mapping[str, Sequence[DayHours]]
    zone: ZoneInfo
    must: frozenset[str]


def places_worth(places: pd.DataFrame) -> np.ndarray:
    """What each place adds to a plan: its score, by a power of the time a visit takes."""
    if "score" in places:
        score = places["score"].to_numpy(dtype=float)
    else:
        score = 1 - 0.5 * np.arange(len(places)) / max(len(places), 1)
    usual = float(constant("outing_constants", "time_needed_if_unknown_min"))
    power = float(constant("outing_constants", "worth_of_time_power"))
    needed = places["time_needed_min"].fillna(usual).to_numpy(dtype=float)
    return score * (needed / usual) ** power


def day_book(
    places: pd.DataFrame,
    hours: Mapping[str, Sequence[DayHours]],
    days: Sequence[dt.date],
    limits: DayLimits,
    zone: ZoneInfo,
    must: Sequence[str],
    pinned: Mapping[str, dt.date],
    between: Between | None,
    sunsets: Mapping[dt.date, dt.datetime],
) -> Book:
    """The problem of some places and days; see `planner_kit.outings.days.plan_days`."""

    def number(name: str) -> float:
        return float(constant("outing_constants", name))

    rows = places.to_dict("records")
    keys = [str(key) for key in places["attraction_id"]]
    drive, km = _drives(places, between)
    walk = places["walk_min"].to_numpy(dtype=float) if "walk_min" in places else np.zeros(len(rows))
    walk = np.concatenate([[0.0], walk])
    drive = drive * (1 + number("drive_margin_frac"))
    travel = _in_steps(drive + walk[:, None] + walk[None, :])
    np.fill_diagonal(travel, 0.0)
    needed = places["time_needed_min"].fillna(number("time_needed_if_unknown_min"))
    visit = _in_steps(needed.to_numpy(dtype=float))
    start, end = 60 * number("day_start_h"), _minute(limits.back_by)
    windows = [
        [
            _windows(hours[key][at], day, row, length, start, end, sunsets.get(day))
            for key, row, length in zip(keys, rows, visit, strict=True)
        ]
        for at, day in enumerate(days)
    ]
    own = (places["currency"] == limits.currency).to_numpy()
    cost = np.where(own, places["cost"].to_numpy(dtype=float), 0.0)
    number_of = {key: place for place, key in enumerate(keys)}
    problem = TourProblem(
        travel_min=travel,
        drive_min=drive,
        visit_min=visit,
        prize=places_worth(places),
        cost=np.nan_to_num(cost),
        windows=windows,
        day_start_min=np.full(len(days), start),
        day_end_min=np.full(len(days), end),
        max_drive_min=limits.max_drive_min,
        most_per_day=int(number("outings_per_day")),
        most_days=max(len(days) - limits.rest_days, 0),
        budget=np.inf if limits.budget is None else limits.budget,
        must=frozenset(number_of[key] for key in must if key in number_of),
        pinned={
            number_of[key]: days.index(day) if day in days else -1
            for key, day in pinned.items()
            if key in number_of
        },
        meal=Meal(
            60 * number("meal_from_h"),
            60 * number("meal_to_h"),
            number("meal_min"),
            number("meal_within_min"),
        ),
    )
    return Book(rows, problem, km, days, hours, zone, frozenset(must))


def _drives(places: pd.DataFrame, between: Between | None) -> tuple[np.ndarray, np.ndarray]:
    """Minutes and km from place to place, the pitch first."""
    found = []
    for name, known in (
        ("drive_min", None if between is None else between.minutes),
        ("drive_km", None if between is None else between.km),
    ):
        out = places[name].to_numpy(dtype=float) if name in places else np.full(len(places), np.nan)
        whole = np.zeros((len(places) + 1, len(places) + 1))
        whole[0, 1:] = whole[1:, 0] = out
        inner = out[:, None] + out[None, :]
        if known is not None:
            keys = places["attraction_id"]
            given = known.reindex(index=keys, columns=keys).to_numpy(dtype=float)
            inner = np.where(np.isnan(given), inner, given)
        np.fill_diagonal(inner, 0.0)
        whole[1:, 1:] = inner
        found.append(whole)
    return found[0], found[1]


def _minute(clock: dt.time) -> float:
    return clock.hour * 60 + clock.minute


def _in_steps(minutes: np.ndarray) -> np.ndarray:
    step = float(constant("outing_constants", "clock_step_min"))
    return np.asarray(step * np.ceil(minutes / step - 1e-9))


def _windows(
    hours: DayHours,
    day: dt.date,
    row: Record,
    visit: float,
    start: float,
    end: float,
    sunset: dt.datetime | None,
) -> tuple[tuple[float, float], ...]:
    """When a visit may start, in minutes of the day."""

    def of(moment: dt.datetime) -> float:
        return (moment.date() - day).days * 1440 + _minute(moment.time())

    if hours.state == "closed":
        return ()
    if hours.state == "unknown":
        last = end
        if row["indoor"] == "no" and sunset is not None:
            last = min(last, math.floor(of(sunset)))
        return ((start, last - visit),) if last - visit >= start else ()
    before_close = float(row.get("last_entry_min") or 0)
    stay = max(visit, 0.0 if np.isnan(before_close) else before_close)
    spans = [(of(opens), of(closes) - stay) for opens, closes in hours.opens]
    step = float(constant("outing_constants", "clock_step_min"))
    spans = [(step * math.ceil(opens / step), latest) for opens, latest in spans]
    return tuple(span for span in spans if span[1] >= span[0])


def tours_alone(book: Book) -> dict[str, list[Tour | None]]:
    """For each place its tour on each day, if it were the only one."""
    return {
        str(row["attraction_id"]): [
            schedule_tour(book.problem, day, (place,)) for day in range(book.problem.days)
        ]
        for place, row in enumerate(book.rows)
    }
