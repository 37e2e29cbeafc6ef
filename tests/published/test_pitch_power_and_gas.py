"""Lead, breaker, battery, sun and gas against tables and libraries outside the project."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest
from astral import Observer
from astral.sun import azimuth, elevation

from planner_kit.pitch.battery import capacity_at_current_ah
from planner_kit.pitch.cylinders import coldest_c, kwh_per_kg, vapour_pressure_bar
from planner_kit.pitch.heating import insulation_grade
from planner_kit.pitch.lead import lead_rating_a, volt_drop_v
from planner_kit.pitch.skyline import LEVEL
from planner_kit.pitch.solar import clear_share, solar_days, sun_position
from planner_kit.pitch.switching import breaker_words
from planner_kit.trip.household import Caravan


@pytest.mark.published(
    source="BS 7671 (17th edition, 2008), tables 4F3A and 4F3B, flexible cords; copies at "
    "rm-electrical.com and cse-distributors.co.uk, read 2026-11-25"
)
@pytest.mark.parametrize(
    ("area", "amperes", "millivolts"),
    [(1.0, 10, 46), (1.25, 13, 37), (1.5, 16, 32), (2.5, 25, 19), (4.0, 32, 12)],
)
def test_lead_carries_and_loses_what_the_table_says(area, amperes, millivolts) -> None:
    assert lead_rating_a(area) == amperes
    assert volt_drop_v(area, 1.0, 1.0) == pytest.approx(millivolts / 1000)


@pytest.mark.published(
    source="IEC 60228, class 5 flexible conductors at 20 degrees C (2.5 mm2: 7.98 ohm/km, 1.5 mm2: "
    "13.3 ohm/km), warmed to 60 degrees C with copper's 0.00393 per kelvin; the resistances are "
    "those that makers of such cable print"
)
@pytest.mark.parametrize(("area", "ohm_per_km"), [(1.5, 13.3), (2.5, 7.98), (4.0, 4.95)])
def test_drop_is_that_of_two_warm_copper_conductors(area, ohm_per_km) -> None:
    warm = 2 * ohm_per_km / 1000 * (1 + 0.00393 * 40)
    assert volt_drop_v(area, 1.0, 1.0) == pytest.approx(warm, rel=0.05)


@pytest.mark.published(
    source="A cable maker's technical help, flexible cables wound on reeling drums: 1, 2, 3, 4 "
    "layers 85, 65, 45, 35 %, https://doncastercables.com/technical-help/7, read 2026-11-25"
)
@pytest.mark.parametrize(("layers", "share"), [(1, 0.85), (2, 0.65), (3, 0.45), (4, 0.35)])
def test_drum_takes_off_what_the_cable_maker_says(layers, share) -> None:
    assert lead_rating_a(2.5, coiled_layers=layers) == pytest.approx(25 * share)


@pytest.mark.published(
    source="IEC 60898-1, tripping characteristics (1.13, 1.45 and 2.55 times the rating), as "
    "tabled by a maker of breakers, barfuse.com, read 2026-11-25"
)
def test_breaker_of_sixteen_amperes() -> None:
    words = breaker_words(np.array([16.0, 1.13 * 16, 1.45 * 16, 2.55 * 16]), 16.0).tolist()
    assert words == ["holds", "may trip", "trips within the hour", "trips within a minute"]


PEUKERT = {
    1.1: [100, 93, 88, 85, 79, 76, 74],
    1.2: [100, 87, 78, 72, 63, 58, 55],
    1.25: [100, 84, 74, 67, 56, 51, 47],
    1.3: [100, 81, 69, 62, 50, 44, 41],
}


@pytest.mark.published(
    source="Manual of a battery monitor, page 27: capacity left of a 100 Ah battery by discharge "
    "rate and Peukert exponent, manualsdump.com/en/manuals/xantrex_technology-link_20/171906/27, "
    "read 2026-11-25"
)
@pytest.mark.parametrize("exponent", sorted(PEUKERT))
def test_capacity_at_high_currents_is_the_tables(exponent) -> None:
    for amperes, left in zip((5, 10, 16.7, 25, 50, 75, 100), PEUKERT[exponent], strict=True):
        assert capacity_at_current_ah(100, amperes, exponent) == pytest.approx(left, abs=1.0)


@pytest.mark.published(
    source="Reda and Andreas, Solar Position Algorithm for Solar Radiation Applications, "
    "NREL/TP-560-34302 (2008), appendix A.5: 2003-10-17 12:30:30 UTC-7, 39.742476 N, 105.1786 W: "
    "azimuth 194.34024, zenith 50.11162"
)
def test_sun_of_the_worked_example() -> None:
    times = pd.DatetimeIndex([pd.Timestamp("2003-10-17 12:30:30", tz="Etc/GMT+7")])
    sun = sun_position(39.742476, -105.1786, times)
    assert sun["azimuth_deg"].iloc[0] == pytest.approx(194.34024, abs=0.01)
    assert 90 - sun["elevation_deg"].iloc[0] == pytest.approx(50.11162, abs=0.02)


@pytest.mark.published(
    source="astral 3.2, an independent library for the sun's place (after Meeus), same place and "
    "moments"
)
def test_sun_agrees_with_another_library() -> None:
    times = pd.date_range("2027-07-24 07:00", "2027-07-24 19:00", freq="1h", tz="UTC")
    sun = sun_position(49.5, -14.5, times)
    observer = Observer(49.5, -14.5)
    for moment, row in zip(times, sun.to_numpy(), strict=True):
        assert row[0] == pytest.approx(azimuth(observer, moment.to_pydatetime()), abs=0.1)
        assert row[1] == pytest.approx(elevation(observer, moment.to_pydatetime()), abs=0.1)


@pytest.mark.published(
    source="FAO Irrigation and Drainage Paper 56 (1998), equation 37: a clear day brings "
    "(0.75 + 2e-5 z) Ra; Ra from equation 21"
)
@pytest.mark.parametrize("day", [dt.date(2027, 6, 21), dt.date(2027, 9, 22), dt.date(2027, 4, 10)])
def test_flat_panel_on_a_clear_day_is_near_the_fao_formula(day) -> None:
    lat = np.radians(50.0)
    number = day.timetuple().tm_yday
    tilt = 0.409 * np.sin(2 * np.pi * number / 365 - 1.39)
    near = 1 + 0.033 * np.cos(2 * np.pi * number / 365)
    sunset = np.arccos(-np.tan(lat) * np.tan(tilt))
    mj = 24 * 60 / np.pi * 0.0820 * near * (
        sunset * np.sin(lat) * np.sin(tilt) + np.cos(lat) * np.cos(tilt) * np.sin(sunset)
    )  # fmt: skip
    light_kwh = 0.75 * mj / 3.6
    found = solar_days(50.0, 0.0, [day], "UTC", Caravan(name="c", solar_w=1000), skyline=LEVEL)
    # A kilowatt of panel gives at most the light's kWh/m2; 14 % of losses come off it, then a warm
    # roof's 5 to 16 %; the two clear skies may differ by 10 %.
    share = found["clear_kwh"].iloc[0] / light_kwh
    assert 0.86 * 0.84 * 0.90 <= share <= 0.86 * 0.95 * 1.10


@pytest.mark.published(
    source="FAO Irrigation and Drainage Paper 56 (1998), equation 35: an overcast day brings 0.25, "
    "a clear day 0.75 of the radiation above the air"
)
def test_overcast_day_is_a_third_of_a_clear_one() -> None:
    assert clear_share(0.0) == pytest.approx(0.25 / 0.75)
    assert clear_share(1.0) == pytest.approx(1.0)


@pytest.mark.published(
    source="Perry's Chemical Engineers' Handbook, 8th edition, table 2-8 (vapour pressure of "
    "propane and butane), as held by the library chemicals"
)
@pytest.mark.parametrize(("kind", "cas"), [("propane", "74-98-6"), ("butane", "106-97-8")])
@pytest.mark.parametrize("celsius", [-40, -20, 0, 15, 30])
def test_pressure_is_the_handbooks(kind, cas, celsius) -> None:
    vapour = pytest.importorskip("chemicals.vapor_pressure")
    row = vapour.Psat_data_Perrys2_8.loc[cas]
    kelvin = celsius + 273.15
    pascal = np.exp(
        row["C1"]
        + row["C2"] / kelvin
        + row["C3"] * np.log(kelvin)
        + row["C4"] * kelvin ** row["C5"]
    )
    assert vapour_pressure_bar(kind, celsius) == pytest.approx(pascal / 1e5, rel=0.02)


@pytest.mark.published(
    source="Introduction to Chemical Engineering Thermodynamics, appendix B, table B.2: n-butane "
    "boils at -0.5 degrees C; a supplier's table, kadatec.cz: propane at -42.6 degrees C, read "
    "2026-11-25"
)
def test_both_boil_where_the_tables_say() -> None:
    assert vapour_pressure_bar("butane", -0.5) == pytest.approx(1.01325, rel=0.01)
    assert vapour_pressure_bar("propane", -42.3) == pytest.approx(1.01325, rel=0.02)
    assert coldest_c("propane") < -30 < 0 < coldest_c("butane")


@pytest.mark.published(
    source="Heats of formation and combustion stoichiometry of the library chemicals: lower "
    "heating values of propane and butane"
)
def test_heat_of_a_kilogram() -> None:
    chemicals = pytest.importorskip("chemicals")
    for kind, cas, atoms in (
        ("propane", "74-98-6", {"C": 3, "H": 8}),
        ("butane", "106-97-8", {"C": 4, "H": 10}),
    ):
        burnt = chemicals.combustion_data(formula=atoms, Hf=chemicals.Hfg(cas))
        mj_per_kg = -burnt.LHV / burnt.MW / 1000
        assert kwh_per_kg(kind) == pytest.approx(mj_per_kg / 3.6, rel=0.002)


@pytest.mark.published(
    source="Account of the test of thermal insulation and heating (EN 1646-1:2012, section 9): "
    "grade 2 keeps 20 degrees C at 0 outside, grade 3 at -15, tankblanket.blogspot.com "
    "2016-11-22, read 2026-11-25"
)
def test_grades_hold_what_the_standard_asks() -> None:
    assert insulation_grade(2).holds_20_c_at_c == 0
    assert insulation_grade(3).holds_20_c_at_c == -15
    assert insulation_grade(1).holds_20_c_at_c is None


@pytest.mark.from_memory(
    settle="a copy of EN 1645-1, its clause on the mean transmittance of grades 2 and 3"
)
def test_transmittance_of_the_grades() -> None:
    assert insulation_grade(3).transmittance.likely == 1.2
    assert insulation_grade(2).transmittance.likely == 1.7
