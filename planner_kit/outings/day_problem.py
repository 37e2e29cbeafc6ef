"""The places of a stay as a problem of tours: ways, visits, hours, worth and limits in numbers."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from planner_kit.outings.tours import Meal, Tour, TourProblem, schedule_tour
from planner_kit.outings.travel import CAR
from planner_kit.reference import constant

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping, Sequence
    from zoneinfo import ZoneInfo

    import pandas as pd

    from planner_kit.outings.sun import SunTimes
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
    before_dark : bool
        Whether to be back by the end of the civil twilight, where that is earlier.
    """

    back_by: dt.time
    max_drive_min: float
    rest_days: int = 0
    budget: float | None = None
    currency: str = "GBP"
    before_dark: bool = False


@dataclass(frozen=True)
class Setting:
    """What holds for every place of a stay: its days, their hours, light and limits.

    Attributes
    ----------
    hours : mapping of str to sequence of DayHours
        For each place one for each of `days`.
    days : sequence of date
    limits : DayLimits
    zone : ZoneInfo
    between : Between or None
    light : mapping of date to SunTimes
    """

    hours: Mapping[str, Sequence[DayHours]]
    days: Sequence[dt.date]
    limits: DayLimits
    zone: ZoneInfo
    between: Between | None
    light: Mapping[dt.date, SunTimes]


@dataclass(frozen=True)
class Book:
    """Some places, a row for each, and the problem of their tours."""

    rows: list[Record]
    problem: TourProblem
    km: np.ndarray
    setting: Setting
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


def with_ways(ranking: pd.DataFrame) -> pd.DataFrame:
    """A ranking with by, travel_min and travel_km; all by car where it does not say."""
    if "travel_min" in ranking:
        return ranking
    walk = ranking["walk_min"] if "walk_min" in ranking else 0.0
    km = ranking["drive_km"] if "drive_km" in ranking else np.nan
    return ranking.assign(by=CAR, travel_min=ranking["drive_min"] + walk, travel_km=km)


def day_book(
    places: pd.DataFrame,
    setting: Setting,
    *,
    must: Sequence[str] = (),
    pinned: Mapping[str, dt.date] | None = None,
) -> Book:
    """The problem of some places and days; see `planner_kit.outings.days.plan_days`."""

    def number(name: str) -> float:
        return float(constant("outing_constants", name))

    days, limits = setting.days, setting.limits
    rows = places.to_dict("records")
    keys = [str(key) for key in places["attraction_id"]]
    drive, km, other = _ways(places, setting.between)
    drive = drive * (1 + number("drive_margin_frac"))
    travel = _in_steps(drive + other[:, None] + other[None, :])
    np.fill_diagonal(travel, 0.0)
    needed = places["time_needed_min"].fillna(number("time_needed_if_unknown_min"))
    visit = _in_steps(needed.to_numpy(dtype=float))
    start = 60 * number("day_start_h")
    ends = np.array([_latest_back(setting, day) for day in days])
    windows = [
        [
            _windows(setting, at, row, length, start, float(ends[at]))
            for row, length in zip(rows, visit, strict=True)
        ]
        for at in range(len(days))
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
        day_end_min=ends,
        max_drive_min=limits.max_drive_min,
        most_per_day=int(number("outings_per_day")),
        most_days=max(len(days) - limits.rest_days, 0),
        budget=np.inf if limits.budget is None else limits.budget,
        must=frozenset(number_of[key] for key in must if key in number_of),
        pinned={
            number_of[key]: days.index(day) if day in days else -1
            for key, day in (pinned or {}).items()
            if key in number_of
        },
        meal=Meal(
            60 * number("meal_from_h"),
            60 * number("meal_to_h"),
            number("meal_min"),
            number("meal_within_min"),
        ),
    )
    return Book(rows, problem, km, setting, frozenset(must))


def _ways(
    places: pd.DataFrame, between: Between | None
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Minutes at the wheel and km from place to place, the pitch first, and minutes besides.

    A place that is walked or cycled to lies on a way of its own: one comes back to the pitch.
    """
    by_car = (places["by"] == CAR).to_numpy()
    walk = places["walk_min"].to_numpy(dtype=float) if "walk_min" in places else 0.0
    other = np.where(by_car, walk, places["travel_min"].to_numpy(dtype=float))
    found = []
    for name, known in (
        ("drive_min", None if between is None else between.minutes),
        ("drive_km", None if between is None else between.km),
    ):
        out = places[name].to_numpy(dtype=float) if name in places else np.full(len(places), np.nan)
        out = np.where(by_car, out, 0.0)
        whole = np.zeros((len(places) + 1, len(places) + 1))
        whole[0, 1:] = whole[1:, 0] = out
        inner = out[:, None] + out[None, :]
        if known is not None:
            keys = places["attraction_id"]
            given = known.reindex(index=keys, columns=keys).to_numpy(dtype=float)
            usable = ~np.isnan(given) & by_car[:, None] & by_car[None, :]
            inner = np.where(usable, given, inner)
        np.fill_diagonal(inner, 0.0)
        whole[1:, 1:] = inner
        found.append(whole)
    return found[0], found[1], np.concatenate([[0.0], other])


def _latest_back(setting: Setting, day: dt.date) -> float:
    """The hour to be back, or the last light where the party wants to be back before dark."""
    latest = _minute(setting.limits.back_by)
    light = setting.light.get(day)
    if setting.limits.before_dark and light is not None and light.dusk is not None:
        latest = min(latest, math.floor(_minute_of(light.dusk, day)))
    return latest


def _minute(clock: dt.time) -> float:
    return clock.hour * 60 + clock.minute


def _in_steps(minutes: np.ndarray) -> np.ndarray:
    step = float(constant("outing_constants", "clock_step_min"))
    return np.asarray(step * np.ceil(minutes / step - 1e-9))


def _minute_of(moment: dt.datetime, day: dt.date) -> float:
    """Minutes from the midnight that begins a day."""
    return (moment.date() - day).days * 1440 + _minute(moment.time())


def _windows(
    setting: Setting, at: int, row: Record, visit: float, start: float, end: float
) -> tuple[tuple[float, float], ...]:
    """When a visit may start on day number `at`, in minutes of the day."""
    day, hours = setting.days[at], setting.hours[str(row["attraction_id"])][at]
    if hours.state == "closed":
        return ()
    if hours.state == "unknown":
        last, light = end, setting.light.get(day)
        if row["indoor"] == "no" and light is not None and light.sunset is not None:
            last = min(last, math.floor(_minute_of(light.sunset, day)))
        return ((start, last - visit),) if last - visit >= start else ()
    before_close = float(row.get("last_entry_min") or 0)
    stay = max(visit, 0.0 if np.isnan(before_close) else before_close)
    step = float(constant("outing_constants", "clock_step_min"))
    spans = (
        (step * math.ceil(_minute_of(opens, day) / step), _minute_of(closes, day) - stay)
        for opens, closes in hours.opens
    )
    return tuple(span for span in spans if span[1] >= span[0])


def tours_alone(book: Book) -> dict[str, list[Tour | None]]:
    """For each place its tour on each day, if it were the only one."""
    return {
        str(row["attraction_id"]): [
            schedule_tour(book.problem, day, (place,)) for day in range(book.problem.days)
        ]
        for place, row in enumerate(book.rows)
    }
