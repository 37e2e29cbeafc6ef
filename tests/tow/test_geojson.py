from __future__ import annotations

import json

import geopandas as gpd
import pytest
import shapely

from planner_kit.tow import route_geojson, tow_geojson, write_tow_geojson

from .test_drive import plan, region_with


def features(text, what=None):
    found = json.loads(text)["features"]
    return [one for one in found if what is None or one["properties"]["what"] == what]


def test_a_leg_has_its_way_its_ends_and_its_stops():
    leg = plan("s1").legs[0]
    text = route_geojson(leg, "out")
    assert [one["properties"]["name"] for one in features(text, "tow")] == ["out"]
    assert [one["properties"]["name"] for one in features(text, "start")] == ["home"]
    assert len(features(text, "stop")) == len(leg.rests)


def test_places_that_want_a_look_are_points_with_their_state():
    leg = plan("s1", region=region_with(maxheight_m=2.85)).legs[0]
    looks = features(route_geojson(leg), "look")
    assert any("maxheight is signed 2.85 m" in one["properties"]["text"] for one in looks)
    assert all(one["properties"]["state"] != "fine" for one in looks)


def test_a_general_library_reads_it_back(tmp_path):
    report = plan("s1", "s2")
    path = write_tow_geojson(report, tmp_path / "tow.geojson")
    assert path.read_text(encoding="utf-8") == tow_geojson(report)
    read = gpd.read_file(path)
    ways = read[read["what"] == "tow"]
    assert len(ways) == 3
    for line, leg in zip(ways.geometry, report.legs, strict=True):
        assert shapely.hausdorff_distance(line, leg.route.geometry) < 1e-6
    assert read.crs.to_epsg() == 4326


def test_the_same_tow_gives_the_same_text():
    assert tow_geojson(plan("s1")) == tow_geojson(plan("s1"))


@pytest.mark.parametrize("name", ['A "quoted" <b>', "Grüße"])
def test_names_come_back_as_they_are(name):
    assert features(route_geojson(plan("s1").legs[0].route, name))[0]["properties"]["name"] == name
