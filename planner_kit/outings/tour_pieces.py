"""Days made better piece by piece: a few visits are taken out, and the gap is filled anew.

This is a large neighbourhood search for the days of `tours`. The gap between two visits that stay
is filled by a beam search: day by day's clock the most promising beginnings are kept, and the best
end is taken. Gaps are short, so a narrow beam nearly always finds the best way to fill them.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.outings.tour_choice import window_arrays
from planner_kit.outings.tours import Tour, TourProblem, schedule_tour

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

# How the search goes about it: measured on the open benchmark instances.
_WHOLE_BEAM = 400  # beginnings kept when a day is made from nothing
_PIECE_BEAM = 60  # and when a gap is filled
_SHORTEST, _LONGEST = 4, 13  # visits taken out at a time
_NOISE = 0.2  # prizes are told a little wrong in every other turn, to see other ways
_WORSE = 0.03  # of the best: what the search may lose for a while
_FROM_OTHERS = 0.5  # of the turns: places of the other days may be taken too
_PATIENCE = 100  # turns without a better plan before it goes back to the best
_TIE = 1e-6  # of two gaps filled alike the one that is over sooner


@dataclass(frozen=True)
class _Gap:
    """What a piece of a day has to keep to: from one visit (or the pitch, 0) to another."""

    day: int
    after: int
    leave_min: float
    before: int
    begin_by_min: float
    drive_min: float
    visits: int


@dataclass(frozen=True)
class _Days:
    """A problem with its windows as arrays for each day; node 0 is the pitch."""

    problem: TourProblem
    worth: np.ndarray
    opens: list[np.ndarray]
    latest: list[np.ndarray]

    def gap(self, day: int, path: Sequence[int], first: int, last: int) -> _Gap:
        """The gap that is left when visits `first` to `last` (excluded) of a path go."""
        problem = self.problem
        after, leave = 0, float(problem.day_start_min[day])
        drive = 0.0
        for place in path[:first]:
            drive += float(problem.drive_min[after, place + 1])
            begun = leave + float(problem.travel_min[after, place + 1])
            leave = self._begin(day, place, begun) + float(problem.visit_min[place])
            after = place + 1
        before, by = 0, float(problem.day_end_min[day])
        for place in reversed(path[last:]):
            drive += float(problem.drive_min[place + 1, before])
            by -= float(problem.travel_min[place + 1, before] + problem.visit_min[place])
            by = self._latest_begin(day, place, by)
            before = place + 1
        most = problem.places if problem.most_per_day is None else problem.most_per_day
        return _Gap(
            day, after, leave, before, by,
            float(problem.max_drive_min) - drive, most - first - len(path[last:]),
        )  # fmt: skip

    def _begin(self, day: int, place: int, arrive: float) -> float:
        begun = np.maximum(arrive, self.opens[day][place])
        fits = begun <= self.latest[day][place] + 1e-9
        return float(np.where(fits, begun, np.inf).min())

    def _latest_begin(self, day: int, place: int, by: float) -> float:
        begun = np.minimum(by, self.latest[day][place])
        fits = begun >= self.opens[day][place] - 1e-9
        return float(np.where(fits, begun, -np.inf).max())


def better_tours(
    problem: TourProblem,
    tours: Sequence[Tour],
    *,
    until: float | None,
    turns: int,
    seed: int = 0,
) -> Iterator[Tour]:
    """Tours of ever better plans that begin with some tours.

    Parameters
    ----------
    problem : TourProblem
        Without a meal; its budget is not looked at.
    tours : sequence of Tour
        A plan to begin with, one tour for a day.
    until : float or None
        When to stop, on the clock of `time.monotonic`; None to count turns instead. [s]
    turns : int
        Gaps to fill where turns are counted.
    seed : int
        Start of the random numbers.

    Yields
    ------
    tour : Tour
        Each tour that a better plan brought, and at the end those of the best.
    """
    if problem.meal is not None or not problem.places:
        return
    arrays = [window_arrays(problem, day) for day in range(problem.days)]
    days = _Days(problem, problem.worth(), [one for one, _ in arrays], [one for _, one in arrays])
    paths = {tour.day: list(tour.places) for tour in tours}
    most = problem.days if problem.most_days is None else problem.most_days
    for day in range(problem.days):
        if day in paths or len(paths) < most:
            _from_nothing(days, paths, day)
    if not paths:
        return
    for better in _better_days(days, paths, until, turns, np.random.default_rng(seed)):
        found = (schedule_tour(problem, day, path) for day, path in better.items())
        yield from (tour for tour in found if tour is not None and tour.places)


def _better_days(
    days: _Days,
    paths: dict[int, list[int]],
    until: float | None,
    turns: int,
    rng: np.random.Generator,
) -> Iterator[dict[int, list[int]]]:
    """Each better plan, and at the end the best one whole."""
    usable = sorted(paths)
    best, best_worth = dict(paths), _worth(days, paths)
    worth = best_worth
    length = float((days.problem.day_end_min - days.problem.day_start_min).sum())
    turn = since = 0
    while turn < turns if until is None else time.monotonic() < until:
        turn, since = turn + 1, since + 1
        day = usable[int(rng.integers(len(usable)))]
        rate = best_worth / length
        moved = _refilled(days, paths, day, rate, rng)
        new = _worth(days, moved)
        lose = _WORSE * best_worth * rng.random() if rng.random() < 0.3 else 0.0
        if new >= worth - lose:
            paths, worth = moved, new
        if worth > best_worth + 1e-9:
            best, best_worth, since = paths, worth, 0
            yield best
        elif since % _PATIENCE == 0:
            paths = best
            if since % (2 * _PATIENCE) == 0:  # pieces alone lead nowhere: a day is made anew
                told = _told(days, rng)
                paths = {**paths, day: _made_anew(days, paths, day, rate, told)}
            worth = _worth(days, paths)
    yield best


def _gain(days: _Days, path: Sequence[int]) -> float:
    return float(days.worth[list(path)].sum())


def _worth(days: _Days, paths: dict[int, list[int]]) -> float:
    return sum(_gain(days, path) for path in paths.values())


def _from_nothing(days: _Days, paths: dict[int, list[int]], day: int) -> None:
    """A day made by a wide beam alone, where that is better than what the day holds."""
    own = paths.get(day, [])
    gap = days.gap(day, [], 0, 0)
    free = _free(days, _elsewhere(paths, day), day)
    length = max(gap.begin_by_min - gap.leave_min, 1e-9)
    rate = 0.4 * float(days.worth[free].sum()) / length
    for _ in range(2):  # the first shows what a minute is worth
        path = _fill(days, gap, free, _WHOLE_BEAM, rate, days.worth)
        rate = _gain(days, path) / length
        if _gain(days, path) > _gain(days, own):
            own = path
    if own:
        paths[day] = own


def _made_anew(
    days: _Days, paths: dict[int, list[int]], day: int, rate: float, told: np.ndarray
) -> list[int]:
    """A whole day made anew by a wide beam from what the other days leave."""
    free = _free(days, _elsewhere(paths, day), day)
    return _fill(days, days.gap(day, [], 0, 0), free, _WHOLE_BEAM, rate, told)


def _told(days: _Days, rng: np.random.Generator) -> np.ndarray:
    """What the places are worth, told a little wrong."""
    told: np.ndarray = days.worth * np.exp(rng.normal(0.0, _NOISE, len(days.worth)))
    return told


def _free(days: _Days, taken: Sequence[int], day: int) -> np.ndarray:
    """The places that may stand in a gap of a day: open on it and not taken."""
    free = np.isfinite(days.opens[day][:, 0])
    free[list(taken)] = False
    return np.flatnonzero(free)


def _elsewhere(paths: dict[int, list[int]], day: int) -> list[int]:
    """The places of the other days."""
    return [place for other, path in paths.items() if other != day for place in path]


def _refilled(
    days: _Days, paths: dict[int, list[int]], day: int, rate: float, rng: np.random.Generator
) -> dict[int, list[int]]:
    """The days with a piece of one taken out and filled anew, at times with places of others."""
    path = paths[day]
    length = int(rng.integers(_SHORTEST, max(_SHORTEST + 1, min(_LONGEST, len(path) + 1))))
    start = int(rng.integers(-(length // 2), max(len(path) - length // 2, 1)))
    first, last = max(start, 0), min(max(start, 0) + length, len(path))
    told = _told(days, rng) if rng.random() < 0.5 else days.worth
    rate *= rng.uniform(0.6, 1.3)
    kept, others = path[:first] + path[last:], _elsewhere(paths, day)
    if others and rng.random() < _FROM_OTHERS:  # such a place is worth what the other day loses
        told = told.copy()
        told[others] *= rng.random()
        others = []
    free = _free(days, [*kept, *others], day)
    middle = _fill(days, days.gap(day, path, first, last), free, _PIECE_BEAM, rate, told)
    return {
        **{other: [p for p in visits if p not in middle] for other, visits in paths.items()},
        day: path[:first] + middle + path[last:],
    }


def _fill(
    days: _Days, gap: _Gap, free: np.ndarray, beam: int, rate: float, worth: np.ndarray
) -> list[int]:
    """The best visits found for a gap, in order.

    Beginnings are compared by what they are worth less `rate` for each minute that they take.
    """
    problem = days.problem
    visit = problem.visit_min
    opens, latest = days.opens[gap.day], days.latest[gap.day]
    home = problem.travel_min[1:, gap.before]
    latest = np.minimum(latest, (gap.begin_by_min - home - visit)[:, None])
    begun = _begun(gap.leave_min + problem.travel_min[gap.after, 1:], opens, latest)
    places = free[np.isfinite(begun[free])]
    if not len(places) or gap.visits <= 0:
        return []
    visit, opens, latest, told = visit[places], opens[places], latest[places], worth[places]
    inner = problem.travel_min[np.ix_(places + 1, places + 1)]
    wheel = problem.drive_min[np.ix_(places + 1, places + 1)]
    wheel_home = problem.drive_min[places + 1, gap.before]
    mark = np.random.default_rng(0).integers(1, 2**62, len(places), dtype=np.uint64)
    twist = mark * np.uint64(0x9E3779B97F4A7C15)
    source, place = np.zeros(len(places), dtype=int), np.arange(len(places))
    clock, gained, seen_mark = begun[places] + visit, told.copy(), mark.copy()
    driven = problem.drive_min[gap.after, places + 1]
    seen = np.zeros((1, len(places)), dtype=bool)
    levels: list[tuple[np.ndarray, np.ndarray]] = []
    best, best_level, best_row = 0.0, -1, -1
    while len(levels) < gap.visits:
        keep = np.flatnonzero(driven + wheel_home[place] <= gap.drive_min + 1e-9)
        # Of the same visits with the same end the soonest, and of all the most promising.
        order = keep[np.lexsort((clock[keep], seen_mark[keep] ^ twist[place[keep]]))]
        same = seen_mark[order] ^ twist[place[order]]
        order = order[np.concatenate([[True], same[1:] != same[:-1]])] if len(order) else order
        if len(order) > beam:
            promise = gained[order] - rate * (clock[order] - gap.leave_min)
            order = order[np.argpartition(-promise, beam)[:beam]]
        if not len(order):
            break
        source, place, clock = source[order], place[order], clock[order]
        gained, driven, seen_mark = gained[order], driven[order], seen_mark[order]
        levels.append((source, place))
        seen = seen[source]
        seen[np.arange(len(place)), place] = True
        whole = gained - _TIE * (clock - gap.leave_min)
        row = int(np.argmax(whole))
        if whole[row] > best:
            best, best_level, best_row = float(whole[row]), len(levels) - 1, row
        begins = _begun(clock[:, None] + inner[place], opens, latest)
        source, following = np.nonzero(np.isfinite(begins) & ~seen)
        clock = begins[source, following] + visit[following]
        gained = gained[source] + told[following]
        driven = driven[source] + wheel[place[source], following]
        seen_mark, place = seen_mark[source] ^ mark[following], following
    path = []
    for source, place in reversed(levels[: best_level + 1]):
        path.append(int(places[place[best_row]]))
        best_row = int(source[best_row])
    return path[::-1]


def _begun(arrive: np.ndarray, opens: np.ndarray, latest: np.ndarray) -> np.ndarray:
    """When visits begin for arrivals at each place (its last axis); inf where they cannot."""
    begun = np.full(arrive.shape, np.inf)
    for column in range(opens.shape[1]):
        one = np.maximum(arrive, opens[:, column])
        fits = one <= latest[:, column] + 1e-9
        begun = np.minimum(begun, np.where(fits, one, np.inf))
    return begun
