"""Shrinking ratings, against worked figures of others."""

import numpy as np
import pytest

from planner_kit.sites import shrunk_rating


@pytest.mark.published(
    source="'Bayesian rating' question and answer, Stack Overflow as copied at manongdao.com/"
    "article-2165662, read 2026-11-25: 18 prior ratings of mean 3.7, 6 ratings of mean 4; its "
    "formula ((18 x 3.7) + (6 x 4)) / (18 + 6) is 3.775"
)
def test_worked_example_of_a_bayesian_rating():
    assert shrunk_rating([4.0], [6], 3.7, 18)[0] == pytest.approx(3.775, abs=1e-12)


@pytest.mark.published(
    source="Stack Exchange, Cross Validated 248555 'Bayes weighted average', read 2026-11-25: "
    "S = w R + (1 - w) C with w = v / (v + m), m = 40 and C = 4.2; A: 100 ratings of 4.5, "
    "B: 1 rating of 5"
)
def test_many_good_ratings_pass_one_perfect_rating():
    weights = np.array([100 / 140, 1 / 41])
    expected = weights * [4.5, 5.0] + (1 - weights) * 4.2
    found = shrunk_rating([4.5, 5.0], [100, 1], 4.2, 40)
    np.testing.assert_allclose(found, expected, rtol=1e-12)
    assert found[0] > found[1]
