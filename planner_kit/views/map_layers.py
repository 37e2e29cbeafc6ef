"""What a map of a region draws for the part in view: never the whole road table.

Roads are filtered by class for the zoom, cut to the view, thinned to less than a pixel and joined
into one shape for each way of drawing, so that what is sent depends on the screen and not on the
size of the region.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely.geometry import box, mapping

from planner_kit.region import GROUP_OF
from planner_kit.states import State
from planner_kit.views.look import PALETTE

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import geopandas as gpd
    import pandas as pd

Bounds = tuple[float, float, float, float]  # west, south, east, north [deg]

# From which zoom a class of road is drawn; a class that is not named is drawn from 15 on.
_FROM_ZOOM = {
    "motorway": 0, "trunk": 0, "ferry": 0, "primary": 7, "motorway_link": 9, "trunk_link": 9,
    "secondary": 9, "primary_link": 11, "secondary_link": 12, "tertiary": 11, "tertiary_link": 13,
    "unclassified": 12, "residential": 13, "living_street": 14, "cycleway": 13,
}  # fmt: skip
_WIDE = {"motorway": 5, "trunk": 4.5, "primary": 4, "secondary": 3.2, "tertiary": 2.6}

# Shape for each group of places, so that no group is told by its colour alone.
GROUP_LOOK = {
    "stay": ("house", "vermilion"),
    "fuel": ("square", "ink"),
    "rest": ("diamond", "blue"),
    "sight": ("star", "purple"),
    "play": ("triangle", "purple"),
    "water": ("drop", "sky"),
    "ride": ("triangle", "green"),
    "shop": ("square", "orange"),
    "eat": ("diamond", "orange"),
    "health": ("cross", "vermilion"),
    "service": ("square", "grey"),
    "mast": ("mast", "ink"),
    "travel": ("diamond", "grey"),
    "settlement": ("ring", "ink"),
}
MOST_PLACES = 400

# How a state is drawn: colour, width factor, dash. The graver lies above.
STATE_LINES = {
    State.FINE: (State.FINE.colour, 1.0, ""),
    State.UNKNOWN: (State.UNKNOWN.colour, 0.9, "1 6"),
    State.LOOK: (State.LOOK.colour, 1.2, "9 5"),
    State.NOT_FINE: (State.NOT_FINE.colour, 1.5, "2 5"),
}
_FAR_ZOOM = 11
_PLAIN_LINE = ("#8A8578", 0.9, "")


@dataclass(frozen=True)
class DrawnPlaces:
    """The places of a view: their shapes, and how many of how many are drawn."""

    shapes: dict[str, Any]
    shown: int
    in_view: int


@dataclass(frozen=True)
class DrawnRoads:
    """A region's roads made ready for drawing: what does not depend on the view is found once.

    Attributes
    ----------
    lines : ndarray of LineString, shape (n,)
    tree : STRtree
        Of the lines.
    from_zoom, width : ndarray, shape (n,)
        From which zoom each is drawn, and how wide. [px at zoom 16]
    word : ndarray of str, shape (n,)
        State word; empty where all are drawn alike.
    far : dict of int to list
        For each whole zoom up to `_FAR_ZOOM` that was asked for: the joined and thinned lines of
        each state and width, for the whole region.
    """

    lines: np.ndarray
    tree: shapely.STRtree
    from_zoom: np.ndarray
    width: np.ndarray
    word: np.ndarray
    far: dict[int, list[tuple[str, float, np.ndarray]]]


def drawn_roads(roads: gpd.GeoDataFrame, states: pd.Series | None) -> DrawnRoads:
    """The roads of a region made ready for `road_shapes`.

    Parameters
    ----------
    roads : GeoDataFrame
        The region's roads.
    states : Series of str, aligned with roads, or None
        How well each road suits the outfit, as a state word; without it all are drawn alike.
    """
    classes = roads["road_class"].astype(str)
    lines = roads.geometry.to_numpy()
    return DrawnRoads(
        lines,
        shapely.STRtree(lines),
        classes.map(_FROM_ZOOM).fillna(15).to_numpy(dtype=float),
        classes.map(_WIDE).fillna(2.0).to_numpy(dtype=float),
        np.full(len(roads), "") if states is None else states.astype(str).to_numpy(),
        {},
    )


def road_shapes(roads: DrawnRoads, bounds: Bounds, zoom: float) -> dict[str, Any]:
    """Roads in view as GeoJSON, one feature for each state and width.

    Parameters
    ----------
    roads : DrawnRoads
    bounds : tuple of float
        West, south, east, north of the view. [deg]
    zoom : float
        Web map zoom.

    Returns
    -------
    collection : dict
        GeoJSON feature collection whose properties hold ``style``.
    """
    if zoom <= _FAR_ZOOM:
        parts = [
            (word, width, lines[_meets(lines, bounds)])
            for word, width, lines in _far_lines(roads, int(zoom))
        ]
    else:
        rows = roads.tree.query(box(*bounds))
        rows = rows[roads.from_zoom[rows] <= zoom]
        parts = _joined(roads, rows, _pixel_deg(zoom), merged=False)
    features = []
    for word, width, some in parts:
        if not len(some):
            continue
        colour, factor, dash = STATE_LINES[State(word)] if word else _PLAIN_LINE
        style = {
            "color": colour,
            "weight": round(float(width * factor * _scale(zoom)), 1),
            "opacity": 0.9,
        }
        if dash:
            style["dashArray"] = dash
        features.append(_feature(shapely.multilinestrings(some), {"style": style}, zoom))
    return {"type": "FeatureCollection", "features": features}


def _meets(lines: np.ndarray, bounds: Bounds) -> np.ndarray:
    west, south, east, north = shapely.bounds(lines).T if len(lines) else np.empty((4, 0))
    return (west <= bounds[2]) & (east >= bounds[0]) & (south <= bounds[3]) & (north >= bounds[1])


def _far_lines(roads: DrawnRoads, zoom: int) -> list[tuple[str, float, np.ndarray]]:
    """The lines of the whole region as a far view shows them; found once for each zoom."""
    if zoom not in roads.far:
        rows = np.flatnonzero(roads.from_zoom <= zoom)
        roads.far[zoom] = _joined(roads, rows, _pixel_deg(zoom), merged=True)
    return roads.far[zoom]


def _joined(
    roads: DrawnRoads, rows: np.ndarray, pixel_deg: float, *, merged: bool
) -> list[tuple[str, float, np.ndarray]]:
    """The lines of some roads by state, the graver later, and width; thinned to a pixel."""
    found = []
    order = [state.value for state in STATE_LINES] if roads.word[:1].any() else [""]
    word, width = roads.word[rows], roads.width[rows]
    for one in order:
        for wide in np.unique(width):
            some = roads.lines[rows[(word == one) & (width == wide)]]
            if not len(some):
                continue
            if merged:
                some = shapely.get_parts(shapely.line_merge(shapely.multilinestrings(some)))
            found.append((one, float(wide), shapely.simplify(some, pixel_deg)))
    return found


def area_shapes(
    areas: gpd.GeoDataFrame, bounds: Bounds, zoom: float, *, ground: Bounds | None = None
) -> dict[str, Any]:
    """Water, woods and built-up land in view as GeoJSON, thinned to the zoom.

    With `ground`, the bounds of a region, it all lies on a sheet of that size: what is beyond is
    seen to be no part of the map.
    """
    fills = {
        "land": "#FBFAF6",
        "sea": "#DCE9F2",
        "forest": "#DDE8D8",
        "park": "#E7EEDF",
        "protected": "#EAF0E2",
        "built_up": "#E9E5DE",
        "sand": "#F3ECD2",
        "water": "#CFE1EE",
    }
    rows = areas.sindex.query(box(*bounds), predicate="intersects")
    shapes = areas.geometry.array[rows].to_numpy()
    kinds = areas["kind"].astype(str).to_numpy()[rows]
    features = []
    if ground is not None:
        style = {"color": fills["land"], "weight": 0, "fillColor": fills["land"], "fillOpacity": 1}
        features.append(_feature(box(*ground), {"style": style}, zoom))
    for kind, fill in fills.items():
        some = shapes[kinds == kind]
        if zoom >= 10 or kind in ("sea", "land", "water"):
            some = shapely.simplify(some, _pixel_deg(zoom))
            some = some[~shapely.is_empty(some)]
            if len(some):
                style = {"color": fill, "weight": 0, "fillColor": fill, "fillOpacity": 1}
                merged = shapely.multipolygons(shapely.get_parts(some))
                features.append(_feature(merged, {"style": style}, zoom))
    return {"type": "FeatureCollection", "features": features}


def river_shapes(lines: gpd.GeoDataFrame, bounds: Bounds, zoom: float) -> dict[str, Any]:
    """Rivers in view as GeoJSON, thinned to the zoom."""
    rows = lines.sindex.query(box(*bounds), predicate="intersects")
    rows = rows[(lines["kind"].astype(str) == "river").to_numpy()[rows]]
    if not len(rows) or zoom < 9:
        return {"type": "FeatureCollection", "features": []}
    some = shapely.simplify(lines.geometry.array[rows].to_numpy(), _pixel_deg(zoom))
    style = {"color": "#9CC3DD", "weight": 1.2, "opacity": 1}
    feature = _feature(shapely.multilinestrings(shapely.get_parts(some)), {"style": style}, zoom)
    return {"type": "FeatureCollection", "features": [feature]}


def place_shapes(
    places: gpd.GeoDataFrame, groups: Iterable[str], bounds: Bounds, zoom: float
) -> DrawnPlaces:
    """Places of some groups in view, each as a small shape of its group.

    Where several of a group would lie on each other, only the first is drawn.
    """
    wanted = set(groups)
    group = places["kind"].astype(str).map(GROUP_OF)
    west, south, east, north = bounds
    mask = (
        group.isin(wanted) & places["lon"].between(west, east) & places["lat"].between(south, north)
    ).to_numpy()
    rows = _apart(places, group.astype(str).to_numpy(), np.flatnonzero(mask), zoom)[:MOST_PLACES]
    features = []
    for name in GROUP_LOOK:
        mine = rows[(group.iloc[rows] == name).to_numpy()]
        if len(mine):
            shape, colour = GROUP_LOOK[name]
            drawn = _symbols(
                shape,
                places["lon"].to_numpy()[mine],
                places["lat"].to_numpy()[mine],
                7 * _pixel_deg(zoom) / 0.7,
            )
            style = {
                "color": "#FFFFFF",
                "weight": 1,
                "fillColor": PALETTE[colour],
                "fillOpacity": 1,
                "fillRule": "nonzero",
            }
            features.append(_feature(drawn, {"style": style, "group": name}, zoom + 2))
    collection = {"type": "FeatureCollection", "features": features}
    return DrawnPlaces(collection, len(rows), int(mask.sum()))


def _apart(
    places: gpd.GeoDataFrame, group: np.ndarray, rows: np.ndarray, zoom: float
) -> np.ndarray:
    """Of the places of one group in one cell of a symbol's size, the first row."""
    cell = 14 * _pixel_deg(zoom) / 0.7
    across = np.floor(places["lon"].to_numpy()[rows] / cell).astype(np.int64)
    up = np.floor(places["lat"].to_numpy()[rows] / cell).astype(np.int64)
    number = np.unique(group[rows], return_inverse=True)[1] if len(rows) else rows
    _, first = np.unique(np.stack([across, up, number]), axis=1, return_index=True)
    return rows[np.sort(first)]


