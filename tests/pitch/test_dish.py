from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from planner_kit.pitch.dish import (
    check_dish,
    clear_spot,
    dish_path,
    look_angles,
    move_away_m,
    tree_words,
)
from planner_kit.pitch.skyline import LEVEL, Skyline, check_open_sky, open_sky_frac, rise_deg
from planner_kit.states import State
from planner_kit.trip.household import Satellite

DAY = dt.date(2027, 7, 24)
SOUTH = Satellite(name="Made", orbit_deg=0.0)


@pytest.fixture
def cliff(flat):
    """A wall 300 m high from 53.99 degrees southwards, west of 0.02 degrees east."""
    return type(flat)(lambda lon, lat: np.where((lat < 53.999) & (lon < 0.02), 350.0, 50.0))


def test_dish_points_south_and_up_by_the_latitude(flat) -> None:
    check, angles = check_dish(54.0, 0.0, SOUTH, DAY, flat)
    assert angles.azimuth_deg == pytest.approx(180.0)
    assert angles.elevation_deg == pytest.approx(28.3, abs=0.3)
    assert angles.skew_deg == pytest.approx(0.0, abs=1e-6)
    # The trees around are not known: never plainly fine.
    assert check.state is State.LOOK
    assert "180° true" in check.sentence
    assert "by compass" in check.sentence


def test_cliff_hides_the_satellite_and_a_free_place_is_named(cliff) -> None:
    check, angles = check_dish(54.0, 0.0, SOUTH, DAY, cliff)
    assert check.state is State.NOT_FINE
    assert check.margin is not None
    assert check.margin < 0
    spot = clear_spot(cliff, 54.0, 0.0, angles)
    assert spot is not None
    # 300 m over tan 26.3 degrees is some 600 m; the wall begins 111 m away.
    assert 350 <= spot.distance_m <= 650
    assert f"about {spot.distance_m:.0f} m to the" in check.sentence


def test_unknown_ground_and_low_satellites_are_never_fine(half_known, flat) -> None:
    east = Satellite(name="Made", orbit_deg=60.0)
    assert check_dish(54.0, 0.0, east, DAY, half_known)[0].state is State.UNKNOWN
    assert check_dish(54.0, 0.0, SOUTH, DAY, None)[0].state is State.UNKNOWN
    below, angles = check_dish(54.0, 0.0, Satellite(name="M", orbit_deg=120.0), DAY, flat)
    assert below.state is State.NOT_FINE
    assert dish_path(flat, 54.0, 0.0, angles) is None


def test_after_the_magnetic_model_no_compass_bearing_is_given(flat) -> None:
    check, _ = check_dish(54.0, 0.0, SOUTH, dt.date(2031, 7, 1), flat)
    assert "no compass bearing" in check.sentence


def test_tree_in_the_way_wants_the_missing_metres() -> None:
    # 12 m over a dish at 1 m, at 45 degrees with two to spare: 11 / tan 43 is 11.8 m.
    assert move_away_m(12.0, 5.0, 45.0, 1.0) == pytest.approx(6.8, abs=0.05)
    assert move_away_m(12.0, 15.0, 45.0, 1.0) == 0.0
    angles = look_angles(54.0, 0.0, 0.0)
    assert "move the dish" in tree_words(12, 5, angles)
    assert "leaves the satellite free" in tree_words(12, 40, angles)
    assert "below the horizon" in tree_words(12, 40, look_angles(54.0, 0.0, 150.0))


def test_ray_starts_at_the_dish_and_rises_by_the_elevation(flat) -> None:
    _, angles = check_dish(54.0, 0.0, SOUTH, DAY, flat)
    path = dish_path(flat, 54.0, 0.0, angles)
    assert path is not None
    assert path.ray_m[0] == pytest.approx(51.0)
    rise = (path.ray_m[-1] - path.ray_m[0]) / (1000 * path.distance_km[-1])
    assert np.degrees(np.arctan(rise)) == pytest.approx(angles.elevation_deg)
    # First zone of a far sender: the root of wavelength times distance, 5.3 m at 1 km and 28 deg.
    assert np.interp(1.0, path.distance_km, path.fresnel_m) == pytest.approx(5.3, abs=0.1)


def test_ridge_stands_in_its_own_direction_only(ridge) -> None:
    rises = rise_deg(ridge, 54.0, 0.0, [90.0, 270.0])
    assert rises[0] == pytest.approx(6.7, abs=0.8)
    assert rises[1] == 0.0
    higher = rise_deg(ridge, 54.0, 0.0, 90.0, eye_m=100.0)
    assert float(higher) < rises[0]


def test_share_of_open_sky_is_that_of_the_solid_angle() -> None:
    assert open_sky_frac(LEVEL) == 1.0
    ring = Skyline(np.arange(0.0, 360.0, 90.0), np.full(4, 30.0))
    # Above 30 degrees lies half of the half sphere: 1 - sin 30.
    assert open_sky_frac(ring) == pytest.approx(0.5)
    assert open_sky_frac(ring, 30.0) == pytest.approx(1.0)
    half = Skyline(np.array([0.0, 180.0]), np.array([90.0, 0.0]))
    assert open_sky_frac(half) == pytest.approx(0.5)


def test_sky_with_a_gap_in_the_terrain_is_unknown() -> None:
    gap = Skyline(np.array([0.0, 180.0]), np.array([np.nan, 0.0]))
    assert check_open_sky(gap).state is State.UNKNOWN
    assert check_open_sky(None).state is State.UNKNOWN
    assert check_open_sky(LEVEL).state is State.LOOK
