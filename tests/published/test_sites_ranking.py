"""Weighing sites, against a textbook's example and a library for decisions by many criteria."""

import numpy as np
import pandas as pd
import pytest

from planner_kit.sites import rank_sites
from planner_kit.sites.weighing import group_weights, weight_margins


@pytest.mark.published(
    source="'Weighted sum model', example with three alternatives and four criteria, as copied "
    "from Wikipedia at chaos.owiki.org/wiki/Weighted_sum_model and wikiblah.com, stored copies "
    "read 2026-11-25: weights 0.20, 0.15, 0.40, 0.25; scores 21.50, 22.00 and 22.00"
)
def test_textbook_example_of_the_weighted_sum():
    # Both copies give A3 as 30, 10, 30, 10; performances are put on the kit's scale of 0 to 1.
    matrix = [[25, 20, 15, 30], [10, 30, 20, 30], [30, 10, 30, 10]]
    names = ["C1", "C2", "C3", "C4"]
    criteria = pd.DataFrame(np.array(matrix) / 30, columns=names, index=["A1", "A2", "A3"])
    weights = dict(zip(names, (0.20, 0.15, 0.40, 0.25), strict=True))
    scores = rank_sites(criteria, weights)["score"] * 30
    assert scores.loc[["A1", "A2", "A3"]].tolist() == pytest.approx([21.5, 22.0, 22.0])
    # A2 and A3 are level, so that the weight of any criterion in which they differ is at its turn.
    margins = weight_margins(criteria, weights).set_index("criterion")
    assert margins.loc["C4", "down_to"] == pytest.approx(0.25)
    assert margins.loc["C4", "rival_below"] == "A3"


@pytest.mark.published(
    source="pymcdm 1.4 (2025), methods.WSM without normalisation, a general library for decisions "
    "by many criteria"
)
@pytest.mark.parametrize("seed", range(5))
def test_scores_and_order_agree_with_a_library(seed):
    methods = pytest.importorskip("pymcdm.methods", reason="pymcdm is not installed")
    rng = np.random.default_rng(seed)
    values, weight = rng.uniform(0, 1, (200, 6)), rng.uniform(0.1, 10, 6)
    names = [f"c{n}" for n in range(6)]
    criteria = pd.DataFrame(values, columns=names, index=[f"s{n}" for n in range(200)])
    ranking = rank_sites(criteria, dict(zip(names, weight, strict=True)))
    method = methods.WSM(normalization_function=lambda column, cost=False: column)
    expected = method(values, weight / weight.sum(), np.ones(6))
    np.testing.assert_allclose(ranking["score"].loc[criteria.index], expected, rtol=1e-12)
    order = [f"s{n}" for n in np.argsort(-expected, kind="stable")]
    assert list(ranking.index) == order


@pytest.mark.published(
    source="pymcdm 1.4 (2025), methods.WSM; linear opinion pool, M. Stone, 'The opinion pool', "
    "Annals of Mathematical Statistics 32 (1961): the weighted mean of what each person says"
)
def test_group_score_is_the_weighted_mean_of_each_person_s():
    methods = pytest.importorskip("pymcdm.methods", reason="pymcdm is not installed")
    rng = np.random.default_rng(9)
    values, names = rng.uniform(0, 1, (50, 4)), ["a", "b", "c", "d"]
    criteria = pd.DataFrame(values, columns=names)
    sets = {who: dict(zip(names, rng.uniform(1, 9, 4), strict=True)) for who in ("Ada", "Ben")}
    method = methods.WSM(normalization_function=lambda column, cost=False: column)
    scores = {
        who: method(values, np.array(list(own.values())) / sum(own.values()), np.ones(4))
        for who, own in sets.items()
    }
    says = {"Ada": 3.0, "Ben": 1.0}
    together = rank_sites(criteria, group_weights(sets, says))["score"].sort_index()
    np.testing.assert_allclose(together, 0.75 * scores["Ada"] + 0.25 * scores["Ben"], rtol=1e-12)
