"""What lies on the ground of the invented island: coast, water, woods, fields, beaches, parks."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import contourpy
import numpy as np
import shapely
import shapely.ops
from scipy import ndimage

from planner_kit.region.demo_terrain import (
    COLUMNS,
    ROWS,
    STEP_M,
    X0_M,
    Y0_M,
    evenly_spaced,
    noise,
)

if TYPE_CHECKING:
    from planner_kit.region.demo_map import Sheet
    from planner_kit.region.demo_roads import Line, Settlement
    from planner_kit.region.demo_terrain import Array, Ground

BEACHES_KM = (
    ("Marren Sands", -24.6, 3.0, 1500), ("Quay Beach", -23.9, -1.6, 700),
    ("Long Strand", 5.2, -16.4, 1700), ("Skarrow Bay", 20.4, -11.8, 800),
    ("Wrack Beach", 27.0, -2.2, 900), ("Dunna Sands", 6.4, 15.6, 1200),
    ("Uske Bay", 26.0, 11.0, 700), ("Oxharrow Cove", -24.6, 13.6, 500),
    ("Tolven Beach", -24.0, -12.0, 1100), ("Penny Strand", -15.8, -21.4, 500),
)  # fmt: skip


def contour_areas(field: Array, level: float, smallest_m2: float) -> list[shapely.Polygon]:
    """Areas of the working grid where a field lies above a level, with their holes."""
    x = X0_M + STEP_M * np.arange(COLUMNS)
    y = Y0_M + STEP_M * np.arange(ROWS)
    padded = field.copy()
    padded[[0, -1], :] = padded[:, [0, -1]] = level - 1.0
    filled = contourpy.contour_generator(
        x, y, padded, fill_type=contourpy.FillType.OuterOffset
    ).filled(level, np.inf)
    areas = []
    for points, offsets in zip(*filled, strict=True):
        rings = [points[a:b] for a, b in itertools.pairwise(offsets)]
        shape = shapely.Polygon(rings[0], rings[1:]).buffer(0)
        areas += [p for p in _polygons(shape) if p.area >= smallest_m2]
    return areas


def _polygons(shape: shapely.Geometry) -> list[shapely.Polygon]:
    return [p for p in shapely.get_parts(shape) if p.geom_type == "Polygon" and p.area > 0]


def draw_water(sheet: Sheet, ground: Ground) -> None:
    """Coast (land on the left), rivers and lakes."""
    for island in ground.land.geoms:
        ring = shapely.geometry.polygon.orient(island, 1.0)
        xy = np.array(ring.exterior.coords)
        cuts = np.linspace(0, len(xy) - 1, max(2, len(xy) // 700 + 2)).astype(int)
        for a, b in itertools.pairwise(cuts):
            sheet.way(xy[a : b + 1], {"natural": "coastline"})
    for river in ground.rivers:
        kind = "river" if river.catchment_km2 > 26 else "stream"
        xy = np.array(shapely.LineString(river.xy).simplify(3).coords)
        sheet.way(xy, {"waterway": kind} | ({"name": river.name} if river.name else {}))
    for name, lake in ground.lakes:
        shape = shapely.Polygon(evenly_spaced(np.array(lake.exterior.coords), 60.0))
        kind = "reservoir" if name.endswith("Tarn") else "lake"
        sheet.area(shape, {"natural": "water", "water": kind, "name": name})


def built_up_areas(
    settled: dict[str, Settlement], streets: dict[str, list[Line]], land: shapely.Geometry
) -> dict[str, shapely.Geometry]:
    """The built-up area of each settlement: its streets with the plots beside them."""
    areas = {}
    for name, town in settled.items():
        lines = [line.shape for line in streets.get(name, [])]
        core = shapely.Point(town.x, town.y).buffer(70 if town.place == "hamlet" else 160)
        shape = shapely.union_all([core, *[s.buffer(62, quad_segs=2) for s in lines]])
        shape = shape.buffer(45, quad_segs=2).buffer(-50, quad_segs=2).intersection(land)
        areas[name] = shape.simplify(6)
    return areas


def draw_cover(
    sheet: Sheet,
    ground: Ground,
    rng: np.random.Generator,
    built_up: dict[str, shapely.Geometry],
) -> shapely.Geometry:
    """Built-up land, woods, fields, grass, moor, beaches and the park; the woods come back."""
    for name in built_up:
        for part in _polygons(built_up[name]):
            if part.area > 4000:
                sheet.area(_solid(part, 9000.0), {"landuse": "residential"})
    towns = shapely.union_all(list(built_up.values())).buffer(60)
    water = shapely.union_all([lake.buffer(25) for _, lake in ground.lakes])
    open_land = ground.land.buffer(-140).difference(shapely.union_all([towns, water]))
    height = ground.work_m
    high = contour_areas(ndimage.gaussian_filter(height, 2.0), 236.0, 6e6)
    park = max(high, key=lambda p: p.area).buffer(500).simplify(60)
    tags = {"boundary": "national_park", "name": "Stannet Fells", "leisure": "nature_reserve"}
    sheet.area(_solid(park, 1e12), tags | {"protect_class": "2"})
    reserve = shapely.Point(-2.0e3, -17.4e3).buffer(1100).intersection(ground.land)
    marsh = {"leisure": "nature_reserve", "boundary": "protected_area", "protect_class": "4"}
    sheet.area(max(_polygons(reserve), key=lambda p: p.area), marsh | {"name": "Bar Saltings"})

    wooded = noise(rng, height.shape, 34, 3) - np.where(height > 380, 1.5, 0.0)
    woods = shapely.union_all(contour_areas(wooded, 0.52, 120_000.0)).intersection(open_land)
    for part in _polygons(woods):
        if part.area > 90_000:
            wood = {"landuse": "forest"} if rng.random() < 0.6 else {"natural": "wood"}
            leaf = "needleleaved" if rng.random() < 0.5 else "broadleaved"
            sheet.area(_solid(part.simplify(12), 4e4), wood | {"leaf_type": leaf})
    rest = open_land.difference(woods.buffer(15))
    low = np.where((height > 4) & (height < 225), 1.0, 0.0)
    patches = noise(rng, height.shape, 26, 2)
    for level, kind in ((0.30, "farmland"), (-0.9, "grass")):
        field = np.where(low > 0, patches, -3.0)
        shape = shapely.union_all(contour_areas(field, level, 3e5))
        if kind == "grass":
            upper = shapely.union_all(contour_areas(field, -0.28, 3e5))
            shape = shape.difference(upper)
        for part in _polygons(shape.intersection(rest)):
            if part.area > 250_000:
                sheet.area(part.simplify(25), {"landuse": kind})
    moor = shapely.union_all(contour_areas(height, 330.0, 4e5)).difference(woods)
    for part in _polygons(moor):
        if part.area > 4e5:
            sheet.area(part.simplify(20), {"natural": "heath"})
    _beaches(sheet, ground)
    return woods


def _solid(part: shapely.Polygon, smallest_hole_m2: float) -> shapely.Polygon:
    holes = [h for h in part.interiors if shapely.Polygon(h).area > smallest_hole_m2]
    return shapely.Polygon(part.exterior, holes)


def _beaches(sheet: Sheet, ground: Ground) -> None:
    coast = ground.land.boundary
    for name, x, y, length_m in BEACHES_KM:
        point = shapely.ops.nearest_points(coast, shapely.Point(x * 1e3, y * 1e3))[0]
        near = coast.intersection(point.buffer(length_m / 2))
        strip = near.buffer(70, cap_style="flat").intersection(ground.land.buffer(0.5))
        shape = max(_polygons(strip), key=lambda p: p.area)
        tags = {"natural": "beach", "surface": "sand", "name": name}
        sheet.area(shapely.Polygon(shape.exterior).simplify(4), tags)
