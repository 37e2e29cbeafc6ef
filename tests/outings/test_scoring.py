import datetime as dt
import string

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.errors import PlannerKitError
from planner_kit.outings import (
    CRITERIA,
    attraction_criteria,
    outing_weights,
    rank_attractions,
    shrunk_rating,
)
from tests.outings.conftest import make_household

DAY = dt.date(2027, 7, 25)
NAMES = ["rating", "drive", "cost"]
figure = st.one_of(st.just(float("nan")), st.floats(0, 1))
tables = st.lists(st.tuples(figure, figure, figure), min_size=1, max_size=20).map(
    lambda rows: pd.DataFrame(rows, columns=[f"criterion_{n}" for n in NAMES]).assign(
        attraction_id=list(string.ascii_letters[: len(rows)])
    )
)
weighting = st.fixed_dictionaries({name: st.floats(0, 10) for name in NAMES})


@settings(max_examples=50, deadline=None)
@given(tables, weighting)
def test_parts_sum_to_the_score_and_order_is_by_score(table, weights):
    ranking = rank_attractions(table, weights)
    parts = ranking[[f"part_{name}" for name in NAMES]]
    np.testing.assert_allclose(parts.sum(axis=1), ranking["score"], atol=1e-12)
    assert (np.diff(ranking["score"]) <= 0).all()
    assert ranking["score"].between(0, 1 + 1e-9).all()
    assert sorted(ranking["attraction_id"]) == sorted(table["attraction_id"])


@settings(max_examples=50, deadline=None)
@given(tables, weighting, st.sampled_from(NAMES), st.floats(0.1, 10))
def test_raising_a_weight_never_lowers_the_best_of_that_criterion(table, weights, name, more):
    column = table[f"criterion_{name}"]
    if column.isna().all():
        return
    best = table.loc[column.idxmax(), "attraction_id"]
    raised = {**weights, name: weights[name] + more}

    def above(by):
        ranking = rank_attractions(table, by).set_index("attraction_id")
        mine = ranking.loc[best, "score"] * sum(by.values())
        return set(ranking.index[ranking["score"] * sum(by.values()) > mine + 1e-9])

    if sum(weights.values()) > 0:
        assert above(raised) <= above(weights)


@settings(max_examples=50, deadline=None)
@given(tables, st.sampled_from(NAMES))
def test_unknown_never_counts_as_the_best(table, name):
    ranking = rank_attractions(table, {name: 1.0})
    known = ranking[f"criterion_{name}"].notna()
    if known.any() and not known.all():
        assert ranking.loc[~known, "score"].max() <= ranking.loc[known, "score"].max()
    assert (ranking["not_known"] == np.where(known, "", name)).all()


@settings(max_examples=50, deadline=None)
@given(tables, weighting, st.integers(0, 25))
def test_best_few_are_the_head_of_all(table, weights, top):
    few = rank_attractions(table, weights, top=top)
    pd.testing.assert_frame_equal(few, rank_attractions(table, weights).head(top))


def test_ranking_again_replaces_the_old_parts():
    table = pd.DataFrame({"criterion_cost": [0.1, 0.9], "criterion_drive": [0.9, 0.1], "x": [1, 2]})
    once = rank_attractions(table, {"cost": 1, "drive": 0})
    again = rank_attractions(once, {"cost": 0, "drive": 2})
    assert list(once["x"]) == [2, 1]
    assert list(again["x"]) == [1, 2]
    assert list(again.columns).count("score") == 1


def test_no_weight_at_all_scores_nothing_and_keeps_the_order():
    table = pd.DataFrame({"criterion_cost": [0.1, 0.9]})
    assert list(rank_attractions(table, {"cost": 0})["score"]) == [0, 0]


def test_household_weights_go_before_the_kits_and_sliders_before_both():
    household = make_household(preferences={"attractions": {"cost": 9, "drive": 1}})
    found = outing_weights(household, weights={"drive": 7})
    assert (found["cost"], found["drive"]) == (9, 7)
    assert set(found) == set(CRITERIA)


def test_misspelt_weight_names_the_nearest():
    with pytest.raises(PlannerKitError, match="did you mean 'rating'"):
        outing_weights(make_household(preferences={"attractions": {"ratings": 1}}))


