from __future__ import annotations

import datetime as dt
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from planner_kit.region import open_region
from planner_kit.tow import Corners, find_route, route_card
from planner_kit.trip.household import TowWeights, Units

from .conftest import make_outfit, make_region
from .test_drive import plan

DAY = dt.date(2027, 7, 24)
KM = Units(distance="km")
# North, then east, then on.
POINTS = [(52.0, 0.0), (52.02, 0.0), (52.02, 0.03), (52.02, 0.06)]


def card(*roads, points=POINTS, units=KM, nodes=None, edges=None, signposts=None):
    found = edges or [(n, n + 1, road) for n, road in enumerate(roads)]
    region = make_region(points, found, nodes=nodes, signposts=signposts)
    route = find_route(
        region, make_outfit(), points[0], points[-1], weights=TowWeights(steep=0), on=DAY
    )
    return route_card(route, units)


def test_a_turn_is_told_with_its_side_road_and_signs():
    lines = card(
        {"ref": "A1"},
        {"ref": "B2", "name": "High Street", "signs_forward": "A30; Oldmill"},
        {"ref": "B2"},
    )
    assert lines["instruction"].tolist() == [
        "Set off north on A1",
        "Turn right into B2 High Street, signed A30, Oldmill",
        "Arrive",
    ]


def test_signs_count_only_in_the_direction_driven():
    lines = card({"ref": "A1"}, {"ref": "B2", "signs_backward": "Elsewhere"}, {"ref": "B2"})
    assert "Elsewhere" not in " ".join(lines["instruction"])


def test_signs_further_on_the_same_road_are_told_at_the_turn():
    lines = card({"ref": "A1"}, {"ref": "B2"}, {"ref": "B2", "signs_forward": "Ness"})
    assert lines["instruction"].iloc[1].endswith(", signed Ness")


def test_a_slip_road_names_the_junction():
    lines = card(
        {"ref": "M5", "road_class": "motorway"}, {"road_class": "motorway_link", "link": True},
        {"ref": "A2"}, nodes={1: {"exit_ref": "12"}},
    )  # fmt: skip
    assert lines["instruction"].iloc[1].startswith("At junction 12 take the slip road on the right")


def test_an_exit_without_a_slip_road_names_the_junction_too():
    lines = card({"ref": "A1"}, {"ref": "B2"}, {"ref": "B2"}, nodes={1: {"exit_ref": "4"}})
    assert lines["instruction"].iloc[1] == "At junction 4 turn right into B2"


def _sign(**changes):
    sign = {"via_node": 1, "to_road": 1, "from_way": 1000, "signs": "Oldmill", "exit_ref": "",
            "osm_id": 7}  # fmt: skip
    return [sign | changes]


@pytest.mark.parametrize("way", [1000, 0])
def test_a_sign_at_the_junction_is_told_before_what_stands_along_the_road(way):
    roads = {"ref": "A1"}, {"ref": "B2", "signs_forward": "Ness"}, {"ref": "B2"}
    lines = card(*roads, signposts=_sign(from_way=way))
    assert lines["instruction"].iloc[1] == "Turn right into B2, signed Oldmill"


@pytest.mark.parametrize("other", [{"from_way": 1002}, {"via_node": 2}, {"to_road": 2}])
def test_a_sign_for_those_who_come_another_way_is_not_told(other):
    lines = card({"ref": "A1"}, {"ref": "B2"}, {"ref": "B2"}, signposts=_sign(**other))
    assert "Oldmill" not in " ".join(lines["instruction"])


def test_a_slip_road_tells_its_own_number_before_that_of_the_junction():
    lines = card(
        {"ref": "M5", "road_class": "motorway"}, {"road_class": "motorway_link", "link": True},
        {"ref": "A2"}, nodes={1: {"exit_ref": "12"}},
        signposts=_sign(from_way=0, signs="", exit_ref="12a"),
    )  # fmt: skip
    assert lines["instruction"].iloc[1].startswith("At junction 12a take the slip road")


def test_a_sign_before_a_roundabout_is_told_at_the_exit():
    ring = {"roundabout": True, "oneway": 1}
    points = [(52.0, 0.0), (52.001, 0.0), (52.0015, 0.0007), (52.002, 0.0), (52.01, 0.0)]
    edges = [(0, 1, {"ref": "A1"}), (1, 2, ring), (2, 3, ring), (3, 1, ring),
             (3, 4, {"ref": "A9"})]  # fmt: skip
    lines = card(points=points, edges=edges, signposts=_sign(via_node=3, to_road=4))
    told = [line for line in lines["instruction"] if "roundabout" in line]
    assert told == ["At the roundabout take the 1st exit onto A9, signed Oldmill"]


