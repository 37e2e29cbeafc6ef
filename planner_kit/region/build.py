"""Building a region folder from an OpenStreetMap extract and terrain tiles."""

from __future__ import annotations

import hashlib
import json
from collections import Counter
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from pyproj import Transformer
from tqdm import tqdm

from planner_kit.errors import PlanFileError
from planner_kit.files import sha256_of, whole_folder, write_whole
from planner_kit.reference import constant, shipped_folder
from planner_kit.region.bends import bend_radius_m
from planner_kit.region.columns import TABLES
from planner_kit.region.extract import Extract, read_extract, read_header
from planner_kit.region.gradient import (
    GRADIENT_COLUMNS,
    SOURCES,
    Stretches,
    combine_gradients,
    structure_heights_m,
    terrain_gradients,
    unknown_gradients,
)
from planner_kit.region.landscape import (
    area_frame,
    country_of,
    line_frame,
    place_frame,
    within_any,
)
from planner_kit.region.manifest import Tables, check_country, manifest_of, read_about
from planner_kit.region.network import (
    cut_ways,
    exit_numbers,
    node_frame,
    road_lengths_m,
    way_frame,
)
from planner_kit.region.projection import METRES_PER_DEGREE, local_crs, to_local
from planner_kit.region.region import (
    MANIFEST,
    TERRAIN,
    Region,
    open_region,
    read_region_table,
    validate_table,
)
from planner_kit.region.restrictions import restriction_frame
from planner_kit.region.sampling import Lines, lines_from
from planner_kit.region.signposts import signpost_frame
from planner_kit.region.terrain import open_terrain
from planner_kit.region.tiles import Tile, find_tile, merge_tiles
from planner_kit.rules.plausible import is_odd

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

_TERRAIN_GRADIENT = "gradient from terrain"


def build_region(
    extract: Path,
    terrain: Sequence[Path],
    folder: Path,
    *,
    country: str | None = None,
    name: str | None = None,
    progress: bool = True,
) -> Region:
    """Build a region folder, or open it if it was built from the same files before.

    Parameters
    ----------
    extract : Path
        An OpenStreetMap ``.osm.pbf``. A file ``region.toml`` beside it may give ``name``,
        ``country``, ``time_zone``, ``invented``, ``attribution`` and ``driving_side``.
    terrain : sequence of Path
        SRTM ``.hgt`` tiles (zipped too) or GeoTIFFs; none leaves all gradients unknown.
    folder : Path
        The region folder; an older one of that name is replaced when the new one is whole.
    country : str, optional
        ISO 3166-1 alpha-2 code for roads whose country the extract does not tell.
    name : str, optional
        What people call the region.
    progress : bool
        Show a bar for the stages.

    Returns
    -------
    region : Region

    Raises
    ------
    PlanFileError
        If an input is missing, damaged or of another kind, or the folder cannot be written.

    Notes
    -----
    When only the terrain differs from what the folder was built from, the tables are kept and the
    heights are read again.
    """
    extract, folder = Path(extract), Path(folder)
    tiles = [find_tile(Path(path)) for path in terrain]
    read_header(extract)
    about = read_about(extract.parent / "region.toml")
    if country is not None:
        about["country"] = country
    if name is not None:
        about["name"] = name
    about.setdefault("name", extract.name.split(".")[0].replace("_", " ").replace("-", " ").title())
    check_country(about.get("country"), extract)
    inputs = {
        "extract": {"file": extract.name, "sha256": sha256_of(extract)},
        "terrain": [{"file": t.path.name, "sha256": sha256_of(t.path)} for t in tiles],
        "about": about,
        "builder": builder_hash(),
    }
    before = _built_before(folder)
    if before is not None and before.manifest["inputs"] == inputs:
        return before
    keep = before is not None and all(
        before.manifest["inputs"][key] == inputs[key] for key in ("extract", "about", "builder")
    )
    with (
        _stages(about["name"], 4 if keep else 6, progress) as stage,
        whole_folder(folder) as beside,
    ):
        if keep and before is not None:
            stage("keeping the tables")
            tables = Tables(**{table: read_region_table(folder, table) for table in TABLES})
            facts = {key: before.manifest[key] for key in ("bounds", "data_date", "unread")}
            facts |= {key: before.manifest[key] for key in ("skipped", "sea_known", "implausible")}
        else:
            tables, facts = _tables_from(extract, about, stage)
        bounds = tuple(facts["bounds"])
        stage("laying the terrain")
        _lay_terrain(tiles, bounds, beside / TERRAIN)
        stage("measuring gradients")
        tables, steep = _with_terrain(tables, bounds, beside / TERRAIN if tiles else None)
        told = {key: n for key, n in facts["implausible"].items() if key != _TERRAIN_GRADIENT}
        facts["implausible"] = {**told, **({_TERRAIN_GRADIENT: steep} if steep else {})}
        stage("writing")
        _write(beside, tables)
        manifest = manifest_of(inputs, facts, tables, tiles)
        manifest["files"] = {p.name: p.stat().st_size for p in sorted(beside.iterdir())}
        write_whole(
            beside / MANIFEST, json.dumps(manifest, ensure_ascii=False, indent=1, allow_nan=False)
        )
    return open_region(folder)


