"""What a turn costs: by its angle, its side, what controls it, and where it leads."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from planner_kit.reference import constant
from planner_kit.tow.costing import road_system
from planner_kit.trip.household import TowWeights

from .conftest import make_outfit, make_region

DAY = dt.date(2027, 7, 24)
# A crossing of roads from west (0), north (1), east (2) and south (3) at node 0.
POINTS = [(52.0, 0.0), (52.0, -0.01), (52.006, 0.0), (52.0, 0.01), (51.994, 0.0)]
EDGES = [(1, 0), (2, 0), (3, 0), (4, 0)]
WEST, NORTH, EAST, SOUTH = range(4)


def value(name):
    return constant("towing_costs", name).value


def crossing(country="GB", nodes=None, **by_road):
    edges = [
        (a, b, {"country": country, **by_road.get(f"road{number}", {})})
        for number, (a, b) in enumerate(EDGES)
    ]
    return make_region(POINTS, edges, nodes=nodes)


def turn(region, begin, end, *, towing=True):
    """Time and stress of the turn from one road into another [s]."""
    system = road_system(region)
    network = system.network
    costing = (
        system.towing(make_outfit(), TowWeights(), on=DAY) if towing else system.driving(on=DAY)
    )
    coming, going = network.directed_of[network.tail], network.directed_of[network.head]
    arc = int(np.flatnonzero((coming // 2 == begin) & (going // 2 == end))[0])
    return float(costing.turns.time_s[arc]), float(costing.turns.stress_s[arc])


@pytest.mark.parametrize(("country", "near", "far"), [("GB", NORTH, SOUTH), ("LI", SOUTH, NORTH)])
def test_turn_across_the_traffic_takes_longer_on_either_side_of_the_road(country, near, far):
    region = crossing(country)
    straight = turn(region, WEST, EAST)[0]
    easy, hard = turn(region, WEST, near)[0], turn(region, WEST, far)[0]
    assert straight == pytest.approx(0, abs=0.2)
    assert easy == pytest.approx(value("turn_near") * value("turn_tow_factor"), rel=0.05)
    assert hard == pytest.approx(value("turn_far") * value("turn_tow_factor"), rel=0.05)


def test_outfit_turns_more_slowly_than_a_car_and_dislikes_it():
    region = crossing()
    towed, alone = turn(region, WEST, SOUTH), turn(region, WEST, SOUTH, towing=False)
    assert towed[0] == pytest.approx(alone[0] * value("turn_tow_factor"))
    assert towed[1] == pytest.approx(value("turn_stress"), rel=0.05)
    assert alone[1] == 0


@pytest.mark.parametrize(
    ("control", "straight_waits"),
    [("signals", True), ("mini_roundabout", True), ("level_crossing", True),
     ("stop", False), ("give_way", False)],
)  # fmt: skip
def test_controls_make_everybody_or_those_who_turn_wait(control, straight_waits):
    free, controlled = crossing(), crossing(nodes={0: {"control": control}})
    for end, waits in ((EAST, straight_waits), (SOUTH, True)):
        more = turn(controlled, WEST, end)[0] - turn(free, WEST, end)[0]
        assert more == pytest.approx(value(f"wait_{control}") if waits else 0, abs=1e-4)


@pytest.mark.parametrize(
    ("changes", "name", "towing_only"),
    [
        ({"road2": {"unread_limits": "maxheight=default"}}, "unread_limit", True),
        ({"road2": {"motor_access": "destination"}}, "destination_only", False),
        ({"road0": {"ref": "A1"}, "road2": {"road_class": "unclassified"}}, "leave_numbered", True),
    ],
    ids=["a limit that could not be read", "for those who live there", "off the numbered road"],
)
def test_road_is_entered_unwillingly(changes, name, towing_only):
    region = crossing(**changes)
    assert turn(region, WEST, EAST)[1] == pytest.approx(value(name), abs=0.5)
    car = turn(region, WEST, EAST, towing=False)[1]
    assert car == (0 if towing_only else value(name))
    assert turn(region, EAST, WEST)[1] == pytest.approx(0, abs=0.5)


def test_ferry_is_boarded_once():
    region = crossing(road2={"road_class": "ferry", "ferry_min": 20.0})
    assert turn(region, WEST, EAST)[0] == pytest.approx(value("ferry_boarding") * 60, abs=1)
    assert turn(region, EAST, WEST)[0] == pytest.approx(0, abs=1)
