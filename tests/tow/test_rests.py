from __future__ import annotations

import datetime as dt
import json
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from planner_kit.states import State
from planner_kit.tow.driving_range import Supply, check_range
from planner_kit.tow.find import find_route
from planner_kit.tow.leg import FuelUse
from planner_kit.tow.rests import plan_rests
from planner_kit.tow.stop_places import charging_power_kw, room_for, sells_fuel
from planner_kit.trip.household import TowWeights

from .conftest import make_outfit, make_region

DAY = dt.date(2027, 7, 24)
DEPART = dt.datetime(2027, 7, 24, 9, 30, tzinfo=ZoneInfo("Europe/London"))


@pytest.mark.parametrize(
    ("tags", "room"),
    [
        ({}, "unknown"),
        ({"caravans": "yes"}, "yes"),
        ({"hgv": "designated"}, "yes"),
        ({"capacity:caravans": "12"}, "yes"),
        ({"capacity:caravans": "0"}, "unknown"),
        ({"caravan": "no", "hgv": "yes"}, "no"),
        ({"hgv": "yes", "maxheight": "2.5"}, "no"),
        ({"hgv": "yes", "maxlength": "8 m"}, "no"),
        ({"access": "private"}, "no"),
    ],
)
def test_room_is_read_from_the_tags_and_silence_is_unknown(tags, room):
    assert room_for(json.dumps(tags), make_outfit()) == room


def test_height_limit_with_an_unknown_outfit_height_is_unknown():
    tags = json.dumps({"hgv": "yes", "maxheight": "2.5"})
    assert room_for(tags, make_outfit(height_m=None)) == "unknown"


def long_drive(places, *, depart=DEPART, used=None, holds=60.0, unit="l", **more):
    """A straight road east, about 340 km and four and a half hours long."""
    points = [(52.0, 0.5 * n) for n in range(11)]
    region = make_region(points, [(n, n + 1, {}) for n in range(10)], places=places)
    outfit = make_outfit()
    route = find_route(region, outfit, points[0], points[-1], weights=TowWeights(), on=DAY)
    dual = np.zeros(len(route.steps), dtype=bool)
    supply = None
    if used is not None:
        each = np.full(len(route.steps), used / len(route.steps))
        supply = Supply(unit, holds, 1.0, 0.2, each)
    return plan_rests(
        route, region.places, outfit, depart,
        **{"stint_min": 120, "break_min": 15, "keeps_left": True, "dual": dual,
           "supply": supply, **more},
    ), route  # fmt: skip


def stop(lon, **more):
    return {"kind": "lay_by", "name": f"stop at {lon}", "lat": 52.0005, "lon": lon,
            "tags": json.dumps({"hgv": "yes"}), **more}  # fmt: skip


def test_no_stint_is_longer_than_two_hours_where_there_are_stops():
    rests, route = long_drive([stop(lon) for lon in np.arange(0.25, 5, 0.25)])
    assert route.time_min > 240
    assert 2 <= len(rests.stops) <= 3
    assert rests.longest_stint_min <= 120
    assert rests.check.state is State.FINE
    assert (rests.stops["room"] == "yes").all()
    assert rests.extra_min > 30
    stays = rests.stops["leave"] - rests.stops["arrive"]
    meal = rests.stops["does"] == "meal"
    assert stays[~meal].dt.total_seconds().tolist() == pytest.approx([900] * (~meal).sum())
    assert stays[meal].dt.total_seconds().tolist() == pytest.approx([2700] * meal.sum())


def test_without_stops_the_check_says_so():
    rests, _ = long_drive([])
    assert rests.stops.empty
    assert rests.check.state is State.NOT_FINE
    assert "No mapped stop" in rests.check.sentence


def test_stop_without_known_room_is_taken_only_with_a_warning():
    rests, _ = long_drive([stop(lon, tags="{}") for lon in np.arange(0.25, 5, 0.25)])
    assert rests.check.state is State.LOOK
    assert rests.stops["why"].str.contains("nobody mapped").all()