def test_roundabout_exits_are_counted():
    ring = {"roundabout": True, "oneway": 1}
    points = [(52.0, 0.0), (52.001, 0.0), (52.0015, 0.0007), (52.002, 0.0), (52.01, 0.0),
              (52.0015, 0.01)]  # fmt: skip
    edges = [
        (0, 1, {"ref": "A1"}), (1, 2, ring), (2, 3, ring), (3, 1, ring), (3, 4, {"ref": "A9"}),
        (2, 5, {"ref": "B7"}),
    ]  # fmt: skip
    region = make_region(points, edges)
    route = find_route(region, make_outfit(), points[0], points[4], weights=TowWeights(), on=DAY)
    lines = route_card(route, KM)
    assert "At the roundabout take the 2nd exit onto A9" in lines["instruction"].tolist()


def test_what_comes_before_the_next_turn_is_told():
    lines = card(
        {"ref": "A1", "steepest_up_pct": 12.4}, {"ref": "B2", "toll": True},
        {"ref": "B2", "width_m": np.nan, "width_source": "unknown"},
    )  # fmt: skip
    assert lines["look_out"].tolist() == ["12% (1 in 8) up", "toll; width not mapped", ""]


@pytest.mark.parametrize(
    ("lane", "told"),
    [
        ({"width_m": 3.6}, "narrow for 2.1 km: a car cannot pass"),
        ({"width_m": 3.6, "oneway": 1}, ""),
        ({"width_m": 6.5}, ""),
        ({"width_m": np.nan, "width_source": "unknown"}, "width not mapped"),
    ],
)
def test_a_road_on_which_a_car_cannot_pass_is_told(lane, told):
    lines = card({"ref": "A1"}, {"ref": "B2", **lane}, {"ref": "B3"})
    assert lines["look_out"].iloc[1] == told


def test_distances_are_in_the_households_unit_and_lose_nothing():
    km, miles = (card({"ref": "A1"}, {"ref": "B2"}, {"ref": "B3"}, units=u)
                 for u in (KM, Units(distance="miles")))  # fmt: skip
    assert km["then_km"].sum() == pytest.approx(miles["then_km"].sum())
    assert km["then"].iloc[0].endswith("km")
    assert miles["then"].iloc[0].endswith(("mile", "miles"))


def test_a_turn_that_needs_the_whole_road_is_told_at_the_turn():
    corners = pd.DataFrame(
        [
            {"at_km": 2.225, "kind": "turn", "beyond_road_m": 0.0, "beyond_own_half_m": 0.6},
            {"at_km": 3.0, "kind": "bend", "beyond_road_m": 0.2, "beyond_own_half_m": 1.0},
            {"at_km": 3.5, "kind": "bend", "beyond_road_m": np.nan, "beyond_own_half_m": np.nan},
        ]
    )
    region = make_region(POINTS, [(n, n + 1, {"ref": f"B{n}"}) for n in range(3)])
    route = find_route(
        region, make_outfit(), POINTS[0], POINTS[-1], weights=TowWeights(steep=0), on=DAY
    )
    corners.loc[0, "at_km"] = route.steps["start_km"].iloc[1]
    stops = pd.DataFrame(
        [{"at_km": 1.0, "name": "Lay-by", "kind": "rest_area", "does": "break",
          "arrive": dt.datetime(2027, 7, 24, 12, 3)}]
    )  # fmt: skip
    leg = replace(
        plan("s1").legs[0], route=route, corners=Corners(corners, ()), rests=stops,
        to_name="Marsh Farm",
    )  # fmt: skip
    lines = route_card(route, KM, leg=leg)
    assert lines["instruction"].tolist() == [
        "Set off north on B0", "Stop at Lay-by, about 12:03: break", "Turn right into B1",
        "Go on onto B2", "Arrive at Marsh Farm",
    ]  # fmt: skip
    assert lines["look_out"].tolist() == [
        "", "", "turn takes the whole road: wait; bend may not fit: look first", "", "",
    ]  # fmt: skip


def test_the_demo_has_a_numbered_exit_and_signs_for_those_who_come_from_town(demo):
    region = open_region(demo / "region")
    town = region.places.set_index("name")[["lat", "lon"]]
    ellanby, pellinger, tarrowby = (
        tuple(town.loc[name]) for name in ("Ellanby", "Pellinger", "Tarrowby")
    )
    told = {}
    for start, end in ((pellinger, tarrowby), (ellanby, tarrowby)):
        route = find_route(region, make_outfit(), start, end, weights=TowWeights(), on=DAY)
        told[start] = " | ".join(route_card(route, KM)["instruction"])
    assert "At junction 1 turn right into B25" in told[pellinger]
    assert "into A3 High Street, signed Omberlow, Hallin Cross" in told[ellanby]
    assert "into A12, signed Tarrowby, Gorsecombe" in told[ellanby]
