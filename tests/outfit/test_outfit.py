import datetime as dt

import pytest

from planner_kit.outfit import masses_of, outfit_of

DAY = dt.date(2027, 7, 24)


def test_outfit_adds_up_people_by_age_and_load(make_household) -> None:
    outfit = outfit_of(make_household(), on=DAY)
    assert outfit.car_kg == 1800 + 75 + 35 + 80
    assert outfit.caravan_kg == 1400
    assert outfit.train_kg == outfit.car_kg + outfit.caravan_kg


def test_only_the_party_is_weighed(make_household) -> None:
    outfit = outfit_of(make_household(), on=DAY, party=("Ada",))
    assert outfit.car_kg == 1800 + 75 + 80


def test_unknown_load_takes_the_plates_and_says_so(make_household) -> None:
    house = make_household(loading={"car_load_kg": None, "caravan_load_kg": None})
    outfit = outfit_of(house, on=DAY)
    assert (outfit.car_kg, outfit.caravan_kg) == (2400, 1500)
    assert sum("loaded to its plate" in text for text in outfit.assumed) == 2


def test_nothing_known_gives_none_and_no_number(make_household) -> None:
    house = make_household(
        car={"kerb_kg": None, "gross_kg": None, "length_m": None, "width_m": None},
        caravan={"mtplm_kg": None, "mass_in_running_order_kg": None},
    )
    outfit = outfit_of(house, on=DAY)
    assert outfit.car_kg is None
    assert outfit.caravan_kg is None
    assert outfit.train_kg is None
    assert outfit.length_m is None
    assert outfit.width_m is None


def test_lengths_come_from_bumper_to_tail(make_household) -> None:
    outfit = outfit_of(make_household(), on=DAY)
    assert outfit.length_m == pytest.approx(4.8 + 0.3 + 7.3)
    assert outfit.ball_behind_rear_axle_m == pytest.approx(1.3)
    assert outfit.axle_to_tail_m == pytest.approx(7.3 - 4.4)
    assert outfit.max_axle_kg == 1500


def test_missing_axle_place_is_guessed_and_called_a_guess(make_household) -> None:
    outfit = outfit_of(make_household(caravan={"ball_to_axle_m": None}), on=DAY)
    assert outfit.ball_to_axle_m == pytest.approx(0.6 * 7.3)
    assert any("ball to axle is missing" in text for text in outfit.assumed)


def test_weighbridge_goes_before_the_list(make_household, make_items) -> None:
    list_of = make_items(("stones", 500, 1, "caravan floor", 0.0))
    assert masses_of(make_household(), items=list_of, on=DAY).caravan_load_kg == 100
