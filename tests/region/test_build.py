from __future__ import annotations

import json
import os

import geopandas as gpd
import numpy as np
import pytest
from geopandas.testing import assert_geodataframe_equal

from planner_kit.errors import PlanFileError
from planner_kit.region import build, build_region, open_region
from planner_kit.region.columns import TABLES
from planner_kit.region.region import validate_table
from planner_kit.region.telling import region_sentences

# A crossroads of two ways at node 3, a gate at 6, a tower block of tags.
NODES = {
    1: (10.50, 50.50),
    2: (10.502, 50.50),
    3: (10.504, 50.50),
    4: (10.508, 50.50),
    5: (10.504, 50.502),
    6: (10.504, 50.504, {"barrier": "gate"}),
    7: (10.504, 50.506),
    8: (10.506, 50.50, {"highway": "passing_place"}),
    9: (10.51, 50.51, {"tourism": "camp_site", "name": "Under <b>Oaks</b>"}),
}
WAYS = {
    10: ([1, 2, 3, 8, 4], {"highway": "tertiary", "maxspeed": "30 mph", "maxheight": "default"}),
    11: ([3, 5, 6, 7], {"highway": "unclassified", "width": "3.2 m", "maxweight": "7.5"}),
}


def _built(extract, folder, terrain=(), **options):
    return build_region(extract, terrain, folder, progress=False, **options)


def test_ways_are_cut_at_junctions_and_barriers(make_extract, tmp_path) -> None:
    region = _built(make_extract(NODES, WAYS), tmp_path / "r")
    roads, nodes = region.roads, region.nodes
    ends = nodes["osm_node_id"].to_numpy()
    cut = list(
        zip(
            roads["osm_way_id"],
            ends[roads["from_node"]],
            ends[roads["to_node"]],
            roads["passing_places"],
            strict=True,
        )
    )
    assert cut == [(10, 1, 3, 0), (10, 3, 4, 1), (11, 3, 6, 0), (11, 6, 7, 0)]
    gate = nodes.set_index("osm_node_id").loc[6]
    assert gate["barrier"] == "gate"
    assert gate["barrier_passable"] is not True
    assert nodes["barrier_passable"].isna().all()


def test_geometry_runs_from_node_to_node(make_extract, tmp_path) -> None:
    region = _built(make_extract(NODES, WAYS), tmp_path / "r")
    for road in region.roads.itertuples():
        a, b = region.nodes.loc[road.from_node], region.nodes.loc[road.to_node]
        assert road.geometry.coords[0] == (a["lon"], a["lat"])
        assert road.geometry.coords[-1] == (b["lon"], b["lat"])


def test_values_and_what_was_not_read_are_both_told(make_extract, tmp_path) -> None:
    region = _built(make_extract(NODES, WAYS), tmp_path / "r")
    first, last = region.roads.iloc[0], region.roads.iloc[3]
    assert first["maxspeed_forward_kmh"] == pytest.approx(48.28, abs=0.01)
    assert np.isnan(first["maxheight_m"])
    assert first["unread_limits"] == "maxheight=default"
    assert first["width_source"] == "class"
    assert (last["width_source"], last["maxweight_t"]) == ("tagged", 7.5)
    assert last["width_m"] == pytest.approx(3.2)
    assert region.manifest["unread"] == {"maxheight": 1}
    assert region.places["name"].tolist() == ["Under <b>Oaks</b>"]
    assert json.loads(region.places["tags"].iloc[0])["tourism"] == "camp_site"


def test_without_terrain_gradients_are_unknown_and_said_to_be(make_extract, tmp_path) -> None:
    region = _built(make_extract(NODES, WAYS), tmp_path / "r")
    assert (region.roads["gradient_source"] == "unknown").all()
    assert region.roads["climb_m"].isna().all()
    assert region.nodes["height_m"].isna().all()
    assert region.terrain is None
    assert "unknown" in region.manifest["terrain"]["note"]


def test_terrain_gives_the_slope_of_a_made_hillside(make_extract, make_hgt, tmp_path) -> None:
    # One degree of latitude is 111.2 km here: 11,120 m of rise make 10 %.
    hill = make_hgt(lambda lon, lat: 11_120 * (lat - 50.0) / 1.0)
    region = _built(make_extract(NODES, WAYS), tmp_path / "r", [hill])
    level, up = region.roads.iloc[0], region.roads.iloc[2]
    assert level["gradient_pct"] == pytest.approx(0, abs=0.2)
    assert up["gradient_pct"] == pytest.approx(10, abs=0.3)
    assert up["steepest_down_pct"] == 0
    assert up["gradient_source"] == "terrain"
    assert region.nodes["height_m"].iloc[0] == pytest.approx(5560, abs=1)