def nearest_place(
    places: gpd.GeoDataFrame, lat: float, lon: float, groups: Iterable[str], zoom: float
) -> Mapping[str, Any] | None:
    """The place of some groups within a fingertip of a point, or None."""
    wanted = places["kind"].astype(str).map(GROUP_OF).isin(set(groups)).to_numpy()
    across = (places["lon"].to_numpy() - lon) * np.cos(np.radians(lat))
    away = np.hypot(across, places["lat"].to_numpy() - lat)
    away[~wanted] = np.inf
    if not len(away) or away.min() > 14 * _pixel_deg(zoom) / 0.7:
        return None
    return dict(places.iloc[int(away.argmin())].drop("geometry"))


def _pixel_deg(zoom: float) -> float:
    """Seven tenths of a screen pixel, in degrees of longitude."""
    return 0.7 * 360 / (256 * 2**zoom)


def _scale(zoom: float) -> float:
    return float(np.clip(0.35 + 0.075 * (zoom - 8), 0.4, 1.3))


def _feature(shape: Any, properties: dict[str, Any], zoom: float) -> dict[str, Any]:
    """A GeoJSON feature whose coordinates are as fine as the zoom shows, and no finer."""
    digits = int(np.clip(np.ceil(-np.log10(_pixel_deg(zoom))) + 1, 3, 6))
    rounded = shapely.transform(shape, lambda points: np.round(points, digits))
    return {"type": "Feature", "geometry": mapping(rounded), "properties": properties}


