"""What a region says of itself: what it was built from, its licence and its counts."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from zoneinfo import available_timezones

from planner_kit.errors import PlanFileError, nearest_name
from planner_kit.region.columns import TABLES
from planner_kit.region.region import FORMAT

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    import geopandas as gpd
    import pandas as pd

    from planner_kit.region.tiles import Tile

LICENCE = "Open Database Licence 1.0 (ODbL)"
OSM_ATTRIBUTION = "© OpenStreetMap contributors"
TERRAIN_ATTRIBUTION = "Terrain: SRTM, NASA/USGS, public domain"
_ABOUT_KEYS = {
    "name": str,
    "country": str,
    "time_zone": str,
    "invented": bool,
    "attribution": str,
    "driving_side": str,
}


@dataclass(frozen=True)
class Tables:
    """The tables of a region before they are written."""

    roads: gpd.GeoDataFrame
    nodes: pd.DataFrame
    restrictions: pd.DataFrame
    signposts: pd.DataFrame
    places: gpd.GeoDataFrame
    areas: gpd.GeoDataFrame
    lines: gpd.GeoDataFrame


def read_about(path: Path) -> dict[str, Any]:
    """What a ``region.toml`` beside an extract says; empty if there is none.

    Raises
    ------
    PlanFileError
        If it is no TOML, or has a key that is not known or a value of the wrong kind.
    """
    if not path.is_file():
        return {}
    try:
        about = tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise PlanFileError(f"it is not TOML ({error})", str(path), "mend the line") from error
    for key, value in about.items():
        if key not in _ABOUT_KEYS:
            raise PlanFileError(
                f"the key '{key}' is not known", str(path), nearest_name(key, _ABOUT_KEYS)
            )
        if not isinstance(value, _ABOUT_KEYS[key]):
            kind = "text in quotes" if _ABOUT_KEYS[key] is str else "true or false"
            raise PlanFileError(f"{key} is {value!r}", str(path), f"write {kind}")
    if about.get("time_zone", "UTC") not in available_timezones():
        raise PlanFileError(
            f"the time zone {about['time_zone']!r} is not known",
            str(path),
            nearest_name(about["time_zone"], available_timezones()),
        )
    if about.get("driving_side", "left") not in {"left", "right"}:
        raise PlanFileError(
            f"driving_side is {about['driving_side']!r}", str(path), 'write "left" or "right"'
        )
    return about


def check_country(country: str | None, extract: Path) -> None:
    """Refuse a country that is not written as an ISO 3166-1 alpha-2 code."""
    if country is not None and not (len(country) == 2 and country.isalpha() and country.isupper()):
        raise PlanFileError(
            f"the country {country!r} is not a code of two capital letters",
            str(extract),
            "give an ISO 3166-1 code such as GB",
        )


def _terrain_attribution(tiles: Sequence[Tile]) -> list[str]:
    """SRTM for hgt tiles; of a GeoTIFF only the file is known, not whose it is."""
    lines = [TERRAIN_ATTRIBUTION] if any(tile.kind != "grid" for tile in tiles) else []
    names = [tile.path.name for tile in tiles if tile.kind == "grid"]
    return lines + ([f"Terrain: {', '.join(names)}"] if names else [])


def manifest_of(
    inputs: dict[str, Any],
    facts: dict[str, Any],
    tables: Tables,
    tiles: Sequence[Tile],
) -> dict[str, Any]:
    """The manifest of a region, without the list of its files."""
    about, roads = inputs["about"], tables.roads
    invented = bool(about.get("invented", False))
    told = [about["attribution"]] if about.get("attribution") else []
    attribution = told if invented and told else [OSM_ATTRIBUTION, *told]
    if not invented:
        attribution += _terrain_attribution(tiles)
    counted = roads["country"].value_counts()
    sources = roads["gradient_source"].value_counts()
    return {
        "format": FORMAT,
        "name": about["name"],
        "country": str(counted.index[0]) if len(counted) else "unknown",
        "countries": {str(k): int(v) for k, v in counted.items() if v},
        "time_zone": about.get("time_zone"),
        "driving_side": about.get("driving_side"),
        "invented": invented,
        "licence": "invented for the demo" if invented else LICENCE,
        "attribution": attribution,
        **facts,
        "terrain": {
            "known": bool(tiles),
            # Share of the junctions whose height is known.
            "covered_frac": float(tables.nodes["height_m"].notna().mean()),
            "note": "from the tiles given"
            if tiles
            else "no terrain was given: heights and gradients are unknown",
        },
        "counts": {name: len(getattr(tables, name)) for name in TABLES},
        "road_km": float(roads["length_m"].sum() / 1000),
        "gradient_source": {str(k): int(v) for k, v in sources.items()},
        "width_source": {str(k): int(v) for k, v in roads["width_source"].value_counts().items()},
        "inputs": inputs,
    }
