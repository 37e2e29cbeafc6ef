from __future__ import annotations

import base64
import json
import re
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from planner_kit.region import Region, open_region
from planner_kit.states import State
from planner_kit.views.map_layers import (
    GROUP_LOOK,
    MOST_PLACES,
    area_shapes,
    drawn_roads,
    nearest_place,
    place_shapes,
    road_shapes,
    symbol_svg,
)
from planner_kit.views.map_names import (
    MOST_NAMES,
    Name,
    name_drawing,
    names_and_spots,
    numbered_marks,
)
from planner_kit.views.region_map import RegionMap

VIEW = (0.0, 50.0, 0.2, 50.1)


@pytest.fixture(scope="module")
def region(demo: Path) -> Region:
    return open_region(demo / "region")


def roads_of(lines: list[tuple[str, shapely.LineString]]) -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame(
        {"road_class": [road_class for road_class, _ in lines]},
        geometry=[line for _, line in lines],
        crs=4326,
    )


def places_of(kind: str, lon: np.ndarray, lat: np.ndarray, name: str = "Here") -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame(
        {"kind": kind, "name": name, "lat": lat, "lon": lon},
        geometry=gpd.points_from_xy(lon, lat),
        crs=4326,
    )


def size_of(shapes: dict[str, object]) -> int:
    return len(json.dumps(shapes))


def svg_of(address: str) -> str:
    head, _, body = unquote(address).partition(",")
    assert head == "data:image/svg+xml;base64"
    return base64.b64decode(body).decode()


def test_road_out_of_view_is_not_sent() -> None:
    roads = roads_of(
        [
            ("primary", shapely.LineString([(0.05, 50.05), (0.1, 50.06)])),
            ("primary", shapely.LineString([(3, 50.05), (3.1, 50.06)])),
        ]
    )
    shapes = road_shapes(drawn_roads(roads, pd.Series(["fine", "fine"])), VIEW, 12)
    (feature,) = shapes["features"]
    assert shapely.geometry.shape(feature["geometry"]).bounds == (0.05, 50.05, 0.1, 50.06)


@pytest.mark.parametrize(
    ("road_class", "hidden_at", "drawn_at"),
    [("residential", 12, 13), ("tertiary", 10, 11), ("track", 14, 15)],
)
def test_small_road_appears_from_its_zoom(road_class: str, hidden_at: int, drawn_at: int) -> None:
    roads = roads_of([(road_class, shapely.LineString([(0.05, 50.05), (0.1, 50.06)]))])
    states = pd.Series(["fine"])
    assert road_shapes(drawn_roads(roads, states), VIEW, hidden_at)["features"] == []
    assert len(road_shapes(drawn_roads(roads, states), VIEW, drawn_at)["features"]) == 1


def test_every_state_is_drawn_by_dash_as_well_as_colour() -> None:
    line = shapely.LineString([(0.05, 50.05), (0.1, 50.06)])
    roads = roads_of([("primary", line)] * 4)
    shapes = road_shapes(drawn_roads(roads, pd.Series([state.value for state in State])), VIEW, 12)
    styles = [feature["properties"]["style"] for feature in shapes["features"]]
    assert len({style["color"] for style in styles}) == 4
    assert len({style.get("dashArray", "") for style in styles}) == 4


def test_not_fine_road_lies_above_a_fine_one() -> None:
    line = shapely.LineString([(0.05, 50.05), (0.1, 50.06)])
    roads = roads_of([("primary", line)] * 2)
    shapes = road_shapes(drawn_roads(roads, pd.Series(["not fine", "fine"])), VIEW, 12)
    last = shapes["features"][-1]["properties"]["style"]
    assert last["color"] == State.NOT_FINE.colour


@pytest.mark.parametrize("zoom", range(7, 18))
def test_what_is_sent_for_a_view_stays_small_at_every_zoom(region: Region, zoom: int) -> None:
    states = pd.Series(np.full(len(region.roads), State.FINE.value))
    west, south, east, north = region.bounds
    lon, lat = (west + east) / 2, (south + north) / 2
    half_lon = 1.5 * 360 / 2**zoom * 800 / 256 / 2
    half_lat = half_lon * 0.5
    bounds = lon - half_lon, lat - half_lat, lon + half_lon, lat + half_lat
    groups = tuple(GROUP_LOOK)
    sent = (
        size_of(road_shapes(drawn_roads(region.roads, states), bounds, zoom))
        + size_of(area_shapes(region.areas, bounds, zoom))
        + size_of(place_shapes(region.places, groups, bounds, zoom).shapes)
        + len(name_drawing(region.places, bounds, zoom))
    )
    assert sent < 700_000


def test_thinning_keeps_a_wiggly_road_small_from_afar() -> None:
    steps = np.linspace(0, 1, 50_000)
    line = shapely.LineString(np.column_stack([0.2 * steps, 50.05 + 1e-5 * np.sin(900 * steps)]))
    shapes = road_shapes(drawn_roads(roads_of([("primary", line)]), pd.Series(["fine"])), VIEW, 10)
    assert size_of(shapes) < 1000


