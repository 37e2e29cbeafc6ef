"""The roads and settlements of a printed map, and their names."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner_kit.pack.map_frame import Bounds, in_frame
from planner_kit.pack.map_labels import Label

if TYPE_CHECKING:
    from planner_kit.pack.drawing import Drawing
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


def draw_roads(
    canvas: Drawing, region: Region, frame: Bounds, width_km: float, tolerance_deg: float
) -> None:
    """Draw the roads that a map of this width shows, and ferries."""
    roads = in_frame(region.roads, frame)
    classes = np.asarray(roads["road_class"].astype(str))
    geometries = roads.geometry.to_numpy()
    for level, (names, width, casing, widest_km) in enumerate(_ROADS):
        chosen = geometries[np.isin(classes, names)]
        if width_km > widest_km or not len(chosen):
            continue
        way = canvas.way_of(chosen, tolerance_deg)
        if casing:
            canvas.way(way, 4 + level / 10, stroke="#767676", width=casing)
        colour = "#ffffff" if casing else "#9a958c"
        canvas.way(way, 4 + level / 10 + 0.05, stroke=colour, width=width)
    ferries = geometries[classes == "ferry"]
    if len(ferries):
        canvas.shapes(ferries, tolerance_deg, 4, stroke="#4f6b78", width=0.9, dash=(4, 2.5))


def settlement_labels(region: Region, frame: Bounds, width_km: float) -> list[Label]:
    """The names of towns and villages for a map of this width."""
    places = region.places
    kinds = places["kind"].astype(str)
    west, south, east, north = frame
    inside = places["lon"].between(west, east) & places["lat"].between(south, north)
    chosen = places[inside & kinds.isin(list(_FIRST_LABELS)) & (places["name"] != "")]
    labels = []
    for kind, name, lon, lat in zip(
        chosen["kind"].astype(str), chosen["name"], chosen["lon"], chosen["lat"], strict=True
    ):
        if width_km <= _WIDEST_KM[kind]:
            size, rank = _FIRST_LABELS[kind]
            labels.append(Label(name, lon, lat, size, rank=rank, gap_mm=0.8, dot=True))
    return labels


def road_labels(region: Region, frame: Bounds, width_km: float) -> list[Label]:
    """The number of each numbered road once, in the middle of its longest piece on the map."""
    roads = in_frame(region.roads, frame)
    classes = roads["road_class"].astype(str)
    numbered = roads[
        (roads["ref"].astype(str) != "")
        & classes.isin([*_ROADS[5][0], *_ROADS[4][0], *(_ROADS[3][0] if width_km < 60 else ())])
    ]
    longest = numbered.sort_values("length_m", ascending=False, kind="stable")
    labels = []
    for _, row in longest.drop_duplicates("ref").iterrows():
        middle = row.geometry.interpolate(0.5, normalized=True)
        labels.append(Label(str(row["ref"]), middle.x, middle.y, 5.8, rank=3, plate=True))
    return labels
