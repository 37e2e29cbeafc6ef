"""Maps and profiles for paper."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Geod

from planner_kit.pack import print_map, profile_chart
from planner_kit.pack.drawing import Drawing
from planner_kit.pack.map_furniture import draw_furniture
from planner_kit.pack.map_labels import Label, place_labels
from planner_kit.pack.map_marks import set_apart
from planner_kit.pack.profile_chart import heights_chart
from planner_kit.plan import TripPlan
from planner_kit.trip.household import Units


def texts_of(svg: str) -> list[str]:
    root = ElementTree.fromstring(svg)
    return ["".join(node.itertext()) for node in root.iter("{http://www.w3.org/2000/svg}text")]


def test_map_names_places_roads_scale_north_and_source(region: Any, plan: TripPlan) -> None:
    found = texts_of(print_map(region, route=plan.tow.legs[0].route.geometry))
    for said in ("Marrendale", "A2", "N", "5 miles", " · ".join(region.attribution)):
        assert said in found


def test_same_map_twice_and_no_date_in_it(region: Any) -> None:
    svg = print_map(region)
    assert print_map(region) == svg
    assert "dc:date" not in svg


def test_size_on_paper_is_as_asked(region: Any) -> None:
    root = ElementTree.fromstring(print_map(region, size_mm=(90.0, 60.0)))
    width_pt = float(root.attrib["width"].removesuffix("pt"))
    assert width_pt / 72 * 25.4 == pytest.approx(90, abs=0.01)


@pytest.mark.parametrize("unit", ["miles", "km"])
def test_scale_bar_is_as_long_as_it_says(region: Any, unit: str) -> None:
    west, south, east, north = bounds = (-14.2, 49.0, -13.8, 49.2)
    size_mm = (180.0, 120.0)
    svg = print_map(region, bounds=bounds, size_mm=size_mm, units=Units(distance=unit))
    shown = next(t for t in texts_of(svg) if t.endswith(unit) or t == f"1 {unit.rstrip('s')}")
    bars = re.findall(r'd="M ([\d.]+) [\d.]+ L ([\d.]+) [^"]*" style="fill: #222222', svg)
    length_pt = max(float(right) - float(left) for left, right in bars)
    lat = (south + north) / 2
    wide_km = Geod(ellps="WGS84").inv(west, lat, east, lat)[2] / 1000
    tall_km = Geod(ellps="WGS84").inv(west, south, west, north)[2] / 1000
    km_per_mm = max(wide_km / size_mm[0], tall_km / size_mm[1])
    km = 2 * length_pt / 72 * 25.4 * km_per_mm
    expected_km = float(shown.split()[0]) * (1.609344 if unit == "miles" else 1)
    assert km == pytest.approx(expected_km, rel=0.01)


def test_words_of_people_are_drawn_as_words(region: Any) -> None:
    nasty = "$x^2$ <b>&'\"</text>"
    points = pd.DataFrame(
        [{"lat": 49.2, "lon": -14.0, "label": nasty, "mark": "<", "kind": "site"}]
    )
    found = texts_of(print_map(region, points=points))
    assert nasty in found
    assert "<" in found


def test_region_without_terrain_or_areas_is_still_drawn(region: Any) -> None:
    bare = replace(region, terrain=None, areas=region.areas.iloc[:0], lines=region.lines.iloc[:0])
    svg = print_map(bare)
    assert "A1" in texts_of(svg)
    assert "<image" not in svg
    assert "<image" in print_map(region)


def test_points_without_position_are_left_out(region: Any) -> None:
    points = pd.DataFrame(
        [{"lat": np.nan, "lon": -14.0, "label": "lost", "mark": "L", "kind": "site"},
         {"lat": 49.2, "lon": -14.0, "label": "found", "mark": "F", "kind": "rest"}]
    )  # fmt: skip
    found = texts_of(print_map(region, points=points))
    assert "found" in found
    assert "lost" not in found


@settings(max_examples=30, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.floats(0, 1), st.floats(0, 1), st.integers(0, 5), st.text("abcXYZ ", min_size=1)
        ),
        max_size=25,
    )
)
def test_no_label_lies_over_another_or_over_what_is_taken(
    spots: list[tuple[float, float, int, str]],
) -> None:
    canvas = Drawing((0, 0, 1, 1), (100, 100))
    labels = [Label(text, x, y, 7.0, rank=rank, gap_mm=1.0) for x, y, rank, text in spots]
    taken = (0.4, 0.4, 0.6, 0.6)
    boxes = [*place_labels(canvas, labels, (0, 0, 1, 1), (100, 100), [taken]), taken]
    for place, one in enumerate(boxes):
        for other in boxes[:place]:
            apart = one[0] >= other[2] or other[0] >= one[2]
            assert apart or one[1] >= other[3] or other[1] >= one[3]


def test_profile_hatches_where_it_is_steep_and_only_there(region: Any, plan: TripPlan) -> None:
    route = plan.tow.legs[0].route
    svg = profile_chart(route, region.terrain)
    assert svg is not None
    assert "miles from the start" in texts_of(svg)
    level = replace(
        route, columns=route.steps.assign(steepest_up_pct=1.0, steepest_down_pct=np.nan)
    )
    flat = profile_chart(level, region.terrain)
    assert flat is not None
    assert "url(#" in re.sub(r"clip-path=\"[^\"]*\"", "", svg)
    assert len(flat) < len(svg)
    km = profile_chart(route, region.terrain, units=Units(distance="km"))
    assert km is not None
    assert "km from the start" in texts_of(km)


def test_profile_is_none_where_no_height_is_known(region: Any, plan: TripPlan) -> None:
    route = plan.tow.legs[0].route
    assert profile_chart(route, None) is None
    void = replace(region.terrain, grid=np.full_like(region.terrain.grid, np.nan))
    assert profile_chart(route, void) is None


def test_marks_at_one_spot_are_drawn_apart_and_tied_to_it() -> None:
    points = pd.DataFrame(
        {"lat": [50.05] * 8, "lon": [0.1] * 8, "kind": ["site", *["outing"] * 7], "mark": "1"}
    )
    frame, size_mm = (0.0, 50.0, 0.2, 50.1), (180.0, 120.0)
    marks = set_apart(points, frame, size_mm)
    at = np.array([(mark["mark_lon"] * 900, (mark["mark_lat"] - 50) * 1200) for mark in marks])
    apart = np.hypot(*(at[:, None] - at[None]).transpose(2, 0, 1)) + np.eye(8) * 99
    assert apart.min() > 4.4
    assert (marks[0]["mark_lon"], marks[0]["mark_lat"]) == pytest.approx((0.1, 50.05))
    assert {mark["lat"] for mark in marks} == {50.05}


@pytest.mark.parametrize("corner", [(0.0, 0.0), (0.7, 0.0), (0.0, 0.7), (0.7, 0.7)])
def test_scale_arrow_and_source_leave_the_way_clear(corner: tuple[float, float]) -> None:
    frame, size_mm = (-14.2, 49.0, -13.8, 49.2), (170.0, 66.0)
    west, south = -14.2 + corner[0] * 0.4, 49.0 + corner[1] * 0.2
    way = [(west, south, west + 0.12, south + 0.06)]
    taken = draw_furniture(Drawing(frame, size_mm), frame, size_mm, Units(), "a source", way)
    assert len(taken) == 3
    boxes = [*taken, *way]
    for place, one in enumerate(boxes):
        for other in boxes[:place]:
            apart = one[0] >= other[2] or other[0] >= one[2]
            assert apart or one[1] >= other[3] or other[1] >= one[3]


def test_number_of_a_road_may_stand_on_the_way_and_a_name_may_not() -> None:
    frame, size_mm = (0.0, 0.0, 1.0, 1.0), (100.0, 100.0)
    on = Label("A12", 0.5, 0.5, 5.8, rank=3, plate=True)
    name = Label("Tarrowby", 0.5, 0.5, 6.5, rank=1)
    way = [(0.0, 0.0, 1.0, 1.0)]
    assert len(place_labels(Drawing(frame, size_mm), [on], frame, size_mm, [], way)) == 1
    assert place_labels(Drawing(frame, size_mm), [name], frame, size_mm, [], way) == []


@pytest.mark.parametrize("height_mm", [26.0, 34.0, 45.0])
def test_words_below_a_profile_stand_on_the_paper(height_mm: float) -> None:
    svg = heights_chart(
        np.linspace(0, 10, 50), np.linspace(5, 90, 50), Units(), size_mm=(170.0, height_mm)
    )
    root = ElementTree.fromstring(svg)
    feet = [float(node.attrib["y"]) for node in root.iter("{http://www.w3.org/2000/svg}text")]
    assert max(feet) < height_mm / 25.4 * 72 - 1


def test_what_lies_beyond_the_region_is_said(region: Any) -> None:
    west, south, east, north = region.bounds
    inside = print_map(region, bounds=(west + 0.2, south + 0.2, east - 0.2, north - 0.2))
    outside = print_map(region, bounds=(west - 0.4, south, east - 0.4, north))
    assert "hatched: beyond" not in inside
    assert "hatched: beyond" in outside
