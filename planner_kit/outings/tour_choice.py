"""The best days: every tour that a day can hold, and the exact choice among them."""

from __future__ import annotations

import contextlib
import os
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array, csr_array, vstack

from planner_kit.outings.tours import Tour, TourPlan, TourProblem, schedule_tour

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

# A minute of driving costs this share of all prizes: of equal plans the one with less driving wins.
_DRIVE_FRAC = 1e-6
_MOST_NODES = 5_000


@dataclass(frozen=True)
class TourPool:
    """Tours to choose from.

    Attributes
    ----------
    days : ndarray of int, shape (m,)
    members : list of tuple of int
        Places of each, in their order.
    drive_min : ndarray, shape (m,)
    whole : bool
        Whether no tour that a best plan could need is missing.
    """

    days: np.ndarray
    members: list[tuple[int, ...]]
    drive_min: np.ndarray
    whole: bool


def sequences_to_try(problem: TourProblem) -> int:
    """How many sequences `every_tour` would look at, at most."""
    if problem.most_per_day is None:
        return np.iinfo(np.int64).max
    count, row = 0, 1
    for length in range(problem.most_per_day):
        row *= max(problem.places - length, 0)
        count += row
    return count * problem.days


def every_tour(problem: TourProblem) -> TourPool:
    """Every set of places that fits a day, each in its quickest order.

    Parameters
    ----------
    problem : TourProblem
        With `most_per_day`.

    Returns
    -------
    pool : TourPool
    """
    if problem.most_per_day is None:
        raise ValueError("every_tour needs most_per_day")
    days, members, drives = [], [], []
    for day in range(problem.days):
        for sets, drive in _tours_of_day(problem, day):
            days += [day] * len(sets)
            members += [tuple(row) for row in sets.tolist()]
            drives.append(drive)
    return TourPool(
        np.array(days, dtype=int),
        members,
        np.concatenate(drives) if drives else np.zeros(0),
        whole=True,
    )


def _tours_of_day(problem: TourProblem, day: int) -> Iterable[tuple[np.ndarray, np.ndarray]]:
    """For each length the sets that fit (rows of places in order) and their driving."""
    opens, latest = window_arrays(problem, day)
    start = float(problem.day_start_min[day])
    meal = problem.meal
    rows = np.zeros((1, 0), dtype=int)
    hungry, fed = np.array([start]), np.array([np.inf])
    if meal is None or start >= meal.to_min:
        fed = np.array([start])
    drive = np.zeros(1)
    for length in range(problem.most_per_day or 0):
        at = rows[:, -1] + 1 if length else np.zeros(len(rows), dtype=int)
        if meal is not None:
            halt = np.maximum(hungry, meal.from_min)
            fed = np.minimum(fed, np.where(halt <= meal.to_min, halt + meal.takes_min, np.inf))
        source, place = _extensions(rows, opens)
        if not len(source):
            return
        way = problem.travel_min[at[source], place + 1]
        ends = []
        for clock in (hungry, fed):
            begun = np.maximum((clock[source] + way)[:, None], opens[place])
            begun = np.where(begun <= latest[place] + 1e-9, begun, np.inf).min(axis=1)
            ends.append((begun, begun + problem.visit_min[place]))
        (begun, hungry_end), (_, fed_end) = ends
        if meal is not None:
            inside = (
                (problem.visit_min[place] >= meal.within_min)
                & (begun <= meal.to_min)
                & (hungry_end >= meal.from_min + meal.takes_min)
            )
            fed_end = np.where(inside, np.minimum(fed_end, hungry_end), fed_end)
        driven = drive[source] + problem.drive_min[at[source], place + 1]
        keep = (np.minimum(hungry_end, fed_end) < np.inf) & (driven <= problem.max_drive_min)
        rows = np.column_stack([rows[source][keep], place[keep]])
        hungry, fed, drive = hungry_end[keep], fed_end[keep], driven[keep]
        yield _closed(problem, day, rows, hungry, fed, drive)