def test_same_inputs_open_the_folder_without_building(make_extract, tmp_path, monkeypatch) -> None:
    extract = make_extract(NODES, WAYS)
    first = _built(extract, tmp_path / "r")
    stamp = os.stat(tmp_path / "r" / "roads.parquet").st_mtime_ns
    again = _built(extract, tmp_path / "r")
    assert again.manifest == first.manifest
    assert os.stat(tmp_path / "r" / "roads.parquet").st_mtime_ns == stamp


def test_changed_extract_is_built_anew(make_extract, tmp_path) -> None:
    _built(make_extract(NODES, WAYS), tmp_path / "r")
    more = WAYS | {12: ([5, 4], {"highway": "track"})}
    region = _built(make_extract(NODES, more, name="made.osm.pbf.new.osm.pbf"), tmp_path / "r")
    assert 12 in region.roads["osm_way_id"].tolist()


def test_terrain_given_later_equals_terrain_given_at_once(
    make_extract, make_hgt, tmp_path, monkeypatch
) -> None:
    extract = make_extract(NODES, WAYS | {12: ([7, 1], {"highway": "path", "incline": "9%"})})
    hill = make_hgt(lambda lon, lat: 9000 * (lat - 50) + 50 * np.sin(lon * 5000))
    at_once = _built(extract, tmp_path / "a", [hill])
    _built(extract, tmp_path / "b")

    def not_again(*_args, **_options):
        raise AssertionError("the extract was read again")

    monkeypatch.setattr(build, "read_extract", not_again)
    later = _built(extract, tmp_path / "b", [hill])
    assert_geodataframe_equal(at_once.roads, later.roads)
    assert at_once.roads["gradient_source"].value_counts()["tag"] == 1


def test_tables_come_back_as_their_contract_says(make_extract, tmp_path) -> None:
    region = _built(make_extract(NODES, WAYS), tmp_path / "r")
    for name in TABLES:
        frame = getattr(region, name)
        validate_table(frame, name)
        assert list(frame.columns) == [column.name for column in TABLES[name]]
        if isinstance(frame, gpd.GeoDataFrame):
            assert frame.crs.to_epsg() == 4326


@pytest.mark.parametrize("stage", ["_with_terrain", "_write", "_tables_from"])
def test_interrupted_build_leaves_nothing(make_extract, tmp_path, monkeypatch, stage) -> None:
    extract = make_extract(NODES, WAYS)
    home = tmp_path / "home"
    home.mkdir()

    def stop(*_args, **_options):
        raise KeyboardInterrupt

    monkeypatch.setattr(build, stage, stop)
    with pytest.raises(KeyboardInterrupt):
        _built(extract, home / "r")
    assert list(home.iterdir()) == []


def test_interrupted_rebuild_keeps_the_old_region(make_extract, tmp_path, monkeypatch) -> None:
    extract = make_extract(NODES, WAYS)
    old = _built(extract, tmp_path / "home" / "r")

    def stop(*_args, **_options):
        raise KeyboardInterrupt

    monkeypatch.setattr(build, "_write", stop)
    with pytest.raises(KeyboardInterrupt):
        _built(extract, tmp_path / "home" / "r", country="GB")
    assert open_region(tmp_path / "home" / "r").manifest == old.manifest
    assert [p.name for p in (tmp_path / "home").iterdir()] == ["r"]


