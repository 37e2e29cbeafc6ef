from dataclasses import replace

import numpy as np
import pytest

from planner_kit.outings import tour_search
from planner_kit.outings.tour_pieces import better_tours
from planner_kit.outings.tours import Meal, TourProblem, faults_of
from tests.published.test_outings_tours import best_by_trying


def week(seed):
    """Two days of places that close over lunch, with a limit to the driving."""
    rng = np.random.default_rng(seed)
    xy = rng.uniform(0, 60, (8, 2))
    travel = np.ceil(np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1)))
    windows = [
        [((600.0, 690.0), (800.0, 900.0)) if place % 2 else ((570.0, 960.0),) for place in range(7)]
        for _ in range(2)
    ]
    windows[1][2] = ()
    return TourProblem(
        travel, travel, rng.integers(40, 160, 7) * 1.0, rng.integers(5, 30, 7) * 1.0, np.zeros(7),
        windows, np.full(2, 570.0), np.full(2, 1020.0), max_drive_min=150.0, most_per_day=3,
        most_days=2,
    )  # fmt: skip


def last_of_each_day(tours):
    return list({tour.day: tour for tour in tours}.values())


@pytest.mark.parametrize("seed", [1, 2, 3, 4])
def test_days_made_piece_by_piece_fit_and_come_near_the_best_there_are(seed):
    problem = week(seed)
    tours = last_of_each_day(better_tours(problem, [], until=None, turns=200))
    assert faults_of(problem, tours) == ()
    found = sum(float(problem.prize[list(tour.places)].sum()) for tour in tours)
    best = best_by_trying(problem)
    assert 0.85 * best <= found <= best + 1e-9


@pytest.mark.parametrize("seed", [1, 4])
def test_search_finds_the_best_days_where_not_every_tour_is_looked_at(seed, monkeypatch):
    monkeypatch.setattr(tour_search, "_ENUMERATE", 0)
    problem = week(seed)
    plan = tour_search.plan_tours(problem, time_limit_s=None)
    assert faults_of(problem, plan.tours) == ()
    assert plan.prize == pytest.approx(best_by_trying(problem))
    assert not plan.proven


def test_no_more_days_than_may_have_an_outing():
    problem = replace(week(1), most_days=1)
    tours = list(better_tours(problem, [], until=None, turns=50))
    assert len({tour.day for tour in tours}) == 1


def test_pinned_place_stays_on_its_day():
    problem = replace(week(2), pinned={0: 1})
    tours = last_of_each_day(better_tours(problem, [], until=None, turns=100))
    (day,) = (tour.day for tour in tours if 0 in tour.places)
    assert day == 1


def test_nothing_is_done_for_days_with_a_meal_or_without_places():
    assert list(better_tours(replace(week(1), meal=Meal(720, 840, 45)), [], until=None, turns=9)) \
        == []  # fmt: skip
    shut = replace(week(1), windows=[[()] * 7] * 2)
    assert list(better_tours(shut, [], until=None, turns=9)) == []
