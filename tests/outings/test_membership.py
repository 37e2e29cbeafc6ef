import datetime as dt

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.outings import membership_worth, trips_worth, worth_by_composition
from planner_kit.outings.membership import household_compositions, year_of
from tests.outings.conftest import make_household

DAY = dt.date(2027, 7, 25)


def visit(adult=np.nan, child=np.nan, family=np.nan, parking=np.nan, *, day=DAY, **more):
    """A visit to a place that the membership of the test household opens."""
    base = {
        "trip": "Summer", "day": day, "attraction_id": "a", "name": "Gull Castle",
        "adult_price": adult, "child_price": child, "family_price": family,
        "parking_price": parking, "currency": "GBP", "free_with": "heritage",
    }  # fmt: skip
    return {**base, **more}


def worth(*visits, household=None, **more):
    return membership_worth(pd.DataFrame(visits), household or make_household(), **more).iloc[0]


def changed(**changes):
    held = {**make_household().memberships[0].model_dump(), **changes}
    return make_household(memberships=[held])


def test_saving_is_the_entry_not_paid_and_the_fee_is_not_yet_earned():
    row = worth(visit(10, 4, 25, 3), visit(9, 5), visit(8, 8, free_with=""))
    assert (row["visits"], row["saved"], row["left"]) == (2, 25 + 28, 53 - 60)
    assert row["earned_on"] is None
    assert row["visits_needed"] == 3  # 60 at 26.50 a visit
    assert "which 3 visits like these would earn" in row["sentence"]


def test_fee_is_earned_on_the_day_of_the_visit_that_reaches_it():
    days = [DAY + dt.timedelta(days=n) for n in (2, 0, 1)]
    row = worth(*(visit(10, 4, day=day) for day in days))  # 28 each; 60 at the third
    assert row["earned_on"] == max(days)
    assert "Tue 27 Jul 2027" in row["sentence"]


def test_parking_counts_where_the_membership_opens_it():
    assert worth(visit(10, 4, parking=3), household=changed(parking_free=True))["saved"] == 31
    assert worth(visit(10, 4, parking=3))["saved"] == 28


def test_discount_saves_its_share():
    household = changed(opens_free=False, discount_pct=25)
    assert worth(visit(10, 4), household=household)["saved"] == 7


def test_saving_at_unknown_price_is_told_as_unknown():
    row = worth(visit())
    assert (row["saved"], row["unknown_visits"]) == (0, 1)
    assert "not known" in row["sentence"]


def test_other_money_is_not_added():
    assert worth(visit(10, 4, currency="EUR"))["saved"] == 0


def test_fee_that_is_not_given_is_said():
    row = worth(visit(10, 4), household=changed(fee_per_year=None))
    assert "its fee is not given" in row["sentence"]
    assert np.isnan(row["left"])


def test_compositions_are_those_of_the_household_each_once():
    found = household_compositions(make_household(), DAY)
    assert found["one adult"] == ("Ida",)
    assert found["one adult and the children"] == ("Ida", "Bea", "Jo")
    alone = household_compositions(make_household(people=[{"name": "Ida"}]), DAY)
    assert alone == {"one adult": ("Ida",)}


def test_break_even_depends_on_who_comes():
    visits = pd.DataFrame([visit(10, 4), visit(12, 6)])
    found = worth_by_composition(visits, make_household(), DAY).set_index("who")
    # on paper: 22 for one adult, 44 for two, 22 + 20 with the children, 64 for all
    assert dict(found["saved"]) == {
        "one adult": 22, "two adults": 44, "one adult and the children": 42, "all of us": 64,
    }  # fmt: skip
    assert found.loc["all of us", "left"] == 4
    assert dict(found["visits_needed"])["one adult"] == 6


def test_membership_for_one_saves_less_with_more_people_along():
    household = changed(covers="person")
    visits = pd.DataFrame([visit(10, 4)])
    found = worth_by_composition(visits, household, DAY).set_index("who")
    assert set(found["saved"]) == {10}


@pytest.mark.parametrize(
    ("until", "first", "last"),
    [
        (dt.date(2027, 8, 31), dt.date(2026, 9, 1), dt.date(2027, 8, 31)),
        (dt.date(2026, 8, 31), dt.date(2026, 9, 1), dt.date(2027, 8, 31)),
        (dt.date(2028, 12, 31), dt.date(2027, 1, 1), dt.date(2027, 12, 31)),
        (None, DAY, dt.date(2028, 7, 24)),
    ],
)
def test_year_is_the_one_that_holds_the_day(until, first, last):
    held = make_household().memberships[0].model_copy(update={"valid_until": until})
    assert year_of(held, DAY) == (first, last)


def test_visits_of_another_year_do_not_count():
    household = changed(valid_until=dt.date(2027, 8, 31))
    visits = pd.DataFrame(
        [visit(10, 4), visit(10, 4, day=dt.date(2027, 10, 1), trip="Autumn"),
         visit(10, 4, day=dt.date(2027, 4, 3), trip="Spring")]
    )  # fmt: skip
    row = trips_worth(visits, household, DAY).iloc[0]
    assert (row["visits"], row["trips"], row["saved"]) == (2, 2, 56)


@settings(max_examples=50, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 40), st.floats(0, 40)), min_size=1, max_size=6))
def test_saving_is_never_below_nought_and_grows_with_each_visit(prices):
    rows = [visit(adult, child) for adult, child in prices]
    saved = [worth(*rows[: n + 1])["saved"] for n in range(len(rows))]
    assert saved[0] >= 0
    assert (np.diff(saved) >= -1e-9).all()