_SHAPES: dict[str, list[tuple[float, float]]] = {
    "square": [(-1, -1), (1, -1), (1, 1), (-1, 1)],
    "diamond": [(0, -1.35), (1.35, 0), (0, 1.35), (-1.35, 0)],
    "triangle": [(-1.2, -1), (1.2, -1), (0, 1.3)],
    "house": [(-1.1, -1.1), (1.1, -1.1), (1.1, 0.4), (0, 1.5), (-1.1, 0.4)],
    "drop": [(0, 1.6), (0.9, 0.2), (0.7, -0.7), (0, -1.1), (-0.7, -0.7), (-0.9, 0.2)],
    "cross": [
        (-0.45, -1.3), (0.45, -1.3), (0.45, -0.45), (1.3, -0.45), (1.3, 0.45), (0.45, 0.45),
        (0.45, 1.3), (-0.45, 1.3), (-0.45, 0.45), (-1.3, 0.45), (-1.3, -0.45), (-0.45, -0.45),
    ],
    "mast": [(-0.9, -1.4), (-0.25, 1.6), (0.25, 1.6), (0.9, -1.4), (0, -0.5)],
    "star": [
        (0, 1.6), (0.4, 0.5), (1.5, 0.5), (0.65, -0.2), (0.95, -1.3),
        (0, -0.65), (-0.95, -1.3), (-0.65, -0.2), (-1.5, 0.5), (-0.4, 0.5),
    ],
    "ring": [(np.cos(a), np.sin(a)) for a in np.linspace(0, 2 * np.pi, 12, endpoint=False)],
}  # fmt: skip


def _symbols(shape: str, lon: np.ndarray, lat: np.ndarray, size_deg: float) -> Any:
    outline = np.asarray(_SHAPES[shape], dtype=float)
    stretch = np.stack([np.ones_like(lat), np.cos(np.radians(lat))], axis=1)
    rings = (
        np.stack([lon, lat], axis=1)[:, None, :]
        + outline[None, :, :] * size_deg * stretch[:, None, :]
    )
    closed = np.concatenate([rings, rings[:, :1]], axis=1)
    return shapely.multipolygons(shapely.polygons(closed))


def symbol_svg(group: str) -> str:
    """The shape of a group as a small drawing, for a key."""
    shape, colour = GROUP_LOOK[group]
    points = " ".join(f"{8 + 4.6 * x:.1f},{8 - 4.6 * y:.1f}" for x, y in _SHAPES[shape])
    return (
        f'<svg width="18" height="18" viewBox="0 0 16 16" aria-hidden="true">'
        f'<polygon points="{points}" fill="{PALETTE[colour]}"/></svg>'
    )
