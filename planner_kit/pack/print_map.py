"""Maps for paper, drawn from the region's own roads, water and terrain.

Everything is told by width, shape and darkness as well as by colour, so that a black-and-white
print says the same.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.pack.drawing import Drawing
from planner_kit.pack.map_frame import Bounds, extent, frame_width_km, framed, lines_of
from planner_kit.pack.map_furniture import draw_furniture
from planner_kit.pack.map_ground import draw_areas, draw_beyond, draw_lines, draw_relief, is_beyond
from planner_kit.pack.map_labels import place_labels
from planner_kit.pack.map_marks import (
    draw_points,
    draw_route,
    marker_boxes,
    point_labels,
    route_boxes,
    set_apart,
)
from planner_kit.pack.map_roads import draw_roads, road_labels, settlement_labels
from planner_kit.trip.household import Units

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd
    from shapely.geometry import LineString

    from planner_kit.region import Region


def print_map(
    region: Region,
    *,
    route: LineString | Iterable[LineString] | None = None,
    points: pd.DataFrame | None = None,
    bounds: Bounds | None = None,
    size_mm: tuple[float, float] = (180.0, 120.0),
    units: Units | None = None,
) -> str:
    """A map as SVG text, fit for print.

    Parameters
    ----------
    region : Region
        Its roads, places, areas, lines and, where there is one, its terrain are drawn.
    route : LineString or iterable of LineString, optional
        The tow, (lon, lat); drawn dark in a white casing with arrows in the driving direction.
    points : DataFrame, optional
        Columns lat, lon, label, and where wanted mark (one or two signs set inside the marker) and
        kind (``site``, ``home``, ``rest``, ``outing``, ``mast``, ``near limit``). [deg]
    bounds : tuple of float, optional
        West, south, east, north; otherwise what holds route and points, or the whole region. The
        map is widened to the shape of the paper. [deg]
    size_mm : tuple of float
        Width and height on paper. [mm]
    units : Units, optional
        Whether the scale bar shows miles or kilometres.

    Returns
    -------
    svg : str
        The same text for the same input.
    """
    lines = lines_of(route)
    frame = framed(bounds or extent(region, lines, points), size_mm)
    canvas = Drawing(frame, size_mm)
    width_km = frame_width_km(frame)
    tolerance_deg = (frame[2] - frame[0]) / size_mm[0] * 0.12
    draw_areas(canvas, region, frame, tolerance_deg)
    draw_beyond(canvas, region, frame)
    draw_relief(canvas, region, frame, size_mm)
    draw_lines(canvas, region, frame, tolerance_deg)
    draw_roads(canvas, region, frame, width_km, tolerance_deg)
    draw_route(canvas, lines, tolerance_deg)
    marks = set_apart(points, frame, size_mm)
    draw_points(canvas, marks)
    labels = [*point_labels(marks), *settlement_labels(region, frame, width_km)]
    labels += road_labels(region, frame, width_km)
    on_way, marked = route_boxes(lines, frame, size_mm), marker_boxes(marks, frame, size_mm)
    beyond = "hatched: beyond this map's data · " if is_beyond(region, frame) else ""
    furniture = draw_furniture(
        canvas, frame, size_mm, units or Units(), beyond + " · ".join(region.attribution),
        [*on_way, *marked],
    )  # fmt: skip
    # The number of a road may stand on the way itself; a name may not.
    place_labels(canvas, labels, frame, size_mm, [*furniture, *marked], on_way)
    return canvas.svg()
