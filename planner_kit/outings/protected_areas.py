"""National parks, reserves and heritage areas as the ground they cover, not as a point."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner_kit.region import Region

# OpenStreetMap wiki, "Key:protect_class": 22 is protected cultural assets.
_HERITAGE_CLASSES = frozenset(("22",))
AREA_COLUMNS = (
    "name", "kind", "lat", "lon", "inside", "opening_hours", "dogs", "wheelchair", "fee",
)  # fmt: skip


def kind_of_area(tags: Mapping[str, str]) -> str:
    """The kind of a protected area: ``national_park``, ``heritage_area`` or ``nature_reserve``."""
    if tags.get("boundary") == "national_park":
        return "national_park"
    if tags.get("protect_class") in _HERITAGE_CLASSES or tags.get("heritage", "no") != "no":
        return "heritage_area"
    return "nature_reserve"


def protected_areas(
    region: Region, near: tuple[float, float], reach_km: float
) -> tuple[pd.DataFrame, np.ndarray]:
    """The named protected areas within reach of a pitch.

    Parameters
    ----------
    region : Region
        Its `areas` of the kind ``protected``.
    near : (lat, lon)
        The pitch. [deg]
    reach_km : float
        From the pitch to the edge, in a straight line. [km]

    Returns
    -------
    areas : DataFrame
        The columns of `AREA_COLUMNS`: position is the point of the area that is nearest to the
        pitch, or the pitch where it lies inside; fee is the map's tag.
    outlines : ndarray of geometry
        EPSG:4326, aligned.
    """
    table = getattr(region, "areas", None)
    if table is None or not len(table):
        return pd.DataFrame(columns=list(AREA_COLUMNS)), np.zeros(0, dtype=object)
    chosen = table[(table["kind"].astype("str") == "protected") & (table["name"] != "")]
    pitch = shapely.Point(near[1], near[0])
    rows, outlines, seen = [], [], set()
    for name, text, outline in zip(chosen["name"], chosen["tags"], chosen.geometry, strict=True):
        away_deg = shapely.distance(outline, pitch)
        if away_deg * 111.2 > 2 * reach_km:  # far, even where a degree of longitude is short
            continue
        edge = shapely.get_coordinates(shapely.shortest_line(outline, pitch))[0]
        if _away_km((edge[1], edge[0]), near) > reach_km or (name, outline.wkb) in seen:
            continue
        seen.add((name, outline.wkb))
        tags = json.loads(text) if text else {}
        rows.append(
            {
                "name": str(name),
                "kind": kind_of_area(tags),
                "lat": float(edge[1]),
                "lon": float(edge[0]),
                "inside": bool(away_deg == 0),
                "opening_hours": tags.get("opening_hours", ""),
                "dogs": tags.get("dog", ""),
                "wheelchair": tags.get("wheelchair", ""),
                "fee": tags.get("fee", ""),
            }
        )
        outlines.append(outline)
    return pd.DataFrame(rows, columns=list(AREA_COLUMNS)), np.array(outlines, dtype=object)


def _away_km(point: tuple[float, float], near: tuple[float, float]) -> float:
    """Straight-line distance, near enough to leave out what is far."""
    north = (point[0] - near[0]) * 111.2
    east = (point[1] - near[1]) * 111.2 * np.cos(np.radians(near[0]))
    return float(np.hypot(north, east))


def areas_around(
    areas: pd.DataFrame, outlines: np.ndarray, lat: np.ndarray, lon: np.ndarray
) -> np.ndarray:
    """The names of the areas that each point lies in.

    Parameters
    ----------
    areas, outlines
        From `protected_areas`.
    lat, lon : ndarray, shape (n,)
        NaN for a point that is not known. [deg]

    Returns
    -------
    names : ndarray of str, shape (n,)
        Joined by commas; empty for none.
    """
    found: list[list[str]] = [[] for _ in range(len(lat))]
    known = np.flatnonzero(np.isfinite(lat) & np.isfinite(lon))
    if len(outlines) and len(known):
        tree = shapely.STRtree(outlines)
        points = shapely.points(lon[known], lat[known])
        for point, area in tree.query(points, predicate="within").T:
            found[known[point]].append(str(areas["name"].iloc[area]))
    return np.array([", ".join(dict.fromkeys(names)) for names in found], dtype=object)
