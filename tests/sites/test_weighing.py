"""Margins of weights, sites beaten on everything, several people."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.sites import rank_sites
from planner_kit.sites.weighing import beaten_by, group_ranking, group_weights, weight_margins

NAMES = ["price", "drive", "room"]
table = st.lists(st.lists(st.integers(0, 8), min_size=3, max_size=3), min_size=2, max_size=9)


def frame(rows):
    return pd.DataFrame(np.array(rows, float) / 8, columns=NAMES,
                        index=[f"s{n}" for n in range(len(rows))])  # fmt: skip


def test_margin_on_paper():
    criteria = pd.DataFrame({"price": [1.0, 0.0], "drive": [0.0, 1.0]}, index=["a", "b"])
    margins = weight_margins(criteria, {"price": 3, "drive": 2}).set_index("criterion")
    # a leads as long as the price weighs at least the drive's 2, and the drive at most 3
    assert margins.loc["price", "down_to"] == 2
    assert margins.loc["price", "up_to"] == np.inf
    assert (margins.loc["drive", "up_to"], margins.loc["drive", "rival_above"]) == (3, "b")


@settings(max_examples=50, deadline=None)
@given(rows=table, weights=st.lists(st.integers(1, 9), min_size=3, max_size=3))
def test_the_winner_stays_within_the_margins_and_falls_beyond(rows, weights):
    criteria, own = frame(rows), dict(zip(NAMES, map(float, weights), strict=True))
    winner = rank_sites(criteria, own).index[0]
    for row in weight_margins(criteria, own).to_dict("records"):
        for end, rival, step in (
            (row["down_to"], row["rival_below"], -1e-6),
            (row["up_to"], row["rival_above"], 1e-6),
        ):
            if not rival or end + step < 0:
                continue
            # Where two sites are level the winner holds at one weight only.
            inside = float(np.clip(end - step, row["down_to"], row["up_to"]))
            outside = end + step
            scores = {w: criteria @ pd.Series({**own, row["criterion"]: w})
                      for w in (inside, outside)}  # fmt: skip
            assert scores[inside][winner] >= scores[inside].max() - 1e-9
            assert scores[outside][rival] > scores[outside][winner]


@settings(max_examples=50, deadline=None)
@given(rows=table)
def test_beaten_sites_are_those_of_the_definition(rows):
    criteria = frame(rows)
    values = criteria.to_numpy()
    found = beaten_by(criteria)
    for n, one in enumerate(values):
        over = [(v >= one).all() and (v > one).any() for v in values]
        assert bool(found.iloc[n]) == any(over)
        if found.iloc[n]:
            assert over[list(criteria.index).index(found.iloc[n])]


def test_larger_figures_give_no_larger_say():
    sets = {"Ada": {"price": 1, "drive": 3}, "Ben": {"price": 30, "drive": 10}}
    assert group_weights(sets) == pytest.approx({"price": 0.5, "drive": 0.5})
    criteria = pd.DataFrame(
        {"price": [1.0, 0.0, 0.6], "drive": [0.0, 1.0, 0.6]}, index=["cheap", "near", "middle"]
    )
    group = group_ranking(criteria, sets)
    assert group.index[0] == "middle"
    assert group["place_Ada"].idxmin() == "near"
    assert group["place_Ben"].idxmin() == "cheap"
