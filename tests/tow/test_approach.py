from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pytest

from planner_kit.states import State
from planner_kit.tow import approach_report, find_route
from planner_kit.trip.household import TowWeights, Units

from .conftest import make_outfit, make_region

DAY = dt.date(2027, 7, 24)
POINTS = [(52.0, 0.0), (52.0, 0.1), (52.0, 0.11), (52.003, 0.11)]


def approach(last=None, *, units=None, **outfit):
    edges = [(0, 1, {"ref": "A1"}), (1, 2, {"name": "Long Lane"}), (2, 3, {"name": "Site Road",
             **(last or {})})]  # fmt: skip
    region = make_region(POINTS, edges)
    fits = make_outfit(**outfit)
    route = find_route(region, fits, POINTS[0], POINTS[-1], weights=TowWeights(), on=DAY)
    return approach_report(route, region.roads, fits, "Site", units=units or Units(distance="km"))


def test_stretches_come_in_driving_order_with_the_entrance_last():
    found = approach()
    assert found.stretches["name"].tolist() == ["A1", "Long Lane", "Site Road"]
    assert found.stretches["entrance"].tolist() == [False, False, True]
    assert found.stretches["from_end_km"].is_monotonic_decreasing
    assert found.checks[0].state is State.FINE


def test_the_direction_of_arrival_is_told():
    found = approach()
    assert found.arrive_heading_deg == pytest.approx(0, abs=1)
    assert "Arrive driving N" in found.look_at[-1]
    assert "turning left into it" in found.look_at[-1]


@pytest.mark.parametrize(
    ("last", "state", "words"),
    [
        ({"width_m": 3.2}, State.LOOK, "where to let an oncoming car by"),
        ({"width_m": 3.2, "width_source": "class"}, State.UNKNOWN, "guessed from the kind"),
        ({"width_m": np.nan, "width_source": "unknown"}, State.UNKNOWN, "none is mapped"),
        ({"steepest_up_pct": 14.0}, State.LOOK, "the hill of up to 14"),
        ({"steepest_up_pct": np.nan, "steepest_down_pct": np.nan}, State.UNKNOWN, "no gradient"),
        ({"bend_radius_m": 9.0}, State.LOOK, "a bend of 9 m radius"),
        ({"road_class": "track", "surface": "unknown"}, State.UNKNOWN, "its surface"),
    ],
)
def test_what_is_hard_or_not_known_is_to_be_looked_at(last, state, words):
    found = approach(last)
    assert found.checks[0].state is state
    assert any(words in line for line in found.look_at)


def test_no_safe_approach_says_what_would_be_needed():
    region = make_region(POINTS, [(0, 1, {}), (1, 2, {}), (2, 3, {"name": "Gap Lane"})])
    slim = make_outfit(width_m=2.0)
    route = find_route(region, slim, POINTS[0], POINTS[-1], weights=TowWeights(), on=DAY)
    steps = route.steps.assign(width_m=[7.0, 7.0, 2.4])
    narrow = replace(route, columns=steps)
    found = approach_report(narrow, region.roads, make_outfit(), "Site")
    assert found.checks[0].state is State.NOT_FINE
    assert "There is no safe approach" in found.checks[0].sentence
    assert "Gap Lane is 2.40 m wide and 2.60 m is needed, 0.20 m more" in found.checks[0].sentence


def test_distances_are_in_the_households_unit():
    assert "mile" in approach(units=Units(distance="miles")).checks[0].sentence
    assert "km" in approach().checks[0].sentence
