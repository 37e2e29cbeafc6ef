import datetime as dt

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.outings import entry_costs
from planner_kit.outings.entry import ticket_price
from tests.outings.conftest import make_household

DAY = dt.date(2027, 7, 25)


def one(adult=np.nan, child=np.nan, family=np.nan, parking=np.nan, free_with="", currency="GBP"):
    return pd.DataFrame(
        {
            "adult_price": [adult],
            "child_price": [child],
            "family_price": [family],
            "parking_price": [parking],
            "free_with": [free_with],
            "currency": [currency],
        }
    )


def cost(frame, **more):
    return entry_costs(frame, make_household(), DAY, **more).iloc[0]


def test_two_adults_and_two_children_pay_singly():
    assert cost(one(10, 4))["cost"] == 28


def test_family_ticket_is_taken_when_cheaper():
    assert cost(one(10, 4, 25))["cost"] == 25
    assert cost(one(10, 4, 30))["cost"] == 28


def test_parking_is_added_and_its_absence_told():
    assert cost(one(10, 4, 25, 3))["cost"] == 28
    assert not cost(one(10, 4))["parking_known"]


def test_child_price_that_is_missing_is_not_free():
    assert np.isnan(cost(one(10))["cost"])
    assert cost(one(10, family=25))["cost"] == 25
    assert cost(one(10), party=["Ida", "Tam"])["cost"] == 20


def test_membership_opens_the_door_but_not_the_car_park():
    found = cost(one(10, 4, parking=3, free_with="other; heritage"))
    assert (found["cost"], found["full_cost"], found["free_with"]) == (3, 31, "Island Heritage")


def test_membership_may_open_the_car_park_too():
    held = make_household().memberships[0].model_copy(update={"parking_free": True})
    found = cost(one(10, 4, parking=3, free_with="heritage"), memberships=[held])
    assert (found["cost"], found["full_cost"]) == (0, 31)


def test_membership_that_has_run_out_does_not_help():
    held = make_household().memberships[0].model_copy(update={"valid_until": dt.date(2027, 1, 1)})
    assert cost(one(10, 4, free_with="heritage"), memberships=[held])["cost"] == 28


def test_membership_for_one_person_leaves_the_others_to_pay():
    held = make_household().memberships[0].model_copy(update={"covers": "person"})
    assert cost(one(10, 4, free_with="heritage"), memberships=[held])["cost"] == 18


def test_price_unknown_but_membership_opens_is_free():
    assert cost(one(free_with="heritage"))["cost"] == 0


price = st.one_of(st.just(np.nan), st.floats(0, 100))


@settings(max_examples=50, deadline=None)
@given(st.integers(0, 5), st.integers(0, 8), price, price, price)
def test_tickets_never_cost_more_than_singly_and_unknown_is_never_zero(a, c, adult, child, family):
    found = ticket_price(a, c, *(np.array([p]) for p in (adult, child, family)))[0]
    singly = (a * adult if a else 0) + (c * child if c else 0)
    if not np.isnan(singly):
        assert found <= singly + 1e-9
    if np.isnan(adult) and np.isnan(family) and a:
        assert np.isnan(found)


def test_large_group_may_take_two_family_tickets():
    found = ticket_price(4, 4, np.array([10.0]), np.array([6.0]), np.array([22.0]))
    assert found[0] == pytest.approx(44)


def test_parking_is_told_apart_and_saved_only_by_a_membership_that_parks_free():
    frame = one(10, 4, parking=3, free_with="heritage")
    found = cost(frame)
    assert (found["cost"], found["parking_cost"]) == (3, 3)
    own = make_household().memberships[0]
    parks = own.model_copy(update={"parking_free": True})
    found = cost(frame, memberships=[parks])
    assert (found["cost"], found["parking_cost"]) == (0, 0)
    assert np.isnan(cost(one(10, 4))["parking_cost"])
