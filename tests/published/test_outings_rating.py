"""A rating drawn to the middle, against the formula written out and against sampling."""

import numpy as np
import pytest

from planner_kit.outings import shrunk_rating


@pytest.mark.published(
    source='Wikipedia, "Bayesian average" (stored copy read 2026-11-25): (C m + sum x) / (C + n), '
    "the same as adding C data points of value m to the data set"
)
def test_rating_is_the_mean_with_prior_ratings_added():
    stars = [5, 4, 4, 2, 5, 3]
    padded = stars + [3.5] * 20
    found = shrunk_rating(np.mean(stars), len(stars), prior_mean=3.5, prior_count=20)
    assert found == pytest.approx(sum(padded) / len(padded))


@pytest.mark.published(
    source="place55.com, 'A Bayesian way of choosing a restaurant', 2023-10-12 (stored copy read "
    "2026-11-25): uniform Dirichlet prior over 1 to 5 stars, place A with 10 ratings all of 5, "
    "place B with 200 ratings of mean 4"
)
def test_rating_is_the_mean_of_the_dirichlet_posterior():
    stars, rng = np.arange(1, 6), np.random.default_rng(7)
    given = {"a": np.array([0, 0, 0, 0, 10]), "b": np.array([0, 50, 0, 50, 100])}
    for counts in given.values():
        drawn = rng.dirichlet(1 + counts, size=200_000) @ stars
        found = shrunk_rating(
            counts @ stars / counts.sum(), counts.sum(), prior_mean=3, prior_count=5
        )
        assert found == pytest.approx(drawn.mean(), abs=4 * drawn.std() / np.sqrt(drawn.size))
    a, b = shrunk_rating([5, 4], [10, 200], prior_mean=3, prior_count=5)
    assert a > b


@pytest.mark.published(
    source="Cross Validated 248555 (stored copy read 2026-11-25): S = w R + (1 - w) C with "
    "w = v / (v + m); A has 100 opinions of 4.5, B one of 5, m = 40, C = 4.2"
)
def test_many_good_ratings_pass_one_perfect_rating():
    a, b = shrunk_rating([4.5, 5.0], [100, 1], prior_mean=4.2, prior_count=40)
    assert a == pytest.approx(100 / 140 * 4.5 + 40 / 140 * 4.2)
    assert b == pytest.approx(1 / 41 * 5 + 40 / 41 * 4.2)
    assert a > b
