"""The invented island: made the same each time, with everything that the demo tells about."""

from __future__ import annotations

import csv
import datetime as dt
import itertools
import re
import zipfile
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import gpxpy
import networkx as nx
import numpy as np
import osmium
import pytest
import shapely
import shapely.ops

from planner_kit.reference import shipped_folder
from planner_kit.region import build_region
from planner_kit.region.demo_island import BOUNDS_DEG, write_island
from planner_kit.region.demo_map import extract_bytes
from planner_kit.region.demo_terrain import evenly_spaced, tile_zip
from planner_kit.tow.cost import car_costs

DEMO = shipped_folder("data") / "demo"
LISTS = ("sites", "seasons", "attractions", "masts", "tolls", "prices", "items")


@dataclass
class Extract:
    at: dict[int, tuple[float, float]] = field(default_factory=dict)
    nodes: dict[int, dict[str, str]] = field(default_factory=dict)
    ways: dict[int, tuple[dict[str, str], list[int]]] = field(default_factory=dict)
    relations: list[tuple[dict[str, str], list[tuple[str, int, str]]]] = field(default_factory=list)

    def ways_with(self, **tags: str | None) -> list[tuple[dict[str, str], list[int]]]:
        return [
            (t, refs)
            for t, refs in self.ways.values()
            if all(k in t and (v is None or t[k] == v) for k, v in tags.items())
        ]

    def nodes_with(self, **tags: str) -> list[dict[str, str]]:
        return [t for t in self.nodes.values() if all(t.get(k) == v for k, v in tags.items())]


def read_extract(path: Path) -> Extract:
    found = Extract()
    for thing in osmium.FileProcessor(str(path)):
        tags = dict(thing.tags)
        if thing.is_node():
            found.at[thing.id] = (thing.lon, thing.lat)
            if tags:
                found.nodes[thing.id] = tags
        elif thing.is_way():
            found.ways[thing.id] = tags, [n.ref for n in thing.nodes]
        elif thing.is_relation():
            members = [(m.type, m.ref, m.role) for m in thing.members]
            found.relations.append((tags, members))
    return found


def rows_of(name: str) -> list[dict[str, str]]:
    with (DEMO / f"{name}.csv").open(encoding="utf-8", newline="") as source:
        return list(csv.DictReader(source))


@pytest.fixture(scope="module")
def extract() -> Extract:
    return read_extract(DEMO / "sallowey.osm.pbf")


@pytest.fixture(scope="module")
def fresh(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any]:
    folder = tmp_path_factory.mktemp("island")
    return folder, write_island(folder)


def test_committed_files_equal_a_fresh_make(fresh: tuple[Path, Any]) -> None:
    folder, _ = fresh
    made = sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file())
    assert {f"{name}.csv" for name in LISTS} < set(made)
    for name in made:
        assert (folder / name).read_bytes() == (DEMO / name).read_bytes(), name


def test_writing_the_same_island_twice_gives_the_same_bytes(fresh: tuple[Path, Any]) -> None:
    folder, island = fresh
    assert extract_bytes(island.sheet, BOUNDS_DEG) == (folder / "sallowey.osm.pbf").read_bytes()
    assert tile_zip(island.ground) == (folder / "N49W015.hgt.zip").read_bytes()


def test_rivers_never_climb_more_than_the_tile_can_tell(fresh: tuple[Path, Any]) -> None:
    ground = fresh[1].ground
    for river in ground.rivers:
        height = ground.height_m(evenly_spaced(river.xy, 90.0))
        assert (height - np.minimum.accumulate(height)).max() < 12, river.name
        assert height[-1] < height[0]


def test_files_are_small_enough_to_ship() -> None:
    assert sum(p.stat().st_size for p in DEMO.glob("*.*")) < 2_000_000


def test_terrain_is_an_srtm_tile_with_sea_at_zero_and_a_high_plateau() -> None:
    with zipfile.ZipFile(DEMO / "N49W015.hgt.zip") as archive:
        assert archive.namelist() == ["N49W015.hgt"]
        tile = np.frombuffer(archive.read("N49W015.hgt"), dtype=">i2").reshape(1201, 1201)
    assert tile[0].max() == tile[-1].max() == tile[:, 0].max() == tile[:, -1].max() == 0
    assert 560 <= tile.max() <= 650
    assert (tile > 400).sum() > 1000
    assert 0.1 < (tile > 0).mean() < 0.4


