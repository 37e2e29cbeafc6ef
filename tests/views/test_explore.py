from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from planner_kit.errors import PlanFileError
from planner_kit.region import Region
from planner_kit.views.explore import RegionExplorer, explore_region

HARM = "<script>alert(1)</script><img src=x onerror=alert(1)>"


@pytest.fixture
def explorer(demo: Path) -> RegionExplorer:
    return explore_region(demo, on="2027-07-24")


def place_of(explorer: RegionExplorer, kind: str) -> Any:
    places = explorer.region.places
    return places[(places["kind"] == kind) & (places["name"] != "")].iloc[0]


def click(explorer: RegionExplorer, lat: float, lon: float) -> None:
    """What the browser's click on the map sends."""
    explorer.map._handle_leaflet_event(
        explorer.map, {"event": "interaction", "type": "click", "coordinates": [lat, lon]}, []
    )


def groups_drawn(explorer: RegionExplorer) -> set[str]:
    features = explorer.map.shapes["places"].data["features"]
    return {feature["properties"]["group"] for feature in features}


def test_click_on_a_place_tells_its_name_and_kind(explorer: RegionExplorer) -> None:
    castle = place_of(explorer, "castle")
    click(explorer, castle["lat"], castle["lon"])
    assert castle["name"] in explorer.panel.value
    assert "Castle. Open:" in explorer.panel.value


def test_click_on_a_road_tells_its_state_and_marks_it(explorer: RegionExplorer) -> None:
    roads = explorer.region.roads
    road = roads[(roads["road_class"] == "primary") & (roads["ref"] != "")].iloc[0]
    explorer.map.zoom = 16
    middle = road.geometry.interpolate(0.5, normalized=True)
    click(explorer, middle.y, middle.x)
    assert explorer.suits.loc[road.name, "state"] in explorer.panel.value
    assert "Tightest bend" in explorer.panel.value
    assert explorer.map.shapes["mark"].data["geometry"]["type"] == "LineString"


def test_width_that_is_guessed_is_said_to_be_guessed(explorer: RegionExplorer) -> None:
    roads = explorer.region.roads
    road = roads[(roads["width_source"] == "class") & roads["width_m"].notna()].iloc[0]
    middle = road.geometry.interpolate(0.5, normalized=True)
    explorer.map.zoom = 18
    for box in explorer.boxes.values():
        box.value = False
    explorer.show_point(middle.y, middle.x)
    assert "guessed from its class" in explorer.panel.value


def test_box_of_a_group_draws_it_and_takes_it_away(explorer: RegionExplorer) -> None:
    assert "water" not in groups_drawn(explorer)
    explorer.boxes["water"].value = True
    assert "water" in groups_drawn(explorer)
    explorer.boxes["water"].value = False
    assert "water" not in groups_drawn(explorer)


def test_place_of_a_group_that_is_not_drawn_is_not_found(explorer: RegionExplorer) -> None:
    castle = place_of(explorer, "castle")
    explorer.boxes["sight"].value = False
    click(explorer, castle["lat"], castle["lon"])
    assert "Castle. Open:" not in explorer.panel.value


def test_middle_of_the_map_is_read_by_a_button(explorer: RegionExplorer) -> None:
    castle = place_of(explorer, "castle")
    explorer.map.center = (castle["lat"], castle["lon"])
    explorer.middle.click()
    assert castle["name"] in explorer.panel.value


def test_zoom_into_a_view_draws_only_what_is_there(explorer: RegionExplorer) -> None:
    whole = len(json.dumps(explorer.map.shapes["roads"].data))
    town = place_of(explorer, "town")
    lat, lon = town["lat"], town["lon"]
    explorer.map.zoom = 14
    explorer.map.set_state(
        {"south": lat - 0.01, "north": lat + 0.01, "west": lon - 0.02, "east": lon + 0.02}
    )
    shapes = explorer.map.shapes["roads"].data
    assert 0 < len(shapes["features"])
    assert len(json.dumps(shapes)) < 200_000
    assert whole < 200_000
    assert explorer.map.names.bounds[0][0] == pytest.approx(lat - 0.015)


def test_map_asks_for_no_tiles(explorer: RegionExplorer) -> None:
    kinds = {type(layer).__name__ for layer in explorer.map.layers}
    assert kinds == {"GeoJSON", "ImageOverlay"}
    assert explorer.map.names.url.startswith("data:")


def test_online_tiles_come_only_when_asked_for_and_go_again(explorer: RegionExplorer) -> None:
    explorer.online.value = True
    tiles = [layer for layer in explorer.map.layers if type(layer).__name__ == "TileLayer"]
    assert len(tiles) == 1
    assert tiles[0].attribution in explorer.credit.value
    assert explorer.map.shapes["areas"].data["features"] == []
    explorer.online.value = False
    assert "TileLayer" not in {type(layer).__name__ for layer in explorer.map.layers}
    assert explorer.map.shapes["areas"].data["features"]


def test_attribution_is_shown(explorer: RegionExplorer) -> None:
    shown = repr(explorer.get_state()) + "".join(w.value for w in _html_of(explorer))
    assert explorer.region.attribution[0] in shown


def test_hostile_name_of_place_and_road_is_escaped(explorer: RegionExplorer) -> None:
    region = replace(explorer.region)
    places, roads = explorer.region.places.copy(), explorer.region.roads.copy()
    places["name"], places["opening_hours"] = HARM, HARM
    places["tags"] = json.dumps({HARM: HARM})
    roads["name"], roads["unread_limits"] = HARM, HARM
    _put(region, places=places, roads=roads)
    hostile = RegionExplorer(region, explorer.household, explorer.suits.assign(why=HARM))
    castle = place_of(hostile, "castle")
    click(hostile, castle["lat"], castle["lon"])
    place_words = hostile.panel.value
    for box in hostile.boxes.values():
        box.value = False
    click(hostile, castle["lat"], castle["lon"])
    for words in (place_words, hostile.panel.value):
        assert "alert(1)" in words
        assert "<script" not in words
        assert "<img" not in words


def test_day_that_is_no_date_is_told_in_one_sentence(demo: Path) -> None:
    with pytest.raises(PlanFileError, match="'next week' is not a date"):
        explore_region(demo, on="next week")


def _html_of(widget: Any) -> list[Any]:
    found = [widget] if type(widget).__name__ == "HTML" else []
    for child in getattr(widget, "children", ()):
        found += _html_of(child)
    return found


def _put(region: Region, **tables: Any) -> None:
    """Give a region other tables than its files'."""
    region.__dict__.update(tables)
