"""A plan of days: which outing on which day, with the reason for each and for what is left out.

Places are taken in the order of their score, the must-sees first, and each goes to the first day on
which it fits. Every outing is reckoned from the pitch and back to it: two on one day then never
need more time or driving than the plan says.
"""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from planner_kit.reference import constant

if TYPE_CHECKING:
    from collections.abc import Hashable, Mapping, Sequence
    from zoneinfo import ZoneInfo

    from planner_kit.outings.opening import DayHours

    _Record = dict[Hashable, Any]

DAY_COLUMNS = (
    "day", "start", "end", "attraction_id", "name", "what", "why", "arrive", "leave", "drive_min",
    "cost",
)  # fmt: skip


@dataclass(frozen=True)
class DayLimits:
    """What a day out has to keep to.

    Attributes
    ----------
    back_by : time
        Local time by which the party is back at the pitch.
    max_drive_min : float
        Driving on one day, there and back. [min]
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


@dataclass
class _Day:
    day: dt.date
    free_from: dt.datetime
    back_by: dt.datetime
    sunset: dt.datetime | None
    drive_left_min: float
    rows: list[_Record] = field(default_factory=list)


def rest_day_places(days: int, rest_days: int) -> tuple[int, ...]:
    """Which of the days to rest on, spread evenly: positions from 0.

    Parameters
    ----------
    days, rest_days : int
        Rest days beyond the number of days are dropped.
    """
    count = min(rest_days, days)
    return tuple(int((place + 1) * days / (count + 1)) for place in range(count)) if count else ()


def plan_days(
    ranking: pd.DataFrame,
    hours: Mapping[str, Sequence[DayHours]],
    days: Sequence[dt.date],
    limits: DayLimits,
    *,
    zone: ZoneInfo,
    must: Sequence[str] = (),
    never: Sequence[str] = (),
    sunsets: Mapping[dt.date, dt.datetime] | None = None,
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Outings for the days of a stay.

    Parameters
    ----------
    ranking : DataFrame, best first
        attraction_id, name, indoor, drive_min (one way), time_needed_min, cost, currency.
    hours : mapping of str to sequence of DayHours
        One for each of `days`.
    days : sequence of date
        The days that are free for outings, in order.
    limits : DayLimits
    zone : ZoneInfo
    must, never : sequence of str, optional
        attraction_ids that have to be in, and that must not.
    sunsets : mapping of date to datetime, optional
        An outing under the sky whose hours are not known ends by then.

    Returns
    -------
    plan : DataFrame
        The columns of `DAY_COLUMNS`; what is ``outing``, ``rest`` or ``wet-day plan``. start and
        end are when the party leaves the pitch and is back; arrive and leave are at the place.
        Every day has a row; a wet-day plan stands instead of that day's outings.
    left_out : DataFrame
        attraction_id, name, why, in the order of the ranking.
    """
    resting = set(rest_day_places(len(days), limits.rest_days))
    book = [
        _Day(
            day,
            dt.datetime.combine(
                day, _clock(float(constant("outing_constants", "day_start_h"))), zone
            ),
            dt.datetime.combine(day, limits.back_by, zone),
            (sunsets or {}).get(day),
            limits.max_drive_min,
        )
        for day in days
    ]
    spent, planned, why_not = 0.0, set[str](), dict[str, str]()
    for place in _in_order(ranking, hours, must):
        key = place["attraction_id"]
        if key in never:
            why_not[key] = "it is on the never list"
            continue
        cost = float(place["cost"]) if place["currency"] == limits.currency else np.nan
        if limits.budget is not None and spent + np.nan_to_num(cost) > limits.budget:
            money_left = f"{limits.budget - spent:.2f} {limits.currency}"
            why_not[key] = f"it costs {cost:.2f} and {money_left} of the budget are left"
            continue
        reason = _place_it(place, hours, book, resting, is_must=key in must)
        if reason:
            why_not[key] = reason
        else:
            planned.add(key)
            spent += float(np.nan_to_num(cost))
    _add_wet_days(ranking, hours, book, planned, set(never), limits.max_drive_min)
    rows = [row for at, one in enumerate(book) for row in _rows_of(one, at in resting)]
    plan = pd.DataFrame(rows, columns=list(DAY_COLUMNS))
    for name in ("start", "end", "arrive", "leave"):
        plan[name] = pd.to_datetime(plan[name], utc=True).dt.tz_convert(str(zone))
    for name in ("drive_min", "cost"):
        plan[name] = plan[name].astype("float64")
    left = ranking.loc[ranking["attraction_id"].isin(list(why_not)), ["attraction_id", "name"]]
    left = left.assign(why=left["attraction_id"].map(why_not).astype("str"))
    return plan, left.reset_index(drop=True)


def _clock(hour: float) -> dt.time:
    return dt.time(int(hour), round(hour % 1 * 60))


def _in_order(
    ranking: pd.DataFrame, hours: Mapping[str, Sequence[DayHours]], must: Sequence[str]
) -> list[_Record]:
    """Must-sees first, the ones open on the fewest days before the others; then by score."""
    places = ranking.to_dict("records")
    wanted = [place for place in places if place["attraction_id"] in must]
    wanted.sort(key=lambda place: sum(one.state == "open" for one in hours[place["attraction_id"]]))
    return wanted + [place for place in places if place["attraction_id"] not in must]