def test_extract_lies_in_the_open_ocean_and_has_the_size_of_a_county(extract: Extract) -> None:
    lon, lat = np.array(list(extract.at.values())).T
    west, south, east, north = BOUNDS_DEG
    assert west < lon.min() < lon.max() < east
    assert south < lat.min() < lat.max() < north
    uses = Counter(n for t, refs in extract.ways_with(highway=None) for n in set(refs))
    stretches = sum(
        1 + sum(uses[n] > 1 for n in refs[1:-1]) for _, refs in extract.ways_with(highway=None)
    )
    assert 3000 <= stretches <= 8000


def test_coastline_is_closed_with_land_on_the_left(extract: Extract) -> None:
    lines = [
        shapely.LineString([extract.at[n] for n in refs])
        for _, refs in extract.ways_with(natural="coastline")
    ]
    merged = shapely.get_parts(shapely.line_merge(shapely.MultiLineString(lines), directed=True))
    assert len(merged) >= 3
    for ring in merged:
        assert ring.is_closed
        assert shapely.LinearRing(ring.coords).is_ccw


@pytest.mark.parametrize(
    ("least", "tags"),
    [
        (2, {"highway": "trunk", "maxspeed": "70 mph", "oneway": "yes"}),
        (5, {"highway": "trunk"}),
        (5, {"highway": "primary"}),
        (10, {"highway": "secondary"}),
        (20, {"highway": "tertiary"}),
        (100, {"highway": "unclassified"}),
        (500, {"highway": "residential"}),
        (100, {"highway": "service"}),
        (100, {"highway": "track"}),
        (20, {"highway": "path"}),
        (8, {"junction": "roundabout"}),
        (1, {"maxheight": "2.4"}),
        (1, {"maxwidth": "2.0"}),
        (1, {"maxweight": "3", "bridge": "yes"}),
        (2, {"ford": "yes"}),
        (1, {"highway": "trunk", "toll": "yes", "bridge": "yes", "name": "Sallow Bar Bridge"}),
        (1, {"route": "ferry", "duration": "00:25"}),
        (1, {"name": "Market Ring", "oneway": "yes"}),
        (20, {"access": "private"}),
        (20, {"maxspeed": "20 mph"}),
        (100, {"maxspeed": "30 mph", "lit": "yes"}),
        (3, {"maxspeed": "40 mph"}),
        (5, {"maxspeed": "50 mph"}),
        (20, {"surface": "gravel"}),
        (20, {"surface": "unpaved"}),
        (20, {"lanes": "1"}),
        (1, {"highway": "cycleway", "railway": "abandoned"}),
        (20, {"landuse": "residential"}),
        (10, {"landuse": "farmland"}),
        (10, {"landuse": "grass"}),
        (10, {"landuse": "forest"}),
        (4, {"natural": "water"}),
        (8, {"natural": "beach"}),
        (1, {"boundary": "national_park"}),
        (5, {"waterway": "river"}),
    ],
)
def test_map_has_ways(extract: Extract, least: int, tags: dict[str, str]) -> None:
    areas = [t for t, _ in extract.relations if t.get("type") == "multipolygon"]
    found = len(extract.ways_with(**tags))
    found += sum(all(t.get(k) == v for k, v in tags.items()) for t in areas)
    assert found >= least


@pytest.mark.parametrize(
    ("least", "tags"),
    [
        (2, {"place": "town"}),
        (15, {"place": "village"}),
        (30, {"place": "hamlet"}),
        (50, {"highway": "passing_place"}),
        (100, {"highway": "give_way"}),
        (5, {"highway": "stop"}),
        (3, {"highway": "traffic_signals"}),
        (1, {"barrier": "toll_booth"}),
        (1, {"barrier": "bollard", "maxwidth": "2.0"}),
        (20, {"barrier": "gate"}),
        (8, {"amenity": "fuel"}),
        (2, {"amenity": "fuel", "hgv": "yes"}),
        (4, {"amenity": "charging_station"}),
        (6, {"parking": "layby"}),
        (1, {"highway": "rest_area"}),
        (1, {"highway": "services"}),
        (5, {"shop": "supermarket"}),
        (3, {"amenity": "pharmacy"}),
        (1, {"amenity": "hospital"}),
        (10, {"tower:type": "communication"}),
        (3, {"amenity": "bench"}),
        (2, {"amenity": "shelter"}),
        (3, {"tourism": "picnic_site"}),
    ],
)
def test_map_has_nodes(extract: Extract, least: int, tags: dict[str, str]) -> None:
    assert len(extract.nodes_with(**tags)) >= least


