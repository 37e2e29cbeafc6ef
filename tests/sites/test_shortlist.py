"""Ranking candidates and saying why some are out."""

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.errors import PlanFileError
from planner_kit.sites import (
    must_have_table,
    rank_sites,
    removed_by,
    shrunk_rating,
    site_criteria,
    site_weights,
    what_each_removed,
)
from planner_kit.sites.shortlist import CRITERIA


def three(kit):
    return pd.concat(
        [
            kit.site_frame(site_id="a"),
            kit.site_frame(site_id="b", wifi=None, rating=None, dogs="no"),
            kit.site_frame(site_id="c", hookup_a=0, dogs=None),
        ]
    )


def criteria(kit, **changes):
    given = {"price_per_night": [20, 30, np.nan], "drive_min": [60, 90, 400], "room_m": [1, -1, 9]}
    return site_criteria(three(kit), **{**given, **changes})


def test_criteria_are_between_0_and_1_and_unknown_stays_unknown(kit):
    found = criteria(kit)
    assert list(found.columns) == list(CRITERIA)
    known = found.to_numpy()[~np.isnan(found.to_numpy())]
    assert ((known >= 0) & (known <= 1)).all()
    # median of 20 and 30 is 25; twice that earns nothing: 1 - 20/50
    assert found.loc["a", "price"] == pytest.approx(0.6)
    assert np.isnan(found.loc["c", "price"])
    assert np.isnan(found.loc["b", "rating"])
    assert found.loc["c", "drive"] == 0
    assert found.loc["c", "room"] == 1


def test_facilities_are_a_share_of_what_is_known(kit):
    found = criteria(kit)["facilities"]
    # a: hook-up, wifi and water of four; b: wifi unknown, 2 of 3; c: no hook-up, 2 of 4
    assert found.tolist() == pytest.approx([3 / 4, 2 / 3, 2 / 4])


weight = st.floats(0, 10, allow_subnormal=False)
part = st.none() | st.floats(0, 1)


@settings(max_examples=50, deadline=None)
@given(
    weights=st.fixed_dictionaries({name: weight for name in CRITERIA}),
    rows=st.lists(st.tuples(*[part] * len(CRITERIA)), min_size=1, max_size=12),
    scale=st.floats(0.1, 50),
)
def test_parts_sum_to_the_score_and_only_ratios_of_weights_matter(weights, rows, scale):
    table = pd.DataFrame(rows, columns=list(CRITERIA), dtype=float)
    ranking = rank_sites(table, weights)
    parts = ranking[[f"part_{name}" for name in CRITERIA]]
    np.testing.assert_allclose(parts.sum(axis=1), ranking["score"], atol=1e-12)
    assert ranking["score"].between(0, 1 + 1e-12).all()
    assert ranking["score"].is_monotonic_decreasing
    scaled = rank_sites(table, {name: w * scale for name, w in weights.items()})
    np.testing.assert_allclose(scaled["score"], ranking["score"], atol=1e-9)


def test_unknown_earns_nothing_and_is_named():
    table = pd.DataFrame({"price": [np.nan, 0.5], "drive": [1.0, 1.0]}, index=["x", "y"])
    ranking = rank_sites(table, {"price": 1, "drive": 1})
    assert list(ranking.index) == ["y", "x"]
    assert ranking.loc["x", "not_known"] == "price"
    assert ranking.loc["y", "not_known"] == ""


def test_must_haves_remove_and_say_what_for(kit):
    table = must_have_table(three(kit), reach=[1, 1, 1], fits=[1, 1, np.nan], is_open=[1, 0, 1])
    gone = removed_by(table, ("dogs", "open", "hookup"))
    assert gone.tolist() == ["", "dogs; open", "dogs (not known); hookup"]
    counts = what_each_removed(table, ("dogs", "open", "hookup")).set_index("must_have")
    assert counts.loc["dogs"].tolist() == [2, 1, 0]
    assert counts.loc["open"].tolist() == [1, 0, 0]


def test_a_site_out_of_reach_is_out_without_being_asked(kit):
    table = must_have_table(three(kit), reach=[0, 0, np.nan], fits=[1, 1, 1], is_open=[1, 1, 1])
    assert removed_by(table, ()).tolist() == ["reach", "reach", ""]
    assert removed_by(table, ("dogs",)).tolist() == ["reach", "reach; dogs", "dogs (not known)"]
    assert removed_by(table, ("reach",)).tolist() == ["reach", "reach", "reach (not known)"]


def test_removed_sites_come_last_however_good(kit):
    table = criteria(kit)
    ranking = rank_sites(table, site_weights({}), pd.Series(["dogs", "", ""], index=table.index))
    assert ranking.index[-1] == "a"
    assert ranking["removed_by"].iloc[-1] == "dogs"


def test_a_weight_or_must_have_that_is_not_known_names_the_nearest(kit):
    with pytest.raises(PlanFileError, match="did you mean 'price'"):
        site_weights({"prise": 1})
    table = must_have_table(three(kit), reach=[1, 0, 1], fits=[1, 1, 1], is_open=[1, 1, 1])
    with pytest.raises(PlanFileError, match="did you mean 'playground'"):
        removed_by(table, ("playgrounds",))


@settings(max_examples=50, deadline=None)
@given(st.floats(0, 5), st.integers(1, 10_000), st.floats(0, 5), st.floats(1, 100))
def test_a_shrunk_rating_lies_between_its_mean_and_the_prior(mean, count, prior, prior_count):
    found = float(shrunk_rating([mean], [count], prior, prior_count)[0])
    assert min(mean, prior) - 1e-9 <= found <= max(mean, prior) + 1e-9


def test_no_ratings_stay_unknown():
    assert np.isnan(shrunk_rating([np.nan, 4.0], [3, 0], 3.0, 10)).all()