class _Stages:
    """A bar that counts the stages done, so that it is full only when the last one is."""

    def __init__(self, bar: tqdm[Any]) -> None:
        self._bar, self._begun = bar, False

    def __call__(self, what: str) -> None:
        """Begin the next stage."""
        self._bar.set_postfix_str(what)
        self._bar.update(int(self._begun))
        self._begun = True

    def tick(self, read: int) -> None:
        """Tell how far the reading has come."""
        self._bar.set_postfix_str(f"reading the extract, {read:,} objects")


@contextmanager
def _stages(name: str, total: int, progress: bool) -> Iterator[_Stages]:
    with tqdm(total=total, desc=name, unit="stage", disable=not progress, leave=False) as bar:
        yield _Stages(bar)
        bar.update()
        bar.refresh()


def builder_hash() -> str:
    """A hash of the code and tables that decide what a region holds."""
    package = Path(__file__).resolve().parent
    unlike = {"telling.py", "zone.py", "nearest.py"}  # they read a region and build nothing
    sources = sorted(
        p for p in package.glob("*.py") if not p.name.startswith("demo_") and p.name not in unlike
    )
    reference = shipped_folder("data") / "reference"
    names = ("osm_values", "plausible", "road_profile", "road_widths", "place_kinds")
    digest = hashlib.sha256()
    sources.append(package.parent / "rules" / "plausible.py")
    for path in [*sources, *(reference / f"{n}.csv" for n in names)]:
        digest.update(path.read_bytes())
    return digest.hexdigest()


def _built_before(folder: Path) -> Region | None:
    try:
        return open_region(folder)
    except PlanFileError:
        # Nothing there, or nothing that can be used: it is built anew.
        return None


def _tables_from(path: Path, about: dict[str, Any], stage: Any) -> tuple[Tables, dict[str, Any]]:
    unread: Counter[str] = Counter()
    odd: Counter[str] = Counter()
    stage("reading the extract")
    extract = read_extract(path, tick=stage.tick)
    bounds = extract.bounds or _data_bounds(extract)
    stage("cutting roads at junctions")
    roads, nodes = _roads_and_nodes(extract, bounds, unread, odd)
    osm_node_id = nodes["osm_node_id"].to_numpy()
    restrictions = restriction_frame(extract.restrictions, roads, osm_node_id, unread)
    signposts = signpost_frame(extract.signposts, exit_numbers(extract), roads, osm_node_id, unread)
    stage("placing areas and places")
    areas, sea_known = area_frame(extract, bounds)
    lines, places = line_frame(extract), place_frame(extract, bounds)
    middle = shapely.line_interpolate_point(roads.geometry.to_numpy(), 0.5, normalized=True)
    roads["built_up"] = _built_up(roads, areas, middle)
    country = country_of(middle, extract.countries, extract.countries_named, about.get("country"))
    roads["country"] = pd.Categorical(country)
    facts = {
        "bounds": [float(v) for v in bounds],
        "data_date": extract.data_date,
        "unread": dict(sorted(unread.items())),
        "implausible": dict(sorted(odd.items())),
        "skipped": extract.skipped,
        "sea_known": sea_known,
    }
    tables = Tables(roads, nodes, restrictions, signposts, places, areas, lines)
    return Tables(**{n: _in_order(getattr(tables, n), n) for n in TABLES}), facts


