"""Why a place is in no day of a plan: closed, too far, too dear, or what it would push out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from planner_kit.outings.tour_choice import choose_tours, every_tour
from planner_kit.outings.travel import CAR
from planner_kit.reference import constant

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence

    import pandas as pd

    from planner_kit.outings.day_problem import Book
    from planner_kit.outings.tours import Tour, TourPlan, TourProblem

_MARGIN = "drive_margin_frac"
_MOST_NODES = 1  # of the solver, for each place left out: its first bound and what it finds there
_FULL = "the days are full with places that are worth more"


def reasons_left_out(
    left: pd.DataFrame,
    alone: Mapping[str, Sequence[Tour | None]],
    plan: TourPlan,
    book: Book,
    pinned: Mapping[str, dt.date],
    explain: Sequence[str] | None = None,
) -> dict[str, str]:
    """A reason for each place of `left`, in a sentence's middle.

    Parameters
    ----------
    left : DataFrame, best first
        Places that are in no day; columns of the ranking.
    alone : mapping of str to sequence
        For each place that was looked at its tour on each day, if it were the only one.
    plan : TourPlan
    book : Book
        The places that were weighed against each other.
    pinned : mapping of str to date
    explain : sequence of str, optional
        Places for which it is worked out what they would push out; the best few if not given.

    Returns
    -------
    reasons : dict of str to str
    """
    reasons: dict[str, str] = {}
    problem, days = book.problem, book.setting.days
    currency = book.setting.limits.currency
    spent = sum(float(problem.cost[place]) for tour in plan.tours for place in tour.places)
    number_of = {str(row["attraction_id"]): at for at, row in enumerate(book.rows)}
    asked = 0
    most = int(float(constant("outing_constants", "reasons_weighed")))
    pool = None
    for row in left.to_dict("records"):
        key = str(row["attraction_id"])
        wanted = asked < most if explain is None else key in explain
        if key in pinned and pinned[key] not in days:
            reasons[key] = f"it is pinned to {pinned[key]}, which is no day out of this stay"
        elif (key in alone and not any(alone[key])) or _too_far(row, problem):
            reasons[key] = _misfit(row, problem, key in pinned)
        elif key in pinned:
            reasons[key] = _crowded(key, pinned, book)
        elif _too_dear(row, spent, problem, currency):
            reasons[key] = (
                f"it costs {row['cost']:.2f} {currency} and "
                f"{problem.budget - spent:.2f} {currency} of the budget are left"
            )
        elif key in number_of and wanted and problem.most_per_day is not None:
            asked += 1
            pool = every_tour(problem) if pool is None else pool
            other = choose_tours(
                problem, pool, force=[number_of[key]], time_limit_s=None, most_nodes=_MOST_NODES
            )
            reasons[key] = _pushed_out(plan, other, book)
        else:
            reasons[key] = _FULL
    return reasons


def _too_far(row: Mapping[Any, Any], problem: TourProblem) -> bool:
    return row["by"] == CAR and _there_and_back_min(row) > problem.max_drive_min


def _there_and_back_min(row: Mapping[Any, Any]) -> float:
    """At the wheel, with the margin."""
    return 2 * float(row["drive_min"]) * (1 + float(constant("outing_constants", _MARGIN)))


def _misfit(row: Mapping[Any, Any], problem: TourProblem, is_pinned: bool) -> str:
    if _too_far(row, problem):
        return (
            f"the drive there and back, {_there_and_back_min(row):.0f} min, is more than the day's "
            f"driving allows ({problem.max_drive_min:.0f} min)"
        )
    on = " on the day it is pinned to" if is_pinned else ""
    return f"the visit does not fit between its hours and the time to be back{on}"


def _crowded(key: str, pinned: Mapping[str, dt.date], book: Book) -> str:
    """A day that is shorter than the visits pinned to it."""
    day, problem = pinned[key], book.problem
    rows = [n for n, row in enumerate(book.rows) if pinned.get(str(row["attraction_id"])) == day]
    names = [str(book.rows[row]["name"]) for row in rows]
    visits = float(problem.visit_min[rows].sum())
    nearest = [float(problem.travel_min[[0, *(r + 1 for r in rows if r != at)], at + 1].min())
               for at in rows]  # fmt: skip
    at_least = visits + sum(nearest)
    place = book.setting.days.index(day)
    has = float(problem.day_end_min[place] - problem.day_start_min[place])
    return (
        f"{_listed(names)} are pinned to {day:%a} {day.day} {day:%b} and do not all fit: the "
        f"visits and the ways need at least {_clock(at_least)}, with meals and opening hours "
        f"besides, and the day has {_clock(has)} and at most {problem.most_per_day} outings"
    )


def _listed(names: Sequence[str]) -> str:
    """Names as a list in words: the last one after "and"."""
    return " and ".join(filter(None, [", ".join(names[:-1]), *names[-1:]]))


def _clock(minutes: float) -> str:
    return f"{int(minutes // 60)} h {int(minutes % 60):02d}"


def _too_dear(row: Mapping[Any, Any], spent: float, problem: TourProblem, currency: str) -> bool:
    cost = float(row["cost"]) if row["currency"] == currency else np.nan
    return bool(np.isfinite(problem.budget) and spent + np.nan_to_num(cost) > problem.budget)


def _pushed_out(plan: TourPlan, other: TourPlan | None, book: Book) -> str:
    if other is None:
        return "it fits no day beside the must-sees"
    here, there = ({place for tour in one.tours for place in tour.places} for one in (plan, other))
    rows = [book.rows[place] for place in here - there]
    gone = sorted(str(row["name"] or row["attraction_id"]) for row in rows)
    return f"it would push out {_listed(gone)}, worth more" if gone else _FULL
