"""Properties of the estimator of what trips teach."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.diary.credibility import shrunk_factors, shrunk_mean

FIGURES = st.lists(st.floats(1, 50), min_size=1, max_size=8)


@given(FIGURES, st.floats(1, 50))
@settings(max_examples=50, deadline=None)
def test_mean_lies_between_prior_and_observations(seen: list[float], prior: float) -> None:
    found = shrunk_mean(seen, 2.0, prior=prior, prior_sd=1.0)
    low, high = sorted([prior, float(np.mean(seen))])
    assert low - 1e-9 <= found.mean <= high + 1e-9
    assert 0 < found.weight_frac < 1


@given(FIGURES)
@settings(max_examples=50, deadline=None)
def test_another_trip_never_makes_it_less_sure(seen: list[float]) -> None:
    fewer = shrunk_mean(seen[:-1], 2.0, prior=10, prior_sd=1.0)
    more = shrunk_mean(seen, 2.0, prior=10, prior_sd=1.0)
    assert more.sd < fewer.sd
    assert more.weight_frac > fewer.weight_frac


@given(FIGURES)
@settings(max_examples=30, deadline=None)
def test_order_of_trips_and_one_by_one_give_the_same(seen: list[float]) -> None:
    together = shrunk_mean(seen, 2.0, prior=10, prior_sd=1.5)
    mean, sd = 10.0, 1.5
    for value in reversed(seen):
        step = shrunk_mean([value], 2.0, prior=mean, prior_sd=sd)
        mean, sd = step.mean, step.sd
    assert mean == pytest.approx(together.mean)
    assert sd == pytest.approx(together.sd)


def test_no_trip_leaves_the_prior() -> None:
    found = shrunk_mean([], 1.0, prior=9.5, prior_sd=0.5)
    assert (found.mean, found.weight_frac) == (9.5, 0.0)
    assert found.sd == pytest.approx(0.5)


def test_spread_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="above 0"):
        shrunk_mean([1.0], 0.0, prior=1, prior_sd=1)


def test_one_factor_is_the_same_as_the_mean_of_ratios() -> None:
    factors, sd = shrunk_factors([[100.0]], [120.0], [10.0], prior=1.0, prior_sd=0.1)
    same = shrunk_mean([1.2], 0.1, prior=1.0, prior_sd=0.1)
    assert factors[0] == pytest.approx(same.mean)
    assert sd[0] == pytest.approx(same.sd)


def test_only_the_road_class_that_was_towed_on_is_moved() -> None:
    factors, sd = shrunk_factors([[60.0, 0.0]], [90.0], [5.0], prior=1.0, prior_sd=0.1)
    assert factors[0] > 1.1
    assert factors[1] == pytest.approx(1.0)
    assert sd[1] == pytest.approx(0.1)
