from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest
from pydantic import ValidationError

from planner_kit.errors import PlannerKitError
from planner_kit.pitch.climate import StayClimate, climate_of
from planner_kit.pitch.hookup import mains_loads
from planner_kit.pitch.service_points import check_walks, service_points
from planner_kit.pitch.site_rules import site_offer
from planner_kit.pitch.skyline import LEVEL, skyline
from planner_kit.pitch.solar import solar_days
from planner_kit.pitch.standing import (
    block_height_m,
    check_awning,
    check_level,
    door_faces_deg,
    ground_slope,
    hitch_points_deg,
    sun_at_meals,
)
from planner_kit.pitch.switching import (
    breaker_words,
    check_hours,
    check_surge,
    supply_hours,
    surge_w,
    switching_order,
)
from planner_kit.pitch.utilities import PitchPlace, utilities_of
from planner_kit.states import State
from planner_kit.trip.household import Appliance, Caravan
from planner_kit.trip.prices import read_prices

DAY = dt.date(2027, 7, 24)
LEAVE = dt.date(2027, 7, 29)
ZONE = "Europe/London"


def place(points: pd.DataFrame | None = None) -> PitchPlace:
    return PitchPlace(54.0, 0.0, ZONE, 50.0, LEVEL, None, service_points(points, 54.0, 0.0))


def found(inputs, site, *, leave=LEAVE, people=2, climate=None, caravan=None, **options):
    return utilities_of(
        inputs(caravan=caravan or {}).household,
        site_offer(site),
        place(),
        DAY,
        leave,
        people=people,
        climate=climate or StayClimate(),
        prices=read_prices(None),
        **options,
    )


KETTLE = Appliance(name="kettle", watts=2000, hours_per_day=1, when=(7, 8))
HEATER = Appliance(name="heater", watts=1500, hours_per_day=2, when=(7, 20), needed=False)
FRIDGE = Appliance(name="refrigerator", watts=100, hours_per_day=24, start_factor=6)
LOADS = mains_loads((KETTLE, HEATER, FRIDGE))


def test_breaker_holds_then_may_trip_then_trips() -> None:
    words = breaker_words(np.array([10.0, 10.1, 14.5, 25.5]), 10.0).tolist()
    assert words == ["holds", "may trip", "trips within the hour", "trips within a minute"]


def test_hour_that_trips_is_named_with_what_makes_it() -> None:
    hours = supply_hours(LOADS, 10.0, 230.0)
    # 2000 + 1500 + 100 W at seven: 15.7 A.
    assert hours.loc[7, "breaker"] == "trips within the hour"
    assert hours.loc[20, "breaker"] == "holds"
    check = check_hours(hours, 10.0, "made")
    assert check.state is State.NOT_FINE
    assert "7:00" in check.sentence
    assert "kettle" in check.sentence


def test_order_starts_with_what_is_always_on_and_turns_the_kettle_off_for_the_heater() -> None:
    steps = switching_order(LOADS, 2300.0)
    assert steps["switch_on"].tolist() == ["refrigerator", "kettle", "heater"]
    assert steps["first_off"].tolist() == ["", "", "kettle"]
    assert (steps["watts"] <= 2300).all()


def test_start_of_a_motor_is_counted_over_the_rest() -> None:
    # 3600 W at seven and five times 100 W more for the compressor.
    assert surge_w(LOADS, {"refrigerator": 6.0}) == pytest.approx(4100)
    assert check_surge(LOADS, {"refrigerator": 6.0}, 6.0, 230.0, "made").state is State.FINE
    assert check_surge(LOADS, {"kettle": 6.0}, 6.0, 230.0, "made").state is State.LOOK


def test_hill_in_the_south_stands_on_the_skyline(ridge, half_known, flat) -> None:
    # 350 m above the place less 2 m of eyes, about 3 km east of it: near 6.7 degrees.
    east = skyline(ridge, 54.0, 0.0)
    assert east is not None
    assert float(east.at(90)) == pytest.approx(6.7, abs=0.8)
    assert float(east.at(270)) == 0
    assert np.isnan(skyline(half_known, 54.0, 0.0).at(90))
    assert skyline(None, 54.0, 0.0) is None
    assert skyline(flat, 54.0, 0.0).known


def test_hills_never_add_to_the_yield_and_overcast_is_the_least(ridge) -> None:
    caravan = Caravan(name="c", solar_w=100)
    free = solar_days(54.0, 0.0, [DAY], ZONE, caravan, skyline=LEVEL)
    hidden = solar_days(54.0, 0.0, [DAY], ZONE, caravan, skyline=skyline(ridge, 54.0, 0.0))
    assert hidden["clear_kwh"].iloc[0] <= free["clear_kwh"].iloc[0]
    assert (free["low_kwh"] < free["likely_kwh"]).all()
    assert (free["likely_kwh"] < free["high_kwh"]).all()
    double = solar_days(54.0, 0.0, [DAY], ZONE, Caravan(name="c", solar_w=200), skyline=LEVEL)
    assert double["clear_kwh"].iloc[0] == pytest.approx(2 * free["clear_kwh"].iloc[0])
    assert solar_days(54.0, 0.0, [], ZONE, caravan).empty


