"""From lines and points in metres to an OpenStreetMap extract with stable numbers.

Ways that cross on one level share a node there; ends that stop at a way are joined to it. Numbers,
versions and times are fixed, so that the same island gives the same bytes.
"""

from __future__ import annotations

import tempfile
from collections import Counter
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import osmium
import osmium.osm.mutable as draft
import shapely
from scipy import sparse
from scipy.sparse import csgraph
from scipy.spatial import cKDTree

from planner_kit.region.demo_terrain import degrees

if TYPE_CHECKING:
    from planner_kit.region.demo_roads import Line
    from planner_kit.region.demo_terrain import Array

STAMP = datetime(2026, 1, 1, tzinfo=UTC)
JOIN_M, SAME_M = 4.0, 2.0
FIRST_NODE, FIRST_WAY, FIRST_RELATION, FIRST_PLACE = 10_000, 1_000_000, 2_000_000, 5_000


@dataclass
class Sheet:
    """The map as it is written: nodes by place, ways and relations in order.

    Attributes
    ----------
    ways : list of (tags, node numbers)
        Their position gives their number.
    relations : list of (tags, members)
        Members are (kind, number, role).
    node_tags : dict
        Tags of a node by its number.
    """

    node_at: dict[tuple[int, int], int] = field(default_factory=dict)
    ways: list[tuple[dict[str, str], list[int]]] = field(default_factory=list)
    relations: list[tuple[dict[str, str], list[tuple[str, int, str]]]] = field(default_factory=list)
    node_tags: dict[int, dict[str, str]] = field(default_factory=dict)
    points: list[tuple[int, tuple[int, int], dict[str, str]]] = field(default_factory=list)

    def node(self, spot: tuple[int, int]) -> int:
        """The number of the node at a place (1e-7 degrees: longitude, latitude)."""
        return self.node_at.setdefault(spot, FIRST_NODE + len(self.node_at))

    def way(self, xy: Array, tags: dict[str, str]) -> int:
        """Add a way; its number comes back."""
        numbers = [self.node(spot) for spot in spots(xy)]
        kept = [n for i, n in enumerate(numbers) if i == 0 or n != numbers[i - 1]]
        self.ways.append((tags, kept))
        return FIRST_WAY + len(self.ways) - 1

    def relation(self, tags: dict[str, str], members: list[tuple[str, int, str]]) -> int:
        """Add a relation; its number comes back."""
        self.relations.append((tags, members))
        return FIRST_RELATION + len(self.relations) - 1

    def point(self, xy: tuple[float, float], tags: dict[str, str]) -> int:
        """Add a place as a node of its own; its number comes back."""
        number = FIRST_PLACE + len(self.points)
        self.points.append((number, spots(np.array([xy]))[0], tags))
        return number

    def area(self, polygon: shapely.Polygon, tags: dict[str, str]) -> tuple[str, int]:
        """Add an area, as a way or, with holes, as a multipolygon; kind and number come back."""
        ring = shapely.geometry.polygon.orient(polygon)
        outer = self.way(np.array(ring.exterior.coords), {} if ring.interiors else tags)
        if not ring.interiors:
            return "w", outer
        members = [("w", outer, "outer")]
        members += [("w", self.way(np.array(h.coords), {}), "inner") for h in ring.interiors]
        return "r", self.relation(tags | {"type": "multipolygon"}, members)


def spots(xy: Array) -> list[tuple[int, int]]:
    """Points in metres as whole 1e-7 degrees (longitude, latitude)."""
    lat, lon = degrees(np.asarray(xy, dtype=np.float64))
    scaled = np.rint(np.column_stack([lon, lat]) * 1e7).astype(np.int64)
    return [(int(x), int(y)) for x, y in scaled]