def row(**changes):
    base = {
        "attraction_id": "a",
        "name": "Place",
        "kind": "castle",
        "notes": "",
        "rating": 4.0,
        "rating_scale": np.nan,
        "rating_count": 20,
        "cost": 0.0,
        "currency": "GBP",
        "drive_min": 45.0,
        "open_days": 2.0,
        "indoor": "part",
        "min_age": np.nan,
        "max_age": np.nan,
        "time_needed_min": 90.0,
        "dogs": "",
        "wheelchair": "",
    }
    return {**base, **changes}


def criteria(*rows, household=None, **more):
    frame = pd.DataFrame(rows).astype({"rating_count": "Int64"})
    own = household or make_household()
    return attraction_criteria(frame, household=own, on=DAY, days=4, **more)


def test_criteria_are_the_figures_on_paper():
    found = criteria(row()).iloc[0]
    assert found["rating"] == pytest.approx((20 * 3.5 + 20 * 4) / 40 / 5)
    assert found["drive"] == pytest.approx(0.5)  # half of the 90 min that score nothing
    assert found["cost"] == 1
    assert found["open"] == 0.5
    assert found["wet_day"] == 0.5
    assert np.isnan(found["age"])
    # Ida likes castles; Tam and Bea have wishes of their own, Jo has none
    assert found["likes"] == pytest.approx(0.5 + 0.5 / 3)


def test_dislike_counts_against_and_note_counts_for():
    museum, railway = criteria(
        row(kind="museum"), row(kind="attraction", notes="a steam railway by the sea")
    )["likes"]
    assert museum == pytest.approx(0.5 - 0.5 / 3)
    assert railway == pytest.approx(0.5 + 0.5 / 3)


def test_ages_outside_lower_the_age_fit():
    found = criteria(row(min_age=8), row(max_age=12), row(min_age=3, max_age=99))["age"]
    assert list(found) == [0.75, 0.5, 1.0]  # Bea is 8 and Jo 6; both parents are over 12


def test_other_currency_and_missing_facts_are_not_known():
    found = criteria(row(currency="EUR"), row(drive_min=np.nan, indoor="", rating=np.nan))
    assert np.isnan(found.loc[0, "cost"])
    assert found.loc[1, ["drive", "wet_day", "rating"]].isna().all()


def test_time_is_the_share_of_the_outing_spent_there_and_nought_beyond_the_day():
    half, too_long, on_foot = criteria(
        row(travel_min=45.0),
        row(travel_min=45.0, time_needed_min=480),
        row(travel_min=15.0),
        day_min=510,
    )["time"]
    assert half == pytest.approx(0.5)  # 90 min there, 45 min each way
    assert too_long == 0  # 480 + 90 min do not go into 510
    assert on_foot == pytest.approx(90 / 120)


def test_time_that_is_not_known_stays_so():
    assert criteria(row(time_needed_min=np.nan), row(drive_min=np.nan))["time"].isna().all()


def test_dogs_and_step_free_count_only_for_those_who_need_it():
    without = criteria(row(dogs="no", wheelchair="no"))
    assert list(without.loc[0, ["dogs", "step_free"]]) == [1, 1]
    people = [{"name": "Ida", "step_free": True}]
    household = make_household(dogs=[{"name": "Rex"}], people=people)
    found = criteria(
        row(dogs="no", wheelchair="limited"), row(dogs="Lead", wheelchair="yes"), row(dogs="ask"),
        household=household,
    )  # fmt: skip
    assert list(found["dogs"][:2]) == [0, 1]
    assert list(found["step_free"][:2]) == [0.5, 1]
    assert found.loc[2, ["dogs", "step_free"]].isna().all()


def test_criterion_that_does_not_apply_weighs_nothing_unless_asked():
    assert outing_weights(make_household())["dogs"] == 0
    assert outing_weights(make_household(dogs=[{"name": "Rex"}]))["dogs"] > 0
    assert outing_weights(make_household(), weights={"dogs": 3})["dogs"] == 3


def test_seen_places_are_not_new():
    found = criteria(row(), row(attraction_id="b", name="The Old Fort"), visited=["old fort"])
    assert list(found["novelty"]) == [1, 0]


def test_few_ratings_are_drawn_to_the_middle():
    few, many = shrunk_rating([5.0, 4.6], [2, 900])
    assert few < many
