"""Places of the invented island put on its map: beside roads, in streets, at the end of a drive."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely
import shapely.ops
from scipy import ndimage

from planner_kit.region import demo_catalogue as catalogue
from planner_kit.region.demo_roads import Line, blob, cut_at
from planner_kit.region.demo_streets import STRIDE_M, grow
from planner_kit.region.demo_terrain import degrees, evenly_spaced

if TYPE_CHECKING:
    from planner_kit.region.demo_map import Sheet
    from planner_kit.region.demo_roads import Settlement
    from planner_kit.region.demo_story import Mark
    from planner_kit.region.demo_streets import Ways
    from planner_kit.region.demo_terrain import Array, Ground

DRIVABLE = ("trunk", "primary", "secondary", "tertiary", "unclassified")


@dataclass(frozen=True)
class Placed:
    """A place on the map: its key in the lists, its OpenStreetMap number and where it lies."""

    key: str
    kind: str
    name: str
    ref: str
    x: float
    y: float
    tags: dict[str, str]

    @property
    def lat(self) -> float:
        """Latitude, rounded as the lists show it, in degrees."""
        return round(float(degrees(np.array([[self.x, self.y]]))[0][0]), 6)

    @property
    def lon(self) -> float:
        """Longitude, rounded as the lists show it, in degrees."""
        return round(float(degrees(np.array([[self.x, self.y]]))[1][0]), 6)


@dataclass
class Placer:
    """What placing needs to know."""

    ground: Ground
    rng: np.random.Generator
    ways: Ways
    samples: dict[str, tuple[Array, Array]]
    settled: dict[str, Settlement]
    streets: dict[str, list[Line]]
    access: list[Line]
    dry: shapely.Geometry

    def wanted(self, where: catalogue.Where) -> tuple[float, float]:
        """The place asked for, in metres."""
        if isinstance(where, str):
            return self.settled[where].x, self.settled[where].y
        return where[0] * 1000.0, where[1] * 1000.0

    def beside(self, where: catalogue.Where, classes: str, away_m: float) -> Array:
        """A point beside the nearest road of a group of classes."""
        points, along = self.samples[classes]
        i = int(np.argmin(np.hypot(*(points - self.wanted(where)).T)))
        return np.asarray(points[i] + away_m * np.array([-along[i][1], along[i][0]]))

    def in_town(self, name: str) -> Array:
        """A point beside a street of a settlement."""
        town = self.settled[name]
        lines = self.streets[name] or [Line(np.array([[town.x, town.y], [town.x + 9, town.y]]), {})]
        near = sorted(lines, key=lambda s: np.hypot(*(s.xy[1] - (town.x, town.y))))
        line = near[int(self.rng.integers(max(1, min(len(near), 2 + len(near) // 3))))]
        a, b = line.xy[0], line.xy[1]
        step = (b - a) / np.hypot(*(b - a))
        return np.asarray((a + b) / 2 + 18.0 * np.array([-step[1], step[0]]))

    def drive(self, where: catalogue.Where, length_m: int, key: str) -> Array:
        """The end of a new drive off a road near a place; the drive joins nothing else."""
        target = np.array(self.wanted(where))
        classes = {"S01": "main", "S02": "quiet", "S03": "quiet"}.get(key, "any")
        points, along = self.samples[classes]
        away = np.hypot(*(points - target).T)
        for i in np.argsort(away, kind="stable")[:900:4].tolist():
            facing = float(np.arctan2(*(target - points[i])[::-1]))
            sides = [float(np.arctan2(along[i][1], along[i][0])) + s for s in (1.57, -1.57)]
            sides.sort(key=lambda h: -np.cos(h - facing))
            near = self.ways.nearest(float(points[i][0]), float(points[i][1]), 15.0)
            parent = -1 if near is None else near[2]
            for heading in sides:
                start = (float(points[i][0]), float(points[i][1]))
                found = grow(self.ways, self.rng, start, heading, length_m, self.dry, parent, 0.16)
                if found is None or found[1] or len(found[0]) * STRIDE_M < length_m * 0.9:
                    continue
                self.ways.add(found[0])
                self.access += drive_lines(Line(found[0], {}), key)
                return np.asarray(found[0][-1])
        raise ValueError(f"no room for a drive of {length_m} m to {key}")


def drive_lines(line: Line, key: str) -> list[Line]:
    """A drive as road: the main site's last mile, a lane too narrow, a low bridge, or a drive."""
    length = line.shape.length
    if key == "S01":
        first, last = cut_at(line, length - 160)
        lane = {"highway": "unclassified", "name": "Marren Vale Lane", "width": "4.8"}
        inner = {"highway": "service", "maxspeed": "10 mph", "surface": "asphalt", "width": "5.0"}
        return [Line(first.xy, lane | {"surface": "asphalt"}), Line(last.xy, inner)]
    if key == "S02":
        tags = {"highway": "unclassified", "name": "Fold Lane", "lanes": "1", "width": "2.1"}
        return [Line(line.xy, tags | {"maxwidth": "2.1", "surface": "asphalt"})]
    if key == "S03":
        parts = cut_at(line, length * 0.5, length * 0.5 + 16)
        tags = {"highway": "unclassified", "name": "Quarry Road", "surface": "gravel"}
        low = tags | {"maxheight": "2.3", "tunnel": "building_passage"}
        return [Line(p.xy, t) for p, t in zip(parts, (tags, low, dict(tags)), strict=True)]
    return [
        Line(line.xy, {"highway": "service", "surface": "asphalt" if length < 300 else "gravel"})
    ]


