import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.outfit.statics import (
    ball_on_car,
    beam_loads,
    centre_m,
    load_on_car,
    yaw_inertia_kg_m2,
)

SOME = settings(max_examples=50, deadline=None)
loads = st.lists(st.tuples(st.floats(0.1, 400), st.floats(-3, 4)), min_size=1, max_size=12).map(
    lambda pairs: np.array(pairs).T
)


@SOME
@given(load=loads, span=st.floats(2, 8))
def test_single_axle_agrees_with_a_general_linear_solver(load, span) -> None:
    mass, place = load
    # Unknown: ball, axle. Rows: sum of forces, moments about the ball.
    matrix = np.array([[1.0, 1.0], [0.0, span]])
    right = np.array([mass.sum(), mass @ (span - place)])
    ball, axle = np.linalg.solve(matrix, right)
    found = beam_loads(mass, place, ball_to_axle_m=span)
    assert found.nose_kg == pytest.approx(ball, abs=1e-6)
    assert found.axles_kg == (pytest.approx(axle, abs=1e-6),)


@SOME
@given(
    load=loads,
    span=st.floats(3, 8),
    spacing=st.floats(0.6, 1.2),
    lean=st.floats(-0.1, 0.1),
    stiffness=st.floats(5_000, 60_000),
)
def test_two_axles_agree_with_a_general_linear_solver(load, span, spacing, lean, stiffness) -> None:
    mass, place = load
    angle = lean / span
    # Unknown: ball, front axle, rear axle, how far the axles' middle sinks. The springs give as
    # the body sinks and leans: each carries stiffness times its own travel.
    matrix = np.array(
        [
            [1, 1, 1, 0],
            [span, spacing / 2, -spacing / 2, 0],
            [0, 1, 0, -stiffness],
            [0, 0, 1, -stiffness],
        ]
    )
    right = np.array(
        [
            mass.sum(),
            mass @ place,
            stiffness * angle * spacing / 2,
            -stiffness * angle * spacing / 2,
        ]
    )
    ball, front, rear, _ = np.linalg.solve(matrix, right)
    found = beam_loads(
        mass,
        place,
        ball_to_axle_m=span,
        axle_spacing_m=spacing,
        nose_down_m=lean,
        stiffness_kg_per_m=stiffness,
    )
    assert found.nose_kg == pytest.approx(ball, abs=1e-5)
    assert found.axles_kg == pytest.approx((front, rear), abs=1e-5)


def test_level_caravan_on_two_axles_shares_evenly() -> None:
    found = beam_loads([1300, 100], [0.2, 1.0], ball_to_axle_m=4.5, axle_spacing_m=0.9)
    assert found.axles_kg[0] == found.axles_kg[1]
    assert found.nose_kg + sum(found.axles_kg) == pytest.approx(1400)


def test_nose_down_puts_load_on_the_front_axle_and_takes_it_off_the_ball() -> None:
    level = beam_loads([1500], [0.25], ball_to_axle_m=4.5, axle_spacing_m=0.9)
    down = beam_loads(
        [1500],
        [0.25],
        ball_to_axle_m=4.5,
        axle_spacing_m=0.9,
        nose_down_m=0.05,
        stiffness_kg_per_m=20_000,
    )
    assert down.axles_kg[0] > level.axles_kg[0] > down.axles_kg[1]
    assert down.nose_kg < level.nose_kg


def test_ball_behind_the_axles_is_refused() -> None:
    with pytest.raises(ValueError, match="in front of the axles"):
        beam_loads([1], [0], ball_to_axle_m=0.4, axle_spacing_m=1)


@SOME
@given(nose=st.floats(0, 200), wheelbase=st.floats(2, 4), overhang=st.floats(0.5, 1.6))
def test_ball_lifts_the_front_axle_by_what_the_rear_one_gains_beyond_it(
    nose, wheelbase, overhang
) -> None:
    axles = ball_on_car(nose, wheelbase_m=wheelbase, ball_behind_rear_axle_m=overhang)
    assert axles.front_kg <= 0
    assert axles.front_kg + axles.rear_kg == pytest.approx(nose, abs=1e-9)
    # Moments about the front axle.
    assert axles.rear_kg * wheelbase == pytest.approx(nose * (wheelbase + overhang), abs=1e-6)


def test_load_over_an_axle_of_the_car_rests_on_it_alone() -> None:
    axles = load_on_car([80, 40], [0.0, 2.8], wheelbase_m=2.8)
    assert (axles.front_kg, axles.rear_kg) == (pytest.approx(80), pytest.approx(40))


def test_centre_lies_where_the_noseweight_says() -> None:
    assert centre_m(75, 1500, 4.5) == pytest.approx(0.225)


@SOME
@given(mass=st.floats(1, 200), place=st.floats(0.5, 3), further=st.floats(0.1, 1))
def test_inertia_grows_when_a_pair_moves_apart(mass, place, further) -> None:
    near = yaw_inertia_kg_m2(1200, 0, 6, 2.3, [mass, mass], [place, -place])
    far = yaw_inertia_kg_m2(1200, 0, 6, 2.3, [mass, mass], [place + further, -place - further])
    assert far > near
    assert near == pytest.approx(1200 * (36 + 2.3**2) / 12 + 2 * mass * place**2)
