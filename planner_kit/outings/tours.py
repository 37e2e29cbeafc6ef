"""Days that share a list of places: the problem, the schedule of one day, and an independent check.

This is the team orienteering problem with time windows: each place is worth a prize, each day is a
tour from the pitch and back, and the tours together should collect as much as they can.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

Window = tuple[float, float]


@dataclass(frozen=True)
class Meal:
    """A meal that falls within the day.

    Attributes
    ----------
    from_min, to_min : float
        Earliest and latest start. [min of the day]
    takes_min : float
    within_min : float
        A visit at least this long that spans the meal's hour includes it. [min]
    """

    from_min: float
    to_min: float
    takes_min: float
    within_min: float = np.inf


@dataclass(frozen=True)
class TourProblem:
    """Places, days and what each day has to keep to. Place 0 of a matrix is the pitch.

    Attributes
    ----------
    travel_min : ndarray, shape (n + 1, n + 1)
        Time from one place to another; inf where there is no way. [min]
    drive_min : ndarray, shape (n + 1, n + 1)
        The share of it at the wheel, which `max_drive_min` limits. [min]
    visit_min, prize, cost : ndarray, shape (n,)
        Length of a visit, its worth (0 or more) and its price.
    windows : for each day, for each place, a tuple of (earliest, latest) starts of a visit
        Empty where it is closed that day. [min of the day]
    day_start_min, day_end_min : ndarray, shape (days,)
        Earliest departure and latest return. [min of the day]
    max_drive_min : float
        At the wheel on one day. [min]
    most_per_day : int or None
        Visits on one day; None for as many as fit.
    most_days : int or None
        Days with an outing; None for all.
    budget : float
        For the costs of all visits.
    must : frozenset of int
        Places (from 0) that go before all prizes.
    pinned : mapping of int to int
        Place to day: it goes on that day or nowhere, and before all prizes.
    meal : Meal or None
    """

    travel_min: np.ndarray
    drive_min: np.ndarray
    visit_min: np.ndarray
    prize: np.ndarray
    cost: np.ndarray
    windows: Sequence[Sequence[Sequence[Window]]]
    day_start_min: np.ndarray
    day_end_min: np.ndarray
    max_drive_min: float = np.inf
    most_per_day: int | None = None
    most_days: int | None = None
    budget: float = np.inf
    must: frozenset[int] = frozenset()
    pinned: Mapping[int, int] = field(default_factory=dict)
    meal: Meal | None = None

    @property
    def places(self) -> int:
        """How many places there are."""
        return len(self.prize)

    @property
    def days(self) -> int:
        """How many days there are."""
        return len(self.day_start_min)

    def worth(self) -> np.ndarray:
        """Prizes with those of must-sees and pinned places above the sum of all others."""
        worth = self.prize.astype(float).copy()
        first = sorted(self.must | set(self.pinned))
        worth[first] += 1 + self.prize.sum()
        return worth

    def windows_on(self, day: int, place: int) -> Sequence[Window]:
        """When a visit may start, after pins: none where it is pinned to another day."""
        if self.pinned.get(place, day) != day:
            return ()
        return self.windows[day][place]


@dataclass(frozen=True)
class Tour:
    """One day's tour.

    Attributes
    ----------
    day : int
    places : tuple of int
    leave_min, back_min : float
        Departure from the pitch, as late as it may be, and return. [min of the day]
    starts_min : tuple of float
        When each visit starts. [min of the day]
    meal_min : float
        When the meal starts; NaN where it is eaten at the pitch or within a visit.
    drive_min : float
    """

    day: int
    places: tuple[int, ...]
    leave_min: float
    back_min: float
    starts_min: tuple[float, ...]
    meal_min: float
    drive_min: float


@dataclass(frozen=True)
class TourPlan:
    """The days together.

    Attributes
    ----------
    tours : tuple of Tour
        At most one for each day, in order of days.
    prize : float
        Collected.
    bound : float
        No plan of this problem can collect more.
    proven : bool
        Whether `bound` is reached, within the solver's tolerance.
    """

    tours: tuple[Tour, ...]
    prize: float
    bound: float
    proven: bool

    @property
    def gap_frac(self) -> float:
        """How far the plan may be below the best, as a share of the bound."""
        return max(self.bound - self.prize, 0.0) / self.bound if self.bound > 0 else 0.0


def schedule_tour(problem: TourProblem, day: int, places: Sequence[int]) -> Tour | None:
    """The earliest schedule of some places in this order, or None if they do not fit.

    Parameters
    ----------
    problem : TourProblem
    day : int
    places : sequence of int

    Returns
    -------
    tour : Tour or None
    """
    if problem.most_per_day is not None and len(places) > problem.most_per_day:
        return None
    stops = [0, *(place + 1 for place in places), 0]
    legs = list(itertools.pairwise(stops))
    drive = float(sum(problem.drive_min[leg] for leg in legs))
    if drive > problem.max_drive_min + 1e-9:
        return None
    best: Tour | None = None
    for gap in range(-1, len(places) + 1):  # after that many visits; -1: no halt for it
        tour = _timed(problem, day, tuple(places), gap, drive)
        if tour is not None and (best is None or tour.back_min < best.back_min):
            best = tour
    return best


def _timed(
    problem: TourProblem, day: int, places: tuple[int, ...], gap: int, drive: float
) -> Tour | None:
    """The schedule with a halt for the meal before visit number `gap`; -1 for none."""
    meal = problem.meal
    if gap >= 0 and meal is None:
        return None
    now, fed = float(problem.day_start_min[day]), gap >= 0 or meal is None
    starts: list[float] = []
    at, meal_at = 0, np.nan
    for number, place in enumerate((*places, -1)):
        if gap == number and meal is not None:
            if number == 0:  # at the pitch, before leaving
                if max(now, meal.from_min) > meal.to_min:
                    return None
                now = max(now, meal.from_min) + meal.takes_min
            else:
                meal_at = max(now, meal.from_min)
                if meal_at > meal.to_min:
                    return None
                now = meal_at + meal.takes_min
        now += float(problem.travel_min[at, place + 1])
        if place < 0:
            break
        start = _first_start(problem.windows_on(day, place), now)
        if not np.isfinite(start):
            return None
        starts.append(start)
        now, at = start + float(problem.visit_min[place]), place + 1
        if meal is not None and _eaten_inside(meal, start, now):
            fed = True
    if meal is not None and not fed:
        fed = now <= meal.to_min or float(problem.day_start_min[day]) >= meal.to_min
    if not fed or now > float(problem.day_end_min[day]) + 1e-9:
        return None
    first = float(problem.travel_min[0, places[0] + 1]) if places else 0.0
    leave = starts[0] - first if places else float(problem.day_start_min[day])
    return Tour(day, places, leave, now, tuple(starts), float(meal_at), drive)


def _eaten_inside(meal: Meal, start: float, end: float) -> bool:
    return (
        end - start >= meal.within_min
        and start <= meal.to_min
        and end >= meal.from_min + meal.takes_min
    )


def _first_start(windows: Sequence[Window], now: float) -> float:
    fits = [max(now, opens) for opens, latest in windows if max(now, opens) <= latest + 1e-9]
    return min(fits, default=np.inf)


def faults_of(problem: TourProblem, tours: Sequence[Tour]) -> tuple[str, ...]:
    """What a plan breaks, in words; empty if it breaks nothing. It trusts no figure of the plan.

    Parameters
    ----------
    problem : TourProblem
    tours : sequence of Tour

    Returns
    -------
    faults : tuple of str
    """
    faults: list[str] = []
    seen = [place for tour in tours for place in tour.places]
    if len(seen) != len(set(seen)):
        faults.append("a place is visited twice")
    if len({tour.day for tour in tours}) != len(tours):
        faults.append("a day has two tours")
    if problem.most_days is not None and sum(bool(t.places) for t in tours) > problem.most_days:
        faults.append("too many days have an outing")
    if float(problem.cost[seen].sum()) > problem.budget + 1e-6:
        faults.append("the budget is passed")
    for tour in tours:
        faults += _faults_of_day(problem, tour)
    return tuple(faults)


def _faults_of_day(problem: TourProblem, tour: Tour) -> list[str]:
    faults, at, now, drive = [], 0, tour.leave_min, 0.0
    if tour.leave_min < problem.day_start_min[tour.day] - 1e-6:
        faults.append(f"day {tour.day} starts too early")
    for place, start in zip(tour.places, tour.starts_min, strict=True):
        now += problem.travel_min[at, place + 1]
        drive += problem.drive_min[at, place + 1]
        if start < now - 1e-6:
            faults.append(f"place {place} starts before the party is there")
        windows = problem.windows_on(tour.day, place)
        if not any(a - 1e-6 <= start <= b + 1e-6 for a, b in windows):
            faults.append(f"place {place} starts outside its hours")
        now, at = start + problem.visit_min[place], place + 1
    now += problem.travel_min[at, 0]
    drive += problem.drive_min[at, 0]
    if now > problem.day_end_min[tour.day] + 1e-6:
        faults.append(f"day {tour.day} ends too late")
    if drive > problem.max_drive_min + 1e-6:
        faults.append(f"day {tour.day} has too much driving")
    if problem.most_per_day is not None and len(tour.places) > problem.most_per_day:
        faults.append(f"day {tour.day} has too many visits")
    return faults
