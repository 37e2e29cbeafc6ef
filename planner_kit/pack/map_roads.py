"""The roads and settlements of a printed map, and their names."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from planner_kit.pack.map_labels import Label
from planner_kit.pack.map_layers import kept_with, layer, named_places, numbered_roads

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner_kit.pack.drawing import Drawing
    from planner_kit.pack.map_frame import Bounds
    from planner_kit.region import Region

# Road classes from least to most important: (classes, line width in points, casing width, widest
# map in km on which they are drawn).
_ROADS = (
    (("track", "path", "footway", "cycleway", "bridleway", "steps"), 0.0, 0.0, 0.0),
    (("unclassified", "residential", "living_street", "service", "road"), 0.5, 0.0, 28.0),
    (("tertiary", "tertiary_link"), 0.9, 0.0, 110.0),
    (("secondary", "secondary_link"), 1.1, 1.9, 160.0),
    (("primary", "primary_link"), 1.4, 2.4, 500.0),
    (("trunk", "trunk_link", "motorway", "motorway_link"), 1.8, 3.0, 1e9),
)
_FIRST_LABELS = {"city": (8.5, 0), "town": (7.5, 1), "village": (6.5, 2), "hamlet": (5.5, 5)}
_WIDEST_KM = {"city": 1e9, "town": 300.0, "village": 90.0, "hamlet": 30.0}


_FERRY = len(_ROADS)


def draw_roads(
    canvas: Drawing, region: Region, frame: Bounds, width_km: float, tolerance_deg: float
) -> None:
    """Draw the roads that a map of this width shows, and ferries."""
    roads = layer(region.roads, "road_class")
    seen = roads.within(frame)
    levels = _levels(region.roads)[seen]
    for level, (_, width, casing, widest_km) in enumerate(_ROADS):
        chosen = roads.geometries[seen[levels == level]]
        if width_km > widest_km or not len(chosen):
            continue
        way = canvas.way_of(chosen, tolerance_deg)
        if casing:
            canvas.way(way, 4 + level / 10, stroke="#767676", width=casing)
        colour = "#ffffff" if casing else "#9a958c"
        canvas.way(way, 4 + level / 10 + 0.05, stroke=colour, width=width)
    ferries = roads.geometries[seen[levels == _FERRY]]
    if len(ferries):
        canvas.shapes(ferries, tolerance_deg, 4, stroke="#4f6b78", width=0.9, dash=(4, 2.5))


def _levels(roads: Any) -> NDArray[np.int8]:
    """For each road its place in `_ROADS`, `_FERRY` for ferries, -1 for what is never drawn."""

    def made(roads: Any) -> NDArray[np.int8]:
        known = {name: level for level, (names, *_) in enumerate(_ROADS) for name in names}
        known["ferry"] = _FERRY
        classes = layer(roads, "road_class").kinds
        return np.array([known.get(name, -1) for name in classes], dtype=np.int8)

    return kept_with(roads, "levels", made)


def settlement_labels(region: Region, frame: Bounds, width_km: float) -> list[Label]:
    """The names of towns and villages for a map of this width."""
    places = named_places(region.places, _FIRST_LABELS)
    west, south, east, north = frame
    inside = (places.lon >= west) & (places.lon <= east)
    inside &= (places.lat >= south) & (places.lat <= north)
    labels = []
    for at in np.flatnonzero(inside).tolist():
        kind, name = places.kinds[at], places.names[at]
        if width_km <= _WIDEST_KM[kind]:
            size, rank = _FIRST_LABELS[kind]
            lon, lat = float(places.lon[at]), float(places.lat[at])
            labels.append(Label(name, lon, lat, size, rank=rank, gap_mm=0.8, dot=True))
    return labels


def road_labels(region: Region, frame: Bounds, width_km: float) -> list[Label]:
    """The number of each numbered road once, in the middle of its longest piece on the map."""
    numbered = numbered_roads(region.roads)
    roads = layer(region.roads, "road_class")
    levels = _levels(region.roads)[numbered.rows]
    seen = np.zeros(len(region.roads), dtype=bool)
    seen[roads.within(frame)] = True
    wanted = (levels >= (3 if width_km < 60 else 4)) & (levels < _FERRY) & seen[numbered.rows]
    longest: dict[str, int] = {}
    for row, ref in zip(numbered.rows[wanted].tolist(), numbered.refs[wanted], strict=True):
        longest.setdefault(ref, row)
    labels = []
    for ref, row in longest.items():
        middle = roads.geometries[row].interpolate(0.5, normalized=True)
        labels.append(Label(ref, middle.x, middle.y, 5.8, rank=3, plate=True))
    return labels