def test_sun_at_meals_is_up_down_or_not_known() -> None:
    july = sun_at_meals(54.0, 0.0, [DAY], ZONE, LEVEL)
    assert july["sun"].tolist() == ["up", "up"]
    assert sun_at_meals(54.0, 0.0, [dt.date(2027, 12, 21)], ZONE, LEVEL)["sun"].tolist() == [
        "down",
        "down",
    ]
    assert sun_at_meals(54.0, 0.0, [DAY], ZONE, None)["sun"].tolist() == ["unknown", "unknown"]


def test_door_turns_from_the_wind_and_the_hitch_by_its_side() -> None:
    july = sun_at_meals(54.0, 0.0, [DAY], ZONE, LEVEL)
    assert door_faces_deg(240.0, july) == (60.0, "away from the wind")
    faces = door_faces_deg(None, july)
    assert faces is not None
    assert 225 < faces[0] < 300
    assert hitch_points_deg(0.0, "left") == 90
    assert hitch_points_deg(0.0, "right") == 270


@pytest.mark.parametrize(
    ("gust", "state"),
    [(None, State.UNKNOWN), (20, State.FINE), (45, State.LOOK), (70, State.NOT_FINE)],
)
def test_awning_by_gusts(gust, state) -> None:
    sun = sun_at_meals(54.0, 0.0, [DAY], ZONE, LEVEL)
    climate = StayClimate(gust_kmh=gust)
    assert check_awning(Caravan(name="c"), climate, sun, awning=True).state is state


def test_level_by_slope_and_never_fine_on_terrain(flat, ridge) -> None:
    van = Caravan(name="c", track_width_m=2.0)
    assert check_level(van, ground_slope(flat, 54.0, 0.0)).state is State.UNKNOWN
    assert check_level(van, ground_slope(ridge, 54.0, 0.045)).state is State.NOT_FINE
    assert check_level(Caravan(name="c"), ground_slope(flat, 54.0, 0.0)).state is State.UNKNOWN
    assert ground_slope(None, 54.0, 0.0) is None
    assert block_height_m(3.0, 2.0) == pytest.approx(0.06)


def test_walks_to_points_on_the_map_and_unknown_without() -> None:
    points = pd.DataFrame(
        {
            "kind": ["drinking_water", "sanitary_dump_station", "drinking_water"],
            "name": ["tap", "", "far tap"],
            "lat": [54.001, 54.002, 54.5],
            "lon": [0.0, 0.0, 0.0],
        }
    )
    near = service_points(points, 54.0, 0.0)
    assert near["service"].tolist() == ["water", "waste"]
    # A thousandth of a degree of latitude is 111.3 m.
    assert near["distance_m"].iloc[0] == pytest.approx(111.3, abs=0.2)
    assert check_walks(near, 4, 1).state is State.FINE
    assert check_walks(service_points(None, 54.0, 0.0), 4, 1).state is State.UNKNOWN


def test_dangers_are_plain_warnings(inputs, site) -> None:
    report = found(
        inputs,
        site(hookup_a=6.0),
        climate=StayClimate(-6, 2, source="made"),
        caravan={"hookup_lead_mm2": 1.0, "gas_kind": "butane"},
        coiled_layers=4,
    )
    told = " ".join(report.warnings)
    for danger in ("too thin a lead", "uncoil" if "uncoil" in told else "unroll", "take propane"):
        assert danger in told
    assert all(c.state is State.NOT_FINE for c in report.checks if c.sentence in told)


def test_nobody_or_no_night_is_one_sentence(inputs, site) -> None:
    with pytest.raises(PlannerKitError, match="Nobody"):
        found(inputs, site(), people=0)
    with pytest.raises(PlannerKitError, match="no night"):
        found(inputs, site(), leave=DAY)


def test_mains_appliance_on_twelve_volts_is_refused() -> None:
    with pytest.raises(ValidationError, match="167 A"):
        Appliance(name="kettle", watts=2000, volts=12)


def test_climate_of_its_own_site_comes_first(inputs) -> None:
    trip = inputs().trip.model_copy(
        update={
            "climate": tuple(
                type(inputs().trip)
                .model_validate(
                    {
                        **inputs().trip.model_dump(by_alias=True),
                        "climate": [{"low_c": 5}, {"site": "made-site", "low_c": -3}],
                    }
                )
                .climate
            )
        }
    )
    assert climate_of(trip, "made-site").low_c == -3
    assert climate_of(trip, "other").low_c == 5
    assert climate_of(inputs().trip, "made-site") == StayClimate()