def _extensions(rows: np.ndarray, opens: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Each sequence with each open place that is not in it yet."""
    usable = np.flatnonzero(np.isfinite(opens[:, 0]))
    source = np.repeat(np.arange(len(rows)), len(usable))
    place = np.tile(usable, len(rows))
    new = np.ones(len(source), dtype=bool)
    for column in range(rows.shape[1]):
        new &= rows[source, column] != place
    return source[new], place[new]


def _closed(
    problem: TourProblem,
    day: int,
    rows: np.ndarray,
    hungry: np.ndarray,
    fed: np.ndarray,
    drive: np.ndarray,
) -> tuple[np.ndarray, np.ndarray]:
    """The sequences that are back in time, one for each set: the one with the least driving."""
    last = rows[:, -1] + 1
    home, end = problem.travel_min[last, 0], float(problem.day_end_min[day])
    back = fed + home
    if problem.meal is not None:
        meal = problem.meal
        halt = np.maximum(hungry, meal.from_min)
        back = np.minimum(back, np.where(halt <= meal.to_min, halt + meal.takes_min, np.inf) + home)
        early = hungry + home
        back = np.minimum(back, np.where(early <= meal.to_min, early, np.inf))
    whole = drive + problem.drive_min[last, 0]
    fits = (back <= end + 1e-9) & (whole <= problem.max_drive_min + 1e-9)
    rows, whole, back = rows[fits], whole[fits], back[fits]
    if not len(rows):
        return rows, whole
    key = np.zeros(len(rows), dtype=np.int64)
    for column in np.sort(rows, axis=1).T:
        key = key * (problem.places + 1) + column
    order = np.lexsort((back, whole, key))
    first = np.concatenate([[True], np.diff(key[order]) != 0])
    best = order[first]
    return rows[best], whole[best]


def window_arrays(problem: TourProblem, day: int) -> tuple[np.ndarray, np.ndarray]:
    """When a visit may start on a day, as arrays of the earliest and of the latest starts.

    Parameters
    ----------
    problem : TourProblem
    day : int

    Returns
    -------
    opens, latest : ndarray, shape (n, windows)
        inf and -inf where a place has fewer windows. [min of the day]
    """
    windows = [problem.windows_on(day, place) for place in range(problem.places)]
    most = max([len(one) for one in windows], default=0) or 1
    opens, latest = (np.full((problem.places, most), value) for value in (np.inf, -np.inf))
    for place, ones in enumerate(windows):
        for number, (first, last) in enumerate(ones):
            opens[place, number], latest[place, number] = first, last
    return opens, latest


@contextlib.contextmanager
def _solver_kept_quiet() -> Iterator[None]:
    """Drop what HiGHS prints past Python's own output, which a notebook would show."""
    sys.stdout.flush()
    kept, nothing = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nothing, 1)
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nothing)


