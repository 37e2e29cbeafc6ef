"""A plan of days: which outing on which day, with the reason for each and for what is left out.

The places of a stay become a team orienteering problem (`tours`): a place is worth its score, more
where a visit takes longer, each day has its hours, its driving and its meal, and the days together
are chosen at their best, with a bound on what any other plan could reach.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.outings.day_problem import (
    Book,
    DayLimits,
    Setting,
    day_book,
    places_worth,
    tours_alone,
    with_ways,
)
from planner_kit.outings.day_rows import day_rows
from planner_kit.outings.left_out import reasons_left_out
from planner_kit.outings.tour_search import plan_tours
from planner_kit.outings.tours import Tour, TourPlan, schedule_tour
from planner_kit.reference import constant

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from zoneinfo import ZoneInfo

    import pandas as pd

    from planner_kit.outings.sun import SunTimes
    from planner_kit.outings.travel import Between
    from planner_kit.region.opening import DayHours


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
    light: Mapping[dt.date, SunTimes] | None = None,
    explain: Sequence[str] | None = None,
    time_limit_s: float | None = 2.0,
) -> DayPlan:
    """Outings for the days of a stay.

    Parameters
    ----------
    ranking : DataFrame, best first
        attraction_id, name, indoor, drive_min (one way), time_needed_min, cost, currency; score,
        by, travel_min and travel_km (from `ways_to`) where there are.
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
    light : mapping of date to SunTimes, optional
        An outing under the sky whose hours are not known ends by sunset, and a way home after
        sunset is told.
    explain : sequence of str, optional
        attraction_ids for which it is worked out what they would push out; the best
        `reasons_weighed` of the reference table if not given. An edit that asks for none is quick.
    time_limit_s : float or None
        For the search; with None the work is counted instead, and the same input gives the same
        days on a busy machine too. [s]

    Returns
    -------
    plan : DayPlan

    Notes
    -----
    Only the best `places_weighed` places of the reference table that could be visited at all, with
    the must-sees, are weighed against each other.
    """
    ranking = with_ways(ranking)
    setting = Setting(hours, days, limits, zone, between, light or {})
    held = {key: day for key, day in (pinned or {}).items() if key not in never}
    barred = _barred(ranking, hours, days, never)
    usable = ranking[~ranking["attraction_id"].isin(list(barred))]
    weighed, alone = _best_that_fit(usable, setting, must, held)
    book = day_book(weighed, setting, must=must, pinned=held)
    tours = plan_tours(book.problem, time_limit_s=time_limit_s)
    planned = {str(book.rows[p]["attraction_id"]) for tour in tours.tours for p in tour.places}
    left = ranking[~ranking["attraction_id"].isin(list(planned | set(barred)))]
    why_not = barred | reasons_left_out(left, alone, tours, book, held, explain)
    wet = _wet_days(ranking, book, tours, set(never))
    told = ranking.loc[ranking["attraction_id"].isin(list(why_not)), ["attraction_id", "name"]]
    told = told.assign(why=told["attraction_id"].map(why_not).astype("str"))
    return DayPlan(day_rows(book, tours, wet), told.reset_index(drop=True), tours.gap_frac)


def _best_that_fit(
    usable: pd.DataFrame, setting: Setting, must: Sequence[str], held: Mapping[str, dt.date]
) -> tuple[pd.DataFrame, dict[str, list[Tour | None]]]:
    """The best places that could be visited at all, and what was found of each place looked at.

    Must-sees and pinned places are looked at first; the rest by worth, until there are enough.
    """
    most = int(float(constant("outing_constants", "places_weighed")))
    worth = places_worth(usable)
    first = usable["attraction_id"].isin([*must, *held]).to_numpy()
    order = np.argsort(-(worth + 10 * worth.max(initial=1.0) * first), kind="stable")
    alone: dict[str, list[Tour | None]] = {}
    kept: list[int] = []
    for begin in range(0, len(order), most):
        rows = order[begin : begin + most]
        part = usable.iloc[rows]
        alone |= tours_alone(day_book(part, setting, must=must, pinned=held))
        kept += [
            int(row)
            for row, key in zip(rows, part["attraction_id"], strict=True)
            if any(alone[str(key)])
        ]
        if len(kept) >= most:
            break
    return usable.iloc[np.sort(np.array(kept[:most], dtype=int))], alone


def _barred(
    ranking: pd.DataFrame,
    hours: Mapping[str, Sequence[DayHours]],
    days: Sequence[dt.date],
    never: Sequence[str],
) -> dict[str, str]:
    """Places that no plan may hold, with the reason."""
    why = {}
    for key, drive in zip(ranking["attraction_id"], ranking["travel_min"], strict=True):
        if key in never:
            why[key] = "it is on the never list"
        elif np.isnan(drive):
            why[key] = "the way to it is not known"
        elif not days:
            why[key] = "no day of the stay is free for outings"
        elif all(one.state == "closed" for one in hours[key]):
            shut = "; ".join(
                f"closed on {one.day:%a} {one.day.day} {one.day:%b}" for one in hours[key]
            )
            why[key] = shut
    return why


def _wet_days(
    ranking: pd.DataFrame, book: Book, plan: TourPlan, never: set[str]
) -> tuple[Book, tuple[Tour, ...]]:
    """For the days with an outing under the sky, the best places under a roof, one for each.

    A place is used again only where the days that need a roof outnumber the roofs.
    """
    planned = {str(book.rows[p]["attraction_id"]) for tour in plan.tours for p in tour.places}
    out = ranking["attraction_id"].isin(list(planned | never)) | ranking["travel_min"].isna()
    roofed = ranking[(ranking["indoor"] == "yes") & ~out]
    most = int(float(constant("outing_constants", "places_weighed")))
    best = np.argsort(-places_worth(roofed), kind="stable")[:most]
    indoor = day_book(roofed.iloc[best], book.setting)
    sky = [tour for tour in plan.tours if any(book.rows[p]["indoor"] != "yes" for p in tour.places)]
    used: set[int] = set()
    found = []
    for tour in sorted(sky, key=lambda one: one.day):
        for place in sorted(range(len(best)), key=lambda p: p in used):
            wet = schedule_tour(indoor.problem, tour.day, (place,))
            if wet is not None:
                used.add(place)
                found.append(wet)
                break
    return indoor, tuple(found)
