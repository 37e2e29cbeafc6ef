"""Worked examples of a mechanics textbook, read as a caravan and a car."""

import pytest

from planner_kit.outfit import beam_loads, nose_from_load_kg, yaw_inertia_kg_m2
from planner_kit.outfit.statics import load_on_car

BOOK = (
    "S. J. Ling, J. Sanny and W. Moebs, 'University Physics', volume 1, OpenStax, 2016, {place}; "
    "stored copy read 2026-11-30"
)


# A car with a wheelbase of 2.5 m and 52 % of its weight on the front wheels has its centre 1.3 m in
# front of the rear axle.
@pytest.mark.published(source=BOOK.format(place="example 12.1, x = 0.52 d = 1.3 m"))
def test_centre_of_a_car_puts_its_weight_on_the_axles() -> None:
    axles = load_on_car([1000.0], [2.5 - 1.3], wheelbase_m=2.5)
    assert axles.front_kg == pytest.approx(520)
    assert axles.rear_kg == pytest.approx(480)


# A stick of 150 g on a support, with 50 g, 75 g and its own weight 70, 40 and 20 cm to the left of
# it, is balanced by m3 = 316.7 g 30 cm to the right, and the support carries 5.8 N at 9.8 m/s2.
_STICK_KG, _STICK_M, _SUPPORT_G = (0.050, 0.075, 0.150), (0.70, 0.40, 0.20), 9.8


@pytest.mark.published(source=BOOK.format(place="example 12.3, m3 = 317 g, F = 5.8 N"))
def test_balanced_stick_rests_on_its_support_alone() -> None:
    found = beam_loads([*_STICK_KG, 0.3167], [*_STICK_M, -0.30], ball_to_axle_m=0.7)
    assert found.nose_kg == pytest.approx(0, abs=5e-5)
    assert found.axles_kg[0] * _SUPPORT_G == pytest.approx(5.8, abs=0.05)


@pytest.mark.published(source=BOOK.format(place="example 12.3, m3 = 317 g"))
def test_load_behind_the_axle_takes_off_the_ball_what_the_rest_puts_on_it() -> None:
    span_m = 2.0
    on_ball = sum(
        nose_from_load_kg(kg, x_m, span_m) for kg, x_m in zip(_STICK_KG, _STICK_M, strict=True)
    )
    balancing_kg = on_ball / -nose_from_load_kg(1.0, -0.30, span_m)
    assert balancing_kg == pytest.approx(0.317, abs=5e-4)


# Six washers of 20 g, 10 cm apart on a rod of 0.5 m without mass, turn about its middle with
# 0.0035 kg m2; without the two in the middle with 0.0034 kg m2.
@pytest.mark.published(source=BOOK.format(place="example 10.8, I = 0.0035 and 0.0034 kg m2"))
@pytest.mark.parametrize(
    ("places_m", "inertia"),
    [((-0.25, -0.15, -0.05, 0.05, 0.15, 0.25), 0.0035), ((-0.25, -0.15, 0.15, 0.25), 0.0034)],
)
def test_things_at_the_ends_make_the_inertia(places_m: tuple[float, ...], inertia: float) -> None:
    found = yaw_inertia_kg_m2(0.0, 0.0, 0.5, 0.0, [0.02] * len(places_m), places_m)
    assert found == pytest.approx(inertia, abs=5e-5)


# A thin rod of 1 kg and 0.7 m about its middle: m l² / 12 = 0.041 kg m2.
@pytest.mark.published(source=BOOK.format(place="example 10.10, I = 0.041 kg m2"))
def test_body_without_width_is_a_rod() -> None:
    assert yaw_inertia_kg_m2(1.0, 0.0, 0.7, 0.0, [], []) == pytest.approx(0.041, abs=5e-4)


# Parallel axes: I = I of the centre + m d². A rod of 2 kg and 0.5 m with a thing of 2 kg at its end
# has its common centre 0.125 m from the rod's own and as far from the thing.
@pytest.mark.published(source=BOOK.format(place="section 10.5, parallel-axis theorem"))
def test_body_and_load_turn_about_their_common_centre() -> None:
    rod = 2.0 * 0.5**2 / 12 + 2.0 * 0.125**2
    found = yaw_inertia_kg_m2(2.0, 0.0, 0.5, 0.0, [2.0], [0.25])
    assert found == pytest.approx(rod + 2.0 * 0.125**2)
