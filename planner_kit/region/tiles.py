"""Terrain tiles as people have them, merged into one grid for a region."""

from __future__ import annotations

import lzma
import re
import struct
import zipfile
import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import rasterio
from rasterio.transform import from_origin
from rasterio.warp import Resampling, reproject, transform_bounds

from planner_kit.errors import PlanFileError
from planner_kit.region.terrain import VOID

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from numpy.typing import NDArray
    from tqdm import tqdm

_NAME = re.compile(r"([NS])(\d{2})([EW])(\d{3})", re.IGNORECASE)
_SIDES = {1201: "3 arc seconds", 3601: "1 arc second"}
_FINEST_DEG = 0.3 / 3600  # about 10 m; a finer grid tells a caravan nothing more
_MOST_CELLS = 200_000_000
_GRID_SUFFIXES = {".tif", ".tiff"}


@dataclass(frozen=True)
class Tile:
    """A tile that has been recognised but not read.

    Attributes
    ----------
    path : Path
        Where it lies.
    kind : str
        ``hgt``, ``zip`` (of one hgt) or ``grid`` (GeoTIFF).
    bounds : tuple of float
        West, south, east, north of the cells' outer edges. [deg]
    step_lon_deg, step_lat_deg : float
        Distance between the centres of its cells. [deg]
    whole_numbers : bool
        Heights are whole metres.
    """

    path: Path
    kind: str
    bounds: tuple[float, float, float, float]
    step_lon_deg: float
    step_lat_deg: float
    whole_numbers: bool


def _hgt_corner(name: str, where: Path) -> tuple[int, int]:
    found = _NAME.search(name)
    if found is None:
        raise PlanFileError(
            f"the name '{name}' does not say which degree it covers",
            str(where),
            "name an hgt tile by its south-west corner, such as N47E009.hgt",
        )
    north, lat, east, lon = found.groups()
    lat_deg = int(lat) if north.upper() == "N" else -int(lat)
    lon_deg = int(lon) if east.upper() == "E" else -int(lon)
    if not (-90 <= lat_deg <= 89 and -180 <= lon_deg <= 179):
        raise PlanFileError(
            f"the name '{name}' gives a corner that is not on the globe",
            str(where),
            "name an hgt tile by its south-west corner, such as N47E009.hgt",
        )
    return lat_deg, lon_deg


def _hgt_tile(path: Path, kind: str, name: str, size_bytes: int) -> Tile:
    lat, lon = _hgt_corner(name, path)
    side = round((size_bytes / 2) ** 0.5)
    if side not in _SIDES or side * side * 2 != size_bytes:
        raise PlanFileError(
            f"an hgt tile has 2,884,802 bytes (3 arc seconds) or 25,934,402 bytes (1 arc second),"
            f" and this one has {size_bytes:,}",
            str(path),
            "get the tile again",
        )
    step = 1.0 / (side - 1)
    half = step / 2
    return Tile(
        path, kind, (lon - half, lat - half, lon + 1 + half, lat + 1 + half), step, step, True
    )


# What the reader of zip files raises on damaged, encrypted or foreign ones.
_ZIP_FAULTS = (
    zipfile.BadZipFile, zlib.error, lzma.LZMAError, struct.error, OSError, EOFError, ValueError,
    RuntimeError, IndexError,
)  # fmt: skip


def _zip_member(path: Path) -> zipfile.ZipInfo:
    try:
        with zipfile.ZipFile(path) as archive:
            members = [m for m in archive.infolist() if m.filename.lower().endswith(".hgt")]
    except _ZIP_FAULTS as error:
        raise PlanFileError(
            "it is not a whole zip file", str(path), "get the tile again"
        ) from error
    if len(members) != 1:
        raise PlanFileError(
            f"it holds {len(members)} hgt tiles, not one", str(path), "unzip it and give the tiles"
        )
    return members[0]


def find_tile(path: Path) -> Tile:
    """What a terrain file covers, without reading its heights.

    Parameters
    ----------
    path : Path
        An SRTM ``.hgt`` tile, a zip with one in it, or a GeoTIFF in any reference system.

    Raises
    ------
    PlanFileError
        If the file is missing, has the wrong size or name, or is of another kind.
    """
    if not path.is_file():
        raise PlanFileError("there is no such file", str(path), "check the name of the tile")
    suffix = path.suffix.lower()
    if suffix == ".hgt":
        return _hgt_tile(path, "hgt", path.name, path.stat().st_size)
    if suffix == ".zip":
        member = _zip_member(path)
        return _hgt_tile(path, "zip", member.filename.rsplit("/", 1)[-1], member.file_size)
    if suffix in _GRID_SUFFIXES:
        return _grid_tile(path)
    raise PlanFileError(
        f"'{suffix}' is not a kind of terrain file that is read",
        str(path),
        "give .hgt, .hgt.zip or .tif files",
    )


