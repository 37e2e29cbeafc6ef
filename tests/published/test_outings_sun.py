"""Sunrise and sunset, against the NREL solar position algorithm."""

import datetime as dt
from zoneinfo import ZoneInfo

import pandas as pd
import pytest

from planner_kit.outings import sun_table

UTC = ZoneInfo("UTC")


@pytest.mark.published(
    source="NREL solar position web calculator, as kept in pvlib-python test_solarposition.py,"
    " test_sun_rise_set_transit_spa (stored copy read 2026-11-25): latitude -35, longitude 0"
)
@pytest.mark.parametrize(
    ("day", "sunrise", "sunset"),
    [("1996-07-05", "07:08:15", "17:01:04"), ("2004-12-04", "04:38:57", "19:02:03")],
)
def test_sun_of_the_nrel_calculator(day, sunrise, sunset):
    row = sun_table(-35.0, 0.0, [dt.date.fromisoformat(day)], UTC).iloc[0]
    for name, clock in (("sunrise", sunrise), ("sunset", sunset)):
        away = (row[name] - pd.Timestamp(f"{day} {clock}", tz="UTC")).total_seconds()
        assert abs(away) < 60


@pytest.mark.published(
    source="pvlib-python 0.16, sun_rise_set_transit_spa: NREL/TP-560-34302, Reda and Andreas, "
    "Solar Position Algorithm, revised January 2008"
)
@pytest.mark.parametrize("lat", [36.0, 49.5, 54.0, 60.0])
def test_year_of_sunrises_agrees_with_an_independent_library(lat):
    solarposition = pytest.importorskip("pvlib.solarposition", reason="pvlib is not installed")
    days = [dt.date(2027, 1, 1) + dt.timedelta(days=n) for n in range(0, 365, 14)]
    ours = sun_table(lat, -4.0, days, UTC)
    at = pd.DatetimeIndex([pd.Timestamp(day, tz="UTC") for day in days])
    theirs = solarposition.sun_rise_set_transit_spa(at, lat, -4.0)
    for name in ("sunrise", "sunset"):
        away = (ours[name].to_numpy() - theirs[name].to_numpy()) / pd.Timedelta(seconds=1)
        assert abs(away).max() < 90


@pytest.mark.published(
    source="pvlib-python 0.16, spa_python (NREL/TP-560-34302): civil twilight ends with the sun's "
    "centre 6 degrees below the horizon (US Naval Observatory, Glossary, 'twilight'; from memory)"
)
@pytest.mark.parametrize("lat", [36.0, 49.5, 54.0])
def test_dusk_is_when_an_independent_library_has_the_sun_six_degrees_down(lat):
    solarposition = pytest.importorskip("pvlib.solarposition", reason="pvlib is not installed")
    days = [dt.date(2027, 1, 1) + dt.timedelta(days=n) for n in range(0, 365, 28)]
    ours = sun_table(lat, -4.0, days, UTC)
    for name in ("dawn", "dusk"):
        at = pd.DatetimeIndex(ours[name])
        height = solarposition.spa_python(at, lat, -4.0)["elevation"]
        assert (height + 6).abs().max() < 0.15
