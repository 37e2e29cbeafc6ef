"""Roads of the invented island: least-cost ways over its ground, rounded like drawn roads.

A road looks for gentle ground as its class demands, joins a road that is already there, and is
rounded between the places it must pass.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
import shapely.ops
from scipy import ndimage, sparse
from scipy.sparse import csgraph
from scipy.spatial import cKDTree

from planner_kit.region import demo_gazetteer as names
from planner_kit.region.demo_terrain import (
    COLUMNS,
    ROWS,
    STEP_M,
    X0_M,
    Y0_M,
    evenly_spaced,
    smooth_line,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner_kit.region.demo_terrain import Array, Ground

# Gradient at which a metre of road costs as much as two level ones, by class.
GENTLE_FRAC = {
    "trunk": 0.028,
    "primary": 0.035,
    "secondary": 0.045,
    "tertiary": 0.06,
    "unclassified": 0.085,
    "steep": 0.2,
}
# How far a road swings to either side (one standard deviation) and over how many points.
SWING_M = {
    "trunk": (46.0, 13.0),
    "primary": (46.0, 10.0),
    "secondary": (48.0, 8.0),
    "tertiary": (42.0, 6.0),
    "unclassified": (34.0, 4.5),
}
ROUNDING = {"trunk": 9.0, "primary": 6.0, "secondary": 5.0, "tertiary": 4.2, "unclassified": 3.6}


@dataclass(frozen=True)
class Line:
    """A line of the map in metres, with its tags; `layer` other than 0 crosses without joining."""

    xy: Array
    tags: dict[str, str]
    layer: int = 0

    @property
    def shape(self) -> shapely.LineString:
        """The line as a shapely geometry."""
        return shapely.LineString(self.xy)


@dataclass(frozen=True)
class Settlement:
    """A town, village or hamlet with the outline of its built-up area."""

    name: str
    place: str
    x: float
    y: float
    radius_m: float
    population: int
    outline: shapely.Polygon


@dataclass
class Finder:
    """Least-cost ways over the working grid; remembers where roads are."""

    ground: Ground
    points: Array
    height: Array
    dry: NDArray[np.bool_]
    ends: tuple[NDArray[np.int64], NDArray[np.int64]]
    near_river: NDArray[np.bool_]
    dry_cells: NDArray[np.int64]
    dry_tree: cKDTree
    _tree: cKDTree | None = None
    _xy: Array = field(default_factory=lambda: np.empty((0, 2)))

    def add(self, line: Line) -> None:
        """Remember a road, so that later ones join it."""
        self._xy = np.vstack([self._xy, evenly_spaced(line.xy, 40.0)])
        self._tree = cKDTree(self._xy)

    def gap_m(self, points: Array) -> tuple[Array, Array]:
        """Distance to the nearest road and the point on it, for points (n, 2)."""
        if self._tree is None:
            return np.full(len(points), np.inf), points
        gap, at = self._tree.query(points)
        return gap, self._xy[at]

    def way(self, road_class: str, start: Array, end: Array) -> Array:
        """The cheapest way between two points, as points of the working grid."""
        a, b = self.ends
        box = np.vstack([start, end])
        reach = 2500.0 + 0.45 * float(np.hypot(*(start - end)))
        low, high = box.min(axis=0) - reach, box.max(axis=0) + reach
        inside = ((self.points >= low) & (self.points <= high)).all(axis=1)
        kept = np.flatnonzero(inside)
        place = np.cumsum(inside) - 1
        edge = inside[a] & inside[b]
        a, b = a[edge], b[edge]
        rise = np.abs(self.height[a] - self.height[b])
        run = np.hypot(*(self.points[a] - self.points[b]).T)
        cost = run * (1 + (rise / run / GENTLE_FRAC[road_class]) ** 2)
        gap, _ = self.gap_m(self.points[kept])
        factor = np.where(gap < 150, 0.55, np.where(gap < 420, 1.25, 1.0))
        if road_class == "trunk":
            factor = np.where(gap < 300, 1.6, 1.0)
        factor *= np.where(self.near_river[kept], 1.5, 1.0)
        a, b = place[a], place[b]
        cost = np.rint(cost * (factor[a] + factor[b]) * 50)
        graph = sparse.csr_array((cost, (a, b)), shape=(len(kept), len(kept)))
        first, last = (int(place[self.cell(p)]) for p in (start, end))
        limit = 100.0 * np.hypot(*(start - end)) * 7 + 300_000
        _, before = csgraph.dijkstra(
            graph, directed=False, indices=first, return_predecessors=True, limit=limit
        )
        cells = [last]
        while cells[-1] != first:
            cells.append(int(before[cells[-1]]))
            if cells[-1] < 0:
                raise ValueError(f"no dry way from {start} to {end} for a {road_class} road")
        return np.vstack([start, self.points[kept[cells[::-1]]][1:-1], end])

    def cell(self, point: Array) -> int:
        """The dry cell of the grid nearest to a point."""
        return int(self.dry_cells[self.dry_tree.query(point)[1]])


def make_finder(ground: Ground) -> Finder:
    """A finder of ways over a ground."""
    gx, gy = np.meshgrid(X0_M + STEP_M * np.arange(COLUMNS), Y0_M + STEP_M * np.arange(ROWS))
    points = np.column_stack([gx.ravel(), gy.ravel()])
    safe = ground.land.buffer(-90)
    for _, lake in ground.lakes:
        safe = safe.difference(lake.buffer(120))
    dry = shapely.contains_xy(safe, points)
    cells = np.arange(len(points)).reshape(ROWS, COLUMNS)
    pairs = []
    for dy, dx in [(0, 1), (1, 0), (1, 1), (1, -1), (1, 2), (2, 1), (2, -1), (1, -2)]:
        left, right = max(0, -dx), COLUMNS - max(0, dx)
        a = cells[: ROWS - dy, left:right].ravel()
        b = cells[dy:, left + dx : right + dx].ravel()
        keep = dry[a] & dry[b]
        pairs.append((a[keep], b[keep]))
    a, b = (np.concatenate(part) for part in zip(*pairs, strict=True))
    river_tree = cKDTree(np.vstack([r.xy for r in ground.rivers]))
    near_river = river_tree.query(points)[0] < 220
    dry_cells = np.flatnonzero(dry)
    height = ground.height_m(points)
    tree = cKDTree(points[dry_cells])
    return Finder(ground, points, height, dry, (a, b), near_river, dry_cells, tree)


def wandering(rng: np.random.Generator, line: Array, swing_m: float, points: float) -> Array:
    """The line with slow swings to either side, ends kept; points keep their number."""
    if len(line) < 8:
        return line
    along = np.gradient(line, axis=0)
    along /= np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)[:, None]
    swing = np.zeros(len(line))
    for width, share in ((points, 1.0), (points / 3.0, 0.3)):
        rough = ndimage.gaussian_filter1d(rng.random(len(line)) * 2 - 1, width, mode="nearest")
        swing += share * rough * np.sqrt(3 * 2 * np.sqrt(np.pi) * width)
    ends = np.minimum(np.arange(len(line)), np.arange(len(line))[::-1]) / (2.2 * points)
    offset = swing * swing_m * np.clip(ends, 0, 1)
    return line + np.column_stack([-along[:, 1], along[:, 0]]) * offset[:, None]


def drawn(rng: np.random.Generator, path: Array, road_class: str) -> Array:
    """A path over the grid as a rounded road with points where it bends."""
    line = smooth_line(path, ROUNDING[road_class], 60.0)
    line = wandering(rng, line, *SWING_M[road_class])
    return np.array(shapely.LineString(line).simplify(1.6).coords)


def lay(
    finder: Finder, rng: np.random.Generator, road_class: str, path: Array, tags: dict[str, str]
) -> list[Line]:
    """Lay a path as roads: the parts that run along a road already there are left out."""
    gap, on = finder.gap_m(path)
    fresh = gap > (40 if road_class == "trunk" else 170)
    laid = []
    start = 0
    while start < len(path):
        if not fresh[start]:
            start += 1
            continue
        stop = start
        while stop < len(path) and fresh[stop]:
            stop += 1
        part = path[start:stop]
        if start > 0:
            part = np.vstack([on[start - 1], part])
        if stop < len(path):
            part = np.vstack([part, on[stop]])
        if len(part) > 1 and shapely.LineString(part).length > 60:
            laid.append(Line(drawn(rng, part, road_class), dict(tags)))
        start = stop
    for line in laid:
        finder.add(line)
    return laid


def blob(rng: np.random.Generator, x: float, y: float, radius_m: float) -> shapely.Polygon:
    """A rounded, uneven outline."""
    turn = np.linspace(0, 2 * np.pi, 10, endpoint=False)
    reach = radius_m * (0.8 + 0.4 * rng.random(10))
    ring = np.column_stack([x + np.cos(turn) * reach, y + np.sin(turn) * reach])
    return shapely.Polygon(ring).buffer(radius_m * 0.2).simplify(5)


def settle(ground: Ground, finder: Finder, rng: np.random.Generator) -> dict[str, Settlement]:
    """Towns, villages and hamlets on dry, level ground near where they are wanted."""
    inner = ground.land.buffer(-160)
    steep = _steepness(finder)
    far_inland = finder.dry & shapely.contains_xy(inner, finder.points)
    found: dict[str, Settlement] = {}

    def best(x: float, y: float, reach_m: float) -> Array:
        away = np.hypot(*(finder.points - (x, y)).T)
        score = np.where(far_inland & (away <= reach_m), steep * 60 + away / reach_m, np.inf)
        score = score + finder.near_river * 0.8
        return np.asarray(finder.points[int(np.argmin(score))])

    for name, place, x, y, radius_m, population, reach in names.SETTLEMENTS:
        px, py = best(x * 1000, y * 1000, reach * 1000)
        outline = blob(rng, px, py, radius_m * 1.1)
        found[name] = Settlement(name, place, px, py, radius_m, population, outline)
    order = rng.permutation(len(names.HAMLET_STARTS) * len(names.HAMLET_ENDS))
    spots = rng.random((900, 2)) * [60_000, 42_000] + [-30_000, -21_000]
    for x, y in spots:
        hamlets = sum(s.place == "hamlet" for s in found.values())
        if hamlets == 84:
            break
        crowded = min(np.hypot(s.x - x, s.y - y) for s in found.values()) < 1900
        if crowded or not shapely.contains_xy(inner, x, y):
            continue
        px, py = best(x, y, 800)
        height = float(ground.height_m(np.array([[px, py]]))[0])
        if height > 240 or height < 5:
            continue
        pick = int(order[hamlets])
        name = names.HAMLET_STARTS[pick % 20] + names.HAMLET_ENDS[pick // 20]
        outline = blob(rng, px, py, 150)
        found[name] = Settlement(name, "hamlet", px, py, 130, 20 + pick % 90, outline)
    return found


def _steepness(finder: Finder) -> Array:
    grid = finder.height.reshape(ROWS, COLUMNS)
    dy, dx = np.gradient(ndimage.gaussian_filter(grid, 1.0), STEP_M)
    return np.asarray(np.hypot(dx, dy).ravel())


def main_roads(
    finder: Finder, rng: np.random.Generator, settled: dict[str, Settlement]
) -> tuple[list[Line], dict[str, Array]]:
    """The numbered roads, the toll bridge and the lane over the pass; where each stop lies."""
    spots = {s.name: np.array([s.x, s.y]) for s in settled.values()}
    for name, x, y in names.JUNCTIONS:
        cell = finder.points[finder.cell(np.array([x, y]) * 1000.0)]
        spots[name] = np.asarray(cell)
    lines: list[Line] = []
    for road_class, ref, stops in names.MAIN_ROADS:
        tags = {"highway": road_class} | ({"ref": ref} if ref else {})
        if stops[0] == "lane_east":
            tags |= {"name": names.PASS_LANE, "story": "pass"}
        for a, b in itertools.pairwise(stops):
            leg = f"{a}>{b}"
            ground_class = "steep" if leg in names.STEEP_LEGS else road_class
            path = finder.way(ground_class, spots[a], spots[b])
            lines += lay(finder, rng, road_class, path, tags | {"leg": leg} | _signposts(leg))
        if "bridge_east" in stops:
            bridge = evenly_spaced(np.vstack([spots["bridge_east"], spots["bridge_west"]]), 150.0)
            span = Line(bridge, {"highway": "trunk", "ref": "A1", "story": "toll bridge"})
            lines.append(span)
            finder.add(span)
    return lines, spots


def _signposts(leg: str) -> dict[str, str]:
    """The tags of what signposts on a leg of a main road say, in each direction."""
    if leg not in names.SIGNPOSTS:
        return {}
    ahead, back = names.SIGNPOSTS[leg]
    return {"destination:forward": ahead, "destination:backward": back}


def lanes(finder: Finder, rng: np.random.Generator, settled: dict[str, Settlement]) -> list[Line]:
    """Lanes that tie hamlets and villages to the roads and to each other."""
    hamlets = [s for s in settled.values() if s.place == "hamlet"]
    others = list(settled.values())
    lines: list[Line] = []
    for hamlet in hamlets:
        here = np.array([hamlet.x, hamlet.y])
        near = sorted(others, key=lambda s: np.hypot(s.x - here[0], s.y - here[1]))[1:4]
        for other in near:
            there = np.array([other.x, other.y])
            if _crosses_water(finder, here, there):
                continue
            path = finder.way("unclassified", here, there)
            lines += lay(finder, rng, "unclassified", path, {"highway": "unclassified"})
    return lines


def _crosses_water(finder: Finder, a: Array, b: Array) -> bool:
    line = shapely.LineString([a, b])
    wet = line.length - line.intersection(finder.ground.land).length
    return wet > 400 or bool(line.length > 9000)


def cut_at(line: Line, *along_m: float) -> list[Line]:
    """The line cut at distances from its start; the cut points are shared."""
    whole = line.shape
    stops = [0.0, *sorted(along_m), whole.length]
    return [
        replace(line, xy=np.array(shapely.ops.substring(whole, a, b).coords), tags=dict(line.tags))
        for a, b in itertools.pairwise(stops)
        if b - a > 0.5
    ]


def cut_by(line: Line, area: shapely.Geometry) -> tuple[list[Line], list[Line]]:
    """The parts of a line inside and outside an area."""
    whole = line.shape
    if not whole.intersects(area):
        return [], [line]
    parts = []
    for shape in (whole.intersection(area), whole.difference(area)):
        pieces = shapely.get_parts(shape)
        parts.append(
            [
                replace(line, xy=np.array(p.coords), tags=dict(line.tags))
                for p in pieces
                if p.geom_type == "LineString" and p.length > 1.0
            ]
        )
    return parts[0], parts[1]