def test_some_lanes_say_no_width_and_some_hills_say_no_incline(extract: Extract) -> None:
    lanes = extract.ways_with(highway="unclassified")
    assert sum("width" not in t and "lanes" not in t for t, _ in lanes) > 20
    assert sum("width" in t for t, _ in lanes) > 5
    assert {t["incline"] for t, _ in extract.ways_with(incline=None)} <= {"20%", "-20%"}


def test_restrictions_of_three_kinds_meet_at_their_ends(extract: Extract) -> None:
    found = {}
    for tags, members in extract.relations:
        if tags.get("type") == "restriction":
            parts = {role: (kind, ref) for kind, ref, role in members}
            found[tags["restriction"]] = parts["via"][0]
            start, end = (set(extract.ways[parts[r][1]][1]) for r in ("from", "to"))
            kind, via = parts["via"]
            between = {via} if kind == "n" else set(extract.ways[via][1])
            assert start & between
            assert end & between
    assert found == {"no_right_turn": "n", "only_straight_on": "n", "no_u_turn": "w"}


def test_signs_at_junctions_are_read_from_the_roads_that_meet_there(extract: Extract) -> None:
    found = []
    for tags, members in extract.relations:
        if tags.get("type") == "destination_sign":
            parts = {role: ref for _, ref, role in members}
            assert parts["intersection"] in extract.ways[parts["from"]][1]
            assert parts["intersection"] == extract.ways[parts["to"]][1][0]
            found.append((tags["destination:ref"], extract.ways[parts["from"]][0]["ref"]))
    assert sorted(set(found)) == [("A12", "A3"), ("A3", "A1")]


def test_the_dual_carriageway_has_a_numbered_exit(drives: Any) -> None:
    region, _ = drives
    numbered = region.nodes.index[region.nodes["exit_ref"] != ""]
    assert set(region.nodes["exit_ref"][numbered]) == {"1"}
    meeting = region.roads[region.roads["from_node"].isin(numbered)]
    assert {"A1", "B25"} <= set(meeting["ref"])


def test_cycle_route_is_a_relation_of_the_old_railway(extract: Extract) -> None:
    routes = [m for t, m in extract.relations if t.get("route") == "bicycle"]
    assert len(routes) == 1
    assert all(extract.ways[ref][0]["name"] == "Old Tarrow Line" for _, ref, _ in routes[0])


def test_every_osm_ref_of_the_lists_is_on_the_map_with_that_name(extract: Extract) -> None:
    relations = {f"r{2_000_000 + i}": t for i, (t, _) in enumerate(extract.relations)}
    for row in rows_of("sites") + rows_of("attractions"):
        letter, number = row["osm_ref"][0], int(row["osm_ref"][1:])
        tags = {"n": extract.nodes.get(number), "w": extract.ways.get(number, (None, []))[0]}.get(
            letter, relations.get(row["osm_ref"])
        )
        assert tags is not None, row["osm_ref"]
        assert tags["name"] == row["name"]


@pytest.mark.parametrize(
    ("name", "key", "least"),
    [("sites", "site_id", 12), ("attractions", "attraction_id", 55), ("masts", "mast_id", 12)],
)
def test_list_has_ids_of_its_own_and_lies_on_the_land(
    extract: Extract, name: str, key: str, least: int
) -> None:
    rows = rows_of(name)
    assert len({row[key] for row in rows}) == len(rows) >= least
    lines = [
        shapely.LineString([extract.at[n] for n in refs])
        for _, refs in extract.ways_with(natural="coastline")
    ]
    land = shapely.union_all(list(shapely.ops.polygonize(lines)))
    for row in rows:
        assert land.contains(shapely.Point(float(row["lon"]), float(row["lat"]))), row["name"]


def test_seasons_of_a_site_follow_each_other_without_a_gap() -> None:
    by_site: dict[str, list[dict[str, str]]] = {}
    for row in rows_of("seasons"):
        by_site.setdefault(f"{row['site_id']} {row['start'][:4]}", []).append(row)
    assert {key.split()[0] for key in by_site} == {row["site_id"] for row in rows_of("sites")}
    for rows in by_site.values():
        for before, after in itertools.pairwise(rows):
            gap = np.datetime64(after["start"]) - np.datetime64(before["end"])
            assert gap == np.timedelta64(1, "D")


def test_tolls_carry_the_names_on_the_map(extract: Extract) -> None:
    named = {t.get("name") for t, _ in extract.ways_with(toll="yes")}
    assert {row["toll_name"] for row in rows_of("tolls")} == named


