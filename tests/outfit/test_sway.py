from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.outfit import SwayModel, critical_speed_kmh, damping
from planner_kit.outfit.sway import state_matrix

MODEL = SwayModel(
    car_kg=1730,
    car_inertia_kg_m2=3508,
    front_m=1.289,
    rear_m=1.596,
    ball_m=2.7,
    caravan_kg=2000,
    caravan_inertia_kg_m2=3000,
    ball_to_centre_m=2.7,
    ball_to_axle_m=3.0,
    front_n_per_rad=80_000,
    rear_n_per_rad=80_000,
    caravan_n_per_rad=80_000,
)

# With its weight further back the caravan swings before the car itself would spin.
SWINGING = replace(MODEL, ball_to_centre_m=2.9)


def test_critical_speed_is_where_the_damping_changes_sign() -> None:
    speed = critical_speed_kmh(MODEL)
    assert damping(MODEL, speed - 1) > 0 > damping(MODEL, speed + 1)


def test_more_yaw_inertia_lowers_the_critical_speed() -> None:
    speeds = [
        critical_speed_kmh(replace(SWINGING, caravan_inertia_kg_m2=inertia))
        for inertia in (2500, 3000, 4000, 5000)
    ]
    assert speeds == sorted(speeds, reverse=True)


def test_centre_of_mass_further_back_lowers_the_critical_speed() -> None:
    speeds = [
        critical_speed_kmh(replace(MODEL, ball_to_centre_m=place)) for place in (2.6, 2.8, 3.0, 3.2)
    ]
    assert speeds == sorted(speeds, reverse=True)


def test_stiffer_caravan_tyres_raise_the_critical_speed() -> None:
    softer = critical_speed_kmh(replace(SWINGING, caravan_n_per_rad=60_000))
    assert softer < critical_speed_kmh(SWINGING)


def test_model_without_a_critical_speed_in_reach_says_none() -> None:
    assert critical_speed_kmh(MODEL, most_kmh=100) is None


@pytest.mark.parametrize("speed", [0, -10])
def test_standing_outfit_is_refused(speed) -> None:
    with pytest.raises(ValueError, match="above 0"):
        state_matrix(MODEL, speed)


@settings(max_examples=30, deadline=None)
@given(speed=st.floats(20, 150))
def test_caravan_without_mass_leaves_the_car_as_it_is_alone(speed) -> None:
    """With a feather for a trailer the car keeps the two motions of the car alone."""
    light = replace(MODEL, caravan_kg=1e-6, caravan_inertia_kg_m2=1e-6, caravan_n_per_rad=1e-3)
    v = speed / 3.6
    m, inertia, a, b = 1730, 3508, 1.289, 1.596
    front, rear = 80_000, 80_000
    alone = np.array(
        [
            [-(front + rear) / (m * v), -v - (front * a - rear * b) / (m * v)],
            [
                -(front * a - rear * b) / (inertia * v),
                -(front * a * a + rear * b * b) / (inertia * v),
            ],
        ]
    )
    found = np.linalg.eigvals(state_matrix(light, speed))
    for value in np.linalg.eigvals(alone):
        assert np.abs(found - value).min() < 1e-3 * abs(value)
