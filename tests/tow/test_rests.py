from __future__ import annotations

import datetime as dt
import itertools
import json
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.states import State
from planner_kit.tow.find import find_route
from planner_kit.tow.rests import choose_stops, plan_rests, room_for
from planner_kit.trip.household import TowWeights

from .conftest import make_outfit, make_region

DAY = dt.date(2027, 7, 24)
DEPART = dt.datetime(2027, 7, 24, 9, 30, tzinfo=ZoneInfo("Europe/London"))


@given(
    stops=st.lists(st.tuples(st.integers(1, 399), st.integers(0, 40)), max_size=7, unique=True),
    total=st.integers(1, 400),
    limit=st.integers(30, 200),
)
@settings(max_examples=50, deadline=None)
def test_chosen_stops_are_the_best_of_all_choices(stops, total, limit):
    stops = sorted(s for s in stops if s[0] < total)
    at = np.array([s[0] for s in stops], dtype=float)
    cost = np.array([s[1] for s in stops], dtype=float)

    def worth(chosen):
        stints = np.diff([0.0, *at[list(chosen)], total])
        return np.maximum(stints - limit, 0).sum(), cost[list(chosen)].sum()

    every = (c for n in range(len(stops) + 1) for c in itertools.combinations(range(len(stops)), n))
    assert worth(choose_stops(at, cost, total, limit)) == min(map(worth, every))


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


def long_drive(places):
    """A straight road east, about 340 km and four and a half hours long."""
    points = [(52.0, 0.5 * n) for n in range(11)]
    region = make_region(points, [(n, n + 1, {}) for n in range(10)], places=places)
    outfit = make_outfit()
    route = find_route(region, outfit, points[0], points[-1], weights=TowWeights(), on=DAY)
    dual = np.zeros(len(route.steps), dtype=bool)
    return plan_rests(
        route, region.places, outfit, DEPART,
        stint_min=120, break_min=15, keeps_left=True, dual=dual,
    ), route  # fmt: skip


def stop(lon, **more):
    return {"kind": "lay_by", "name": f"stop at {lon}", "lat": 52.0005, "lon": lon,
            "tags": json.dumps({"hgv": "yes"}), **more}  # fmt: skip


def test_no_stint_is_longer_than_two_hours_where_there_are_stops():
    rests, route = long_drive([stop(lon) for lon in np.arange(0.25, 5, 0.25)])
    assert route.time_min > 240
    assert len(rests.stops) == 2
    assert rests.longest_stint_min <= 120
    assert rests.check.state is State.FINE
    assert (rests.stops["room"] == "yes").all()
    assert rests.extra_min > 30
    stays = rests.stops["leave"] - rests.stops["arrive"]
    assert (stays.dt.total_seconds() == 900).all()


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
