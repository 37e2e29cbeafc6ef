"""Dish angles, magnetic bearings and least fields against published values."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from pygeomag import GeoMag
from pyproj import Transformer

from planner_kit.pitch.dish import look_angles, tree_distance_m
from planner_kit.pitch.magnetic import declination_deg, magnetic_bearing_deg
from planner_kit.pitch.receivers import minimum_field_dbuv_m

WMM = (
    "NOAA NCEI, WMM2025_TEST_VALUES.txt, declination, as quoted in the test of a public program "
    "(stored copy read 2026-11-25)"
)


@pytest.mark.published(source=WMM)
@pytest.mark.parametrize(
    ("year", "height_km", "lat", "lon", "printed"),
    [
        (2025.0, 0, 80, 0, 1.28), (2025.0, 0, 0, 120, -0.16), (2025.0, 0, -80, -120, 68.78),
        (2025.0, 100, 80, 0, 0.85), (2025.0, 100, 0, 120, -0.15),
        (2025.0, 100, -80, -120, 68.21), (2027.5, 0, 80, 0, 2.59), (2027.5, 0, 0, 120, -0.24),
        (2027.5, 0, -80, -120, 68.49), (2027.5, 100, 80, 0, 2.16),
        (2027.5, 100, 0, 120, -0.23), (2027.5, 100, -80, -120, 67.93),
    ],
)  # fmt: skip
def test_declination_is_that_of_the_test_values(year, height_km, lat, lon, printed) -> None:
    # 2027 has 365 days: its middle lies at noon of the 2nd of July.
    on = dt.date(2025, 1, 1) if year == 2025.0 else dt.date(2027, 7, 2)
    assert declination_deg(lat, lon, on, height_km * 1000) == pytest.approx(printed, abs=0.01)
    model = GeoMag(coefficients_file="wmm/WMM_2025.COF")
    assert model.calculate(lat, lon, height_km, year).d == pytest.approx(printed, abs=0.005)


@pytest.mark.published(source=f"{WMM}; the model stands for 2025 to 2029")
def test_outside_its_years_the_model_says_nothing() -> None:
    assert np.isnan(declination_deg(50, 0, dt.date(2024, 12, 31)))
    assert np.isnan(declination_deg(50, 0, dt.date(2030, 1, 1)))
    assert np.isfinite(declination_deg(50, 0, dt.date(2029, 12, 31)))
    assert magnetic_bearing_deg(2.0, 5.0) == pytest.approx(357.0)


@pytest.mark.published(
    source="Roddy, Satellite Communications, 4th edition, examples 3.1 and 3.2 (stored copy of "
    "page 83): b 36.23 degrees, A 17.1 degrees, range 37 215 km, elevation 48 degrees"
)
def test_look_angles_of_the_worked_example() -> None:
    found = look_angles(35.0, -100.0, -90.0)
    assert found.azimuth_deg == pytest.approx(162.9, abs=0.15)
    assert found.elevation_deg == pytest.approx(48.0, abs=0.5)
    assert found.distance_km == pytest.approx(37_215, abs=25)


@pytest.mark.published(
    source="Kurek, Prawie wszystko o telewizji satelitarnej, WNT Warszawa 1991: "
    "skew = arctan(sin(lon - position) / tan(lat)), as quoted on a teaching page; on a sphere"
)
@pytest.mark.parametrize("lat", [-35.0, 25.0, 49.5, 60.0])
@pytest.mark.parametrize("away", [-40.0, -12.0, 0.0, 25.0])
def test_skew_is_that_of_the_spherical_formula(lat, away) -> None:
    printed = np.degrees(np.arctan(np.sin(np.radians(away)) / np.tan(np.radians(lat))))
    assert abs(look_angles(lat, 10.0 + away, 10.0).skew_deg) == pytest.approx(abs(printed), abs=1.2)


@pytest.mark.published(source="PROJ, topocentric conversion: a geodesy library")
@pytest.mark.parametrize(
    ("lat", "lon", "orbit"), [(49.5, -14.5, 28.2), (60.1, 24.9, -5.0), (-33.0, 151.0, 160.0)]
)
def test_look_angles_agree_with_a_geodesy_library(lat, lon, orbit) -> None:
    local = Transformer.from_pipeline(
        f"+proj=topocentric +ellps=WGS84 +lon_0={lon} +lat_0={lat} +h_0=0"
    )
    turn = np.radians(orbit)
    east, north, up = local.transform(42_164_000 * np.cos(turn), 42_164_000 * np.sin(turn), 0.0)
    found = look_angles(lat, lon, orbit)
    assert found.azimuth_deg == pytest.approx(np.degrees(np.arctan2(east, north)) % 360, abs=1e-6)
    assert found.elevation_deg == pytest.approx(
        np.degrees(np.arctan2(up, np.hypot(east, north))), abs=1e-6
    )


@pytest.mark.from_memory(
    settle="Final Acts of RRC-06 (GE06), annex 3.5: RPC 1 has a reference minimum median field of "
    "56 dBuV/m at 650 MHz with C/N 21 dB, noise figure 7 dB, 11 dBd and 4 dB of feeder"
)
def test_least_field_is_that_of_the_reference_planning_configuration() -> None:
    least = minimum_field_dbuv_m(650.0, 11.0 + 2.15, 4.0, noise_figure_db=7.0)
    assert least + 1.64 * 5.5 == pytest.approx(56.0, abs=0.3)


def test_tree_stands_further_off_under_a_lower_satellite() -> None:
    # Ten metres above the dish at 45 degrees with two to spare: 10 / tan 43 = 10.7 m.
    assert tree_distance_m(11.0, 45.0, 1.0) == pytest.approx(10.72, abs=0.01)
    assert tree_distance_m(11.0, 20.0, 1.0) > tree_distance_m(11.0, 45.0, 1.0)
    assert tree_distance_m(0.5, 30.0, 1.0) == 0.0
    assert tree_distance_m(11.0, 1.0, 1.0) == float("inf")