def _place_it(
    place: _Record,
    hours: Mapping[str, Sequence[DayHours]],
    book: list[_Day],
    resting: set[int],
    *,
    is_must: bool,
) -> str:
    """Put a place on the first day that holds it; otherwise the reason, in a sentence's middle."""
    drive = _drive_min(place)
    if np.isnan(drive):
        return "the drive to it is not known"
    reasons: list[str] = []
    for at, one in enumerate(book):
        if at in resting:
            continue
        visit, reason = _visit_on(place, hours[str(place["attraction_id"])][at], one, drive)
        if visit is None:
            reasons.append(reason)
            continue
        arrive, leave, note = visit
        way = _way(place)
        home = leave + way
        one.rows.append(
            {
                "day": one.day,
                "start": arrive - way,
                "end": home,
                "attraction_id": place["attraction_id"],
                "name": place["name"],
                "what": "outing",
                "why": "; ".join(filter(None, ["a must" if is_must else _merit(place), note])),
                "arrive": arrive,
                "leave": leave,
                "drive_min": 2 * drive,
                "cost": place["cost"],
            }
        )
        one.free_from, one.drive_left_min = home, one.drive_left_min - 2 * drive
        return ""
    if not reasons:
        return "no day of the stay is free for outings"
    return "; ".join(dict.fromkeys(reasons))


def _drive_min(place: _Record) -> float:
    """Minutes one way by car, with the margin."""
    margin = float(constant("outing_constants", "drive_margin_frac"))
    return float(place["drive_min"]) * (1 + margin)


def _way(place: _Record) -> dt.timedelta:
    """One way from the pitch to the place, on foot from the road where it lies off it."""
    return _in_steps(_drive_min(place) + float(place.get("walk_min", 0)))


def _in_steps(minutes: float) -> dt.timedelta:
    step = float(constant("outing_constants", "clock_step_min"))
    return dt.timedelta(minutes=step * math.ceil(minutes / step))


def _visit_on(
    place: _Record, hours: DayHours, one: _Day, drive_min: float
) -> tuple[tuple[dt.datetime, dt.datetime, str] | None, str]:
    if len(one.rows) >= int(float(constant("outing_constants", "outings_per_day"))):
        return None, "the days are full with places that rank higher"
    if 2 * drive_min > one.drive_left_min:
        return None, "the drive there and back is more than the day's driving allows"
    if hours.state == "closed":
        return None, f"closed on {one.day:%a} {one.day.day} {one.day:%b}"
    needed = float(place["time_needed_min"])
    notes = [hours.note] if hours.note else []
    if np.isnan(needed):
        needed = float(constant("outing_constants", "time_needed_if_unknown_min"))
        notes.append(f"the time it takes is not known, {needed:.0f} min are kept for it")
    way, visit = _way(place), _in_steps(needed)
    walk = float(place.get("walk_min", 0))
    if walk > 0:
        notes.append(f"the last {walk:.0f} min are on foot")
    windows = list(hours.opens)
    if hours.state == "unknown":
        end = one.back_by
        if place["indoor"] == "no" and one.sunset is not None:
            end = min(end, one.sunset)
        windows = [(one.free_from, end)]
        notes.append("opening hours are not known: ask before you go")
    for opens, closes in windows:
        arrive = max(one.free_from + way, opens)
        if arrive + visit <= closes and arrive + visit + way <= one.back_by:
            return (arrive, arrive + visit, "; ".join(dict.fromkeys(notes))), ""
    return None, "the visit does not fit between its hours and the time to be back"


_MERITS = {
    "part_rating": "what others think of it",
    "part_drive": "a short drive",
    "part_cost": "its price",
    "part_age": "your ages",
    "part_wet_day": "a roof",
    "part_likes": "what you like",
}


def _merit(place: _Record) -> str:
    """The two largest parts of the score that tell one place from another."""
    parts = {words: float(place[name]) for name, words in _MERITS.items() if name in place}
    best = sorted((name for name in parts if parts[name] > 0), key=lambda name: -parts[name])[:2]
    return f"ranks high for {' and '.join(best)}" if best else "ranks high"


def _add_wet_days(
    ranking: pd.DataFrame,
    hours: Mapping[str, Sequence[DayHours]],
    book: list[_Day],
    planned: set[str],
    never: set[str],
    max_drive_min: float,
) -> None:
    """For each day with an outing under the sky, the best place under a roof that is open then."""
    roofed = ranking[(ranking["indoor"] == "yes") & ~ranking["attraction_id"].isin(planned | never)]
    places = roofed[roofed["drive_min"].notna()].to_dict("records")
    roof_of = dict(zip(ranking["attraction_id"], ranking["indoor"], strict=True))
    used: set[object] = set()
    for at, one in enumerate(book):
        outings = list(one.rows)
        if not outings or all(roof_of[row["attraction_id"]] == "yes" for row in outings):
            continue
        fresh = _Day(one.day, outings[0]["start"], one.back_by, one.sunset, max_drive_min)
        fresh.free_from = min(row["start"] for row in outings)
        for place in sorted(places, key=lambda p: p["attraction_id"] in used):
            drive = _drive_min(place)
            visit, _ = _visit_on(place, hours[place["attraction_id"]][at], fresh, drive)
            if visit is None:
                continue
            arrive, leave, note = visit
            used.add(place["attraction_id"])
            again = "if it rains, instead of this day's outings"
            one.rows.append(
                {
                    "day": one.day,
                    "start": arrive - _way(place),
                    "end": leave + _way(place),
                    "attraction_id": place["attraction_id"],
                    "name": place["name"],
                    "what": "wet-day plan",
                    "why": "; ".join(filter(None, [again, note])),
                    "arrive": arrive,
                    "leave": leave,
                    "drive_min": 2 * drive,
                    "cost": place["cost"],
                }
            )
            break


def _rows_of(one: _Day, resting: bool) -> list[_Record]:
    if one.rows:
        return one.rows
    why = "a rest day" if resting else "nothing fits: see what was left out and why"
    empty: _Record = dict.fromkeys(DAY_COLUMNS)
    return [{**empty, "day": one.day, "attraction_id": "", "name": "", "what": "rest", "why": why}]