def _data_bounds(extract: Extract) -> tuple[float, float, float, float]:
    return (
        float(extract.lon.min()),
        float(extract.lat.min()),
        float(extract.lon.max()),
        float(extract.lat.max()),
    )


def _roads_and_nodes(
    extract: Extract,
    bounds: tuple[float, float, float, float],
    unread: Counter[str],
    odd: Counter[str],
) -> tuple[gpd.GeoDataFrame, pd.DataFrame]:
    net = cut_ways(extract)
    roads = way_frame(extract, unread, odd).iloc[net.way].reset_index(drop=True)
    n = net.last - net.first + 1
    road = np.repeat(np.arange(len(n)), n)
    start = np.concatenate([[0], np.cumsum(n)])
    at = net.first[road] + np.arange(len(road)) - start[road]
    lon, lat = extract.lon[at], extract.lat[at]
    x, y = to_local(local_crs(bounds), lon, lat)
    roads["road_id"] = np.arange(len(n), dtype=np.int32)
    roads["from_node"] = net.from_node.astype(np.int32)
    roads["to_node"] = net.to_node.astype(np.int32)
    roads["length_m"] = road_lengths_m(extract, net)
    roads["passing_places"] = net.passing_places.astype(np.int16)
    roads["ford"] |= net.ford
    roads["bend_radius_m"] = bend_radius_m(lines_from(x, y, start)).astype(np.float32)
    incline = roads.pop("incline_pct").to_numpy()
    blank = combine_gradients(
        unknown_gradients(len(n)),
        incline,
        np.zeros(len(n), dtype=bool),
        (np.full(len(n), np.nan), np.full(len(n), np.nan)),
        roads["length_m"].to_numpy(),
    )
    roads = pd.concat([roads, blank], axis=1)
    geometry = shapely.linestrings(np.column_stack([lon, lat]), indices=road)
    frame = gpd.GeoDataFrame(roads, geometry=geometry, crs="EPSG:4326")
    return frame, node_frame(extract, net, unread, odd)


def _built_up(
    roads: gpd.GeoDataFrame, areas: gpd.GeoDataFrame, middle: NDArray[Any]
) -> pd.arrays.BooleanArray:
    """Signed zone first, then mapped built-up land; unknown where no such land is mapped at all."""
    outlines = areas.geometry.to_numpy()[(areas["kind"] == "built_up").to_numpy()]
    inside = within_any(middle, outlines)
    signed = roads["built_up"]
    value = signed.fillna(False).to_numpy(dtype=bool) | (inside & signed.isna().to_numpy())
    missing = signed.isna().to_numpy() & (not len(outlines))
    return pd.arrays.BooleanArray(value & ~missing, missing)


def _in_order(frame: Any, name: str) -> Any:
    """The columns of the contract, in its order and types."""
    frame = frame[[column.name for column in TABLES[name]]].copy()
    for column in TABLES[name]:
        if column.dtype == "category" and not isinstance(
            frame[column.name].dtype, pd.CategoricalDtype
        ):
            frame[column.name] = pd.Categorical(frame[column.name])
        elif column.dtype == "str":
            frame[column.name] = frame[column.name].astype("str")
    return frame