def test_places_are_capped_and_the_rest_is_counted() -> None:
    generator = np.random.default_rng(3)
    places = places_of("castle", generator.uniform(0, 0.2, 3000), generator.uniform(50, 50.1, 3000))
    drawn = place_shapes(places, ["sight"], VIEW, 16)
    assert drawn.in_view == 3000
    assert drawn.shown == MOST_PLACES


def test_places_on_one_spot_are_drawn_once_and_counted() -> None:
    places = places_of("castle", np.full(5, 0.1), np.full(5, 50.05))
    drawn = place_shapes(places, ["sight"], VIEW, 12)
    assert (drawn.shown, drawn.in_view) == (1, 5)


def test_group_that_is_not_wanted_is_not_drawn() -> None:
    places = places_of("castle", np.array([0.1]), np.array([50.05]))
    assert place_shapes(places, ["fuel"], VIEW, 12).shapes["features"] == []


def test_groups_differ_by_shape_where_they_share_a_colour() -> None:
    looks = list(GROUP_LOOK.values())
    assert len(set(looks)) == len(looks)
    assert len({symbol_svg(group) for group in GROUP_LOOK}) == len(GROUP_LOOK)


def test_click_beside_a_place_finds_it_and_one_far_away_does_not(region: Region) -> None:
    groups = ("sight",)
    place = region.places[region.places["kind"] == "castle"].iloc[0]
    found = nearest_place(region.places, place["lat"] + 1e-5, place["lon"], groups, 14)
    assert found is not None
    assert found["place_id"] == place["place_id"]
    west, south, _, _ = region.bounds
    assert nearest_place(region.places, south, west, groups, 14) is None


def test_name_from_the_map_is_escaped_in_the_drawing() -> None:
    places = places_of("town", np.array([0.1]), np.array([50.05]), "<script>alert(1)</script>")
    svg = svg_of(name_drawing(places, VIEW, 12))
    assert "<script" not in svg
    assert "&lt;script&gt;" in svg


def test_names_do_not_lie_on_each_other_and_are_capped() -> None:
    same = places_of("town", np.full(4, 0.1), np.full(4, 50.05))
    assert svg_of(name_drawing(same, VIEW, 12)).count("<text") == 1
    generator = np.random.default_rng(4)
    many = places_of("town", generator.uniform(0, 0.2, 900), generator.uniform(50, 50.1, 900), "A")
    assert svg_of(name_drawing(many, VIEW, 17)).count("<text") == MOST_NAMES


def test_village_is_named_only_from_its_zoom() -> None:
    places = places_of("village", np.array([0.1]), np.array([50.05]))
    assert "<text" not in svg_of(name_drawing(places, VIEW, 10))
    assert "<text" in svg_of(name_drawing(places, VIEW, 11))


def test_further_names_yield_to_the_towns() -> None:
    places = places_of("town", np.array([0.1]), np.array([50.05]), "Ellanby")
    svg = svg_of(name_drawing(places, VIEW, 12, more=[Name("Mill", 50.05, 0.1, 13)]))
    assert "Ellanby" in svg
    assert "Mill" not in svg


def test_marks_are_numbered_in_order_and_skip_a_place_without_position() -> None:
    points = [(50.05, 0.1), (np.nan, np.nan), (50.06, 0.12)]
    svg = svg_of(numbered_marks(points, (50.02, 0.05), VIEW, 12))
    assert ">1</text>" in svg
    assert ">3</text>" in svg
    assert ">2</text>" not in svg


def test_marks_leave_the_names_of_towns_free_and_are_tied_to_their_points() -> None:
    places = places_of("town", np.array([0.1]), np.array([50.05]), "Skarrow Haven")
    _, spots = names_and_spots(places, VIEW, 12)
    left, top = spots.min(axis=0)
    right, bottom = spots.max(axis=0)
    assert top == bottom  # one line of letters
    points = [(50.05, 0.1), (50.0505, 0.095), (50.0495, 0.105)]

    def gaps(svg: str) -> list[float]:
        at = re.findall(r'<circle cx="([-\d.]+)" cy="([-\d.]+)" r="12"', svg)
        return [
            float(np.hypot(float(x) - np.clip(float(x), left, right), float(y) - top))
            for x, y in at
        ]

    over = svg_of(numbered_marks(points, (50.02, 0.05), VIEW, 12))
    free = svg_of(numbered_marks(points, (50.02, 0.05), VIEW, 12, clear_of=spots))
    assert max(gaps(over)) < 12
    assert min(gaps(free)) > 18  # a disc's radius and half the height of a letter
    assert free.count('stroke-width="1.5"') == 3


def test_what_was_drawn_before_the_browser_told_its_view_is_sent_once_more(region: Region) -> None:
    drawn = RegionMap(region)
    drawn.draw()
    line = {"type": "LineString", "coordinates": [[-14.5, 49.5], [-14.4, 49.5]]}
    features = [{"type": "Feature", "properties": {}, "geometry": line}]
    sent: list[Any] = []
    drawn.shapes["mark"].data = {"type": "FeatureCollection", "features": features}
    drawn.shapes["mark"].observe(lambda change: sent.append(change["new"]), names="data")
    for east in (-14.3, -14.2):
        drawn.set_trait("bounds", ((49.4, -14.6), (49.6, east)))
    assert len(sent) == 1
    assert sent[0]["features"][0]["geometry"] == line
