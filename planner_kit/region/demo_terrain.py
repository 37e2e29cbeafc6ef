"""The ground of the invented island: coast, relief, rivers and lakes, and its SRTM tile.

Everything comes from one seed. Positions are metres east (x) and north (y) of the island's middle
until they are written as degrees. The relief is worn down by running water, so that rivers run
downhill to the sea and valleys branch as they do in nature.
"""

from __future__ import annotations

import heapq
import io
import zipfile
from dataclasses import dataclass
from typing import TYPE_CHECKING

import contourpy
import numpy as np
import shapely
from scipy import ndimage

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

SEED = 4915
LAT0, LON0 = 49.47, -14.5
M_PER_DEG_LAT, M_PER_DEG_LON = 111_230.0, 72_480.0
TILE, TILE_LAT, TILE_LON, TILE_ROWS = "N49W015", 49, -15, 1201
STEP_M = 200.0
X0_M, Y0_M, COLUMNS, ROWS = -32_000.0, -27_000.0, 321, 256
HIGHEST_M = 604.0

# The coast as drawn by hand, clockwise from the north-west, in kilometres.
COAST_KM = (
    (-25.5, 12.5), (-23, 16), (-18.5, 15.2), (-15, 18.2), (-10.5, 19.2), (-7, 17.2), (-3.5, 18.6),
    (0.5, 20), (4.5, 18.4), (7, 14.8), (10.5, 17.4), (15.5, 18.3), (19, 15.5), (23.5, 14.6),
    (26.5, 11), (25, 7.5), (27.5, 4), (29.4, 1.5), (27, -2), (24, -3.6), (25.2, -7.5), (22.5, -11),
    (18.5, -11.8), (16.5, -15.5), (11, -17.8), (6.5, -16.2), (2.6, -19.4), (-1, -19.8),
    (-7.4, -19.5), (-11, -20.3), (-14.5, -17.5), (-18, -18.6), (-22.5, -16), (-24.2, -11.5),
    (-28, -9.8), (-29.5, -6), (-26.5, -3.4), (-23.8, -1.2), (-24.6, 2.4), (-28.2, 4.6),
    (-29, 8.4),
)  # fmt: skip
# The estuary's middle line with its half width, from the mouth to its head, in kilometres.
ESTUARY_KM = (
    (-4.2, -21.5, 2.1), (-3.6, -18, 1.5), (-2.6, -15.4, 0.95), (-3.4, -12.6, 0.62),
    (-5.2, -10, 0.85), (-5.2, -7.4, 0.6), (-6.4, -5.4, 0.34), (-6.2, -4.2, 0.12),
)  # fmt: skip
ISLETS_KM = ((-15.6, -22.6, 1.35), (29.8, 8.6, 0.45), (-31.0, 1.2, 0.4))
# Rise of the ground: x, y, spread along x and y in kilometres, strength.
UPLIFT_KM = (
    (-9.5, 9.5, 4.0, 4.4, 1.0), (-11.5, 1.5, 3.0, 4.6, 0.72), (-12.5, -5.5, 2.6, 3.4, 0.5),
    (-5.5, 14.0, 4.0, 2.4, 0.5), (12.5, 10.0, 4.6, 3.0, 0.40), (8.5, -6.5, 4.4, 3.0, 0.30),
    (-22.5, 9.5, 2.6, 3.4, 0.26), (-18.0, -11.0, 3.2, 2.6, 0.24),
)  # fmt: skip
LAKES_KM = (
    ("Quern Water", -7.6, 7.4, 0.95), ("Hallin Tarn", -12.2, 4.6, 0.38),
    ("Omber Lake", 9.3, 3.4, 0.7), ("Loam Mere", -19.2, -6.8, 0.55),
)  # fmt: skip


@dataclass(frozen=True)
class River:
    """A river from its spring to its mouth, as points in metres, with its name and catchment."""

    name: str
    xy: Array
    catchment_km2: float


