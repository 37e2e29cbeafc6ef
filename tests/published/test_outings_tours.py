"""Days out against the orienteering literature, an exact solver and an independent check."""

import csv
import itertools

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from planner_kit.outings.tour_search import plan_tours
from planner_kit.outings.tours import Meal, TourProblem, faults_of, schedule_tour
from tests.conftest import open_data_folder


def benchmark_instance(path, days=1):
    """A file as the folder's README describes it."""
    rows = [[float(x) for x in line.split()] for line in path.read_text().split("\n")[2:] if line]
    xy = np.array([row[1:3] for row in rows])
    tens = 100 if path.stem.startswith("pr") else 10
    away = np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1))
    travel = np.floor(away * tens + 1e-9) / tens
    places = rows[1:]
    windows = [[((row[-2], row[-1]),) for row in places]] * days
    return TourProblem(
        travel, travel, np.array([row[3] for row in places]),
        np.array([row[4] for row in places]), np.zeros(len(places)), windows,
        np.zeros(days), np.full(days, rows[0][-1]),
    )  # fmt: skip


def best_known():
    folder = open_data_folder()
    if folder is None:
        return {}
    with (folder / "orienteering" / "best_known_one_path.csv").open() as text:
        return {row["instance"]: int(row["best_known_score"]) for row in csv.DictReader(text)}


def small_instances():
    folder = open_data_folder()
    paths = [] if folder is None else sorted((folder / "orienteering").glob("*.txt"))
    found = [p for p in paths if p.stem in best_known() and len(p.read_text().split("\n")) < 110]
    # The search itself is measured in full by tests/benchmarks/plan_tours.py.
    return found[::4] or [pytest.param(None, marks=pytest.mark.skip(reason="no open data"))]


@pytest.mark.published(
    source="best known scores as listed with the open benchmark instances (Righini and Salani "
    "2009; Vansteenwegen et al. 2009; the list says: from memory of the published tables)"
)
@pytest.mark.parametrize("path", small_instances(), ids=lambda p: getattr(p, "stem", "none"))
def test_short_search_is_near_the_best_known_score_and_never_above(path):
    problem = benchmark_instance(path)
    plan = plan_tours(problem, time_limit_s=2)
    assert faults_of(problem, plan.tours) == ()
    assert 0.95 * best_known()[path.stem] <= plan.prize <= best_known()[path.stem]


@pytest.mark.parametrize("path", small_instances()[:1], ids=lambda p: getattr(p, "stem", "none"))
def test_counted_work_finds_the_same_days_each_time(path):
    problem = benchmark_instance(path)
    first, second = (plan_tours(problem, time_limit_s=None) for _ in range(2))
    assert first.tours == second.tours
    assert 0.95 * best_known()[path.stem] <= first.prize <= best_known()[path.stem]


def exact_prize(problem):  # noqa: C901 - a model written out, row by row
    """Arc-flow model with arrival times, a different model from the choice among tours."""
    n, days = problem.places + 1, problem.days
    arcs = [(d, i, j) for d in range(days) for i in range(n) for j in range(n) if i != j]
    at = {arc: k for k, arc in enumerate(arcs)}
    times = {(d, i): len(arcs) + d * n + i for d in range(days) for i in range(n)}
    size = len(arcs) + days * n
    far = 5000.0
    gain, low, high = np.zeros(size), np.zeros(size), np.full(size, far)
    high[: len(arcs)] = 1
    rows, least, most = [], [], []

    def row(terms, lower, upper):
        one = np.zeros(size)
        for place, value in terms:
            one[place] += value
        rows.append(one)
        least.append(lower)
        most.append(upper)

    for d, i, j in arcs:
        if j:
            gain[at[d, i, j]] = problem.prize[j - 1]
        begin = problem.day_start_min[d] if i == 0 else 0
        stay = 0 if i == 0 else problem.visit_min[i - 1]
        step = problem.travel_min[i, j] + stay
        if j == 0:
            if i:
                row([(times[d, i], 1), (at[d, i, 0], far)], -np.inf,
                    far + problem.day_end_min[d] - step)  # fmt: skip
        elif i == 0:
            row([(times[d, j], 1), (at[d, 0, j], -far)], begin + step - far, np.inf)
        else:
            row([(times[d, j], 1), (times[d, i], -1), (at[d, i, j], -far)], step - far, np.inf)
    for d in range(days):
        row([(at[d, 0, j], 1) for j in range(1, n)], 0, 1)
        for i in range(n):
            into = [(at[d, j, i], 1) for j in range(n) if j != i]
            row(into + [(at[d, i, j], -1) for j in range(n) if j != i], 0, 0)
        for i in range(1, n):
            windows = problem.windows[d][i - 1]
            if not windows:
                row([(at[d, j, i], 1) for j in range(n) if j != i], 0, 0)
            else:
                ((low[times[d, i]], high[times[d, i]]),) = windows
    for i in range(1, n):
        row([(at[d, j, i], 1) for d in range(days) for j in range(n) if j != i], 0, 1)
    kinds = np.r_[np.ones(len(arcs)), np.zeros(days * n)]
    found = milp(
        -gain, integrality=kinds, bounds=Bounds(low, high),
        constraints=LinearConstraint(np.array(rows), least, most), options={"time_limit": 20},
    )  # fmt: skip
    assert found.status == 0
    return -found.fun


def made_week(seed, places=6, days=2, most=None):
    rng = np.random.default_rng(seed)
    xy = rng.uniform(0, 60, (places + 1, 2))
    travel = np.ceil(np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1)))
    opens = rng.integers(0, 200, (days, places))
    windows = [
        [() if rng.random() < 0.2 else ((float(o), float(o + rng.integers(60, 200))),) for o in day]
        for day in opens
    ]
    return TourProblem(
        travel, travel, rng.integers(40, 100, places).astype(float),
        rng.integers(5, 30, places).astype(float), np.zeros(places), windows,
        np.zeros(days), np.full(days, 300.0), most_per_day=most,
    )  # fmt: skip


