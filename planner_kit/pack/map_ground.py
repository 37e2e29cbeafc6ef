"""What lies under the roads of a printed map: land, water, relief, rivers, railways."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from PIL import Image

from planner_kit.pack.map_frame import Bounds, frame_width_km
from planner_kit.pack.map_layers import layer

if TYPE_CHECKING:
    from planner_kit.pack.drawing import Drawing
    from planner_kit.region import Region

_AREAS = {  # darker means nearer to water in grey print
    "land": "#fbfaf5",
    "sea": "#d3e2ea",
    "water": "#d3e2ea",
    "forest": "#e4ebda",
    "park": "#edf1e4",
    "built_up": "#e7e1d8",
    "sand": "#f6f0d9",
}


def draw_areas(canvas: Drawing, region: Region, frame: Bounds, tolerance_deg: float) -> None:
    """Draw sea, land, woods, built-up land and water."""
    areas = layer(region.areas)
    seen = areas.within(frame)
    kinds = areas.kinds[seen]
    only_land = "land" in kinds and "sea" not in kinds
    canvas.box(frame, 0, fill=_AREAS["sea" if only_land else "land"])
    order = ("land", "sea", "park", "sand", "forest", "built_up", "water")
    box = shapely.box(*frame)
    for level, kind in enumerate(order):
        chosen = areas.geometries[seen[kinds == kind]]
        if len(chosen):
            cut = shapely.intersection(chosen, box)
            cut = cut[~shapely.is_empty(cut)]
            polygons = [part for part in shapely.get_parts(cut) if part.geom_type == "Polygon"]
            edge = {"stroke": "#7d98a5", "width": 0.4} if kind == "water" else {}
            canvas.shapes(polygons, tolerance_deg, 1 + level / 10, fill=_AREAS[kind], **edge)


def draw_beyond(canvas: Drawing, region: Region, frame: Bounds) -> None:
    """What lies outside the region is not known: it is hatched, never drawn as land or sea."""
    beyond = shapely.difference(shapely.box(*frame), shapely.box(*region.bounds))
    pieces = [part for part in shapely.get_parts(beyond) if part.geom_type == "Polygon"]
    canvas.hatched(pieces, 6, fill="#ffffff", line="#c4c4c4", width=0.4, edge=True)


def is_beyond(region: Region, frame: Bounds) -> bool:
    """Whether a part of the frame that is seen at a glance lies outside the region."""
    sheet = shapely.box(*frame)
    return bool(sheet.difference(shapely.box(*region.bounds)).area > 0.02 * sheet.area)


def draw_relief(
    canvas: Drawing, region: Region, frame: Bounds, size_mm: tuple[float, float]
) -> None:
    """Shade the hills, where the region has terrain."""
    terrain = region.terrain
    if terrain is None:
        return
    columns, rows = int(size_mm[0] * 2.4), int(size_mm[1] * 2.4)
    lon = np.linspace(frame[0], frame[2], columns)
    lat = np.linspace(frame[3], frame[1], rows)
    height_m = terrain.heights_of_picture_m(lon, lat)
    known = np.isfinite(height_m) & (height_m > 0)
    if not known.any():
        return
    step_m = frame_width_km(frame) * 1000 / columns
    down, right = np.gradient(np.where(known, height_m, 0.0), step_m)
    # Light from the north-west at 45 degrees; heights are exaggerated so that gentle hills show.
    east, north = 2.5 * right, -2.5 * down
    shade = (1.0 + (east - north) / np.sqrt(2.0)) / np.sqrt(2.0 * (1.0 + east**2 + north**2))
    darkness = np.clip((np.sqrt(0.5) - shade) * 0.9, 0.0, 0.35)
    steps = np.where(known, np.round(darkness * 30), 0).astype(np.uint8)
    picture = Image.fromarray(steps)
    picture.putpalette([60, 55, 45] * 256)
    picture.info["transparency"] = bytes(min(step * 255 // 30, 255) for step in range(256))
    canvas.picture(picture, 1.05)


def draw_lines(canvas: Drawing, region: Region, frame: Bounds, tolerance_deg: float) -> None:
    """Draw rivers, coast, railways and boundaries."""
    lines = layer(region.lines)
    seen = lines.within(frame)
    looks: dict[str, dict[str, Any]] = {
        "river": {"stroke": "#8fb0c0", "width": 0.7},
        "coast": {"stroke": "#5f7c8a", "width": 0.7},
        "railway": {"stroke": "#8a8a8a", "width": 0.7, "dash": (3, 1.5)},
        "boundary": {"stroke": "#a0a0a0", "width": 0.6, "dash": (1, 2)},
    }
    for kind, look in looks.items():
        chosen = lines.geometries[seen[lines.kinds[seen] == kind]]
        if len(chosen):
            canvas.shapes(chosen, tolerance_deg, 3, **look)