def place_all(
    sheet: Sheet,
    ground: Ground,
    rng: np.random.Generator,
    ways: Ways,
    roads: list[Line],
    settled: dict[str, Settlement],
    streets: dict[str, list[Line]],
) -> tuple[list[Placed], list[Line]]:
    """Put every place of the catalogue on the map; the places and their drives come back."""
    wet = shapely.union_all([lake.buffer(60) for _, lake in ground.lakes])
    dry = ground.land.buffer(-60).difference(wet)
    shapely.prepare(dry)
    groups = {
        "main": DRIVABLE[:4], "any": DRIVABLE[:], "quiet": DRIVABLE[3:], "trunk": DRIVABLE[:3],
    }  # fmt: skip
    placer = Placer(ground, rng, ways, {}, settled, streets, [], dry)
    for group, classes in groups.items():
        placer.samples[group] = _samples(roads, classes)
    placed = [_place(sheet, placer, row) for row in catalogue.SITES]
    placed += [_place(sheet, placer, row) for row in catalogue.SERVICES + catalogue.ATTRACTIONS]
    for key, name, x, y, height in catalogue.MASTS:
        tags = catalogue.KINDS["mast"] | {"name": f"{name} mast", "height": str(height)}
        number = sheet.point((x * 1e3, y * 1e3), tags)
        placed.append(Placed(key, "mast", name, f"n{number}", x * 1e3, y * 1e3, tags))
    return placed, placer.access


def _samples(roads: list[Line], classes: tuple[str, ...]) -> tuple[Array, Array]:
    points, along = [], []
    for road in roads:
        odd = road.layer or "junction" in road.tags or "story" in road.tags
        if road.tags["highway"] in classes and not odd and road.shape.length > 120:
            xy = evenly_spaced(road.xy, 40.0)
            step = np.gradient(xy, axis=0)
            points.append(xy[1:-1])
            along.append((step / np.hypot(step[:, 0], step[:, 1])[:, None])[1:-1])
    return np.vstack(points), np.vstack(along)


def _place(sheet: Sheet, placer: Placer, row: catalogue.Row) -> Placed:
    key, kind, name, where, how, more = row
    tags = catalogue.KINDS[kind] | ({"name": name} if name else {}) | more
    if key == "S14":
        xy = np.array(placer.wanted(where))
    elif isinstance(how, int):
        xy = placer.drive(where, how, key)
    elif how == "town":
        xy = placer.in_town(str(where))
    elif how == "road":
        xy = placer.beside(where, "main", 24.0)
    elif how == "layby":
        return _layby(sheet, placer, row, tags)
    elif how == "coast":
        inner = placer.ground.land.buffer(-55)
        near = shapely.ops.nearest_points(inner, shapely.Point(placer.wanted(where)))[0]
        xy = np.array([near.x, near.y])
    else:
        xy = np.array(placer.wanted(where))
    x, y = float(xy[0]), float(xy[1])
    if key[0] == "S":
        area = blob(placer.rng, x, y, 70.0 if key in ("S02", "S14") else 120.0)
        letter, number = sheet.area(area, tags)
        return Placed(key, kind, name, f"{letter}{number}", x, y, tags)
    return Placed(key, kind, name, f"n{sheet.point((x, y), tags)}", x, y, tags)