def _grid_tile(path: Path) -> Tile:
    try:
        with rasterio.open(path) as source:
            if source.crs is None:
                raise PlanFileError(
                    "it does not say which reference system it is in",
                    str(path),
                    "set one with gdal_edit -a_srs",
                )
            bounds = transform_bounds(source.crs, "EPSG:4326", *source.bounds)
            whole = np.issubdtype(np.dtype(source.dtypes[0]), np.integer)
            step_lon = (bounds[2] - bounds[0]) / source.width
            step_lat = (bounds[3] - bounds[1]) / source.height
            return Tile(path, "grid", bounds, step_lon, step_lat, bool(whole))
    except rasterio.errors.RasterioError as error:
        raise PlanFileError(
            "it cannot be read as a GeoTIFF", str(path), "get the tile again"
        ) from error


def _hgt_heights(tile: Tile) -> NDArray[np.int16]:
    side = round(1 / tile.step_lat_deg) + 1
    if tile.kind == "zip":
        data = _unzipped(tile.path, 2 * side * side)
    else:
        data = tile.path.read_bytes()
    if len(data) != 2 * side * side:
        raise PlanFileError("the tile in it is cut short", str(tile.path), "get the tile again")
    return np.frombuffer(data, dtype=">i2").astype(np.int16).reshape(side, side)


def _unzipped(path: Path, size_bytes: int) -> bytes:
    """The one tile in a zip; no more than `size_bytes` is unpacked, whatever the zip says."""
    try:
        with zipfile.ZipFile(path) as archive, archive.open(_zip_member(path)) as member:
            return member.read(size_bytes)
    except _ZIP_FAULTS as error:
        raise PlanFileError("the tile in it is damaged", str(path), "get the tile again") from error


def merge_tiles(
    tiles: Sequence[Tile],
    bounds: tuple[float, float, float, float],
    path: Path,
    *,
    bar: tqdm[Any] | None = None,
) -> float:
    """Write one GeoTIFF that covers the part of `bounds` for which there are tiles.

    Parameters
    ----------
    tiles : sequence of Tile
        Where two overlap the first that knows a height gives it.
    bounds : tuple of float
        West, south, east, north of what is wanted. [deg]
    path : Path
        The GeoTIFF to write: EPSG:4326, void cells -32768.
    bar : tqdm, optional
        Advanced by one for each tile.

    Returns
    -------
    covered_frac : float
        Share of the cells of the grid with a height.

    Raises
    ------
    PlanFileError
        If no tile touches the bounds, or one is damaged.

    Notes
    -----
    The grid is that of the finest tile, or every second, third ... of its cells where all would be
    closer than 10 m or too many to hold. One tile is in memory at a time beside the grid.
    """
    touching = [t for t in tiles if _overlap(t.bounds, bounds) is not None]
    if not touching:
        west, south, east, north = bounds
        raise PlanFileError(
            f"none of the terrain given covers any of {south:.2f} to {north:.2f} N,"
            f" {west:.2f} to {east:.2f} E",
            ", ".join(str(t.path) for t in tiles),
            "give the tiles for the extract, or none",
        )
    finest = min(touching, key=lambda t: t.step_lat_deg)
    pieces = [p for t in touching if (p := _overlap(t.bounds, bounds)) is not None]
    dx, dy = _steps(finest, pieces)
    # Edges snapped to the cells of the finest tile, so that its heights are copied as they are.
    x0, y1 = finest.bounds[0], finest.bounds[3]
    left = x0 + np.floor((min(p[0] for p in pieces) - x0) / dx + 1e-6) * dx
    top = y1 - np.floor((y1 - max(p[3] for p in pieces)) / dy + 1e-6) * dy
    columns = int(np.ceil((max(p[2] for p in pieces) - left) / dx - 1e-6))
    rows = int(np.ceil((top - min(p[1] for p in pieces)) / dy - 1e-6))
    whole = all(t.whole_numbers and abs(t.step_lat_deg - dy) < 1e-12 for t in touching)
    grid = np.full((rows, columns), VOID, dtype=np.int16 if whole else np.float32)
    for tile in touching:
        _lay(tile, grid, (left, top, dx, dy))
        if bar is not None:
            bar.update()
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        width=columns,
        height=rows,
        count=1,
        dtype=grid.dtype,
        crs="EPSG:4326",
        transform=from_origin(left, top, dx, dy),
        nodata=VOID,
        tiled=True,
        compress="deflate",
        predictor=2 if whole else 3,
    ) as out:
        out.write(grid, 1)
    return float((grid != VOID).mean())


