"""Large regions for benchmarks: copies of a real extract side by side, joined by roads."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from planner_kit.region import build_region, open_region
from planner_kit.region.projection import segment_lengths_m
from tests.conftest import open_data_extracts, open_data_terrain


@dataclass(eq=False)
class JoinedRegion:
    """What the tow stage asks of a region."""

    roads: gpd.GeoDataFrame
    nodes: pd.DataFrame
    restrictions: pd.DataFrame
    signposts: pd.DataFrame
    places: pd.DataFrame
    folder: Path
    time_zone: str | None = "Europe/Vaduz"
    manifest: dict[str, Any] = field(default_factory=lambda: {"driving_side": "right"})


def real_region(name: str, work: Path) -> Any:
    """A region folder of a shared extract, built at first use."""
    folder = work / name
    if not (folder / "manifest.json").is_file():
        extract = open_data_extracts()[name]
        build_region(extract, open_data_terrain(extract), folder, progress=False)
    return open_region(folder)


def _links(roads: pd.DataFrame, nodes: pd.DataFrame) -> list[tuple[int, int]]:
    """Pairs of junctions at which a copy meets the next one to the east and to the north.

    They are ends of open roads: the outermost on each side of the strip that both copies share.
    """
    both = (roads["car_forward"] & roads["car_backward"]).to_numpy(bool)
    public = both & roads["road_class"].isin(["primary", "secondary", "tertiary"]).to_numpy(bool)
    used = np.unique(roads.loc[public, ["from_node", "to_node"]].to_numpy())
    lat, lon = nodes["lat"].to_numpy()[used], nodes["lon"].to_numpy()[used]
    return [
        (int(used[lon.argmax()]), int(used[lon.argmin()])),
        (int(used[lat.argmax()]), int(used[lat.argmin()])),
    ]


def joined_region(region: Any, side: int, rows: int, folder: Path) -> JoinedRegion:
    """`side` columns and `rows` rows of copies of a region, each joined to its four neighbours."""
    roads, nodes, bans = region.roads, region.nodes, region.restrictions
    count, junctions, copies = len(roads), len(nodes), side * rows
    step_lon = float(nodes["lon"].max() - nodes["lon"].min()) * 1.02
    step_lat = float(nodes["lat"].max() - nodes["lat"].min()) * 1.02
    copy = np.repeat(np.arange(copies), count)
    at = np.repeat(np.arange(copies), junctions)
    many_nodes = nodes.iloc[np.tile(np.arange(junctions), copies)].reset_index(drop=True)
    many_nodes["node_id"] = np.arange(len(many_nodes), dtype=np.int32)
    many_nodes["lat"] += (at // side) * step_lat
    many_nodes["lon"] += (at % side) * step_lon
    lines = np.tile(np.asarray(roads["geometry"].array, dtype=object), copies)
    points, owner = shapely.get_coordinates(lines, return_index=True)
    points[:, 0] += (copy % side)[owner] * step_lon
    points[:, 1] += (copy // side)[owner] * step_lat
    plain = pd.DataFrame(roads.drop(columns="geometry"))
    many = plain.iloc[np.tile(np.arange(count), copies)].reset_index(drop=True)
    many["from_node"] += (copy * junctions).astype(np.int32)
    many["to_node"] += (copy * junctions).astype(np.int32)
    many["osm_way_id"] += copy.astype(np.int64) * 10**10
    model = int(np.flatnonzero((roads["road_class"] == "primary").to_numpy())[0])
    links = []
    (east, west), (north, south) = _links(roads, nodes)
    for place in range(copies):
        if place % side < side - 1:
            links.append((place * junctions + east, (place + 1) * junctions + west))
        if place // side < rows - 1:
            links.append((place * junctions + north, (place + side) * junctions + south))
    geometry = shapely.linestrings(points, indices=owner)
    if links:
        pairs = np.array(links)
        lon, lat = many_nodes["lon"].to_numpy()[pairs], many_nodes["lat"].to_numpy()[pairs]
        more = plain.iloc[np.full(len(pairs), model)].reset_index(drop=True)
        more["from_node"], more["to_node"] = pairs[:, 0].astype(np.int32), pairs[:, 1]
        more["to_node"] = more["to_node"].astype(np.int32)
        more["oneway"] = np.int8(0)
        more["car_forward"] = more["car_backward"] = True
        more["length_m"] = [
            float(segment_lengths_m(x, y).sum()) for x, y in zip(lon, lat, strict=True)
        ]
        more["osm_way_id"] = -1 - np.arange(len(pairs))
        many = pd.concat([many, more], ignore_index=True).astype(plain.dtypes.to_dict())
        joins = shapely.linestrings(np.stack([lon, lat], axis=2))
        geometry = np.concatenate([geometry, joins])
    many["road_id"] = np.arange(len(many), dtype=np.int32)
    many_bans = bans.iloc[np.tile(np.arange(len(bans)), copies)].reset_index(drop=True)
    shift = np.repeat(np.arange(copies), len(bans))
    many_bans["from_road"] += shift * count
    many_bans["to_road"] += shift * count
    many_bans["via_node"] = np.where(
        many_bans["via_node"] < 0, many_bans["via_node"], many_bans["via_node"] + shift * junctions
    )
    many_bans["via_roads"] = [
        [int(road) + s * count for road in via]
        for via, s in zip(many_bans["via_roads"], shift.tolist(), strict=True)
    ]
    folder.mkdir(parents=True, exist_ok=True)
    return JoinedRegion(
        gpd.GeoDataFrame(many, geometry=geometry, crs=4326),
        many_nodes,
        many_bans,
        region.signposts.iloc[:0],
        region.places,
        folder,
    )


def sides_for(roads: int, wanted: int) -> int:
    """Copies along each side of a square for at least so many roads."""
    return math.ceil(math.sqrt(wanted / roads))
