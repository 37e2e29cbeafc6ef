"""The maker of the invented island "Sallowey", the demo region.

``python -m planner_kit.region.demo_island data/demo`` writes the island's OpenStreetMap extract,
its terrain tile and the lists a household keeps. The same seed gives the same bytes.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.spatial import cKDTree

from planner_kit.files import write_whole
from planner_kit.region import (
    demo_catalogue,
    demo_cover,
    demo_lists,
    demo_places,
    demo_roads,
    demo_story,
    demo_streets,
    demo_tariffs,
    demo_turns,
)
from planner_kit.region.demo_map import Sheet, extract_bytes, joined, spots
from planner_kit.region.demo_readme import readme_text
from planner_kit.region.demo_terrain import SEED, degrees, make_ground, tile_zip

if TYPE_CHECKING:
    from planner_kit.region.demo_places import Placed
    from planner_kit.region.demo_roads import Line, Settlement
    from planner_kit.region.demo_story import Mark
    from planner_kit.region.demo_terrain import Array, Ground

BOUNDS_DEG = (-14.95, 49.2, -14.05, 49.75)
COUNTRY = ("primary", "secondary", "tertiary", "unclassified")
REGION_TOML = """\
# The invented demo region; made by planner_kit.region.demo_island.
name = "Sallowey"
country = "GB"
time_zone = "Europe/London"
invented = true
driving_side = "left"
attribution = "Invented data of the planner_kit demo island; not a real place"
"""


@dataclass(frozen=True)
class Island:
    """The whole island before it is written."""

    ground: Ground
    settled: dict[str, Settlement]
    lines: list[Line]
    sheet: Sheet
    placed: list[Placed]
    spots_at: dict[str, Array]


def make_island(seed: int = SEED) -> Island:
    """The island from a seed: ground, roads, places and the map sheet."""
    ground = make_ground(seed)
    rng = np.random.default_rng(seed + 1)
    finder = demo_roads.make_finder(ground)
    settled = demo_roads.settle(ground, finder, rng)
    roads, spots_at = demo_roads.main_roads(finder, rng, settled)
    roads += demo_roads.lanes(finder, rng, settled)
    roads, marks = _dressed(ground, roads, spots_at, settled)
    wet = shapely.union_all([lake.buffer(30) for _, lake in ground.lakes])
    dry = ground.land.buffer(-45).difference(wet)
    ways = demo_streets.Ways()
    for line in roads:
        ways.add(line.xy)
    streets: dict[str, list[Line]] = {}
    for name, town in settled.items():
        mine = [r for r in roads if r.layer == 0 and r.shape.intersects(town.outline)]
        streets[name] = demo_streets.streets(ways, rng, town, mine, ground.land.boundary.buffer(50))
    built_up = demo_cover.built_up_areas(settled, streets, ground.land)
    towns = shapely.union_all([s.outline for s in settled.values()])
    sheet = Sheet()
    placed, access = demo_places.place_all(sheet, ground, rng, ways, roads, settled, streets)
    tracks = demo_streets.tracks(
        ways, rng, [r for r in roads if r.layer == 0 and r.tags["highway"] in COUNTRY], dry, towns
    )
    old_line, furniture = demo_places.old_railway(ground)
    grown = [line for name in streets for line in streets[name]]
    camp = next(np.array([p.x, p.y]) for p in placed if p.key == "S14")
    ferry = demo_turns.ferry_lines(ground, roads, camp)
    lines = demo_story.over_rivers(roads + tracks + grown + access + ferry, ground.rivers, fords=3)
    lines = demo_story.weak_bridge(lines, "Yarnabeck>Threlsome")
    lines = demo_story.steep_road(ground, lines, "Sallow Bridge>Little Anvery")
    lines, more = demo_story.signed(lines, rng, settled)
    lines = joined(lines + old_line + demo_places.coast_paths(ground))
    lines = demo_turns.split_at_junctions(lines, settled["Ellanby"].outline)
    lines, controls = demo_story.controls(lines, rng, towns)
    marks += more + controls + demo_places.gates(rng, lines)
    marks += demo_turns.exit_marks(lines, demo_story.DUAL_LEG)
    numbers = draw_roads(sheet, lines, marks)
    demo_turns.turn_relations(sheet, lines, numbers, settled["Ellanby"])
    demo_turns.route_relations(sheet, lines, numbers)
    demo_cover.draw_water(sheet, ground)
    demo_cover.draw_cover(sheet, ground, rng, built_up)
    demo_turns.sign_relations(sheet, lines, numbers)
    for x, y, tags in furniture:
        sheet.point((x, y), tags)
    for town in settled.values():
        people = {"place": town.place, "name": town.name, "population": str(town.population)}
        sheet.point((town.x, town.y), people)
    return Island(ground, settled, lines, sheet, placed, spots_at)


def _dressed(
    ground: Ground,
    roads: list[Line],
    spots_at: dict[str, Array],
    settled: dict[str, Settlement],
) -> tuple[list[Line], list[Mark]]:
    """The roads with their bridges, roundabouts, carriageways and the lane over the pass."""
    lines, marks = demo_story.toll_bridge(roads)
    lines = demo_story.dual_carriageways(lines)
    lines = demo_story.roundabouts(lines, spots_at)
    lines = demo_story.town_ring(lines, settled["Ellanby"])
    lane = max(
        (line for line in lines if line.tags.get("story") == "pass"), key=lambda i: i.shape.length
    )
    pieces, more, tramway = demo_story.pass_lane(ground, lane)
    return [line for line in lines if line is not lane] + pieces + tramway, marks + more


def draw_roads(sheet: Sheet, lines: list[Line], marks: list[Mark]) -> list[int]:
    """Put the lines on the sheet and the marks on the nodes under them; ways' numbers come back."""
    numbers = []
    for line in lines:
        tags = {k: v for k, v in line.tags.items() if k not in ("leg", "story") and v}
        numbers.append(sheet.way(line.xy, tags))
    vertices = np.vstack([line.xy for line in lines])
    tree = cKDTree(vertices)
    for x, y, tags in marks:
        gap, at = tree.query([x, y])
        if gap < 3.0:
            node = sheet.node(spots(vertices[[at]])[0])
            sheet.node_tags[node] = sheet.node_tags.get(node, {}) | tags
    return numbers


