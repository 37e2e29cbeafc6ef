import numpy as np
import pytest

from planner_kit.reference import read_table
from planner_kit.rules.plausible import bounds_of, is_odd, odd_figures
from planner_kit.states import State
from planner_kit.trip.household import Car, Caravan, Loading, Tyre

KEYS = {"car": Car, "caravan": Caravan, "tyre": Tyre, "loading": Loading}


def test_every_range_is_one() -> None:
    table = read_table("plausible")
    assert not table.duplicated(["of", "name"]).any()
    assert (table["low"].astype(float) < table["high"].astype(float)).all()


@pytest.mark.parametrize("what", KEYS)
def test_every_range_is_of_a_key_that_there_is(what: str) -> None:
    assert set(bounds_of(what)) <= set(KEYS[what].model_fields)


@pytest.mark.parametrize("what", KEYS)
def test_every_number_of_car_and_caravan_has_a_range(what: str) -> None:
    free = {"axles", "battery_rate_h", "solar_w", "solar_tilt_deg", "solar_facing_deg",
            "gas_cylinders", "insulation_class", "kerb_includes_driver", "braked",
            "stabiliser"}  # fmt: skip
    numbers = {
        name
        for name, field in KEYS[what].model_fields.items()
        if any(kind in str(field.annotation) for kind in ("float", "int"))
    }
    assert numbers - free <= set(bounds_of(what))


def test_missing_and_endless_values_are_not_odd() -> None:
    assert not is_odd([np.nan, np.inf, 100.0], "map", "maxspeed").any()
    assert is_odd([300.0, 0.5], "map", "maxspeed").all()


def test_odd_figure_names_place_figure_and_range() -> None:
    (check,) = odd_figures({"mtplm_kg": 3400.0, "unheard_of": 1.0}, "caravan", "household.toml")
    assert check.state is State.LOOK
    assert "household.toml mtplm_kg is 3,400 kg" in check.sentence
    assert "400 to 3,000 kg" in check.sentence
    assert check.margin == -400


def test_thing_that_nothing_is_held_on_is_an_error() -> None:
    with pytest.raises(KeyError, match=r"plausible\.csv has nothing on 'boat'"):
        bounds_of("boat")
