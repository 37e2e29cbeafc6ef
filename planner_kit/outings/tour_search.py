"""Days with many visits each: a search from some starts, bettered piece by piece, then a choice."""

from __future__ import annotations

import itertools
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from pyvrp import (
    Client,
    ClientGroup,
    Depot,
    IteratedLocalSearchParams,
    Location,
    ProblemData,
    SolveParams,
    VehicleType,
    solve,
)
from pyvrp.search import NeighbourhoodParams
from pyvrp.stop import MaxIterations, MaxRuntime, StoppingCriterion

from planner_kit.outings.tour_choice import TourPool, choose_tours, every_tour, sequences_to_try
from planner_kit.outings.tour_pieces import better_tours
from planner_kit.outings.tours import Tour, TourPlan, TourProblem, schedule_tour

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

# The search weighs prizes against minutes. A prize far above any tour would be right alone; lower
# ones let it pass through poorer plans on its way, so it starts several times, each time with
# another weight (mean prize as a share of the day) and its share of the time. The rest of the time
# goes into filling pieces of the days anew.
_ROUNDS = ((1.5, 0.15), (4.0, 0.1))
# Short runs want an early restart and few neighbours: measured on the open benchmark instances.
_PARAMS = SolveParams(
    ils=IteratedLocalSearchParams(num_iters_no_improvement=800, history_length=60),
    neighbourhood=NeighbourhoodParams(num_neighbours=20),
)
_ENUMERATE = 400_000
_QUICK_FRAC = 0.1  # of the time, at most, for the choice that the pieces begin with
# Where work is counted and not time: of all starts together, and pieces filled anew.
_ITERATIONS, _TURNS = 40_000, 1_500
_TICKS_PER_MIN = 100


def plan_tours(
    problem: TourProblem, *, time_limit_s: float | None = 10.0, seed: int = 0
) -> TourPlan:
    """The best days that can be found in a time, or with so much work.

    Parameters
    ----------
    problem : TourProblem
    time_limit_s : float or None
        For all of it. With None the work is counted instead, so that the same problem gives the
        same days on a busy machine too. [s]
    seed : int
        Start of the random numbers of the search.

    Returns
    -------
    plan : TourPlan
        Proven best where the days are short enough for every tour to be looked at.

    References
    ----------
    .. [1] Wouda, Lan, Kool, "PyVRP: a high-performance VRP solver package", INFORMS Journal on
       Computing 36(4), 2024.
    """
    start = time.monotonic()
    if sequences_to_try(problem) <= _ENUMERATE:
        pool = every_tour(problem)
    else:
        until = None if time_limit_s is None else start + 0.95 * time_limit_s
        found = list(_found_tours(problem, until, seed))
        quick = None if time_limit_s is None else _QUICK_FRAC * time_limit_s
        first = choose_tours(problem, _pool(found), time_limit_s=quick)
        begin = () if first is None else first.tours
        for tour in better_tours(problem, begin, until=until, turns=_TURNS, seed=seed):
            found += _fitting(problem, tour.day, tour.places)
        pool = _pool(found)
    left = None
    if time_limit_s is not None:
        left = max(time_limit_s - (time.monotonic() - start), 0.5)
    plan = choose_tours(problem, pool, time_limit_s=left)
    return plan if plan is not None else TourPlan((), 0.0, float(problem.prize.sum()), False)


def _pool(found: Sequence[Tour]) -> TourPool:
    """Each set of places of a day once, with the least driving of those found."""
    best: dict[tuple[int, frozenset[int]], Tour] = {}
    for tour in found:
        key = (tour.day, frozenset(tour.places))
        if key not in best or tour.drive_min < best[key].drive_min:
            best[key] = tour
    tours = list(best.values())
    return TourPool(
        np.array([tour.day for tour in tours], dtype=int),
        [tour.places for tour in tours],
        np.array([tour.drive_min for tour in tours]),
        whole=False,
    )


def _found_tours(problem: TourProblem, until: float | None, seed: int) -> Iterator[Tour]:
    """Tours of the best plan of each start, and what is left of each when a visit is dropped."""
    begun = time.monotonic()
    spent = 0.0
    for number, (weight, share) in enumerate(_ROUNDS):
        spent += share
        model = _model(problem, weight)
        if not model.nodes:
            return
        stop: StoppingCriterion = MaxIterations(int(share * _ITERATIONS))
        if until is not None:
            stop = MaxRuntime(max(begun + spent * (until - begun) - time.monotonic(), 0.02))
        result = solve(
            model.data,
            stop,
            seed=seed + number,
            collect_stats=False,
            params=_PARAMS,
        )
        for day, places in _tours_of(model, result.best):
            yield from _fitting(problem, day, places)


@dataclass(frozen=True)
class _Model:
    data: ProblemData
    nodes: list[tuple[int, tuple[float, float], frozenset[int]]]
    days_of_vehicle: list[list[int]]