def write_island(folder: Path, seed: int = SEED) -> Island:
    """Write the island's files into a folder; the same seed gives the same bytes."""
    island = make_island(seed)
    write_whole(folder / "sallowey.osm.pbf", extract_bytes(island.sheet, BOUNDS_DEG))
    write_whole(folder / "N49W015.hgt.zip", tile_zip(island.ground))
    write_whole(folder / "region.toml", REGION_TOML)
    heights = {key: height for key, _, _, _, height in demo_catalogue.MASTS}
    rng = np.random.default_rng(seed + 2)
    lists = {
        "sites.csv": demo_lists.sites_csv(island.placed),
        "seasons.csv": demo_lists.seasons_csv(),
        "attractions.csv": demo_lists.attractions_csv(rng, island.placed),
        "masts.csv": demo_lists.masts_csv(island.placed, heights),
        "tolls.csv": demo_lists.tolls_csv(),
        "prices.csv": demo_lists.prices_csv(),
        "items.csv": demo_lists.items_csv(),
        "tariffs.csv": demo_tariffs.tariffs_csv(),
        "school_holidays.csv": demo_tariffs.school_holidays_csv(),
        "rates.csv": demo_tariffs.rates_csv(),
        "site_matches.csv": demo_tariffs.site_matches_csv(),
    }
    rides = demo_lists.rides_gpx(island.ground, island.lines, island.settled)
    for name, text in lists.items():
        write_whole(folder / name, text)
    for name, text in rides.items():
        write_whole(folder / "rides" / name, text)
    sites = {p.key: (p.lat, p.lon) for p in island.placed if p.key.startswith("S")}
    write_whole(folder / "README.md", readme_text(home_position(island), sites))
    return island


def home_position(island: Island) -> tuple[float, float]:
    """Latitude and longitude of the household's home, beside a street of the town."""
    wanted = shapely.Point(np.array(demo_catalogue.HOME_NEAR) * 1000.0)
    streets = [
        line
        for line in island.lines
        if line.tags["highway"] == "residential" and 70 < line.shape.length < 300
    ]
    street = min(streets, key=lambda line: line.shape.distance(wanted)).xy
    a, b = street[len(street) // 2 - 1], street[len(street) // 2]
    step = (b - a) / np.hypot(*(b - a))
    lat, lon = degrees(np.array([(a + b) / 2 + 14.0 * np.array([-step[1], step[0]])]))
    return round(float(lat[0]), 6), round(float(lon[0]), 6)


if __name__ == "__main__":
    write_island(Path(sys.argv[1] if len(sys.argv) > 1 else "data/demo"))