def test_stop_with_room_goes_before_one_without_and_near_side_before_far():
    places = [stop(lon, tags="{}") for lon in (1.5, 3.0)]
    places += [stop(lon) for lon in (1.7, 3.2)]
    places += [stop(lon, lat=51.9995) for lon in (1.75, 3.25)]
    rests, _ = long_drive(places)
    assert rests.stops["name"].tolist() == ["stop at 1.7", "stop at 3.2"]


def test_stop_far_from_the_road_is_not_taken():
    rests, _ = long_drive([stop(lon, lat=52.006) for lon in np.arange(0.25, 5, 0.25)])
    assert rests.stops.empty


def test_ferry_counts_as_a_break():
    points = [(52.0, 0.0), (52.0, 1.8), (52.0, 2.2), (52.0, 4.0)]
    edges = [(0, 1, {}), (1, 2, {"road_class": "ferry", "ferry_min": 60.0}), (2, 3, {})]
    region = make_region(points, edges)
    outfit = make_outfit()
    route = find_route(region, outfit, points[0], points[-1], weights=TowWeights(), on=DAY)
    rests = plan_rests(
        route, region.places, outfit, DEPART,
        stint_min=120, break_min=15, keeps_left=True, dual=np.zeros(3, dtype=bool),
    )  # fmt: skip
    assert route.time_min > 240
    assert rests.longest_stint_min < 120
    assert rests.check.state is State.FINE


SOON = dt.datetime(2027, 7, 24, 6, 0, tzinfo=ZoneInfo("Europe/London"))
LAY_BYS = [stop(lon) for lon in np.arange(0.25, 5, 0.25)]


def test_lunch_is_taken_in_its_hours_and_at_food_where_there_is_some():
    services = stop(2.9, kind="services", name="food")
    rests, _ = long_drive([*LAY_BYS, services])
    meals = rests.stops[rests.stops["does"] == "meal"]
    assert len(meals) == 1
    assert 12 <= meals["arrive"].iloc[0].hour < 14
    assert meals["name"].tolist() == ["food"]


def test_no_meal_is_due_on_a_drive_between_meals():
    rests, _ = long_drive(LAY_BYS, depart=SOON)
    assert set(rests.stops["does"]) == {"break"}


def filling(lon, hours="24/7", **more):
    tags = {"hgv": "yes", "fuel:diesel": "yes"}
    return stop(lon, **{"kind": "fuel", "name": f"fuel at {lon}", "tags": json.dumps(tags),
                        "opening_hours": hours, **more})  # fmt: skip


def checked(rests, *, used=70.0, unit="l"):
    use = FuelUse(used * 0.8, used * 0.9, used, unit, "test")
    return check_range(use, Supply(unit, 60.0, 1.0, 0.2, np.array([used])), 340.0, rests.stops,
                       rests.short)  # fmt: skip


def test_fuel_is_bought_before_the_reserve_and_only_where_it_is_open():
    shut, open_late = filling(1.5, "Mo-Fr 08:00-18:00"), filling(2.75)
    rests, _ = long_drive([*LAY_BYS, shut, open_late], depart=SOON, used=70.0)
    fills = rests.stops[rests.stops["filled"] > 0]
    assert fills["name"].tolist() == ["fuel at 2.75"]
    assert rests.short == 0
    assert checked(rests).state is State.LOOK
    assert "at fuel at 2.75" in checked(rests).sentence


def test_fuel_that_lasts_asks_for_no_stop():
    rests, _ = long_drive([*LAY_BYS, filling(2.0)], depart=SOON, used=40.0)
    assert (rests.stops["filled"] == 0).all()
    assert checked(rests, used=40.0).state is State.FINE


def test_no_station_on_the_way_is_not_fine_and_says_how_much_is_missing():
    rests, _ = long_drive(LAY_BYS, depart=SOON, used=70.0)
    assert rests.short == pytest.approx(70 - 48)
    check = checked(rests)
    assert check.state is State.NOT_FINE
    assert "22 l are missing" in check.sentence