@pytest.mark.published(source="HiGHS (scipy.optimize.milp): an arc-flow model solved to the end")
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_days_that_share_places_reach_the_exact_best(seed):
    exact = exact_prize(made_week(seed))
    for problem in (made_week(seed, most=6), made_week(seed)):
        plan = plan_tours(problem, time_limit_s=1)
        assert faults_of(problem, plan.tours) == ()
        assert plan.prize == pytest.approx(exact)
    assert plan_tours(made_week(seed, most=6)).proven


def short_of_instance(path, places, days):
    """The first places of a benchmark file, shared by some days of a shorter length."""
    whole = benchmark_instance(path, days)
    keep = np.arange(places + 1)
    return TourProblem(
        whole.travel_min[np.ix_(keep, keep)], whole.drive_min[np.ix_(keep, keep)],
        whole.visit_min[:places], whole.prize[:places], whole.cost[:places],
        [day[:places] for day in whole.windows], whole.day_start_min, whole.day_end_min,
    )  # fmt: skip


def first_instances():
    folder = open_data_folder()
    paths = [] if folder is None else sorted((folder / "orienteering").glob("*.txt"))
    return paths[::6] or [pytest.param(None, marks=pytest.mark.skip(reason="no open data"))]


@pytest.mark.published(
    source="HiGHS (scipy.optimize.milp): an arc-flow model solved to the end, on the first seven "
    "places of the open orienteering instances, two and three days"
)
@pytest.mark.parametrize("path", first_instances(), ids=lambda p: getattr(p, "stem", "none"))
@pytest.mark.parametrize("days", [2, 3])
def test_days_of_the_open_instances_reach_the_exact_best(path, days):
    problem = short_of_instance(path, 7, days)
    plan = plan_tours(problem, time_limit_s=1)
    assert faults_of(problem, plan.tours) == ()
    assert plan.prize == pytest.approx(exact_prize(problem))


def best_by_trying(problem):
    """Every way to share out the places among days and to order them: no solver at all."""
    fits = [{} for _ in range(problem.days)]
    for day in range(problem.days):
        for size in range(problem.most_per_day + 1):
            for order in itertools.permutations(range(problem.places), size):
                tour = schedule_tour(problem, day, order)
                if tour is not None:
                    key = frozenset(order)
                    fits[day][key] = float(problem.prize[list(order)].sum())
    best = 0.0
    for choice in itertools.product(*(day.items() for day in fits)):
        sets = [one for one, _ in choice if one]
        seen = [place for one in sets for place in one]
        if len(seen) != len(set(seen)) or len(sets) > problem.most_days:
            continue
        if problem.cost[seen].sum() <= problem.budget + 1e-9:
            best = max(best, sum(worth for _, worth in choice))
    return best


@pytest.mark.published(
    source="exhaustive enumeration of all shares of the places among the days (no model, no solver)"
)
@pytest.mark.parametrize("seed", [11, 12, 13, 14])
def test_budget_meal_rest_day_and_driving_are_met_at_their_best(seed):
    rng = np.random.default_rng(seed)
    xy = rng.uniform(0, 60, (7, 2))
    travel = np.ceil(np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1)))
    windows = [
        [((600.0, 690.0), (800.0, 900.0)) if place % 2 else ((570.0, 960.0),) for place in range(6)]
        for _ in range(3)
    ]
    problem = TourProblem(
        travel, travel, rng.integers(40, 160, 6) * 1.0, rng.integers(5, 30, 6) * 1.0,
        rng.integers(0, 30, 6) * 1.0, windows, np.full(3, 570.0), np.full(3, 1020.0),
        max_drive_min=140.0, most_per_day=2, most_days=2, budget=45.0,
        meal=Meal(720, 840, 45, 150),
    )  # fmt: skip
    plan = plan_tours(problem, time_limit_s=2)
    assert faults_of(problem, plan.tours) == ()
    assert plan.proven
    assert plan.prize == pytest.approx(best_by_trying(problem))


def test_lunch_closure_needs_two_windows_and_the_meal_falls_between():
    travel = 10 * (1 - np.eye(3))
    problem = TourProblem(
        travel, travel, np.array([60.0, 60.0]), np.array([1.0, 1.0]), np.zeros(2),
        [[((600, 660), (810, 900)), ((600, 660), (810, 900))]], np.array([570.0]),
        np.array([1000.0]), most_per_day=2, meal=Meal(720, 840, 45),
    )  # fmt: skip
    (tour,) = plan_tours(problem).tours
    assert [s < 700 for s in tour.starts_min] in ([True, True], [True, False])
    assert 720 <= tour.meal_min <= 840
    late = next(s for s in [*tour.starts_min, tour.back_min] if s >= tour.meal_min)
    assert late >= tour.meal_min + 45


def test_the_check_finds_every_kind_of_fault():
    problem = made_week(1, most=6)
    tour = plan_tours(problem).tours[0]
    shut = next(
        (d, p) for d, p in itertools.product(range(2), range(6)) if not problem.windows[d][p]
    )
    from dataclasses import replace

    assert faults_of(problem, [tour, tour])
    assert faults_of(problem, [replace(tour, leave_min=-5.0)])
    assert faults_of(problem, [replace(tour, starts_min=tuple(s - 50 for s in tour.starts_min))])
    closed = replace(tour, day=shut[0], places=(shut[1],), starts_min=(100.0,))
    assert any("hours" in fault for fault in faults_of(problem, [closed]))
