"""A region folder, opened: roads, places, areas and terrain, each loaded when first asked for."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
from pyarrow.lib import ArrowException

from planner_kit.errors import PlanFileError
from planner_kit.files import settle
from planner_kit.region.columns import TABLES
from planner_kit.region.projection import local_crs
from planner_kit.region.terrain import Terrain, open_terrain
from planner_kit.region.zone import zone_near

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pyproj import CRS

# Raised whenever a table gains, loses or changes a column.
FORMAT = 3
MANIFEST = "manifest.json"
TERRAIN = "terrain.tif"
_KINDS: dict[str, Callable[[Any], bool]] = {
    "category": lambda d: isinstance(d, pd.CategoricalDtype),
    "str": lambda d: pd.api.types.is_string_dtype(d),
    "boolean": lambda d: isinstance(d, pd.BooleanDtype),
    "list": pd.api.types.is_object_dtype,
}
_GEOMETRIES = {"LineString", "Polygon", "Point"}


@dataclass(frozen=True, eq=False)
class Region:
    """A region folder; tables are read on first use and kept.

    Attributes
    ----------
    folder : Path
        Where it lies. Other parts of the kit may keep files of their own in it.
    manifest : dict
        What it was built from: name, sources with hashes, date of the data, bounds, licence and
        attribution, counts, and counts of values that could not be read.
    """

    folder: Path
    manifest: dict[str, Any]

    @property
    def name(self) -> str:
        """What people call the region."""
        return str(self.manifest["name"])

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """West, south, east and north edge, in degrees."""
        west, south, east, north = self.manifest["bounds"]
        return west, south, east, north

    @property
    def country(self) -> str:
        """ISO 3166-1 alpha-2 code of most of its roads, or ``unknown``."""
        return str(self.manifest["country"])

    @property
    def countries(self) -> tuple[str, ...]:
        """Codes of all countries its roads lie in, most roads first; ``unknown`` if none is known.

        Roads whose country is not known, such as those cut at a border, do not count beside others.
        """
        counts = dict(self.manifest["countries"])
        known = sorted((code for code in counts if code != "unknown"), key=lambda c: -counts[c])
        return tuple(known) or ("unknown",)

    @property
    def time_zone(self) -> str | None:
        """IANA name of the time zone: as told, or of its country; None if neither is known."""
        zone = self.manifest["time_zone"]
        if zone is not None:
            return str(zone)
        west, south, east, north = self.bounds
        return zone_near((south + north) / 2, (west + east) / 2, self.country)

    @property
    def attribution(self) -> tuple[str, ...]:
        """Lines that every map and print of the region shows."""
        return tuple(self.manifest["attribution"])

    @property
    def invented(self) -> bool:
        """The region does not exist."""
        return bool(self.manifest["invented"])

    @cached_property
    def crs(self) -> CRS:
        """A projected system in metres, centred on the region."""
        return local_crs(self.bounds)

    @cached_property
    def roads(self) -> gpd.GeoDataFrame:
        """Stretches of road between junctions; `columns.ROADS`."""
        return read_region_table(self.folder, "roads")

    @cached_property
    def nodes(self) -> pd.DataFrame:
        """Junctions, ends and barriers; `columns.NODES`."""
        frame: pd.DataFrame = read_region_table(self.folder, "nodes")
        return frame

    @cached_property
    def restrictions(self) -> pd.DataFrame:
        """Turn restrictions; `columns.RESTRICTIONS`."""
        frame: pd.DataFrame = read_region_table(self.folder, "restrictions")
        return frame

    @cached_property
    def signposts(self) -> pd.DataFrame:
        """What is written at junctions, and for whom; `columns.SIGNPOSTS`."""
        frame: pd.DataFrame = read_region_table(self.folder, "signposts")
        return frame

    @cached_property
    def places(self) -> gpd.GeoDataFrame:
        """Places to go to or look for; `columns.PLACES`."""
        return read_region_table(self.folder, "places")

    @cached_property
    def areas(self) -> gpd.GeoDataFrame:
        """Water, woods, built-up and other areas; `columns.AREAS`."""
        return read_region_table(self.folder, "areas")

    @cached_property
    def lines(self) -> gpd.GeoDataFrame:
        """Coast, rivers, railways and borders; `columns.LINES`."""
        return read_region_table(self.folder, "lines")

    @cached_property
    def terrain(self) -> Terrain | None:
        """Heights above sea level, None where the region has no terrain."""
        path = self.folder / TERRAIN
        return open_terrain(path) if self.manifest["terrain"]["known"] else None


def open_region(folder: Path) -> Region:
    """A region that was built before.

    Parameters
    ----------
    folder : Path
        The region folder.

    Returns
    -------
    region : Region
        Its manifest has been read; its tables have not.

    Raises
    ------
    PlanFileError
        If the folder is missing, is no region, was built by another edition of the kit, or a
        file in it is missing or cut short.
    """
    path = folder / MANIFEST
    if not folder.is_dir():
        settle(folder)  # a build killed at the wrong moment has set the older region aside
    if not folder.is_dir():
        raise PlanFileError("there is no such folder", str(folder), "build the region first")
    if not path.is_file():
        raise PlanFileError(
            f"it is not a region folder ({MANIFEST} is missing)", str(folder), "build the region"
        )
    manifest = read_manifest(path)
    for name, size in manifest["files"].items():
        part = folder / name
        if not part.is_file():
            raise PlanFileError("it is missing", str(part), "build the region again")
        if part.stat().st_size != size:
            raise PlanFileError(
                f"it has {part.stat().st_size} bytes and not the {size} that were written",
                str(part),
                "build the region again",
            )
    return Region(folder, manifest)


def read_manifest(path: Path) -> dict[str, Any]:
    """The manifest of a region folder, checked for its edition.

    Raises
    ------
    PlanFileError
        If it is damaged or of another edition.
    """
    try:
        manifest = json.loads(path.read_text(encoding="utf-8"))
        edition = manifest["format"]
    except (OSError, UnicodeDecodeError, ValueError, KeyError, TypeError) as error:
        raise PlanFileError("it is damaged", str(path), "build the region again") from error
    if edition != FORMAT:
        raise PlanFileError(
            f"the region was built in format {edition!r} and this kit reads format {FORMAT}",
            str(path),
            "build the region again",
        )
    missing = {"name", "bounds", "country", "time_zone", "attribution", "invented"} | {
        "terrain",
        "files",
        "inputs",
    }
    if absent := sorted(missing - manifest.keys()):
        raise PlanFileError(f"{', '.join(absent)} is missing", str(path), "build the region again")
    return dict(manifest)


def read_region_table(folder: Path, name: str) -> Any:
    """A table of a region folder, checked against its contract.

    Raises
    ------
    PlanFileError
        If it is missing, damaged or not as its contract says.
    """
    path = folder / f"{name}.parquet"
    spatial = any(c.name == "geometry" for c in TABLES[name])
    try:
        frame = gpd.read_parquet(path) if spatial else pd.read_parquet(path)
    except (OSError, ArrowException, ValueError, KeyError) as error:
        raise PlanFileError(
            "it is missing or damaged", str(path), "build the region again"
        ) from error
    if name == "restrictions":
        frame["via_roads"] = pd.Series(
            [[int(road) for road in roads] for roads in frame["via_roads"]],
            index=frame.index,
            dtype=object,
        )
    if frame.empty:
        # Parquet does not keep the kind of words that are not there.
        for column in TABLES[name]:
            if column.dtype == "category" and column.name in frame:
                frame[column.name] = pd.Categorical([], categories=pd.Index([], dtype="str"))
            elif column.dtype == "str" and column.name in frame:
                frame[column.name] = frame[column.name].astype("str")
    validate_table(frame, name, where=str(path))
    return frame


def validate_table(frame: pd.DataFrame, name: str, *, where: str | None = None) -> None:
    """Check a table against its contract in `columns.TABLES`.

    Parameters
    ----------
    frame : DataFrame
        The table.
    name : str
        Its name, one of `columns.TABLES`.
    where : str, optional
        What to call it in the error.

    Raises
    ------
    PlanFileError
        With all faults found: columns missing, of another type, or empty where they may not be.
    """
    faults = []
    for column in TABLES[name]:
        if column.name not in frame:
            faults.append(f"column {column.name} is missing")
            continue
        values = frame[column.name]
        if column.dtype in _GEOMETRIES:
            right = values.dtype == "geometry"
        elif column.dtype in _KINDS:
            right = bool(_KINDS[column.dtype](values.dtype))
        else:
            right = values.dtype == np.dtype(column.dtype)
        if not right:
            faults.append(f"column {column.name} is {values.dtype} and not {column.dtype}")
        elif not column.may_be_missing and values.isna().any():
            faults.append(f"column {column.name} has {int(values.isna().sum())} empty cells")
    if faults:
        raise PlanFileError("; ".join(faults), where or f"table {name}", "build the region again")
