"""Streets, tracks and paths of the invented island, grown from the roads that are there.

A street sets out at about a right angle, drifts as it goes, joins what it meets and sends out
streets of its own. Tracks and paths grow in the same way, longer and lonelier.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import shapely

from planner_kit.region import demo_gazetteer as names
from planner_kit.region.demo_roads import Line
from planner_kit.region.demo_terrain import evenly_spaced

if TYPE_CHECKING:
    from planner_kit.region.demo_roads import Settlement
    from planner_kit.region.demo_terrain import Array

STRIDE_M = 20.0
CELL_M = 40.0


@dataclass
class Ways:
    """Points of all ways so far, found quickly by place; each knows the way it belongs to."""

    cells: dict[tuple[int, int], list[tuple[float, float, int]]] = field(default_factory=dict)
    count: int = 0

    def add(self, xy: Array, spacing_m: float = 10.0) -> int:
        """Remember a way; its number comes back."""
        self.count += 1
        points = evenly_spaced(xy, spacing_m)
        for x, y in points.tolist():
            cell = (int(x // CELL_M), int(y // CELL_M))
            self.cells.setdefault(cell, []).append((x, y, self.count))
        return self.count

    def nearest(
        self, x: float, y: float, within_m: float, but: int = -1
    ) -> tuple[float, float, int] | None:
        """The nearest remembered point within reach that is not of way `but`."""
        reach = int(within_m // CELL_M) + 1
        cx, cy = int(x // CELL_M), int(y // CELL_M)
        best, gap = None, within_m**2
        for i in range(cx - reach, cx + reach + 1):
            for j in range(cy - reach, cy + reach + 1):
                for point in self.cells.get((i, j), ()):
                    away = (point[0] - x) ** 2 + (point[1] - y) ** 2
                    if away < gap and point[2] != but:
                        best, gap = point, away
        return best


def grow(
    ways: Ways,
    rng: np.random.Generator,
    start: tuple[float, float],
    heading: float,
    length_m: float,
    area: shapely.Geometry,
    parent: int,
    drift: float,
) -> tuple[Array, bool] | None:
    """A way from a start on its parent; ``None`` if there is no room for it.

    Returns
    -------
    xy : array (n, 2)
        Points of the way. [m]
    joined : bool
        Whether it ends on another way.
    """
    x, y = start
    points = [(x, y)]
    turn = 0.0
    for step in range(int(length_m // STRIDE_M)):
        turn = 0.7 * turn + float(rng.random() - 0.5) * drift
        heading += turn
        x, y = x + np.cos(heading) * STRIDE_M, y + np.sin(heading) * STRIDE_M
        if step == 1:
            met = ways.nearest(x, y, 34.0, parent)
            if met is not None:
                return None
        if not shapely.contains_xy(area, x, y):
            break
        met = ways.nearest(x, y, 26.0, parent if step < 4 else -1)
        if met is not None and step > 1:
            points.append((met[0], met[1]))
            return np.array(points), True
        points.append((x, y))
    if len(points) < 4:
        return None
    return np.array(points), False


def streets(
    ways: Ways,
    rng: np.random.Generator,
    settlement: Settlement,
    roads: list[Line],
    wet: shapely.Geometry,
) -> list[Line]:
    """The streets of a settlement, grown from the roads through it."""
    area = settlement.outline.difference(wet)
    shapely.prepare(area)
    reach_m = {"town": 420.0, "village": 260.0, "hamlet": 120.0}[settlement.place]
    queue: deque[tuple[float, float, float, int]] = deque()
    for road in roads:
        inside = shapely.get_parts(road.shape.intersection(settlement.outline))
        for piece in inside:
            if piece.geom_type == "LineString" and piece.length > 30:
                number = _owner(ways, np.array(piece.coords))
                _sprout(queue, rng, np.array(piece.coords), number)
    lines: list[Line] = []
    limit = {"town": 330, "village": 26, "hamlet": 2}[settlement.place]
    while queue and len(lines) < limit:
        x, y, heading, parent = queue.popleft()
        length = reach_m * (0.35 + 0.75 * float(rng.random()))
        found = grow(ways, rng, (x, y), heading, length, area, parent, 0.12)
        if found is None:
            continue
        xy, joined = found
        number = ways.add(xy)
        name = names.STREETS[int(rng.integers(len(names.STREETS)))]
        tags = {"highway": "residential", "name": name}
        if not joined and len(xy) < 7 and rng.random() < 0.5:
            tags = {"highway": "service"}
        lines.append(Line(xy, tags))
        _sprout(queue, rng, xy, number)
    return lines


def _owner(ways: Ways, xy: Array) -> int:
    middle = xy[len(xy) // 2]
    near = ways.nearest(float(middle[0]), float(middle[1]), 15.0)
    return -1 if near is None else near[2]


def _sprout(
    queue: deque[tuple[float, float, float, int]],
    rng: np.random.Generator,
    xy: Array,
    number: int,
) -> None:
    points = evenly_spaced(xy, STRIDE_M)
    at = 2 + int(rng.integers(3))
    while at < len(points) - 1:
        dx, dy = points[at] - points[at - 1]
        side = 1.0 if rng.random() < 0.5 else -1.0
        for turn in (side, -side) if rng.random() < 0.45 else (side,):
            heading = float(np.arctan2(dy, dx)) + turn * (np.pi / 2 + (rng.random() - 0.5) * 0.3)
            queue.append((float(points[at][0]), float(points[at][1]), heading, number))
        at += 4 + int(rng.integers(3))


def tracks(
    ways: Ways,
    rng: np.random.Generator,
    roads: list[Line],
    area: shapely.Geometry,
    built_up: shapely.Geometry,
) -> list[Line]:
    """Farm tracks, drives and field paths beside the country roads."""
    shapely.prepare(area)
    shapely.prepare(built_up)
    lines: list[Line] = []
    for road in roads:
        points = evenly_spaced(road.xy, STRIDE_M)
        at = 6 + int(rng.integers(30))
        while at < len(points) - 6:
            x, y = points[at]
            dx, dy = points[at] - points[at - 1]
            at += 26 + int(rng.integers(48))
            if shapely.contains_xy(built_up, x, y):
                continue
            side = 1.0 if rng.random() < 0.5 else -1.0
            heading = float(np.arctan2(dy, dx)) + side * (np.pi / 2 + (rng.random() - 0.5) * 0.7)
            length = 110.0 + 900.0 * float(rng.random()) ** 2
            parent = _owner(ways, points[at - 2 : at] if at < len(points) else points[-2:])
            near = ways.nearest(float(x), float(y), 15.0)
            parent = parent if near is None else near[2]
            found = grow(ways, rng, (float(x), float(y)), heading, length, area, parent, 0.3)
            if found is None:
                continue
            xy, joined = found
            ways.add(xy)
            lines.append(Line(xy, _track_tags(rng, len(xy) * STRIDE_M, joined)))
    return lines


def _track_tags(rng: np.random.Generator, length_m: float, joined: bool) -> dict[str, str]:
    draw = float(rng.random())
    if length_m < 260 and not joined:
        if draw < 0.45:
            return {"highway": "service", "service": "driveway", "access": "private"}
        return {"highway": "service"} | ({"surface": "gravel"} if draw < 0.75 else {})
    if draw < 0.25:
        return {"highway": "path" if draw < 0.12 else "footway", "foot": "yes"}
    if draw < 0.34:
        return {"highway": "bridleway"}
    grade = 2 + int(rng.integers(4))
    surface = ("compacted", "gravel", "unpaved", "grass")[grade - 2]
    tags = {"highway": "track", "tracktype": f"grade{grade}", "surface": surface}
    if draw < 0.55:
        tags["access"] = "private"
    return tags
