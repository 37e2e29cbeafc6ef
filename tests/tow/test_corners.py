from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.states import State
from planner_kit.tow import find_route, route_corners
from planner_kit.tow.corner_room import depth_in_land_m
from planner_kit.trip.household import TowWeights

from .conftest import make_outfit, make_region

DAY = dt.date(2027, 7, 24)
# South to north, then east: a right-angled turn to the right at the second point.
POINTS = [(52.0, 0.0), (52.005, 0.0), (52.005, 0.01)]


def corners(*, into=None, **outfit):
    region = make_region(POINTS, [(0, 1, {}), (1, 2, into or {})])
    fits = make_outfit(**outfit)
    route = find_route(region, fits, POINTS[0], POINTS[-1], weights=TowWeights(), on=DAY)
    return route_corners(route, region.roads, fits, keeps_left=True)


def test_a_wide_junction_is_gone_round_on_the_outfits_own_half():
    found = corners(into={"width_m": 11.0})
    row = found.table.iloc[0]
    assert row["kind"] == "turn"
    assert row["turn_deg"] == pytest.approx(90, abs=1)
    assert row["beyond_road_m"] == 0
    assert found.checks[-1].state is not State.NOT_FINE


def test_a_narrow_lane_is_not_gone_round_and_says_where():
    found = corners(into={"width_m": 2.7, "road_class": "track"})
    check = found.checks[0]
    assert found.table["beyond_road_m"].iloc[0] > 0
    assert check.state in (State.LOOK, State.NOT_FINE)
    assert "90 degrees to the right" in check.sentence
    assert (check.lat, check.lon) == pytest.approx((52.005, 0.0), abs=1e-4)


def test_a_guessed_width_makes_the_same_corner_unknown():
    found = corners(into={"width_m": 2.7, "road_class": "track", "width_source": "class"})
    assert found.checks[0].state is State.UNKNOWN
    assert "guessed from the kind of road" in found.checks[0].sentence


def test_no_width_is_unknown_and_never_fine():
    found = corners(into={"width_m": np.nan, "width_source": "unknown"})
    assert found.table["state"].tolist() == ["unknown"]
    assert found.checks[-1].state is State.UNKNOWN


def test_a_longer_caravan_never_needs_less():
    road = {"width_m": 4.0}
    short, long = (
        corners(into=road, ball_to_axle_m=metres).table["beyond_own_half_m"].iloc[0]
        for metres in (3.5, 6.0)
    )
    assert long >= short


def test_an_outfit_without_its_lengths_is_unknown():
    found = corners(ball_to_axle_m=None)
    assert found.table.empty
    assert [check.state for check in found.checks] == [State.UNKNOWN]


def test_a_hairpin_narrower_than_the_swept_width_is_told():
    region = make_region(POINTS[:2], [(0, 1, {"bend_radius_m": 7.0, "width_m": 3.5})])
    outfit = make_outfit()
    route = find_route(region, outfit, *POINTS[:2], weights=TowWeights(), on=DAY)
    found = route_corners(route, region.roads, outfit, keeps_left=True)
    assert found.table["kind"].tolist() == ["bend"]
    assert found.table["beyond_road_m"].iloc[0] > 0
    assert "7 m radius" in found.checks[0].sentence


@given(st.floats(-2, 6), st.floats(-2, 6), st.floats(0.7, 2.4), st.floats(2, 10))
@settings(max_examples=50, deadline=None)
def test_depth_in_the_inner_corner_agrees_with_rounded_polygons(beyond_in, beyond_out, angle, kerb):
    # The land lies left of both edges; the way in runs along x, the way out turns left.
    out = np.array([np.cos(angle), np.sin(angle)])
    far = 400.0
    corner = far * out + np.array([-far, 0.0])
    land = shapely.Polygon([(0, 0), (-far, 0), tuple(corner), tuple(far * out)])
    rounded = land.buffer(-kerb, quad_segs=64).buffer(kerb, quad_segs=64)
    y = beyond_in
    x = (np.cos(angle) * beyond_in - beyond_out) / np.sin(angle)
    point = shapely.Point(x, y)
    depth = float(
        depth_in_land_m(*(np.array([v]) for v in (beyond_in, beyond_out, angle, kerb)))[0]
    )
    inside = rounded.contains(point)
    if inside and rounded.exterior.distance(point) > 0.02:
        assert depth == pytest.approx(rounded.exterior.distance(point), abs=0.02)
    elif not inside:
        assert depth <= 0.02