@dataclass(frozen=True)
class Ground:
    """The invented island's ground.

    Attributes
    ----------
    tile_m : array (1201, 1201) of int16
        Heights of the SRTM tile, north first. [m]
    work_m : array (256, 321)
        Heights on the working grid, south first, sea below 0. [m]
    land : shapely geometry
        The land as polygons, in metres east and north.
    rivers : tuple of River
        Longest first.
    lakes : tuple of (str, Polygon)
        Name and outline.
    """

    tile_m: NDArray[np.int16]
    work_m: Array
    land: shapely.MultiPolygon
    rivers: tuple[River, ...]
    lakes: tuple[tuple[str, shapely.Polygon], ...]

    def height_m(self, xy: Array) -> Array:
        """Terrain height at points (n, 2) in metres east and north, from the tile, in metres."""
        lat, lon = degrees(np.atleast_2d(xy))
        row = (TILE_LAT + 1 - lat) * (TILE_ROWS - 1)
        column = (lon - TILE_LON) * (TILE_ROWS - 1)
        found = ndimage.map_coordinates(
            self.tile_m.astype(np.float64), [row, column], order=1, mode="nearest"
        )
        return np.asarray(found, dtype=np.float64)


def degrees(xy: Array) -> tuple[Array, Array]:
    """Latitude and longitude of points (n, 2) in metres, in degrees."""
    return LAT0 + xy[:, 1] / M_PER_DEG_LAT, LON0 + xy[:, 0] / M_PER_DEG_LON


def metres(lat: Array, lon: Array) -> Array:
    """Points (n, 2) in metres east and north of the island's middle."""
    return np.column_stack([(lon - LON0) * M_PER_DEG_LON, (lat - LAT0) * M_PER_DEG_LAT])


def noise(rng: np.random.Generator, shape: tuple[int, int], cells: int, octaves: int) -> Array:
    """Smooth noise of about -1 to 1; `cells` hills across the first axis in the lowest octave."""
    total = np.zeros(shape)
    for octave in range(octaves):
        rows = cells * 2**octave + 3
        columns = max(4, round(rows * shape[1] / shape[0]))
        lattice = rng.random((rows, columns)) * 2 - 1
        y = np.linspace(1, rows - 2, shape[0])
        x = np.linspace(1, columns - 2, shape[1])
        grid = np.meshgrid(y, x, indexing="ij")
        total += ndimage.map_coordinates(lattice, grid, order=3, mode="nearest") * 0.55**octave
    return total


def smooth_line(points: Array, sigma: float, step_m: float) -> Array:
    """The line drawn evenly with points `step_m` apart and rounded, its two ends kept."""
    evenly = evenly_spaced(points, step_m)
    if len(evenly) < 5:
        return evenly
    rounded = ndimage.gaussian_filter1d(evenly, sigma, axis=0, mode="nearest")
    fade = np.minimum(np.arange(len(evenly)), np.arange(len(evenly))[::-1]) / (2.0 * sigma)
    weight = np.clip(fade, 0.0, 1.0)[:, None]
    return np.asarray(evenly * (1 - weight) + rounded * weight)


def evenly_spaced(points: Array, step_m: float) -> Array:
    """Points along a line about `step_m` apart, ends included."""
    gaps = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(gaps)])
    count = max(2, round(along[-1] / step_m) + 1)
    at = np.linspace(0.0, along[-1], count)
    return np.column_stack([np.interp(at, along, points[:, 0]), np.interp(at, along, points[:, 1])])


def rounded_ring(points: Array) -> Array:
    """A closed ring through hand-drawn points, rounded (periodic cubic spline)."""
    closed = np.vstack([points, points[:1]])
    at = np.linspace(0, len(points), len(points) * 12, endpoint=False)
    padded = np.vstack([points[-4:], closed[:-1], points[:5]])
    return np.column_stack(
        [ndimage.map_coordinates(padded[:, i], [at + 4], order=3) for i in (0, 1)]
    )


