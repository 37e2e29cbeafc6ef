"""Lead, breaker, battery, sun and gas against tables and libraries outside the project."""

from __future__ import annotations

import calendar
import datetime as dt

import numpy as np
import pandas as pd
import pytest
from astral import Observer
from astral.sun import azimuth, elevation

from planner_kit.pitch.battery import capacity_at_current_ah
from planner_kit.pitch.cylinders import coldest_c, kwh_per_kg, vapour_pressure_bar
from planner_kit.pitch.heating import insulation_grade
from planner_kit.pitch.lead import check_volt_drop, lead_rating_a, volt_drop_v
from planner_kit.pitch.skyline import LEVEL
from planner_kit.pitch.solar import clear_share, solar_days, sun_position
from planner_kit.pitch.switching import breaker_words
from planner_kit.pitch.water import Amount
from planner_kit.reference import constant
from planner_kit.states import State
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
    source="IEC 60228, class 5 plain copper at 20 degrees C: 13.3, 7.98 and 4.95 ohm/km for 1.5, "
    "2.5 and 4 mm2, and factor 0.862 from 60 to 20 degrees C, as tabled by a maker of cables, "
    "uecables.com/471-power-copper-conductors-according-to-iec-60228.html, and at "
    "mycableengineering.com/knowledge-base/iec-60228-dc-resistance, read 2026-11-25"
)
@pytest.mark.parametrize(("area", "ohm_per_km"), [(1.5, 13.3), (2.5, 7.98), (4.0, 4.95)])
def test_drop_is_that_of_two_warm_copper_conductors(area, ohm_per_km) -> None:
    warm = 2 * ohm_per_km / 1000 / 0.862
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
    source="FAO Irrigation and Drainage Paper 56 (1998), equations 21 and 37: a clear day brings "
    "(0.75 + 2e-5 z) Ra, as quoted at progressivegardening.com/agricultural-engineering/"
    "f-acf-bc536.html and in ncl.ucar.edu's radsol_clrsky_fao56, read 2026-11-25"
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
    source="FAO Irrigation and Drainage Paper 56 (1998), equation 35: as 0.25 on overcast days, "
    "bs 0.50 more on clear ones, as quoted at progressivegardening.com/agricultural-engineering/"
    "rs-%5Bas-bs-n-n-ra532.html, read 2026-11-25"
)
def test_overcast_day_is_a_third_of_a_clear_one() -> None:
    assert clear_share(0.0) == pytest.approx(0.25 / 0.75)
    assert clear_share(1.0) == pytest.approx(1.0)


@pytest.mark.published(
    source="FAO Irrigation and Drainage Paper 56 (1998), example 10: Rio de Janeiro, 22.9 S, May, "
    "220 hours of sunshine, Ra 25.1 MJ/m2 and day; (0.25 + 0.50 x 7.1 / 10.9) Ra is 14.5, as in "
    "ncl.ucar.edu's radsol2_fao56 and radsol_clrsky_fao56 (Ra 25.111), read 2026-11-25"
)
def test_light_of_a_month_with_known_sunshine_becomes_current() -> None:
    light_kwh = (0.25 + 0.50 * 7.1 / 10.9) * 25.111 / 3.6
    share = Amount(0.0, 7.1 / 10.9, 1.0)
    found = solar_days(
        -22.9, -43.2, [dt.date(2026, 5, 15)], "America/Sao_Paulo",
        Caravan(name="c", solar_w=1000), skyline=LEVEL, sun_frac=share, air_c=24.0,
    )  # fmt: skip
    # As for a clear day: 14 % of losses, a warm roof's 5 to 16 %, two skies within 10 %.
    share_kept = found["likely_kwh"].iloc[0] / light_kwh
    assert 0.86 * 0.84 * 0.90 <= share_kept <= 0.86 * 0.95 * 1.10


@pytest.mark.published(
    source="European Commission, Joint Research Centre: a system of 1 kWp at the best angle brings "
    "845.1 to 951.0 kWh a year in southern England and northern France, table quoted at "
    "renewable.media/energy_posts/32/Solar_Potential_in_Europe/, read 2026-11-25"
)
def test_year_in_southern_england_is_within_the_published_band() -> None:
    panel = Caravan(name="c", solar_w=1000, solar_tilt_deg=37, solar_facing_deg=180)
    days = [dt.date(2026, month, 15) for month in range(1, 13)]
    likely = [
        solar_days(51.0, -1.0, [day], "Europe/London", panel, skyline=LEVEL)["likely_kwh"].iloc[0]
        for day in days
    ]
    year = sum(
        kwh * calendar.monthrange(2026, month)[1] for month, kwh in enumerate(likely, start=1)
    )
    # The share of sunshine is the one that is taken where a trip says nothing.
    assert 845.1 <= year <= 951.0


@pytest.mark.published(
    source="Dobos, PVWatts Version 5 Manual, NREL/TP-6A20-62641 (2014): losses by default soiling "
    "2, shading 3, mismatch 2, wiring 2, connections 0.5, first light 1.5, availability 3 %, as in "
    "pvlib's documentation of pvwatts_losses, read 2026-11-25"
)
def test_losses_of_the_panels_are_those_of_the_manual() -> None:
    parts = (2, 3, 0, 2, 2, 0.5, 1.5, 1, 0, 3)
    left = np.prod([1 - part / 100 for part in parts])
    kept = constant("solar", "panel_losses")
    assert kept.value == pytest.approx(left, abs=0.003)
    assert kept.low < left < kept.high


@pytest.mark.published(
    source="BS 7671:2018, appendix 4, table 4Ab: 5 % of the nominal voltage for uses other than "
    "lighting on a public supply, 11.5 V of 230 V, as quoted at ecalpro.com/de/standards/bs-7671/"
    "regulation-525-voltage-drop and voltdropcalc.com, read 2026-11-25"
)
def test_volt_drop_is_held_to_the_wiring_rules() -> None:
    assert check_volt_drop(2.5, 37.0, 16.0, 230.0).state is State.FINE  # 11.2 V
    assert check_volt_drop(2.5, 38.0, 16.0, 230.0).state is State.LOOK  # 11.6 V


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
