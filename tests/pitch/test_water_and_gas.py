from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.pitch.climate import StayClimate
from planner_kit.pitch.cylinders import check_gas_in_cold
from planner_kit.pitch.gas import check_gas, gas_kg, gas_need
from planner_kit.pitch.site_rules import SiteOffer
from planner_kit.pitch.water import (
    carrier_trips,
    cassette_days,
    cassette_fillings,
    check_cassette,
    check_grey_water,
    check_water,
    water_l_per_day,
)
from planner_kit.reference import read_table
from planner_kit.states import State
from planner_kit.trip.household import Caravan

MILD, FROST, SILENT = StayClimate(12, 22), StayClimate(-5, 3), StayClimate()
OFFER = SiteOffer("s", 10.0, 230.0, 0.0, None, "any", "tap by the gate", None, None, "made")
DRY = SiteOffer("s", 10.0, 230.0, 0.0, None, "any", None, None, None, "made")


def test_big_tank_holds_a_day_for_two() -> None:
    check = check_water(Caravan(name="c", fresh_water_l=40), OFFER, 2, 5)
    assert check.state is State.FINE
    # 22.5 L x 5 nights / 40 L = 2.8, so three fillings.
    assert " for 2 people: 3 fillings" in check.sentence


def test_small_tank_wants_a_look_and_missing_facts_are_unknown() -> None:
    assert check_water(Caravan(name="c", fresh_water_l=20), OFFER, 4, 5).state is State.LOOK
    alone = check_water(Caravan(name="c"), OFFER, 1, 5)
    assert " for 1 person; not known: the water tank's size." in alone.sentence
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
    figures = {
        "gas_cylinders": 2, "gas_cylinder_kg": 6, "gas_kind": "propane",
        "heating": "none", "hot_water": "none", **given_,
    }  # fmt: skip
    return Caravan(name="c", **figures)


def gas_check(van: Caravan, nights: int, *, hookup: bool, climate: StayClimate = MILD):
    return check_gas(van, gas_need(van, nights, 2, climate, hookup=hookup))


def test_gas_states() -> None:
    assert gas_check(caravan(), 5, hookup=True).state is State.FINE
    assert gas_check(caravan(), 20, hookup=True).state is State.LOOK
    assert gas_check(caravan(), 60, hookup=False).state is State.NOT_FINE
    assert gas_check(caravan(gas_cylinders=1), 5, hookup=True).state is State.LOOK
    for gap in ("gas_cylinders", "gas_cylinder_kg", "gas_kind"):
        assert gas_check(caravan(**{gap: None}), 5, hookup=True).state is State.UNKNOWN


def test_heating_that_is_not_known_is_never_fine() -> None:
    silent = caravan(heating=None)
    check = gas_check(silent, 3, hookup=True)
    assert check.state is State.LOOK
    assert "not counted: heating" in check.sentence
    heated = caravan(heating="gas", body_length_m=6, width_m=2.3, insulation_class=3)
    assert "names no temperatures" in gas_check(heated, 3, hookup=True, climate=SILENT).sentence
    assert "heating" in gas_need(heated, 3, 2, FROST, hookup=True).uses


def test_butane_in_frost_is_not_fine_and_propane_is() -> None:
    assert check_gas_in_cold(caravan(gas_kind="butane"), FROST).state is State.NOT_FINE
    assert check_gas_in_cold(caravan(), FROST).state is State.FINE
    assert check_gas_in_cold(caravan(), SILENT).state is State.UNKNOWN
    assert check_gas_in_cold(caravan(gas_kind=None), FROST).state is State.UNKNOWN


@settings(max_examples=50, deadline=None)
@given(st.floats(-15, 15), st.floats(0, 10), st.floats(0, 10))
def test_colder_never_burns_less(low, span, colder) -> None:
    van = caravan(heating="gas", body_length_m=6, width_m=2.3, insulation_class=3)
    warm = gas_need(van, 5, 2, StayClimate(low, low + span), hookup=True).total
    cold = gas_need(van, 5, 2, StayClimate(low - colder, low + span - colder), hookup=True).total
    assert cold.likely >= warm.likely - 1e-9
    assert warm.low <= warm.likely <= warm.high


def test_waste_water_states() -> None:
    assert check_grey_water(Caravan(name="c", waste_water_l=40), 2).state is State.FINE
    assert check_grey_water(Caravan(name="c", waste_water_l=20), 2).state is State.LOOK
    assert check_grey_water(Caravan(name="c", waste_water_l=0), 2).state is State.LOOK
    assert check_grey_water(Caravan(name="c"), 2).state is State.UNKNOWN
    # 22.5 L x 5 nights / 10 L.
    assert carrier_trips(Caravan(name="c"), 2, 5) == 12


@settings(max_examples=50, deadline=None)
@given(st.integers(1, 60), st.booleans())
def test_longer_stay_never_burns_less(nights, hookup) -> None:
    one, more = gas_kg(nights, hookup=hookup), gas_kg(nights + 1, hookup=hookup)
    assert one.low <= one.likely <= one.high
    assert more.low >= one.low


@pytest.mark.parametrize(
    "table", ["hookup", "hookup_lead", "gas", "water", "heating", "solar", "standing"]
)
def test_every_constant_says_where_it_comes_from(table: str) -> None:
    frame = read_table(table)
    assert (frame[["unit", "source"]] != "").all().all()
    assert set(frame["basis"]) <= {"published", "common practice", "from memory"}
    published = frame[frame["basis"] == "published"]
    assert (published[["edition", "accessed"]] != "").all().all()


@pytest.mark.parametrize(
    ("kind", "low_c", "said", "unsaid"),
    [
        ("butane", 0.0, "no gas", "less gas than"),
        ("butane", 8.0, "less gas than a regulator needs", "no gas"),
        ("butane", 15.0, "take propane if it may be colder", "go out"),
        ("propane", -30.0, "little is left for colder", "take propane"),
        ("propane", -45.0, "no cylinder of propane works", "take propane"),
    ],
)
def test_words_on_gas_in_the_cold_say_no_more_than_is_so(kind, low_c, said, unsaid) -> None:
    van = Caravan(name="c", gas_kind=kind)
    sentence = check_gas_in_cold(van, StayClimate(low_c, low_c + 8)).sentence
    assert said in sentence
    assert unsaid not in sentence
