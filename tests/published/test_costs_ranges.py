"""The range of a sum, against published distributions."""

import numpy as np
import pytest
from scipy import stats

from planner_kit.costs import sum_range
from planner_kit.costs.ranges import triangular_mean, triangular_variance


@pytest.mark.published(source="SciPy 1.x reference, scipy.stats.triang: mean and variance")
def test_mean_and_variance_of_triangles_agree_with_scipy():
    rng = np.random.default_rng(3)
    low, likely, high = np.sort(rng.uniform(0, 500, (3, 200)), axis=0)
    shape = (likely - low) / (high - low)
    mean, variance = stats.triang.stats(shape, loc=low, scale=high - low, moments="mv")
    np.testing.assert_allclose(triangular_mean(low, likely, high), mean, rtol=1e-9)
    np.testing.assert_allclose(triangular_variance(low, likely, high), variance, rtol=1e-9)


@pytest.mark.published(
    source="K. Awati, 'Monte Carlo simulation of risk and uncertainty in project tasks', as held "
    "in the Nemotron-CC-Math collection, read 2026-11-25: a task of 2 to 8 hours, most likely 4, "
    "has P(t) = (t - 2)^2 / 12 up to 4 and 1 - (8 - t)^2 / 24 after it"
)
def test_one_triangle_has_the_published_quantiles():
    found = sum_range([2], [4], [8])
    # (t - 2)^2 / 12 = 0.1 and (8 - t)^2 / 24 = 0.1
    assert found.low == pytest.approx(2 + np.sqrt(1.2), abs=0.003)
    assert found.high == pytest.approx(8 - np.sqrt(2.4), abs=0.003)


@pytest.mark.published(
    source="SciPy reference, scipy.stats.irwinhall: the sum of 2n uniform variables; a triangle "
    "from 0 over 1 to 2 is the sum of two of them"
)
@pytest.mark.parametrize("count", [1, 2, 3, 5, 8])
@pytest.mark.parametrize("share_frac", [0.5, 0.8, 0.95])
def test_sums_of_equal_triangles_follow_irwin_and_hall(count, share_frac):
    found = sum_range([0] * count, [1] * count, [2] * count, share_frac=share_frac)
    exact = stats.irwinhall(2 * count)
    tail = (1 - share_frac) / 2
    assert found.low == pytest.approx(exact.ppf(tail), abs=0.004)
    assert found.high == pytest.approx(exact.ppf(1 - tail), abs=0.004)
    assert found.deviation == pytest.approx(exact.std(), rel=1e-9)


@pytest.mark.published(
    source="S. A. Book, 'How to Make Your Point Estimate Look Like a Cost-Risk Analysis', SCEA "
    "2004, abstract, read 2026-11-25: the sum of the most likely costs has a confidence 'typically "
    "somewhere between 20% and 30%' where costs are skewed upwards"
)
def test_sum_of_likely_costs_is_passed_more_often_than_not_when_costs_are_skewed():
    low, likely, high = [90] * 6, [100] * 6, [140] * 6
    thirtieth = sum_range(low, likely, high, share_frac=0.4).low
    assert sum(likely) < thirtieth