def test_station_of_unknown_room_and_hours_is_taken_with_a_warning():
    tags = json.dumps({"fuel:diesel": "yes"})
    rests, _ = long_drive([*LAY_BYS, filling(2.0, "", tags=tags)], depart=SOON, used=70.0)
    fill = rests.stops[rests.stops["filled"] > 0].iloc[0]
    assert "nobody mapped whether the outfit has room" in fill["why"]
    assert "its hours are not known" in fill["why"]
    assert "be ready to unhitch" in checked(rests).sentence


def test_station_that_is_too_low_or_sells_another_fuel_is_not_taken():
    low = filling(2.0, tags=json.dumps({"fuel:diesel": "yes", "maxheight": "2.5"}))
    petrol = filling(2.2, tags=json.dumps({"fuel:diesel": "no", "hgv": "yes"}))
    rests, _ = long_drive([*LAY_BYS, low, petrol], depart=SOON, used=70.0)
    assert rests.short > 0


def charging(lon, power):
    tags = {"caravans": "yes", "socket:type2_combo:output": power} if power else {"caravans": "yes"}
    return stop(lon, kind="charging_station", name=f"charge at {lon}", tags=json.dumps(tags),
                opening_hours="24/7")  # fmt: skip


def test_an_electric_car_charges_and_the_time_follows_from_power():
    for power, longest in (("150 kW", 75), ("50 kW", 150)):
        region_places = [*LAY_BYS, charging(1.5, power), charging(3.0, power)]
        rests, _ = long_drive(region_places, depart=SOON, used=95.0, holds=80.0, unit="kWh",
                              car_charge_kw=120.0)  # fmt: skip
        fills = rests.stops[rests.stops["filled"] > 0]
        assert rests.short == 0
        assert len(fills) >= 1
        speed_kw = min(float(power.split()[0]), 120.0) * 0.6
        at_least = fills["filled"] / speed_kw * 60
        assert (fills["minutes"] >= at_least - 0.01).all()
        assert fills["minutes"].sum() < longest * len(fills)
        assert fills["does"].str.startswith("charge to").all()


def test_the_price_of_the_next_best_stop_is_told():
    rests, _ = long_drive([stop(1.7), stop(1.8, lat=51.9995), stop(3.2)], depart=SOON)
    assert len(rests.explained) == len(rests.stops)
    assert "The next best is at stop at 1.8" in rests.explained[0]
    assert "worse by room" in rests.explained[0]


def test_small_children_shorten_the_stint_and_want_toilets():
    bare = stop(1.2)
    toilets = stop(1.25, tags=json.dumps({"hgv": "yes", "toilets": "yes"}), name="toilets")
    places = [bare, toilets, stop(2.5), stop(3.7)]
    rests, _ = long_drive(places, depart=SOON, ages=[38, 3])
    assert rests.longest_stint_min <= 90
    assert rests.stops["name"].iloc[0] == "toilets"


@pytest.mark.parametrize(
    ("tags", "power"),
    [
        ({}, None),
        ({"socket:type2:output": "22 kW"}, 22.0),
        ({"socket:type2:output": "22 kW", "socket:type2_combo:output": "150 kW"}, 150.0),
        ({"charging_station:output": "7400 W"}, 7.4),
        ({"maxpower": "fast"}, None),
    ],
)
def test_power_of_a_charging_station_is_read_from_its_tags(tags, power):
    assert charging_power_kw(json.dumps(tags)) == power


@pytest.mark.parametrize(
    ("tags", "fuel", "sells"),
    [
        ({}, "diesel", "unknown"),
        ({"fuel:diesel": "yes"}, "diesel", "yes"),
        ({"fuel:diesel": "no"}, "diesel", "no"),
        ({"fuel:octane_95": "yes"}, "petrol", "yes"),
        ({"fuel:octane_95": "yes"}, "hybrid", "yes"),
    ],
)
def test_what_a_station_sells_is_read_from_its_tags(tags, fuel, sells):
    assert sells_fuel(json.dumps(tags), fuel) == sells