def joined(lines: list[Line]) -> list[Line]:
    """The same lines with a shared point wherever two of them meet on the ground.

    A line with a layer meets others only at its two ends.
    """
    level = [i for i, line in enumerate(lines) if line.layer == 0]
    owner = np.concatenate([np.full(len(lines[i].xy) - 1, i) for i in level])
    place = np.concatenate([np.arange(len(lines[i].xy) - 1) for i in level])
    start = np.vstack([lines[i].xy[:-1] for i in level])
    stop = np.vstack([lines[i].xy[1:] for i in level])
    segments = shapely.linestrings(np.stack([start, stop], axis=1))
    tree = shapely.STRtree(segments)
    extra: dict[tuple[int, int], list[tuple[float, float]]] = {}

    a, b = tree.query(segments, predicate="intersects")
    keep = (a < b) & ((owner[a] != owner[b]) | (np.abs(place[a] - place[b]) > 1))
    a, b = a[keep], b[keep]
    met = shapely.get_coordinates(shapely.centroid(shapely.intersection(segments[a], segments[b])))
    for i, j, (x, y) in zip(a.tolist(), b.tolist(), met.tolist(), strict=True):
        for k in (i, j):
            extra.setdefault((int(owner[k]), int(place[k])), []).append((x, y))

    ends = np.vstack([line.xy[[0, -1]] for line in lines])
    whose = np.repeat(np.arange(len(lines)), 2)
    e, s = tree.query(shapely.points(ends), predicate="dwithin", distance=JOIN_M)
    other = whose[e] != owner[s]
    for i, k in zip(e[other].tolist(), s[other].tolist(), strict=True):
        x, y = ends[i].tolist()
        extra.setdefault((int(owner[k]), int(place[k])), []).append((x, y))

    full = [_with_points(line.xy, i, extra) for i, line in enumerate(lines)]
    return _merged(lines, full)


def _with_points(
    xy: Array, number: int, extra: dict[tuple[int, int], list[tuple[float, float]]]
) -> Array:
    points: list[tuple[float, float]] = []
    for i in range(len(xy)):
        x, y = float(xy[i, 0]), float(xy[i, 1])
        points.append((x, y))
        more = extra.get((number, i), [])
        points += sorted(more, key=lambda p: ((p[0] - x) ** 2 + (p[1] - y) ** 2, p))
    return np.array(points)


def _merged(lines: list[Line], full: list[Array]) -> list[Line]:
    """Points nearer than a carriageway's half width become one, except inside bridges."""
    flat, home = [], []
    for i, (line, xy) in enumerate(zip(lines, full, strict=True)):
        picked = range(len(xy)) if line.layer == 0 else (0, len(xy) - 1)
        flat += [xy[k] for k in picked]
        home += [(i, k) for k in picked]
    points = np.array(flat)
    pairs = cKDTree(points).query_pairs(SAME_M, output_type="ndarray")
    links = sparse.coo_array(
        (np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(points), len(points))
    )
    _, group = csgraph.connected_components(links, directed=False)
    first = np.full(group.max() + 1, len(points))
    np.minimum.at(first, group, np.arange(len(points)))
    moved = [xy.copy() for xy in full]
    for (i, k), g in zip(home, group.tolist(), strict=True):
        moved[i][k] = points[first[g]]
    result = []
    for line, xy in zip(lines, moved, strict=True):
        keep = np.concatenate([[True], np.any(np.diff(xy, axis=0) != 0, axis=1)])
        if keep.sum() > 1:
            result.append(replace(line, xy=xy[keep]))
    return result


def junction_degrees(lines: list[Line]) -> Counter[tuple[int, int]]:
    """How many arms leave each shared point."""
    arms: Counter[tuple[int, int]] = Counter()
    for line in lines:
        places = spots(line.xy)
        for i, spot in enumerate(places):
            arms[spot] += 1 if i in (0, len(places) - 1) else 2
    return arms


def extract_bytes(sheet: Sheet, bounds: tuple[float, float, float, float]) -> bytes:
    """The sheet as an OpenStreetMap PBF file.

    Parameters
    ----------
    sheet : Sheet
        The map.
    bounds : (west, south, east, north)
        Of the file's header. [deg]
    """
    header = osmium.io.Header()
    header.set("generator", "planner_kit demo island")
    header.add_box(
        osmium.osm.Box(osmium.osm.Location(*bounds[:2]), osmium.osm.Location(*bounds[2:]))
    )
    fixed = {"version": 1, "timestamp": STAMP, "uid": 0, "user": "", "changeset": 0}
    nodes = [(n, spot, sheet.node_tags.get(n, {})) for spot, n in sheet.node_at.items()]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "island.osm.pbf"
        writer = osmium.SimpleWriter(str(path), header=header)
        try:
            for number, (x, y), tags in sorted(sheet.points + nodes, key=lambda n: n[0]):
                spot = osmium.osm.Location(x / 1e7, y / 1e7)
                writer.add_node(draft.Node(id=number, location=spot, tags=tags, **fixed))
            for i, (tags, refs) in enumerate(sheet.ways):
                writer.add_way(draft.Way(id=FIRST_WAY + i, nodes=refs, tags=tags, **fixed))
            for i, (tags, members) in enumerate(sheet.relations):
                writer.add_relation(
                    draft.Relation(id=FIRST_RELATION + i, members=members, tags=tags, **fixed)
                )
        finally:
            writer.close()
        return path.read_bytes()
