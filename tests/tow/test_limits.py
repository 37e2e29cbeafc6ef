from __future__ import annotations

import datetime as dt

import numpy as np
import pytest

from planner_kit.errors import NoRouteError
from planner_kit.states import State
from planner_kit.tow.find import car_route, find_route
from planner_kit.tow.limits import limits_for_outfit, road_signs
from planner_kit.trip.household import AvoidRoad, TowWeights

START, END = (52.0, -0.005), (52.0, 0.025)
DAY = dt.date(2027, 7, 24)


def roads_of(region, outfit, **options):
    route = find_route(region, outfit, START, END, weights=TowWeights(), on=DAY, **options)
    return route, route.road_id.tolist()


def test_short_way_is_taken_when_nothing_stands_against_it(detour, make_outfit):
    _, roads = roads_of(detour(), make_outfit())
    assert roads == [4, 0, 1, 5]


@pytest.mark.parametrize(
    "changes",
    [
        {"maxheight_m": 2.7},
        {"maxwidth_m": 2.3},
        {"maxlength_m": 10.0},
        {"maxweight_t": 3.0},
        {"maxaxleload_t": 1.0},
        {"motor_access": "no"},
        {"motor_access": "private"},
        {"trailer_access": "no"},
        {"width_m": 2.5, "width_source": "tagged"},
    ],
)
def test_road_with_a_limit_that_the_outfit_breaks_is_not_driven(detour, make_outfit, changes):
    _, roads = roads_of(detour(**changes), make_outfit())
    assert roads == [4, 2, 3, 5]


@pytest.mark.parametrize(
    ("changes", "missing"),
    [
        ({"maxheight_m": 5.0}, {"height_m": None}),
        ({"maxweight_t": 40.0}, {"train_kg": None}),
        ({"maxaxleload_t": 10.0}, {"max_axle_kg": None}),
        ({"maxlength_m": 18.0}, {"length_m": None}),
    ],
)
def test_limit_on_an_unknown_figure_is_unknown_and_not_driven(
    detour, make_outfit, changes, missing
):
    region, outfit = detour(**changes), make_outfit(**missing)
    frame = limits_for_outfit(road_signs(region.roads, region.nodes), outfit).frame()
    assert frame["state"].iat[0] == State.UNKNOWN.value
    assert "is not known" in frame["reason"].iat[0]
    route, roads = roads_of(region, outfit)
    assert roads == [4, 2, 3, 5]
    assert any("not known, so roads signed" in text for text in route.unknowns)


def test_guessed_width_is_no_hard_limit_but_is_said(detour, make_outfit):
    region = detour(width_m=2.5, width_source="class", road_class="unclassified")
    outfit = make_outfit()
    route = find_route(region, outfit, START, END, weights=TowWeights(narrow=0), on=DAY)
    assert 0 in route.road_id
    assert any("guessed" in check.sentence for check in route.near_limits)


def test_signed_height_just_above_the_outfit_is_near(detour, make_outfit):
    route, roads = roads_of(detour(maxheight_m=2.8), make_outfit())
    assert roads == [4, 0, 1, 5]
    near = [check for check in route.near_limits if check.rule == "tag maxheight"]
    assert len(near) == 1
    assert near[0].state is State.LOOK
    assert near[0].margin == pytest.approx(0.18, abs=0.001)


def test_plate_above_a_mass_limit_that_the_train_keeps_is_pointed_out(detour, make_outfit):
    route, _ = roads_of(detour(maxweight_t=3.6), make_outfit(train_kg=3000.0))
    assert any("plated mass of 3.70 t" in check.sentence for check in route.near_limits)


def test_never_again_road_is_left_out_by_way_and_by_place(detour, make_outfit):
    _, by_way = roads_of(detour(), make_outfit(), avoid=(AvoidRoad(osm_way_id=1000),))
    _, by_place = roads_of(detour(), make_outfit(), avoid=(AvoidRoad(lat=52.0, lon=0.005),))
    assert by_way == by_place == [4, 2, 3, 5]


def test_no_way_open_names_the_limits_that_would_have_to_fall(make_region, make_outfit):
    region = make_region(
        [(52.0, 0.0), (52.0, 0.01), (52.0, 0.02), (52.0, 0.03)],
        [(0, 1, {}), (1, 2, {"maxheight_m": 2.2, "name": "Low Lane"}), (2, 3, {})],
    )
    with pytest.raises(NoRouteError, match=r"Low Lane .*maxheight is too low"):
        find_route(
            region, make_outfit(), (52.0, 0.005), (52.0, 0.025), weights=TowWeights(), on=DAY
        )
    assert car_route(region, (52.0, 0.005), (52.0, 0.025), on=DAY).road_id.tolist() == [0, 1, 2]


def test_start_far_from_any_road_says_how_far(detour, make_outfit):
    with pytest.raises(NoRouteError, match=r"the start at 52\.10000, 0\.00000 is \d+\.\d km"):
        find_route(detour(), make_outfit(), (52.1, 0.0), END, weights=TowWeights(), on=DAY)


def test_end_on_a_shut_road_is_refused_and_not_moved_to_the_next_road(make_region, make_outfit):
    region = make_region(
        [(52.0, 0.0), (52.0, 0.01), (52.003, 0.01)],
        [(0, 1, {}), (1, 2, {"maxwidth_m": 2.0, "name": "Thin Lane"})],
    )
    with pytest.raises(NoRouteError, match=r"the end .* lies on Thin Lane"):
        find_route(
            region, make_outfit(), (52.0, 0.002), (52.0025, 0.01), weights=TowWeights(), on=DAY
        )


def test_bollard_stops_and_gate_of_unknown_kind_is_said(make_region, make_outfit):
    points = [(52.0, 0.0), (52.0, 0.01), (52.0, 0.02)]
    edges = [(0, 1, {}), (1, 2, {})]
    shut = make_region(points, edges, nodes={1: {"barrier": "bollard", "barrier_passable": False}})
    with pytest.raises(NoRouteError, match="barrier=bollard"):
        find_route(shut, make_outfit(), (52.0, 0.005), (52.0, 0.015), weights=TowWeights(), on=DAY)
    gate = make_region(points, edges, nodes={1: {"barrier": "gate"}})
    route = find_route(
        gate, make_outfit(), (52.0, 0.005), (52.0, 0.015), weights=TowWeights(), on=DAY
    )
    assert any("gate(s)" in text for text in route.unknowns)


def test_private_road_is_driven_only_where_the_end_lies_on_it(make_region, make_outfit):
    region = make_region(
        [(52.0, 0.0), (52.0, 0.01), (52.0, 0.02)],
        [(0, 1, {}), (1, 2, {"motor_access": "private"})],
    )
    route = find_route(
        region, make_outfit(), (52.0, 0.005), (52.0, 0.015), weights=TowWeights(), on=DAY
    )
    assert route.road_id.tolist() == [0, 1]
    assert any("private" in text for text in route.unknowns)


def test_limits_do_not_change_the_roads(detour, make_outfit):
    region = detour(maxheight_m=2.0)
    before = region.roads.copy()
    limits_for_outfit(road_signs(region.roads, region.nodes), make_outfit())
    assert before.equals(region.roads)
    assert np.array_equal(before.index, region.roads.index)