def _inland_m(rng: np.random.Generator) -> Array:
    """Distance inside the coast on the working grid, negative at sea, in metres."""
    gx, gy = np.meshgrid(X0_M + STEP_M * np.arange(COLUMNS), Y0_M + STEP_M * np.arange(ROWS))
    outline = shapely.Polygon(rounded_ring(np.array(COAST_KM) * 1000.0))
    points = shapely.points(gx, gy)
    away = shapely.distance(points, outline.exterior)
    inland = np.where(shapely.contains(outline, points), away, -away)
    rough = noise(rng, (ROWS, COLUMNS), 15, 4)
    inland = inland + rough * 800.0
    for x, y, radius in np.array(ISLETS_KM) * 1000.0:
        inland = np.maximum(inland, radius - np.hypot(gx - x, gy - y) + rough * 420.0)
    spine = evenly_spaced(np.array(ESTUARY_KM)[:, :2] * 1000.0, 150.0)
    nodes = np.array(ESTUARY_KM)
    half = np.interp(spine[:, 1], nodes[:, 1] * 1000.0, nodes[:, 2] * 1000.0)
    spine = smooth_line(spine, 6, 150.0)
    for (x, y), width in zip(spine, half, strict=False):
        inland = np.minimum(inland, np.hypot(gx - x, gy - y) - width + rough * 150.0)
    return np.asarray(inland)


def _drain(height: Array, land: NDArray[np.bool_]) -> tuple[list[int], list[int], Array]:
    """Cells in the order that water climbs from the sea, where each drains to, and filled heights.

    Returns
    -------
    order, receiver : list of int
        Flat cell numbers; `receiver` of a cell outside the land is the cell itself.
    filled : array
        Heights with no hollow left.
    """
    rows, columns = height.shape
    flat = height.ravel().tolist()
    is_land = land.ravel().tolist()
    receiver = list(range(rows * columns))
    seen = [not dry for dry in is_land]
    order: list[int] = []
    shore = ndimage.binary_dilation(land, np.ones((3, 3))) & ~land
    heap = [(0.0, int(cell)) for cell in np.flatnonzero(shore)]
    around = [-columns - 1, -columns, -columns + 1, -1, 1, columns - 1, columns, columns + 1]
    heapq.heapify(heap)
    while heap:
        level, cell = heapq.heappop(heap)
        if is_land[cell]:
            order.append(cell)
        for step in around:
            near = cell + step
            if not seen[near]:
                seen[near] = True
                receiver[near] = cell
                flat[near] = max(flat[near], level + 0.02)
                heapq.heappush(heap, (flat[near], near))
    filled = np.array(flat).reshape(rows, columns)
    return order, _steepest(filled, land, receiver), filled


def _steepest(filled: Array, land: NDArray[np.bool_], receiver: list[int]) -> list[int]:
    """The lowest-lying neighbour by slope of each land cell; it always exists once filled."""
    columns = filled.shape[1]
    level = np.where(land, filled, 0.0)
    best = np.zeros_like(level)
    found = np.array(receiver).reshape(level.shape)
    cells = np.arange(level.size).reshape(level.shape)
    for dy in (-1, 0, 1):
        for dx in (-1, 0, 1):
            if dx or dy:
                other = np.roll(level, (-dy, -dx), (0, 1))
                fall = (level - other) / np.hypot(dx, dy)
                better = fall > best + 1e-9
                best = np.where(better, fall, best)
                found = np.where(better, cells + dy * columns + dx, found)
    found = np.where(land, found, cells)
    return [int(cell) for cell in found.ravel()]


def _catchments_km2(order: list[int], receiver: list[int], filled: Array) -> list[float]:
    """Area drained through each cell."""
    area = [STEP_M**2 / 1e6] * filled.size
    flat = filled.ravel()
    for cell in sorted(order, key=lambda c: (-flat[c], c)):
        if receiver[cell] != cell:
            area[receiver[cell]] += area[cell]
    return area


def _worn_m(rng: np.random.Generator, inland: Array) -> Array:
    """Heights worn down by running water (stream power, solved backwards in time)."""
    gx, gy = np.meshgrid(X0_M + STEP_M * np.arange(COLUMNS), Y0_M + STEP_M * np.arange(ROWS))
    land = inland > 0
    rise = np.full(inland.shape, 0.1)
    for x, y, sx, sy, strength in UPLIFT_KM:
        rise += strength * np.exp(-(((gx / 1e3 - x) / sx) ** 2 + ((gy / 1e3 - y) / sy) ** 2) / 2)
    rise *= np.clip(inland / 2600.0, 0.12, 1.0) * (1 + 0.6 * noise(rng, inland.shape, 16, 3))
    height = np.where(land, rise * 200 + noise(rng, inland.shape, 24, 4) * 40 + 30, -5.0)
    for _ in range(7):
        order, receiver, filled = _drain(height, land)
        area = _catchments_km2(order, receiver, filled)
        flat = (filled + rise * 60.0 * land).ravel().tolist()
        level = filled.ravel()
        for cell in sorted(order, key=lambda c: (level[c], c)):
            pull = 0.62 * area[cell] ** 0.42
            low = max(flat[receiver[cell]], 0.0)
            flat[cell] = (flat[cell] + pull * low) / (1.0 + pull)
        height = np.where(land, np.array(flat).reshape(height.shape), -5.0)
        soft = ndimage.gaussian_filter(np.where(land, height, 0.0), 0.8)
        height = np.where(land, 0.5 * height + 0.5 * soft, -5.0)
    tall = height / height.max()
    plateau = np.where(tall > 0.62, 0.62 + (tall - 0.62) * 0.8, tall)
    shaped = plateau / plateau.max() * HIGHEST_M
    return np.where(land, np.maximum(shaped, 2.0) + np.clip(inland / 300.0, 0, 4), -5.0)


