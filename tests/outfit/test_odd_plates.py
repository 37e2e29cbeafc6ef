import pytest

from planner_kit.outfit.odd_plates import odd_plates
from planner_kit.states import State


def _sentences(house) -> list[str]:
    return [check.sentence for check in odd_plates(house)]


def test_likely_household_has_nothing_odd(make_household) -> None:
    assert odd_plates(make_household()) == []


@pytest.mark.parametrize(
    ("part", "key", "value"),
    [
        ("car", "kerb_kg", 180),
        ("car", "towball_limit_kg", 900),
        ("car", "roof_limit_kg", 750),
        ("car", "width_m", 2.9),
        ("caravan", "height_m", 4.2),
        ("caravan", "axle_limit_kg", 9000),
        ("loading", "noseweight_measured_kg", 800),
        ("loading", "caravan_load_kg", 1200),
    ],
)
def test_unlikely_figure_is_named_and_never_fine(make_household, part, key, value) -> None:
    odd = odd_plates(make_household(**{part: {key: value}}))
    named = [check for check in odd if f"[{part}] {key} is" in check.sentence]
    assert len(named) == 1
    assert named[0].state is State.LOOK
    assert named[0].margin < 0


def test_part_that_is_larger_than_the_whole_is_not_fine(make_household) -> None:
    house = make_household(caravan={"body_length_m": 8.0, "mtplm_kg": 1500})
    (fault,) = [check for check in odd_plates(house) if check.state is State.NOT_FINE]
    assert fault.sentence.startswith("The caravan's body (8 m) is more than its length")


def test_axles_that_do_not_add_up_to_the_car_are_named(make_household) -> None:
    house = make_household(car={"front_axle_kerb_kg": 1000, "rear_axle_kerb_kg": 1000})
    assert any("axles carry 2,000 kg together" in line for line in _sentences(house))
    house = make_household(car={"front_axle_kerb_kg": 1000, "rear_axle_kerb_kg": 800})
    assert _sentences(house) == []


def test_mass_for_its_length_gives_a_slip_away(make_household) -> None:
    house = make_household(caravan={"mtplm_kg": 2990, "body_length_m": 6.0})
    assert any("body_kg_per_m" in line for line in _sentences(house))


def test_limits_that_bear_less_than_the_whole_are_named(make_household) -> None:
    car = {"front_axle_limit_kg": 1000, "rear_axle_limit_kg": 1100, "gross_kg": 2400}
    assert any(
        "axle limits together (2,100 kg)" in line for line in _sentences(make_household(car=car))
    )
    one = {"axle_limit_kg": 1300, "noseweight_limit_kg": 90, "mtplm_kg": 1500}
    (line,) = _sentences(make_household(caravan=one))
    assert (
        "axle and noseweight limits together (1,390 kg) are less than its MTPLM (1,500 kg)" in line
    )
    two = {**one, "axles": 2, "axle_limit_kg": 800}
    assert _sentences(make_household(caravan=two)) == []


def test_missing_figures_are_passed_over(make_household) -> None:
    house = make_household(car={"kerb_kg": None, "gross_kg": None}, caravan={"mtplm_kg": None})
    assert _sentences(house) == []