def _layby(sheet: Sheet, placer: Placer, row: catalogue.Row, tags: dict[str, str]) -> Placed:
    """A lay-by: a short lane beside the road, joined at both ends, and its parking place."""
    points, along = placer.samples["trunk"]
    i = int(np.argmin(np.hypot(*(points - placer.wanted(row[3])).T)))
    i = i if np.hypot(*(points[i + 3] - points[i])) < 130 else i - 3
    left = np.column_stack([-along[i : i + 4, 1], along[i : i + 4, 0]]) * 11.0
    lane = np.vstack([points[i], points[i + 1] + left[1], points[i + 2] + left[2], points[i + 3]])
    placer.access.append(Line(lane, {"highway": "service", "service": "layby"}))
    x, y = ((lane[1] + lane[2]) / 2).tolist()
    number = sheet.point((x, y), tags)
    return Placed(row[0], row[1], row[2], f"n{number}", x, y, tags)


def old_railway(ground: Ground) -> tuple[list[Line], list[Mark]]:
    """The old railway along the longest river, now a cycle path, with benches and shelters."""
    river = ground.rivers[0].xy
    start = int(len(river) * 0.34)
    bed = evenly_spaced(river[start:], 120.0)
    eased = ndimage.gaussian_filter1d(bed, 5.0, axis=0, mode="nearest")
    along = np.gradient(eased, axis=0)
    along /= np.hypot(along[:, 0], along[:, 1])[:, None]
    line = eased + np.column_stack([-along[:, 1], along[:, 0]]) * 190.0
    clear = shapely.LineString(line).intersection(ground.land.buffer(-150))
    for _, lake in ground.lakes:
        clear = clear.difference(lake.buffer(60))
    longest = max(shapely.get_parts(clear), key=lambda p: p.length)
    xy = np.array(longest.simplify(1.5).coords)
    tags = {"highway": "cycleway", "name": "Old Tarrow Line", "surface": "compacted"}
    tags |= {"bicycle": "designated", "foot": "yes", "motor_vehicle": "no", "width": "2.5"}
    tags |= {"railway": "abandoned", "segregated": "no"}
    marks: list[Mark] = []
    for k, d in enumerate(np.arange(900.0, longest.length - 300, 1700.0)):
        p = longest.interpolate(d)
        kind = {"amenity": "shelter"} if k % 3 == 1 else {"amenity": "bench"}
        marks.append((p.x, p.y + 6.0, kind | {"free": "1"}))
    return [Line(xy, tags)], marks


def coast_paths(ground: Ground) -> list[Line]:
    """The coast path: stretches of the coast, walked a little inland."""
    main = max(ground.land.geoms, key=lambda p: p.area)
    inland = main.buffer(-75).simplify(8)
    inland = max(shapely.get_parts(inland), key=lambda p: p.area)
    ring = inland.exterior
    tags = {"highway": "path", "name": "Sallowey Coast Path", "foot": "designated"}
    lines = []
    for a, b in ((0.02, 0.14), (0.2, 0.33), (0.42, 0.5), (0.58, 0.7), (0.8, 0.95)):
        part = shapely.ops.substring(ring, a, b, normalized=True)
        lines.append(Line(np.array(part.coords), tags | {"trail_visibility": "good"}))
    return lines


def gates(rng: np.random.Generator, lines: list[Line]) -> list[Mark]:
    """Gates on private drives and tracks."""
    marks: list[Mark] = []
    for line in lines:
        if line.tags.get("access") == "private" and len(line.xy) > 3 and rng.random() < 0.6:
            x, y = line.xy[1]
            marks.append((float(x), float(y), {"barrier": "gate", "access": "private"}))
    return marks