def _lay_terrain(
    tiles: Sequence[Tile], bounds: tuple[float, float, float, float], path: Path
) -> None:
    if not tiles:
        return
    margin = constant("road_profile", "terrain_margin").value
    west, south, east, north = bounds
    wanted = (west - margin, south - margin, east + margin, north + margin)
    merge_tiles(tiles, wanted, path)


def _ways_of(roads: gpd.GeoDataFrame, bounds: tuple[float, float, float, float]) -> Stretches:
    """Roads joined again to the ways they were cut from."""
    points, which = shapely.get_coordinates(roads.geometry.to_numpy(), return_index=True)
    x, y = to_local(local_crs(bounds), points[:, 0], points[:, 1])
    way = roads["osm_way_id"].to_numpy()
    a, b = roads["from_node"].to_numpy(), roads["to_node"].to_numpy()
    fresh = np.ones(len(way), dtype=bool)
    fresh[1:] = (way[1:] != way[:-1]) | (a[1:] != b[:-1])
    line = np.cumsum(fresh) - 1
    start = np.concatenate([[0], np.cumsum(np.bincount(line[which]))])
    lines: Lines = lines_from(x, y, start)
    n = np.bincount(which, minlength=len(way))
    last = np.cumsum(n) - 1
    return Stretches(lines, line, lines.along[last - n + 1], lines.along[last])


def _with_terrain(
    tables: Tables, bounds: tuple[float, float, float, float], path: Path | None
) -> tuple[Tables, int]:
    """The tables with heights and gradients from the terrain in `path`.

    Also how many stretches that a car may drive were left without a gradient, because the terrain
    makes them steeper than any road.
    """
    roads, nodes = tables.roads.copy(), tables.nodes.copy()
    tagged = (roads["gradient_source"] == "tag").to_numpy()
    incline = np.where(tagged, roads["gradient_pct"].to_numpy(dtype=np.float64), np.nan)
    length = roads["length_m"].to_numpy()
    structure = (roads["bridge"] | roads["tunnel"] | (roads["road_class"] == "ferry")).to_numpy(
        dtype=bool
    )
    a = roads["from_node"].to_numpy(dtype=np.int64)
    b = roads["to_node"].to_numpy(dtype=np.int64)
    if path is None:
        height = np.full(len(nodes), np.nan)
        gradients = unknown_gradients(len(roads))
    else:
        terrain = open_terrain(path)
        back = Transformer.from_crs(local_crs(bounds), 4326, always_xy=True)

        def heights(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
            lon, lat = back.transform(x, y)
            return terrain.heights_m(lon, lat)

        ground = terrain.heights_m(nodes["lon"].to_numpy(), nodes["lat"].to_numpy())
        height = structure_heights_m(a, b, length, structure, ground)
        cell_m = terrain.step_lat_deg * METRES_PER_DEGREE
        gradients = terrain_gradients(_ways_of(roads, bounds), heights, cell_m=cell_m)
        gradients.loc[structure] = np.nan
    nodes["height_m"] = height.astype(np.float32)
    filled = combine_gradients(gradients, incline, structure, (height[a], height[b]), length)
    cars = (roads["car_forward"] | roads["car_backward"]).to_numpy(dtype=bool)
    measured = filled[["gradient_pct", "steepest_up_pct", "steepest_down_pct"]]
    steep = cars & is_odd(measured, "map", "car_incline").any(axis=1)
    filled.loc[steep, list(GRADIENT_COLUMNS)] = np.nan
    filled.loc[steep, "gradient_source"] = "unknown"
    for column in filled:
        roads[column] = (
            filled[column].to_numpy()
            if column != "gradient_source"
            else pd.Categorical(filled[column], categories=list(SOURCES))
        )
    made = replace(tables, roads=roads, nodes=nodes)
    return made, int(steep.sum())


def _write(beside: Path, tables: Tables) -> None:
    for name in TABLES:
        frame = getattr(tables, name)
        validate_table(frame, name)
        frame.to_parquet(beside / f"{name}.parquet", compression="zstd", index=False)