def _meander(rng: np.random.Generator, line: Array) -> Array:
    """The line swung from side to side as a river swings, its ends kept."""
    along = np.gradient(line, axis=0)
    along /= np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-9)[:, None]
    swing = ndimage.gaussian_filter1d(rng.random(len(line)) * 2 - 1, 2.4, mode="nearest")
    ends = np.minimum(np.arange(len(line)), np.arange(len(line))[::-1]) / 6.0
    offset = swing * 260.0 * np.clip(ends, 0, 1)
    return np.asarray(line + np.column_stack([-along[:, 1], along[:, 0]]) * offset[:, None])


def _rivers(rng: np.random.Generator, height: Array, land: NDArray[np.bool_]) -> list[River]:
    """Main stems and large tributaries, named, longest first."""
    order, receiver, filled = _drain(height, land)
    area = _catchments_km2(order, receiver, filled)
    givers: dict[int, list[int]] = {}
    for cell in order:
        givers.setdefault(receiver[cell], []).append(cell)
    flat_land = land.ravel()
    heads = [c for c in order if not flat_land[receiver[c]] and area[c] > 14]
    taken: set[int] = set()
    found: list[tuple[Array, float]] = []
    while heads:
        mouth = heads.pop(0)
        stem = [receiver[mouth], mouth]
        while True:
            up = sorted(givers.get(stem[-1], []), key=lambda c: (-area[c], c))
            heads += [c for c in up[1:] if area[c] > 11 and c not in taken]
            if not up or area[up[0]] < 2.2:
                break
            taken.add(up[0])
            stem.append(up[0])
        if len(stem) > 14:
            rows, columns = np.divmod(np.array(stem[::-1]), COLUMNS)
            xy = np.column_stack([X0_M + STEP_M * columns, Y0_M + STEP_M * rows])
            found.append((_meander(rng, smooth_line(xy, 4.0, 90.0)), area[mouth]))
    found.sort(key=lambda item: (-len(item[0]), float(item[0][0, 0])))
    names = (
        "River Tarrow", "River Ombe", "River Hallin", "Quern Water Beck", "River Pell",
        "Stennock Burn", "Fenny Brook", "Yarna Beck", "Oxen Beck", "Marren Burn", "Wrack Brook",
        "Sallow Brook", "Gorse Burn", "Anver Brook", "Threl Beck", "Dunna Burn", "Vennel Brook",
    )  # fmt: skip
    return [
        River(names[i] if i < len(names) else "", xy, area_km2)
        for i, (xy, area_km2) in enumerate(found)
    ]


def _lakes(rng: np.random.Generator) -> list[tuple[str, shapely.Polygon]]:
    """Lake outlines."""
    lakes = []
    for name, x, y, radius in LAKES_KM:
        turn = np.linspace(0, 2 * np.pi, 12, endpoint=False)
        reach = radius * 1000.0 * (0.72 + 0.5 * rng.random(12))
        ring = np.column_stack([np.cos(turn) * reach * 0.8, np.sin(turn) * reach * 1.2])
        lakes.append((name, shapely.Polygon(rounded_ring(ring + np.array([x, y]) * 1000.0))))
    return lakes


