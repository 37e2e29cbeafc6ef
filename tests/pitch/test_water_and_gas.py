from __future__ import annotations

import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.pitch.gas import check_gas, gas_kg
from planner_kit.pitch.site_rules import SiteOffer
from planner_kit.pitch.water import (
    cassette_days,
    cassette_fillings,
    check_cassette,
    check_water,
    water_l_per_day,
)
from planner_kit.reference import read_table
from planner_kit.states import State
from planner_kit.trip.household import Caravan

SUMMER, WINTER = dt.date(2027, 7, 24), dt.date(2027, 1, 5)
OFFER = SiteOffer("s", 10.0, 230.0, 0.0, None, "any", "tap by the gate", None, None, "made")
DRY = SiteOffer("s", 10.0, 230.0, 0.0, None, "any", None, None, None, "made")


def test_big_tank_holds_a_day_for_two() -> None:
    check = check_water(Caravan(name="c", fresh_water_l=40), OFFER, 2, 5)
    assert check.state is State.FINE
    # 22.5 L x 5 nights / 40 L = 2.8, so three fillings.
    assert "3 fillings" in check.sentence


def test_small_tank_wants_a_look_and_missing_facts_are_unknown() -> None:
    assert check_water(Caravan(name="c", fresh_water_l=20), OFFER, 4, 5).state is State.LOOK
    assert check_water(Caravan(name="c", fresh_water_l=0), OFFER, 4, 5).state is State.LOOK
    assert check_water(Caravan(name="c"), OFFER, 2, 5).state is State.UNKNOWN
    assert check_water(Caravan(name="c", fresh_water_l=40), DRY, 2, 5).state is State.UNKNOWN


@settings(max_examples=50, deadline=None)
@given(st.integers(1, 10))
def test_range_of_water_is_in_order_and_grows_with_people(people) -> None:
    one, more = water_l_per_day(people), water_l_per_day(people + 1)
    assert one.low <= one.likely <= one.high
    assert more.low > one.low


def test_cassette_days_and_fillings() -> None:
    caravan = Caravan(name="c", cassette_l=20)
    days = cassette_days(caravan, 2)
    assert days is not None
    assert days.likely == pytest.approx(5)
    assert cassette_fillings(caravan, 2, 11) == 3
    assert check_cassette(caravan, 2).state is State.FINE
    assert check_cassette(caravan, 8).state is State.LOOK
    assert check_cassette(Caravan(name="c"), 2).state is State.UNKNOWN
    assert cassette_fillings(Caravan(name="c"), 2, 11) is None


def test_refrigerator_burns_gas_only_without_hookup() -> None:
    # Cooking 250 g a day; refrigerator 17.5 g/h x 24 h = 420 g a day.
    assert gas_kg(10, hookup=True).likely == pytest.approx(2.5)
    assert gas_kg(10, hookup=False).likely == pytest.approx(6.7)


def caravan(**given_) -> Caravan:
    figures = {"gas_cylinders": 2, "gas_cylinder_kg": 6, "gas_kind": "propane", **given_}
    return Caravan(name="c", **figures)


def test_gas_states() -> None:
    assert check_gas(caravan(), 5, SUMMER, hookup=True).state is State.FINE
    assert check_gas(caravan(), 20, SUMMER, hookup=True).state is State.LOOK
    assert check_gas(caravan(), 60, SUMMER, hookup=False).state is State.NOT_FINE
    assert check_gas(caravan(gas_cylinders=1), 5, SUMMER, hookup=True).state is State.LOOK
    assert check_gas(caravan(gas_kind="butane"), 5, WINTER, hookup=True).state is State.LOOK
    for gap in ("gas_cylinders", "gas_cylinder_kg", "gas_kind"):
        check = check_gas(caravan(**{gap: None}), 5, SUMMER, hookup=True)
        assert check.state is State.UNKNOWN


@settings(max_examples=50, deadline=None)
@given(st.integers(1, 60), st.booleans())
def test_longer_stay_never_burns_less(nights, hookup) -> None:
    one, more = gas_kg(nights, hookup=hookup), gas_kg(nights + 1, hookup=hookup)
    assert one.low <= one.likely <= one.high
    assert more.low >= one.low


@pytest.mark.parametrize("table", ["hookup", "hookup_lead", "gas", "water", "signal_constants"])
def test_every_constant_says_where_it_comes_from(table: str) -> None:
    frame = read_table(table)
    assert (frame[["unit", "source"]] != "").all().all()
    assert set(frame["basis"]) <= {"published", "common practice", "from memory"}
    published = frame[frame["basis"] == "published"]
    assert (published[["edition", "accessed"]] != "").all().all()
