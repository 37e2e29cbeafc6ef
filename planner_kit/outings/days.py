"""A plan of days: which outing on which day, with the reason for each and for what is left out.

The places of a stay become a team orienteering problem (`tours`): a place is worth its score, more
where a visit takes longer, each day has its hours, its driving and its meal, and the days together
are chosen at their best, with a bound on what any other plan could reach.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from planner_kit.outings.left_out import reasons_left_out
from planner_kit.outings.tour_search import plan_tours
from planner_kit.outings.tours import Meal, Tour, TourPlan, TourProblem, schedule_tour
from planner_kit.reference import constant

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping, Sequence
    from zoneinfo import ZoneInfo

    from planner_kit.outings.opening import DayHours

    _Record = dict[Hashable, Any]

DAY_COLUMNS = (
    "day", "start", "end", "attraction_id", "name", "what", "why", "arrive", "leave", "drive_min",
    "drive_km", "cost",
)  # fmt: skip
_MERITS = {
    "part_rating": "what others think of it",
    "part_drive": "a short drive",
    "part_cost": "its price",
    "part_age": "your ages",
    "part_wet_day": "a roof",
    "part_likes": "what you like",
}


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
class Between:
    """Drives between places, without the margin.

    Attributes
    ----------
    minutes, km : DataFrame
        Square, rows and columns by attraction_id; NaN where no way is known.
    """

    minutes: pd.DataFrame
    km: pd.DataFrame


@dataclass(frozen=True)
class DayPlan:
    """The days of a stay.

    Attributes
    ----------
    days : DataFrame
        The columns of `DAY_COLUMNS`; what is ``outing``, ``rest`` or ``wet-day plan``. start is
        when the party sets out for the place, end when it is back at the pitch or goes on to the
        next; arrive and leave are at the place. Every day has a row; a wet-day plan stands
        instead of that day's outings.
    left_out : DataFrame
        attraction_id, name, why, in the order of the ranking.
    gap_frac : float
        How far the worth of the plan may be below the best there is; 0 where it is proven best.
    """

    days: pd.DataFrame
    left_out: pd.DataFrame
    gap_frac: float


@dataclass
class _Book:
    """The places that can be reached, and their problem."""

    rows: list[_Record]
    problem: TourProblem
    km: np.ndarray
    days: Sequence[dt.date]
    hours: Mapping[str, Sequence[DayHours]]
    zone: ZoneInfo
    must: frozenset[str]
    notes: list[str] = field(default_factory=list)


def plan_days(
    ranking: pd.DataFrame,
    hours: Mapping[str, Sequence[DayHours]],
    days: Sequence[dt.date],
    limits: DayLimits,
    *,
    zone: ZoneInfo,
    must: Sequence[str] = (),
    never: Sequence[str] = (),
    pinned: Mapping[str, dt.date] | None = None,
    between: Between | None = None,
    sunsets: Mapping[dt.date, dt.datetime] | None = None,
    time_limit_s: float = 2.0,
) -> DayPlan:
    """Outings for the days of a stay.

    Parameters
    ----------
    ranking : DataFrame, best first
        attraction_id, name, indoor, drive_min (one way), time_needed_min, cost, currency; score
        where there is one.
    hours : mapping of str to sequence of DayHours
        One for each of `days`.
    days : sequence of date
        The days that are free for outings, in order.
    limits : DayLimits
    zone : ZoneInfo
    must, never : sequence of str, optional
        attraction_ids that have to be in, and that must not.
    pinned : mapping of str to date, optional
        attraction_ids that have to be on a day.
    between : Between, optional
        Drives from place to place. Two that are not in it are taken to lie on either side of the
        pitch, which never needs less.
    sunsets : mapping of date to datetime, optional
        An outing under the sky whose hours are not known ends by then.
    time_limit_s : float
        For the search. [s]

    Returns
    -------
    plan : DayPlan

    Notes
    -----
    Only the best `places_weighed` places of the reference table that could be visited at all, with
    the must-sees, are weighed against each other.
    """
    held = {key: day for key, day in (pinned or {}).items() if key not in never}
    barred = _barred(ranking, hours, days, never)
    usable = ranking[~ranking["attraction_id"].isin(list(barred))]
    book = _book(usable, hours, days, limits, zone, must, held, between, sunsets or {})
    alone = _alone(book)
    could = [any(alone[str(key)]) for key in usable["attraction_id"]]
    usable = usable[np.array(could, dtype=bool)]
    wanted = set(must) | set(held)
    most = int(float(constant("outing_constants", "places_weighed")))
    worth = _worth(usable)
    first = usable["attraction_id"].isin(list(wanted)).to_numpy()
    order = np.argsort(-(worth + 10 * worth.max(initial=1.0) * first), kind="stable")[:most]
    weighed = usable.iloc[np.sort(order)]
    book = _book(weighed, hours, days, limits, zone, must, held, between, sunsets or {})
    tours = plan_tours(book.problem, time_limit_s=time_limit_s)
    planned = {str(book.rows[p]["attraction_id"]) for tour in tours.tours for p in tour.places}
    why_not = barred | reasons_left_out(
        ranking[~ranking["attraction_id"].isin(list(planned | set(barred)))],
        alone, book.problem, tours, weighed, days, limits.currency, held,
    )  # fmt: skip
    wet = _wet_days(ranking, hours, days, limits, zone, book, tours, set(never), sunsets or {})
    left = ranking.loc[ranking["attraction_id"].isin(list(why_not)), ["attraction_id", "name"]]
    left = left.assign(why=left["attraction_id"].map(why_not).astype("str"))
    return DayPlan(_frame(book, tours, wet), left.reset_index(drop=True), tours.gap_frac)


def _barred(
    ranking: pd.DataFrame,
    hours: Mapping[str, Sequence[DayHours]],
    days: Sequence[dt.date],
    never: Sequence[str],
) -> dict[str, str]:
    """Places that no plan may hold, with the reason."""
    why = {}
    for key, drive in zip(ranking["attraction_id"], ranking["drive_min"], strict=True):
        if key in never:
            why[key] = "it is on the never list"
        elif np.isnan(drive):
            why[key] = "the drive to it is not known"
        elif not days:
            why[key] = "no day of the stay is free for outings"
        elif all(one.state == "closed" for one in hours[key]):
            shut = "; ".join(
                f"closed on {one.day:%a} {one.day.day} {one.day:%b}" for one in hours[key]
            )
            why[key] = shut
    return why


def _worth(places: pd.DataFrame) -> np.ndarray:
    """What each place adds to a plan: its score, by a power of the time a visit takes."""
    if "score" in places:
        score = places["score"].to_numpy(dtype=float)
    else:
        score = 1 - 0.5 * np.arange(len(places)) / max(len(places), 1)
    usual = float(constant("outing_constants", "time_needed_if_unknown_min"))
    power = float(constant("outing_constants", "worth_of_time_power"))
    needed = places["time_needed_min"].fillna(usual).to_numpy(dtype=float)
    return score * (needed / usual) ** power


def _book(
    places: pd.DataFrame,
    hours: Mapping[str, Sequence[DayHours]],
    days: Sequence[dt.date],
    limits: DayLimits,
    zone: ZoneInfo,
    must: Sequence[str],
    pinned: Mapping[str, dt.date],
    between: Between | None,
    sunsets: Mapping[dt.date, dt.datetime],
) -> _Book:
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
        prize=_worth(places),
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
    return _Book(rows, problem, km, days, hours, zone, frozenset(must))


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
    row: _Record,
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


def _alone(book: _Book) -> dict[str, list[Tour | None]]:
    """For each place its tour on each day, if it were the only one."""
    return {
        str(row["attraction_id"]): [
            schedule_tour(book.problem, day, (place,)) for day in range(book.problem.days)
        ]
        for place, row in enumerate(book.rows)
    }


def _wet_days(
    ranking: pd.DataFrame,
    hours: Mapping[str, Sequence[DayHours]],
    days: Sequence[dt.date],
    limits: DayLimits,
    zone: ZoneInfo,
    book: _Book,
    plan: TourPlan,
    never: set[str],
    sunsets: Mapping[dt.date, dt.datetime],
) -> tuple[_Book, tuple[Tour, ...]]:
    """For the days with an outing under the sky, the best places under a roof, one for each.

    A place is used again only where the days that need a roof outnumber the roofs.
    """
    planned = {str(book.rows[p]["attraction_id"]) for tour in plan.tours for p in tour.places}
    out = ranking["attraction_id"].isin(list(planned | never)) | ranking["drive_min"].isna()
    roofed = ranking[(ranking["indoor"] == "yes") & ~out]
    indoor = _book(roofed, hours, days, limits, zone, (), {}, None, sunsets)
    sky = [tour for tour in plan.tours if any(book.rows[p]["indoor"] != "yes" for p in tour.places)]
    used: set[int] = set()
    found = []
    order = np.argsort(-indoor.problem.prize, kind="stable")
    for tour in sorted(sky, key=lambda one: one.day):
        for place in sorted(order, key=lambda p: p in used):
            wet = schedule_tour(indoor.problem, tour.day, (int(place),))
            if wet is not None:
                used.add(int(place))
                found.append(wet)
                break
    return indoor, tuple(found)


def _frame(book: _Book, plan: TourPlan, wet: tuple[_Book, tuple[Tour, ...]]) -> pd.DataFrame:
    rows: list[_Record] = []
    tours = {tour.day: tour for tour in plan.tours if tour.places}
    rainy = {tour.day: tour for tour in wet[1]}
    for at, day in enumerate(book.days):
        if at not in tours:
            empty: _Record = dict.fromkeys(DAY_COLUMNS)
            chosen = len(book.days) - len(tours) <= len(book.days) - (book.problem.most_days or 0)
            why = "a rest day" if chosen else "nothing fits: see what was left out and why"
            none: _Record = {"attraction_id": "", "name": "", "what": "rest", "why": why}
            rows.append({**empty, "day": day, **none})
            continue
        rows += _rows_of(book, tours[at], "outing")
        if at in rainy:
            rows += _rows_of(wet[0], rainy[at], "wet-day plan")
    frame = pd.DataFrame(rows, columns=list(DAY_COLUMNS))
    for name in ("start", "end", "arrive", "leave"):
        frame[name] = pd.to_datetime(frame[name], utc=True).dt.tz_convert(str(book.zone))
    for name in ("drive_min", "drive_km", "cost"):
        frame[name] = frame[name].astype("float64")
    return frame


def _rows_of(book: _Book, tour: Tour, what: str) -> list[_Record]:
    midnight = dt.datetime.combine(book.days[tour.day], dt.time(0), book.zone)

    def at(minute: float) -> dt.datetime:
        return midnight + dt.timedelta(minutes=minute)

    rows: list[_Record] = []
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
            notes.append(f"a meal at {at(tour.meal_min):%H:%M}, before you drive on")
        reason = "if it rains, instead of this day's outings" if what != "outing" else (
            "a must" if str(row["attraction_id"]) in book.must else _merit(row)
        )  # fmt: skip
        rows.append(
            {
                "day": book.days[tour.day],
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
            }
        )
        before, sets_out = place + 1, leave
    return rows


def _notes(book: _Book, tour: Tour, row: _Record) -> list[str]:
    """What a person should know of a visit: what is not known, and the walk from the car."""
    hours = book.hours[str(row["attraction_id"])][tour.day]
    notes = [hours.note] if hours.note else []
    if np.isnan(float(row["time_needed_min"])):
        needed = float(constant("outing_constants", "time_needed_if_unknown_min"))
        notes.append(f"the time it takes is not known, {needed:.0f} min are kept for it")
    walk = float(row.get("walk_min", 0))
    if walk > 0:
        notes.append(f"the last {walk:.0f} min are on foot")
    if hours.state == "unknown":
        notes.append("opening hours are not known: ask before you go")
    return notes


def _merit(place: _Record) -> str:
    """The two largest parts of the score that tell one place from another."""
    parts = {words: float(place[name]) for name, words in _MERITS.items() if name in place}
    best = sorted((name for name in parts if parts[name] > 0), key=lambda name: -parts[name])[:2]
    return f"ranks high for {' and '.join(best)}" if best else "ranks high"