def test_damaged_extract_is_told_in_a_sentence(make_extract, tmp_path, open_data) -> None:
    whole = max(open_data.glob("regions/*/*.osm.pbf"), key=lambda p: p.stat().st_size)
    data = whole.read_bytes()
    cut = tmp_path / "cut.osm.pbf"
    cut.write_bytes(data[: len(data) // 2])
    spoilt = tmp_path / "spoilt.osm.pbf"
    spoilt.write_bytes(data[:200_000] + bytes(5000) + data[205_000:])
    empty = tmp_path / "empty.osm.pbf"
    empty.write_bytes(b"")
    for path in (cut, spoilt, empty, tmp_path / "none.osm.pbf"):
        with pytest.raises(PlanFileError) as told:
            _built(path, tmp_path / "r")
        assert str(path) in str(told.value)
        assert "\n" not in str(told.value)
    assert not (tmp_path / "r").exists()


def test_extract_without_roads_is_told(make_extract, tmp_path) -> None:
    with pytest.raises(PlanFileError, match="no road"):
        _built(make_extract(NODES, {}), tmp_path / "r")


def test_region_toml_gives_what_the_map_does_not(make_extract, tmp_path) -> None:
    (tmp_path / "region.toml").write_text(
        'name = "Fairholm"\ncountry = "GB"\ntime_zone = "Europe/London"\ninvented = true\n'
        'attribution = "Invented"\ndriving_side = "left"\n'
    )
    region = _built(make_extract(NODES, WAYS), tmp_path / "r")
    assert (region.name, region.country, region.time_zone) == ("Fairholm", "GB", "Europe/London")
    assert region.invented
    assert region.attribution == ("Invented",)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('naem = "x"', "did you mean 'name'"),
        ("name = 3", "text in quotes"),
        ("name = ", "not TOML"),
        ('driving_side = "middle"', "left"),
        ('time_zone = "Europe/Londen"', "Europe/London"),
        ('country = "uk "', "two capital letters"),
    ],
)
def test_wrong_region_toml_is_told(make_extract, tmp_path, text: str, says: str) -> None:
    (tmp_path / "region.toml").write_text(text)
    with pytest.raises(PlanFileError, match=says):
        _built(make_extract(NODES, WAYS), tmp_path / "r")


def test_country_comes_from_the_border_first(make_extract, tmp_path) -> None:
    nodes = NODES | {
        21: (10.4, 50.4),
        22: (10.6, 50.4),
        23: (10.6, 50.503),
        24: (10.4, 50.503),
    }
    border = {20: ([21, 22, 23, 24, 21], {"boundary": "administrative"})}
    tags = {"type": "boundary", "boundary": "administrative", "admin_level": "2"}
    relation = {30: ([("w", 20, "outer")], tags | {"ISO3166-1": "LI", "name": "X"})}
    region = _built(make_extract(nodes, WAYS | border, relation), tmp_path / "r", country="AT")
    assert region.roads["country"].tolist() == ["LI", "LI", "LI", "AT"]
    assert _built(make_extract(NODES, WAYS), tmp_path / "s").country == "unknown"


def test_way_cut_off_by_the_edge_keeps_what_is_known(make_extract, tmp_path) -> None:
    ways = WAYS | {13: ([4, 99, 98], {"highway": "track"}), 14: ([7, 6, 97], {"highway": "path"})}
    region = _built(make_extract(NODES, ways), tmp_path / "r")
    assert region.manifest["skipped"]["ways_without_positions"] == 1
    assert region.manifest["skipped"]["ways_cut_at_edge"] == 1
    assert 14 in region.roads["osm_way_id"].tolist()


@pytest.mark.parametrize("ruin", ["cut", "gone", "format", "json", "column"])
def test_damaged_folder_is_told(make_extract, tmp_path, ruin: str) -> None:
    folder = tmp_path / "r"
    region = _built(make_extract(NODES, WAYS), folder)
    if ruin == "cut":
        path = folder / "roads.parquet"
        path.write_bytes(path.read_bytes()[:-100])
    elif ruin == "gone":
        (folder / "nodes.parquet").unlink()
    elif ruin == "format":
        manifest = json.loads((folder / "manifest.json").read_text()) | {"format": 0}
        (folder / "manifest.json").write_text(json.dumps(manifest))
    elif ruin == "json":
        (folder / "manifest.json").write_text("{")
    else:
        region.roads.drop(columns="maxheight_m").to_parquet(folder / "roads.parquet")
    with pytest.raises(PlanFileError, match="build the region again"):
        _ = open_region(folder).roads
    assert len(_built(make_extract(NODES, WAYS), folder).roads) == 4


def test_folder_that_is_no_region_is_told(tmp_path) -> None:
    with pytest.raises(PlanFileError, match="no such folder"):
        open_region(tmp_path / "none")
    with pytest.raises(PlanFileError, match="not a region folder"):
        open_region(tmp_path)