def test_rides_are_gpx_with_heights() -> None:
    rides = sorted((DEMO / "rides").glob("*.gpx"))
    assert len(rides) == 3
    for path in rides:
        gpx = gpxpy.parse(path.read_text(encoding="utf-8"))
        assert gpx.version == "1.1"
        assert gpx.length_2d() > 3000
        assert all(p.elevation is not None and p.elevation >= 0 for p in gpx.walk(only_points=True))


CARAVAN_HEIGHT_M, CARAVAN_WIDTH_M, TRAIN_MASS_T = 2.6, 2.3, 3.3


@pytest.fixture(scope="module")
def drives(tmp_path_factory: pytest.TempPathFactory) -> tuple[Any, nx.MultiDiGraph]:
    """The built region and its drivable roads as a graph with a car's minutes, both ways."""
    region = build_region(
        DEMO / "sallowey.osm.pbf",
        [DEMO / "N49W015.hgt.zip"],
        tmp_path_factory.mktemp("region") / "sallowey",
        progress=False,
    )
    roads = region.roads
    speed = car_costs(roads, on=dt.date(2026, 6, 1)).speed_kmh
    graph = nx.MultiDiGraph()
    open_to_cars = ~roads["motor_access"].isin(["private", "no"]) & (roads["road_class"] != "track")
    for road in roads[open_to_cars].itertuples():
        low = road.maxheight_m < CARAVAN_HEIGHT_M or road.maxwidth_m < CARAVAN_WIDTH_M
        tight = low or road.maxweight_t < TRAIN_MASS_T
        minutes = road.length_m / 1000 / speed[road.road_id] * 60
        if road.car_forward:
            graph.add_edge(
                road.from_node, road.to_node, key=road.road_id, tight=tight, minutes=minutes[0]
            )
        if road.car_backward:
            graph.add_edge(
                road.to_node, road.from_node, key=road.road_id, tight=tight, minutes=minutes[1]
            )
    return region, graph


def way_to(drives: tuple[Any, nx.MultiDiGraph], site_id: str, *, towing: bool) -> Any:
    """The rows of `roads` on the quickest way from home to a site."""
    region, whole = drives
    found = re.search(r"lat (-?\d+\.\d+), lon (-?\d+\.\d+)", (DEMO / "README.md").read_text())
    assert found is not None
    site = next(row for row in rows_of("sites") if row["site_id"] == site_id)
    ends = [
        _nearest(region, whole, float(lat), float(lon))
        for lat, lon in (found.groups(), (site["lat"], site["lon"]))
    ]
    kept = [edge for edge in whole.edges(keys=True, data="tight") if not (towing and edge[3])]
    graph = whole.edge_subgraph([edge[:3] for edge in kept])
    nodes = nx.shortest_path(graph, *ends, weight="minutes")
    picked = [
        min(graph[a][b], key=lambda k: graph[a][b][k]["minutes"])
        for a, b in itertools.pairwise(nodes)
    ]
    return region.roads.loc[picked]


def _nearest(region: Any, graph: nx.MultiDiGraph, lat: float, lon: float) -> int:
    """The nearest node from which a car can come back to the others."""
    main = max(nx.weakly_connected_components(graph), key=len)
    nodes = region.nodes.loc[sorted(main)]
    away = np.hypot((nodes["lat"] - lat) * 111.2, (nodes["lon"] - lon) * 72.5)
    return int(nodes.index[int(np.argmin(away))])


def test_quickest_way_by_car_takes_the_pass_with_its_low_bridge_and_posts(drives: Any) -> None:
    way = way_to(drives, "S01", towing=False)
    assert "Stannet Pass" in set(way["name"])
    assert way["maxheight_m"].min() == pytest.approx(2.4)
    assert way["maxwidth_m"].min() == pytest.approx(2.0)
    assert max(way["steepest_up_pct"].max(), way["steepest_down_pct"].max()) >= 15


def test_way_with_a_caravan_goes_round_by_the_toll_bridge(drives: Any) -> None:
    car, towing = (way_to(drives, "S01", towing=t) for t in (False, True))
    assert "Sallow Bar Bridge" in set(towing["toll_name"])
    assert towing["dual"].any()
    assert towing["length_m"].sum() > 1.2 * car["length_m"].sum()


@pytest.mark.parametrize("site_id", ["S02", "S03"])
def test_no_way_with_a_caravan_to_the_sites_behind_a_limit(drives: Any, site_id: str) -> None:
    assert len(way_to(drives, site_id, towing=False)) > 0
    with pytest.raises((nx.NetworkXNoPath, nx.NodeNotFound)):
        way_to(drives, site_id, towing=True)