def choose_tours(
    problem: TourProblem,
    pool: TourPool,
    *,
    force: Sequence[int] = (),
    time_limit_s: float | None = 10.0,
    most_nodes: int = _MOST_NODES,
) -> TourPlan | None:
    """The best choice of tours, one for each day and each place at most once.

    Parameters
    ----------
    problem : TourProblem
    pool : TourPool
    force : sequence of int, optional
        Places that have to be in.
    time_limit_s : float or None
        None for no limit of time. [s]
    most_nodes : int, optional
        Branches that the solver looks at; unlike time, the same on a busy machine.

    Returns
    -------
    plan : TourPlan or None
        None where the forced places do not fit. The bound holds only if the pool is whole.

    References
    ----------
    .. [1] Boussier, Feillet, Gendreau, "An exact algorithm for team orienteering problems", 4OR 5,
       2007: the team orienteering problem as a choice among tours.
    """
    count = len(pool.members)
    if not count:
        return None if force else TourPlan((), 0.0, 0.0, pool.whole)
    worth = problem.worth()
    lengths = np.array([len(one) for one in pool.members])
    columns = np.repeat(np.arange(count), lengths)
    rows = np.array([place for one in pool.members for place in one], dtype=int)
    holds = csr_array(coo_array((np.ones(len(rows)), (rows, columns)), (problem.places, count)))
    per_day = csr_array(
        coo_array((np.ones(count), (pool.days, np.arange(count))), (problem.days, count))
    )
    gain = holds.T @ worth
    tie = _DRIVE_FRAC * problem.prize.sum() * pool.drive_min
    most = problem.days if problem.most_days is None else problem.most_days
    money = holds.T @ np.nan_to_num(problem.cost)
    extra = [csr_array(np.ones((1, count)))]
    upper = [np.ones(problem.places), np.ones(problem.days), np.array([float(most)])]
    if np.isfinite(problem.budget):
        extra.append(csr_array(money[None, :]))
        upper.append(np.array([problem.budget + 1e-9]))
    matrix = vstack([holds, per_day, *extra])
    lower = np.full(matrix.shape[0], -np.inf)
    lower[list(force)] = 1
    scale = max(float(gain.max()), 1e-9)  # the solver's tolerances are for figures about 1
    with _solver_kept_quiet():
        found = milp(
            (tie - gain) / scale,
            integrality=np.ones(count),
            bounds=Bounds(0, 1),
            constraints=LinearConstraint(matrix, lower, np.concatenate(upper)),
            # Presolve takes longer than it saves: few rows, and columns by the thousand.
            options={
                "mip_rel_gap": 1e-9,
                "presolve": False,
                "node_limit": most_nodes,
                **({} if time_limit_s is None else {"time_limit": time_limit_s}),
            },
        )
    if found.x is None:
        return None
    chosen = _filled(problem, pool, holds, np.flatnonzero(found.x > 0.5), gain)
    tours = [schedule_tour(problem, int(pool.days[c]), pool.members[c]) for c in chosen]
    whole = sorted((tour for tour in tours if tour is not None), key=lambda tour: tour.day)
    return _as_plan(problem, whole, pool, -scale * float(found.mip_dual_bound), worth)


def _filled(
    problem: TourProblem, pool: TourPool, holds: csr_array, chosen: np.ndarray, gain: np.ndarray
) -> np.ndarray:
    """The choice with the best tours that still fit; a solver that is cut short leaves such."""
    most = problem.days if problem.most_days is None else problem.most_days
    money = holds.T @ np.nan_to_num(problem.cost)
    taken = list(chosen)
    while len(taken) < most:
        places = [place for column in taken for place in pool.members[column]]
        clash = np.zeros(len(pool.members), dtype=bool)
        if places:
            clash = np.asarray(holds[places].sum(axis=0)).ravel() > 0
        free = ~clash & ~np.isin(pool.days, pool.days[taken]) & (gain > 0)
        free &= money <= problem.budget - money[taken].sum() + 1e-9
        if not free.any():
            break
        taken.append(int(np.argmax(np.where(free, gain, -np.inf))))
    return np.array(taken, dtype=int)


def _as_plan(
    problem: TourProblem, tours: list[Tour], pool: TourPool, dual: float, worth: np.ndarray
) -> TourPlan:
    visited = [place for tour in tours for place in tour.places]
    prize = float(problem.prize[visited].sum())
    above = float((worth - problem.prize)[visited].sum())
    ties = _DRIVE_FRAC * problem.prize.sum() * float(pool.drive_min.max()) * problem.days
    bound = max(dual - above + ties, prize) if pool.whole else float(problem.prize.sum())
    proven = pool.whole and bound - prize <= ties + 1e-6 * max(bound, 1e-9)
    return TourPlan(tuple(tours), prize, prize if proven else bound, proven)