def test_all_faults_of_a_table_are_told_at_once(make_extract, tmp_path) -> None:
    region = _built(make_extract(NODES, WAYS), tmp_path / "r")
    bad = region.roads.drop(columns="ref").astype({"oneway": "int64"})
    bad.loc[0, "name"] = None
    with pytest.raises(PlanFileError) as told:
        validate_table(bad, "roads")
    for fault in ("ref is missing", "oneway is int64", "name has 1 empty"):
        assert fault in str(told.value)


def test_map_makers_are_named_also_beside_an_attribution_of_ones_own(
    make_extract, make_hgt, tmp_path
) -> None:
    (tmp_path / "region.toml").write_text('attribution = "Roads checked by us"\n')
    region = _built(make_extract(NODES, WAYS), tmp_path / "r", [make_hgt(lambda x, y: 0 * x)])
    assert "© OpenStreetMap contributors" in region.attribution
    assert "Roads checked by us" in region.attribution
    assert any("SRTM" in line for line in region.attribution)


def test_terrain_that_covers_half_the_roads_says_so(make_extract, make_hgt, tmp_path) -> None:
    nodes = NODES | {31: (11.2, 50.5), 32: (11.21, 50.5)}
    ways = WAYS | {33: ([31, 32], {"highway": "primary"})}
    tile = make_hgt(lambda lon, lat: 100 + 0 * lon)
    region = _built(make_extract(nodes, ways), tmp_path / "r", [tile])
    known = region.roads.set_index("osm_way_id")["gradient_source"]
    assert known[33] == "unknown"
    assert region.manifest["terrain"]["covered_frac"] == pytest.approx(
        region.nodes["height_m"].notna().mean()
    )
    assert 0 < region.manifest["terrain"]["covered_frac"] < 1


def test_progress_is_shown_by_stage(make_extract, tmp_path, capsys) -> None:
    build_region(make_extract(NODES, WAYS), [], tmp_path / "r")
    shown = capsys.readouterr().err
    assert "reading the extract" in shown
    assert "6/6" in shown
    _built(make_extract(NODES, WAYS), tmp_path / "s")
    assert capsys.readouterr().err == ""


ODD_WAYS = {
    10: (
        [1, 2, 3, 4],
        {
            "highway": "primary",
            "maxspeed": "300",
            "width": "0.5",
            "incline": "40%",
            "maxheight": "0.4",
            "lanes": "40",
        },
    ),
    11: ([3, 5, 6], {"highway": "path", "width": "0.5", "incline": "40%"}),
}


def test_what_no_road_has_is_unknown_counted_and_told(make_extract, tmp_path) -> None:
    region = _built(make_extract(NODES, ODD_WAYS), tmp_path / "r")
    road = region.roads[region.roads["osm_way_id"] == 10].iloc[0]
    assert np.isnan(road["maxspeed_forward_kmh"])
    assert np.isnan(road["maxheight_m"])
    assert road["unread_limits"] == "maxspeed=300; maxheight=0.4"
    assert road["width_source"] == "class"
    assert np.isnan(road["gradient_pct"])
    assert road["gradient_source"] == "unknown"
    odd = {"incline": 1, "lanes": 1, "maxheight": 1, "maxspeed": 1, "width": 1}
    assert region.manifest["implausible"] == odd
    told = "maxspeed 1"
    assert any("no road or sign has" in line and told in line for line in region_sentences(region))


def test_narrow_steep_path_is_believed_where_a_road_is_not(make_extract, tmp_path) -> None:
    region = _built(make_extract(NODES, ODD_WAYS), tmp_path / "r")
    path = region.roads[region.roads["osm_way_id"] == 11].iloc[0]
    assert path["width_m"] == pytest.approx(0.5)
    assert path["gradient_pct"] == pytest.approx(40)


def test_cliff_in_the_terrain_gives_a_road_no_gradient(make_extract, make_hgt, tmp_path) -> None:
    steep = make_hgt(lambda lon, lat: (np.asarray(lon) - 10.0) * 60_000)
    region = _built(make_extract(NODES, WAYS), tmp_path / "r", [steep])
    east_west = region.roads[region.roads["osm_way_id"] == 10]
    assert east_west["gradient_pct"].isna().all()
    assert set(east_west["gradient_source"]) == {"unknown"}
    assert region.manifest["implausible"]["gradient from terrain"] >= len(east_west)