def _steps(
    finest: Tile, pieces: Sequence[tuple[float, float, float, float]]
) -> tuple[float, float]:
    """Degrees between the cells of a grid over the pieces, east and north."""
    dx, dy = finest.step_lon_deg, finest.step_lat_deg
    wide = max(p[2] for p in pieces) - min(p[0] for p in pieces)
    high = max(p[3] for p in pieces) - min(p[1] for p in pieces)
    too_fine = _FINEST_DEG / min(dx, dy)
    too_many = (wide / dx * high / dy / _MOST_CELLS) ** 0.5
    every = max(1, int(np.ceil(max(too_fine, too_many) - 1e-6)))
    return dx * every, dy * every


def _overlap(
    a: tuple[float, float, float, float], b: tuple[float, float, float, float]
) -> tuple[float, float, float, float] | None:
    west, south, east, north = max(a[0], b[0]), max(a[1], b[1]), min(a[2], b[2]), min(a[3], b[3])
    return (west, south, east, north) if west < east and south < north else None


def _lay(tile: Tile, grid: NDArray[Any], frame: tuple[float, float, float, float]) -> None:
    """Fill the cells of `grid` that are still void from one tile."""
    left, top, dx, dy = frame
    rows, columns = grid.shape
    c0 = max(int(np.floor((tile.bounds[0] - left) / dx + 1e-6)), 0)
    c1 = min(int(np.ceil((tile.bounds[2] - left) / dx - 1e-6)), columns)
    r0 = max(int(np.floor((top - tile.bounds[3]) / dy + 1e-6)), 0)
    r1 = min(int(np.ceil((top - tile.bounds[1]) / dy - 1e-6)), rows)
    if c0 >= c1 or r0 >= r1:
        return
    window = grid[r0:r1, c0:c1]
    target = np.full(window.shape, VOID, dtype=grid.dtype)
    shift_x = (left + c0 * dx - tile.bounds[0]) / dx
    shift_y = (tile.bounds[3] - (top - r0 * dy)) / dy
    aligned = abs(shift_x - round(shift_x)) < 1e-3 and abs(shift_y - round(shift_y)) < 1e-3
    same = tile.kind != "grid" and abs(tile.step_lat_deg - dy) < 1e-12 and aligned
    if same:
        heights = _hgt_heights(tile)
        first_row, first_column = round(shift_y), round(shift_x)
        part = heights[
            first_row : first_row + window.shape[0], first_column : first_column + window.shape[1]
        ]
        target[: part.shape[0], : part.shape[1]] = part
    else:
        _warp(tile, target, from_origin(left + c0 * dx, top - r0 * dy, dx, dy))
    if target.dtype.kind == "f":
        target[np.isnan(target)] = VOID
    empty = window == VOID
    window[empty] = target[empty]


def _warp(tile: Tile, target: NDArray[Any], transform: rasterio.Affine) -> None:
    if tile.kind != "grid":
        source: Any = _hgt_heights(tile)
        step = tile.step_lat_deg
        reproject(
            source,
            target,
            src_transform=from_origin(tile.bounds[0], tile.bounds[3], step, step),
            src_crs="EPSG:4326",
            src_nodata=VOID,
            dst_transform=transform,
            dst_crs="EPSG:4326",
            dst_nodata=VOID,
            resampling=Resampling.bilinear,
        )
        return
    try:
        with rasterio.open(tile.path) as opened:
            reproject(
                rasterio.band(opened, 1),
                target,
                src_nodata=VOID if opened.nodata is None else opened.nodata,
                dst_transform=transform,
                dst_crs="EPSG:4326",
                dst_nodata=VOID,
                resampling=Resampling.bilinear,
            )
    except rasterio.errors.RasterioError as error:
        raise PlanFileError(
            "its heights cannot be read", str(tile.path), "get the tile again"
        ) from error
