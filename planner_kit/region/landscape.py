"""Areas and lines for drawing and for ground cover, and where the sea is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from planner_kit.region.projection import local_crs

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from shapely.geometry.base import BaseGeometry

    from planner_kit.region.extract import Extract

Bounds = tuple[float, float, float, float]


def _frame(columns: dict[str, Any], geometry: Any) -> gpd.GeoDataFrame:
    return gpd.GeoDataFrame(columns, geometry=geometry, crs="EPSG:4326")


def _geometries(wkb: list[bytes]) -> NDArray[Any]:
    return np.asarray(shapely.from_wkb(np.array(wkb, dtype=object)), dtype=object)


def sea_and_land(
    coast: NDArray[Any], bounds: Bounds
) -> tuple[BaseGeometry | None, list[BaseGeometry]]:
    """The sea within `bounds` and the islands in it, from coastline ways.

    Parameters
    ----------
    coast : ndarray of LineString
        Coastline, with land on its left as OpenStreetMap has it.
    bounds : tuple of float
        West, south, east, north. [deg]

    Returns
    -------
    sea : Polygon, MultiPolygon or None
        None where there is no coast, or where a coastline is cut off by the edge of the extract,
        so that the sea is not known.
    land : list of Polygon
        Islands; empty when the sea is not known.
    """
    if not len(coast):
        return None, []
    merged = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(coast), directed=True))
    if not shapely.is_closed(merged).all():
        return None, []
    rings = np.array([shapely.LinearRing(line) for line in merged if len(line.coords) > 3])
    polygons = shapely.make_valid(shapely.polygons(rings))
    islands = polygons[shapely.is_ccw(rings)]
    inner_seas = polygons[~shapely.is_ccw(rings)]
    if not len(islands):
        return None, []
    land = shapely.union_all(islands)
    if len(inner_seas):
        land = shapely.difference(land, shapely.union_all(inner_seas))
    sea = shapely.difference(shapely.box(*bounds), land)
    parts = [p for p in shapely.get_parts(land) if p.geom_type == "Polygon"]
    return (None, parts) if sea.is_empty else (sea, parts)


def area_frame(extract: Extract, bounds: Bounds) -> tuple[gpd.GeoDataFrame, bool]:
    """The areas table, and whether the sea is known (or there is no coast)."""
    areas = extract.areas
    frame = _frame(
        {name: areas[name] for name in ("kind", "name", "tags")}, _geometries(areas["wkb"])
    )
    coast = np.array([kind == "coast" for kind in extract.lines["kind"]], dtype=bool)
    lines = _geometries(extract.lines["wkb"])[coast] if coast.any() else np.zeros(0, dtype=object)
    sea, land = sea_and_land(lines, bounds)
    extra = [("land", part) for part in land] + ([("sea", sea)] if sea is not None else [])
    if extra:
        more = _frame(
            {"kind": [k for k, _ in extra], "name": "", "tags": "{}"}, [g for _, g in extra]
        )
        frame = pd.concat([more, frame], ignore_index=True)
    return frame, not coast.any() or sea is not None


def line_frame(extract: Extract) -> gpd.GeoDataFrame:
    """The lines table."""
    lines = extract.lines
    return _frame({"kind": lines["kind"], "name": lines["name"]}, _geometries(lines["wkb"]))


def place_frame(extract: Extract, bounds: Bounds) -> gpd.GeoDataFrame:
    """The places table: a mapped outline gives a point inside it, and its area."""
    places = extract.places
    outline = _geometries(places["wkb"])
    flat = np.isin(shapely.get_type_id(outline), [3, 6])
    area = np.full(len(outline), np.nan)
    if flat.any():
        series = gpd.GeoSeries(outline[flat], crs="EPSG:4326")
        area[flat] = series.to_crs(local_crs(bounds, equal_area=True)).area.to_numpy()
    point = outline.copy()
    point[flat] = shapely.point_on_surface(outline[flat])
    names = ("place_id", "kind", "name")
    return _frame(
        {
            **{name: places[name] for name in names},
            "lat": shapely.get_y(point),
            "lon": shapely.get_x(point),
            "opening_hours": places["opening_hours"],
            "tags": places["tags"],
            "area_m2": area,
        },
        point,
    )


def within_any(points: NDArray[Any], polygons: NDArray[Any]) -> NDArray[np.bool_]:
    """Whether each point lies in any of the polygons."""
    inside = np.zeros(len(points), dtype=bool)
    if len(polygons) and len(points):
        shapely.prepare(polygons)
        hit, _ = shapely.STRtree(polygons).query(points, predicate="intersects")
        inside[hit] = True
    return inside


def country_of(
    points: NDArray[Any],
    countries: list[tuple[str, Any]],
    named: list[str],
    given: str | None,
) -> NDArray[Any]:
    """The country of each point.

    Parameters
    ----------
    points : ndarray of Point
        Where.
    countries : list of (str, geometry)
        ISO 3166-1 alpha-2 codes and outlines that the extract has whole.
    named : list of str
        Countries whose border relation is in the extract, whole or not.
    given : str or None
        What the person said; used where the outlines do not tell.

    Returns
    -------
    country : ndarray of str
        ``unknown`` where nothing tells.
    """
    rest = given or (named[0] if len(named) == 1 and not countries else "unknown")
    out = np.full(len(points), rest, dtype=object)
    for code, outline in countries:
        out[within_any(points, np.array([outline], dtype=object))] = code
    return out
