"""Off-tracking against a design vehicle's table and an independent integration."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from planner_kit.tow.swept_path import Turning, steady_radii_m, sweep

# Car and Camper Trailer (P/T): height 3.1, width 2.4, length 14.8, front overhang 0.9, rear 3.1,
# WB1 3.4, hitch S 1.5, tongue T 5.8.
CAR_AND_CAMPER = Turning(
    wheelbase_m=3.4, front_m=0.9, hitch_m=1.5, drawbar_m=5.8, tail_m=3.1,
    car_width_m=2.4, caravan_width_m=2.4, radius_m=9.1,
)  # fmt: skip


@pytest.mark.published(
    source="AASHTO, A Policy on Geometric Design of Highways and Streets (Green Book), Exhibit 2-1 "
    "metric, Car and Camper Trailer P/T, as stored at scribd.com/document/641225099, read on "
    "2026-11-25"
)
def test_parts_of_the_design_vehicle_sum_to_its_length():
    parts = CAR_AND_CAMPER
    length = parts.front_m + parts.wheelbase_m + parts.hitch_m + parts.drawbar_m + parts.tail_m
    assert length == pytest.approx(14.8, abs=0.15)


@pytest.mark.from_memory(
    settle="AASHTO Green Book, Exhibit 2-2, minimum turning radii: P/T design radius 10.1 m, "
    "centre line 9.1 m, inside 5.3 m"
)
def test_inside_radius_of_the_design_vehicle_on_a_half_turn():
    centre_m = 9.1
    path = sweep(CAR_AND_CAMPER, np.array([centre_m]), np.array([np.pi]))
    inside = np.hypot(path.inner_x, path.inner_y - centre_m).min()
    assert inside == pytest.approx(5.3, abs=0.3)


@pytest.mark.published(
    source="Sum of squares of wheelbases for low-speed off-tracking, as reviewed by Sayers, "
    "Transportation Research Record 1052 (1986), 53-62 (abstract read on 2026-11-25), on the "
    "lengths of AASHTO's P/T: root of 12 m squared - 3.4 squared + 1.5 squared - 5.8 squared"
)
def test_steady_off_tracking_by_hand():
    axle_m = (144 - 11.56 + 2.25 - 33.64) ** 0.5
    inner, _ = steady_radii_m(CAR_AND_CAMPER, np.array([12.0]))
    assert inner[0] == pytest.approx(axle_m - 1.2, abs=1e-9)


def integrated_inner_side(turning, radius, angle):
    """The tractrix equations by SciPy's adaptive Runge-Kutta of order 8."""
    out = turning.wheelbase_m + turning.hitch_m + turning.drawbar_m + turning.tail_m
    end = radius * angle + out

    def heading(s):
        return min(s / radius, angle)

    def slope(s, state):
        car, caravan = state
        off = heading(s) - car
        yaw = np.sin(off) / turning.wheelbase_m
        rear_speed = np.cos(off)
        back = turning.hitch_m
        ball = np.array(
            [
                rear_speed * np.cos(car) + back * yaw * np.sin(car),
                rear_speed * np.sin(car) - back * yaw * np.cos(car),
            ]
        )
        across = -ball[0] * np.sin(caravan) + ball[1] * np.cos(caravan)
        return [yaw, across / turning.drawbar_m]

    found = solve_ivp(
        slope, (0, end), [0.0, 0.0], method="DOP853", rtol=1e-10, atol=1e-12, max_step=0.05
    )
    car, caravan = found.y
    s = found.t
    on = np.minimum(s, radius * angle)
    x = radius * np.sin(on / radius) + (s - on) * np.cos(angle)
    y = radius * (1 - np.cos(on / radius)) + (s - on) * np.sin(angle)
    back = turning.wheelbase_m + turning.hitch_m
    ball_x, ball_y = x - back * np.cos(car), y - back * np.sin(car)
    axle_x = ball_x - turning.drawbar_m * np.cos(caravan)
    axle_y = ball_y - turning.drawbar_m * np.sin(caravan)
    half = turning.caravan_width_m / 2
    return axle_x - half * np.sin(caravan), axle_y + half * np.cos(caravan), caravan[-1]


@pytest.mark.published(
    source="SciPy 1, integrate.solve_ivp (DOP853) on the tractrix equations of Sayers, Vehicle "
    "System Dynamics 20 (1991), 297-308"
)
@pytest.mark.parametrize(("radius", "degrees"), [(6.5, 90), (9.1, 180), (15, 60), (25, 120)])
def test_transient_path_agrees_with_an_independent_integration(radius, degrees):
    turning, angle = CAR_AND_CAMPER, np.radians(degrees)
    x, y, _ = integrated_inner_side(turning, radius, angle)
    path = sweep(turning, np.array([radius]), np.array([angle]))
    mine = np.hypot(path.inner_x[:, 0], path.inner_y[:, 0] - radius).min()
    theirs = np.hypot(x, y - radius).min()
    assert mine == pytest.approx(theirs, abs=0.03)
    assert path.inner_x[-1, 0] == pytest.approx(x[-1], abs=0.05)
    assert path.inner_y[-1, 0] == pytest.approx(y[-1], abs=0.05)