def _tile(work: Array, inland: Array, rng: np.random.Generator) -> tuple[Array, Array]:
    """Heights and inland distance on the tile's grid, float, north first."""
    lat = TILE_LAT + 1 - np.arange(TILE_ROWS) / (TILE_ROWS - 1)
    lon = TILE_LON + np.arange(TILE_ROWS) / (TILE_ROWS - 1)
    row = ((lat - LAT0) * M_PER_DEG_LAT - Y0_M) / STEP_M
    column = ((lon - LON0) * M_PER_DEG_LON - X0_M) / STEP_M
    grid = np.meshgrid(row, column, indexing="ij")
    filled = np.where(work > 0, work, 0.0)
    height = ndimage.map_coordinates(filled, grid, order=3, mode="constant", cval=0.0)
    near = ndimage.map_coordinates(inland, grid, order=3, mode="constant", cval=-9999.0)
    detail = noise(rng, (TILE_ROWS, TILE_ROWS), 260, 2)
    height = height + detail * np.clip(height / 60.0, 0.2, 2.2)
    near = near + noise(rng, (TILE_ROWS, TILE_ROWS), 110, 3) * 110.0
    return np.where(near > 0, np.maximum(height, 1.0), 0.0), near


def _burn(tile: Array, xy: Array) -> None:
    """Lower the tile along a river in place, so that its water never climbs."""
    fine = evenly_spaced(xy, 40.0)
    lat, lon = degrees(fine)
    row = np.rint((TILE_LAT + 1 - lat) * (TILE_ROWS - 1)).astype(int)
    column = np.rint((lon - TILE_LON) * (TILE_ROWS - 1)).astype(int)
    bed = np.minimum.accumulate(tile[row, column])
    for dy, dx, above in [(0, 0, 0), (0, 1, 1), (1, 0, 1), (0, -1, 1), (-1, 0, 1)]:
        at = (row + dy, column + dx)
        np.minimum.at(tile, at, bed + above)


def make_ground(seed: int = SEED) -> Ground:
    """The island's ground from a seed; the same seed gives the same ground.

    Parameters
    ----------
    seed : int
        Of every random number used.
    """
    rng = np.random.default_rng(seed)
    inland = _inland_m(rng)
    parts, _ = ndimage.label(inland > 0)
    sizes = np.bincount(parts.ravel())
    inland = np.where((parts > 0) & (sizes[parts] < 8), -50.0, inland)
    work = _worn_m(rng, inland)
    rivers = _rivers(rng, work, inland > 0)
    lakes = _lakes(rng)
    tile, near = _tile(work, inland, rng)
    lat = TILE_LAT + 1 - np.arange(TILE_ROWS) / (TILE_ROWS - 1)
    lon = TILE_LON + np.arange(TILE_ROWS) / (TILE_ROWS - 1)
    gx, gy = np.meshgrid((lon - LON0) * M_PER_DEG_LON, (lat - LAT0) * M_PER_DEG_LAT)
    for _, lake in lakes:
        west, south, east, north = lake.buffer(700).bounds
        box = (gx >= west) & (gx <= east) & (gy >= south) & (gy <= north)
        away = shapely.distance(lake, shapely.points(gx[box], gy[box]))
        level = np.percentile(tile[box][away == 0], 20)
        ease = np.clip(away / 600.0, 0.0, 1.0)
        tile[box] = level + (tile[box] - level) * ease**1.5
    for river in rivers:
        _burn(tile, river.xy)
    tile = np.where(near > 0, np.maximum(np.rint(tile), 1), 0)
    rings = contourpy.contour_generator(gx, gy, near).lines(0.0)
    areas = [shapely.Polygon(ring) for ring in rings if len(ring) > 24]
    land = shapely.MultiPolygon(
        [shapely.Polygon(evenly_spaced(np.array(a.exterior.coords), 75.0)) for a in areas]
    )
    return Ground(tile.astype(np.int16), work, land, tuple(rivers), tuple(lakes))


def tile_zip(ground: Ground) -> bytes:
    """The tile as SRTM ``.hgt`` (3 arc seconds, big-endian), zipped with a fixed date."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        entry = zipfile.ZipInfo(f"{TILE}.hgt", (2026, 1, 1, 0, 0, 0))
        entry.compress_type = zipfile.ZIP_DEFLATED
        entry.external_attr = 0o644 << 16
        archive.writestr(entry, ground.tile_m.astype(">i2").tobytes())
    return packed.getvalue()
