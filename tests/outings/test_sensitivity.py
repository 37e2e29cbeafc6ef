import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.outings import diverse_top, overtaking_weights, rank_attractions
from planner_kit.outings.sensitivity import marginal_relevance_order


def table(rows):
    frame = pd.DataFrame(rows, columns=["criterion_rating", "criterion_drive", "criterion_cost"])
    names = [f"p{n}" for n in range(len(frame))]
    return frame.assign(attraction_id=names, name=names)


rows = st.lists(
    st.tuples(*[st.integers(0, 100).map(lambda n: n / 100)] * 3), min_size=2, max_size=8
)
weight = st.integers(1, 10).map(float)


@settings(max_examples=50, deadline=None)
@given(rows, st.tuples(weight, weight, weight))
def test_just_before_the_weight_the_winner_stays_and_just_after_it_is_overtaken(
    rows, given_weights
):
    weights = dict(zip(["rating", "drive", "cost"], given_weights, strict=True))
    ranking = rank_attractions(table(rows), weights)
    if (ranking["score"].iloc[0] - ranking["score"].iloc[1]) < 1e-6:
        return
    for row in overtaking_weights(ranking, weights).to_dict("records"):
        winner = ranking["attraction_id"].iloc[0]
        for share, stays in ((0.999, True), (1.001, False)):
            changed = row["weight"] + row["change"] * share
            if changed < 0:
                continue
            again = rank_attractions(table(rows), {**weights, row["criterion"]: changed})
            lead = again.set_index("attraction_id")["score"]
            gap = lead[winner] - lead[row["attraction_id"]]
            assert gap > -1e-9 if stays else gap < 1e-9


def test_overtaking_weight_on_paper():
    # 2 x 0.9 + 1 x 0.2 = 2.0 leads 2 x 0.5 + 1 x 0.8 = 1.8; at drive = 1 + 0.2 / 0.6 they meet.
    ranking = rank_attractions(
        table([(0.9, 0.2, 0), (0.5, 0.8, 0)]), {"rating": 2, "drive": 1, "cost": 0}
    )
    found = overtaking_weights(ranking, {"rating": 2, "drive": 1, "cost": 0})
    assert found.set_index("criterion").loc["drive", "new_weight"] == pytest.approx(4 / 3)
    assert found.set_index("criterion").loc["rating", "new_weight"] == pytest.approx(1.5)


@pytest.mark.published(
    source="Carbonell and Goldstein, SIGIR 1998, formula for MMR: arg max of lambda Sim1 - "
    "(1 - lambda) max Sim2, written out for three documents"
)
def test_marginal_relevance_on_paper():
    relevance = np.array([0.9, 0.85, 0.6])
    likeness = np.array([[1, 0.9, 0.1], [0.9, 1, 0.2], [0.1, 0.2, 1]])
    # 0.5 x 0.85 - 0.5 x 0.9 < 0.5 x 0.6 - 0.5 x 0.1
    assert marginal_relevance_order(relevance, likeness, 3, 0.5) == [0, 2, 1]
    assert marginal_relevance_order(relevance, likeness, 3, 1.0) == [0, 1, 2]


def test_ten_castles_do_not_fill_the_top():
    frame = pd.DataFrame(
        {
            "score": np.r_[np.linspace(0.9, 0.8, 12), 0.75, 0.74],
            "kind": ["castle"] * 12 + ["beach", "museum"],
            "indoor": ["part"] * 12 + ["no", "yes"],
            "drive_min": 20.0,
        }
    )
    found = diverse_top(frame, top=5)
    assert found["kind"].iloc[0] == "castle"
    assert {"beach", "museum"} <= set(found["kind"])