def _model(problem: TourProblem, weight: float) -> _Model:
    """Each place once for each of its windows (one of them may be used), each day a vehicle."""
    nodes = []
    for place in range(problem.places):
        days_of: dict[tuple[float, float], set[int]] = {}
        for day in range(problem.days):
            for window in problem.windows_on(day, place):
                days_of.setdefault(window, set()).add(day)
        nodes += [(place, window, frozenset(days)) for window, days in days_of.items()]
    at = np.array([0, *(place + 1 for place, _, _ in nodes)], dtype=int)
    horizon = _tick(float(np.max(problem.day_end_min, initial=0)))
    travel = _up(problem.travel_min[np.ix_(at, at)], far=4 * horizon)
    drive = _up(problem.drive_min[np.ix_(at, at)], far=4 * horizon)
    worth = problem.worth()
    unit = weight * horizon / max(float(problem.prize.mean()), 1e-9)
    groups, clients = _clients(problem, nodes, worth * unit, horizon)
    vehicles: list[VehicleType] = []
    durations: list[np.ndarray] = []
    distances: list[np.ndarray] = []
    days_of_vehicle: list[list[int]] = []
    for days in _alike(problem, nodes):
        closed = [n + 1 for n, (_, _, open_on) in enumerate(nodes) if days[0] not in open_on]
        mine = travel.copy()
        mine[:, closed] = 4 * horizon
        np.fill_diagonal(mine, 0)
        limit = {} if np.isinf(problem.max_drive_min) else {
            "max_distance": int(problem.max_drive_min * _TICKS_PER_MIN)
        }  # fmt: skip
        vehicles.append(
            VehicleType(
                len(days),
                capacity=[] if problem.most_per_day is None else [problem.most_per_day],
                tw_early=int(problem.day_start_min[days[0]] * _TICKS_PER_MIN),
                tw_late=int(problem.day_end_min[days[0]] * _TICKS_PER_MIN),
                profile=len(durations),
                **limit,
            )
        )
        durations.append(mine)
        distances.append(drive)
        days_of_vehicle.append(days)
    spots = [Location(0, 0)] * len(at)
    data = ProblemData(spots, clients, [Depot(0)], vehicles, distances, durations, groups)
    return _Model(data, nodes, days_of_vehicle)


def _clients(
    problem: TourProblem,
    nodes: list[tuple[int, tuple[float, float], frozenset[int]]],
    prize: np.ndarray,
    horizon: int,
) -> tuple[list[ClientGroup], list[Client]]:
    groups: list[ClientGroup] = []
    clients: list[Client] = []
    group_of: dict[int, int] = {}
    for place, same in itertools.groupby(range(len(nodes)), key=lambda n: nodes[n][0]):
        rows = list(same)
        if len(rows) > 1:
            group_of[place] = len(groups)
            groups.append(ClientGroup(rows, required=False))
    for number, (place, (opens, latest), _) in enumerate(nodes, start=1):
        early = _tick(max(opens, 0.0))
        clients.append(
            Client(
                number,
                delivery=[] if problem.most_per_day is None else [1],
                service_duration=_tick(float(problem.visit_min[place])),
                tw_early=early,
                tw_late=max(min(int(latest * _TICKS_PER_MIN + 1e-6), horizon), early),
                prize=max(round(float(prize[place])), 1),
                required=False,
                group=group_of.get(place),
            )
        )
    return groups, clients


def _alike(
    problem: TourProblem, nodes: list[tuple[int, tuple[float, float], frozenset[int]]]
) -> list[list[int]]:
    """Days on which the same places are open at the same hours."""
    kinds: dict[object, list[int]] = {}
    for day in range(problem.days):
        open_then = tuple(day in open_on for _, _, open_on in nodes)
        hours = float(problem.day_start_min[day]), float(problem.day_end_min[day])
        kinds.setdefault((hours, open_then), []).append(day)
    return list(kinds.values())


def _tick(minute: float) -> int:
    """A whole tick, never before the minute."""
    return int(np.ceil(minute * _TICKS_PER_MIN - 1e-6))


def _up(minutes: np.ndarray, far: int) -> np.ndarray:
    """Whole ticks, never shorter than the time, and `far` where there is no way."""
    ticks = np.ceil(np.asarray(minutes, dtype=float) * _TICKS_PER_MIN - 1e-6)
    whole: np.ndarray = np.where(np.isfinite(ticks), np.minimum(ticks, far), far).astype(np.int64)
    return whole


def _tours_of(model: _Model, best: object) -> Iterator[tuple[int, list[int]]]:
    free = [list(days) for days in model.days_of_vehicle]
    for route in best.routes():  # type: ignore[attr-defined]
        stops = [one.idx for one in route.schedule() if one.is_client()]
        yield free[route.vehicle_type()].pop(0), [model.nodes[stop][0] for stop in stops]


def _fitting(problem: TourProblem, day: int, places: Sequence[int]) -> Iterator[Tour]:
    """The tour; or, where it does not fit, what is left of it; and each with a visit dropped."""
    kept = list(places)
    worth = problem.worth()
    whole = schedule_tour(problem, day, kept)
    while whole is None and kept:
        shorter = [[p for p in kept if p != gone] for gone in sorted(kept, key=lambda p: worth[p])]
        fits = [tour for one in shorter if (tour := schedule_tour(problem, day, one))]
        whole, kept = (fits[0] if fits else None), shorter[0]
    if whole is None or not whole.places:
        return
    yield whole
    if problem.days > 1 or np.isfinite(problem.budget):
        for gone in whole.places:
            one = schedule_tour(problem, day, [p for p in whole.places if p != gone])
            if one is not None and one.places:
                yield one
