"""Maps for paper, drawn from the region's own roads, water and terrain.

Everything is told by width, shape and darkness as well as by colour, so that a black-and-white
print says the same.
"""

from __future__ import annotations

import io
import re
from typing import TYPE_CHECKING, Any

import matplotlib as mpl
import numpy as np
import shapely
from matplotlib.backends.backend_svg import FigureCanvasSVG
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch
from matplotlib.path import Path as DrawnPath
from pyproj import Geod

from planner_kit.pack.map_labels import Label, place_labels
from planner_kit.trip.display import KM_PER_MILE
from planner_kit.trip.household import Units

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd
    from matplotlib.axes import Axes
    from numpy.typing import NDArray
    from shapely.geometry import LineString

    from planner_kit.region import Region

_WGS84 = Geod(ellps="WGS84")
_MM_PER_INCH = 25.4
_INK = "#222222"
_ROUTE = "#6b1d3a"
_AREAS = {  # darker means nearer to water in grey print
    "land": "#fbfaf5",
    "sea": "#d3e2ea",
    "water": "#d3e2ea",
    "forest": "#e4ebda",
    "park": "#edf1e4",
    "built_up": "#e7e1d8",
    "sand": "#f6f0d9",
}
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
Bounds = tuple[float, float, float, float]


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
        kind (``site``, ``home``, ``rest``, ``outing``, ``mast``). [deg]
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
    lines = _lines_of(route)
    frame = _framed(bounds or _extent(region, lines, points), size_mm)
    figure = Figure(figsize=(size_mm[0] / _MM_PER_INCH, size_mm[1] / _MM_PER_INCH))
    axes = figure.add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.set_xlim(frame[0], frame[2])
    axes.set_ylim(frame[1], frame[3])
    width_km = _width_km(frame)
    tolerance_deg = (frame[2] - frame[0]) / size_mm[0] * 0.12
    _draw_areas(axes, region, frame, tolerance_deg)
    _draw_beyond(axes, region, frame)
    _draw_relief(axes, region, frame, size_mm)
    _draw_lines(axes, region, frame, tolerance_deg)
    _draw_roads(axes, region, frame, width_km, tolerance_deg)
    _draw_route(axes, lines, tolerance_deg)
    _draw_points(axes, points)
    labels = [*_point_labels(points), *_place_labels(region, frame, width_km)]
    labels += _road_labels(region, frame, width_km)
    furniture = _draw_furniture(
        axes, frame, size_mm, units or Units(), " · ".join(region.attribution)
    )
    taken = [*furniture, *_marker_boxes(points, frame, size_mm)]
    taken += _route_boxes(lines, frame, size_mm)
    place_labels(axes, labels, frame, size_mm, taken)
    return svg_of(figure)


def _lines_of(route: LineString | Iterable[LineString] | None) -> list[LineString]:
    if route is None:
        return []
    lines = [route] if isinstance(route, shapely.Geometry) else list(route)
    return [line for line in lines if not line.is_empty]


def _extent(region: Region, lines: list[LineString], points: pd.DataFrame | None) -> Bounds:
    corners = [np.array(line.bounds) for line in lines]
    if points is not None and len(points):
        known = points[["lon", "lat"]].dropna().to_numpy(dtype=np.float64)
        if len(known):
            corners.append(np.hstack([known.min(axis=0), known.max(axis=0)]))
    if not corners:
        corners = [np.asarray(region.roads.total_bounds, dtype=np.float64)]
    every = np.array(corners)
    west, south = every[:, :2].min(axis=0)
    east, north = every[:, 2:].max(axis=0)
    room = max(east - west, north - south, 0.02) * 0.09
    return west - room, south - room, east + room, north + room


def _framed(bounds: Bounds, size_mm: tuple[float, float]) -> Bounds:
    """The bounds widened about their middle to the shape of the paper."""
    west, south, east, north = bounds
    lon, lat = (west + east) / 2, (south + north) / 2
    km_per_lon = _WGS84.inv(lon - 0.05, lat, lon + 0.05, lat)[2] / 1000 / 0.1
    km_per_lat = _WGS84.inv(lon, lat - 0.05, lon, lat + 0.05)[2] / 1000 / 0.1
    width_km, height_km = (east - west) * km_per_lon, (north - south) * km_per_lat
    shape = size_mm[0] / size_mm[1]
    width_km, height_km = max(width_km, height_km * shape), max(height_km, width_km / shape)
    half_lon, half_lat = width_km / km_per_lon / 2, height_km / km_per_lat / 2
    return lon - half_lon, lat - half_lat, lon + half_lon, lat + half_lat


def _width_km(frame: Bounds) -> float:
    lat = (frame[1] + frame[3]) / 2
    return float(_WGS84.inv(frame[0], lat, frame[2], lat)[2]) / 1000


def _in_frame(table: Any, frame: Bounds) -> Any:
    return table.iloc[np.sort(table.sindex.query(shapely.box(*frame), predicate="intersects"))]


def _path_of(geometries: NDArray[Any], tolerance_deg: float) -> DrawnPath | None:
    """All lines or rings as one path, thinned to what can be seen on paper."""
    thin = shapely.simplify(geometries, tolerance_deg, preserve_topology=False)
    parts = shapely.get_parts(thin)
    if len(parts) and shapely.get_dimensions(parts[0]) == 2:
        parts = shapely.get_rings(parts)
    coordinates, owner = shapely.get_coordinates(parts, return_index=True)
    if not len(coordinates):
        return None
    codes = np.full(len(owner), DrawnPath.LINETO, dtype=DrawnPath.code_type)
    codes[np.r_[True, np.diff(owner) > 0]] = DrawnPath.MOVETO
    return DrawnPath(coordinates, codes)


def _add(axes: Axes, geometries: Any, tolerance_deg: float, **style: Any) -> None:
    path = _path_of(np.asarray(geometries), tolerance_deg)
    if path is not None:
        axes.add_artist(PathPatch(path, **{"capstyle": "round", "joinstyle": "round", **style}))


def _draw_areas(axes: Axes, region: Region, frame: Bounds, tolerance_deg: float) -> None:
    areas = _in_frame(region.areas, frame) if len(region.areas) else region.areas
    kinds = np.asarray(areas["kind"].astype(str)) if len(areas) else np.array([])
    only_land = "land" in kinds and "sea" not in kinds
    axes.axhspan(frame[1], frame[3], color=_AREAS["sea" if only_land else "land"], lw=0, zorder=0)
    order = ("land", "sea", "park", "sand", "forest", "built_up", "water")
    box = shapely.box(*frame)
    for level, kind in enumerate(order):
        chosen = areas.geometry.to_numpy()[kinds == kind] if len(areas) else []
        if len(chosen):
            cut = shapely.intersection(shapely.make_valid(chosen), box)
            cut = cut[~shapely.is_empty(cut)]
            polygons = [part for part in shapely.get_parts(cut) if part.geom_type == "Polygon"]
            edge = {"edgecolor": "#7d98a5", "lw": 0.4} if kind == "water" else {"lw": 0}
            _add(
                axes, polygons, tolerance_deg, facecolor=_AREAS[kind], zorder=1 + level / 10, **edge
            )


def _draw_beyond(axes: Axes, region: Region, frame: Bounds) -> None:
    """What lies outside the region is not known: it is hatched, never drawn as land or sea."""
    beyond = shapely.difference(shapely.box(*frame), shapely.box(*region.bounds))
    pieces = [part for part in shapely.get_parts(beyond) if part.geom_type == "Polygon"]
    with mpl.rc_context({"hatch.linewidth": 0.4}):
        _add(
            axes, pieces, 0.0, facecolor="#ffffff", edgecolor="#c4c4c4", hatch="////", lw=0.4,
            zorder=6,
        )  # fmt: skip


def _draw_relief(axes: Axes, region: Region, frame: Bounds, size_mm: tuple[float, float]) -> None:
    terrain = region.terrain
    if terrain is None:
        return
    columns, rows = int(size_mm[0] * 2.4), int(size_mm[1] * 2.4)
    lon = np.linspace(frame[0], frame[2], columns)
    lat = np.linspace(frame[3], frame[1], rows)
    height_m = terrain.heights_m(lon[None, :], lat[:, None])
    known = np.isfinite(height_m) & (height_m > 0)
    if not known.any():
        return
    step_m = _width_km(frame) * 1000 / columns
    down, right = np.gradient(np.where(known, height_m, 0.0), step_m)
    # Light from the north-west at 45 degrees; heights are exaggerated so that gentle hills show.
    east, north = 2.5 * right, -2.5 * down
    shade = (1.0 + (east - north) / np.sqrt(2.0)) / np.sqrt(2.0 * (1.0 + east**2 + north**2))
    darkness = np.clip((np.sqrt(0.5) - shade) * 0.9, 0.0, 0.35)
    picture = np.zeros((rows, columns, 4), dtype=np.uint8)
    picture[..., :3] = (60, 55, 45)
    picture[..., 3] = np.where(known, np.round(darkness * 30) / 30 * 255, 0)
    axes.imshow(
        picture,
        extent=(frame[0], frame[2], frame[1], frame[3]),
        aspect="auto",
        zorder=1.05,
        interpolation="none",
    )


def _draw_lines(axes: Axes, region: Region, frame: Bounds, tolerance_deg: float) -> None:
    if not len(region.lines):
        return
    lines = _in_frame(region.lines, frame)
    kinds = np.asarray(lines["kind"].astype(str))
    looks: dict[str, dict[str, Any]] = {
        "river": {"edgecolor": "#8fb0c0", "lw": 0.7},
        "coast": {"edgecolor": "#5f7c8a", "lw": 0.7},
        "railway": {"edgecolor": "#8a8a8a", "lw": 0.7, "linestyle": (0, (3, 1.5))},
        "boundary": {"edgecolor": "#a0a0a0", "lw": 0.6, "linestyle": (0, (1, 2))},
    }
    for kind, look in looks.items():
        chosen = lines.geometry.to_numpy()[kinds == kind]
        if len(chosen):
            _add(axes, chosen, tolerance_deg, fill=False, zorder=3, **look)


def _draw_roads(
    axes: Axes, region: Region, frame: Bounds, width_km: float, tolerance_deg: float
) -> None:
    roads = _in_frame(region.roads, frame)
    classes = np.asarray(roads["road_class"].astype(str))
    geometries = roads.geometry.to_numpy()
    for level, (names, width, casing, widest_km) in enumerate(_ROADS):
        chosen = geometries[np.isin(classes, names)]
        if width_km > widest_km or not len(chosen):
            continue
        if casing:
            _add(
                axes, chosen, tolerance_deg, fill=False, lw=casing, edgecolor="#767676",
                zorder=4 + level / 10,
            )  # fmt: skip
        colour = "#ffffff" if casing else "#9a958c"
        _add(
            axes, chosen, tolerance_deg, fill=False, lw=width, edgecolor=colour,
            zorder=4 + level / 10 + 0.05,
        )  # fmt: skip
    ferries = geometries[classes == "ferry"]
    if len(ferries):
        _add(
            axes, ferries, tolerance_deg, fill=False, lw=0.9, edgecolor="#4f6b78",
            linestyle=(0, (4, 2.5)), zorder=4,
        )  # fmt: skip


def _draw_route(axes: Axes, lines: list[LineString], tolerance_deg: float) -> None:
    if not lines:
        return
    for width, colour, level in ((5.6, "#ffffff", 5.0), (3.4, _ROUTE, 5.1)):
        _add(axes, lines, tolerance_deg, fill=False, lw=width, edgecolor=colour, zorder=level)
    for line in lines:
        for share in (0.25, 0.5, 0.75):
            here = line.interpolate(share, normalized=True)
            ahead = line.interpolate(min(share + 0.01, 1.0), normalized=True)
            if here.equals(ahead):
                continue
            axes.annotate(
                "",
                xy=(ahead.x, ahead.y),
                xytext=(here.x, here.y),
                arrowprops={
                    "arrowstyle": "-|>", "color": "white", "lw": 0, "mutation_scale": 8.5,
                    "shrinkA": 0, "shrinkB": 0,
                },
                zorder=5.2,
            )  # fmt: skip


# Kind of point: (matplotlib marker, size in points squared, fill, edge, colour of the sign inside).
_MARKERS: dict[str, tuple[Any, float, str, str, str]] = {
    "home": ("p", 105, "#ffffff", _INK, _INK),
    "site": ("s", 105, _INK, "#ffffff", "#ffffff"),
    "rest": ("o", 80, "#ffffff", _INK, _INK),
    "outing": ("o", 80, _INK, "#ffffff", "#ffffff"),
    "mast": ("v", 60, "#ffffff", _INK, _INK),
}


def _draw_points(axes: Axes, points: pd.DataFrame | None) -> None:
    for row in _rows(points):
        marker, size, fill, edge, inside = _MARKERS.get(str(row.get("kind")), _MARKERS["outing"])
        axes.scatter(
            [row["lon"]], [row["lat"]], marker=marker, s=size, c=fill, edgecolors=edge,
            linewidths=1.1, zorder=8,
        )  # fmt: skip
        axes.text(
            row["lon"], row["lat"], str(row.get("mark", ""))[:2], color=inside, fontsize=6.5,
            fontweight="bold", ha="center", va="center_baseline", zorder=8.1, parse_math=False,
        )  # fmt: skip


def _rows(points: pd.DataFrame | None) -> list[dict[str, Any]]:
    if points is None or not len(points):
        return []
    known: Any = points.dropna(subset=["lat", "lon"])
    records: list[dict[str, Any]] = known.to_dict("records")
    return records


def _marker_boxes(
    points: pd.DataFrame | None, frame: Bounds, size_mm: tuple[float, float]
) -> list[Bounds]:
    half_x = 2.2 / size_mm[0] * (frame[2] - frame[0])
    half_y = 2.2 / size_mm[1] * (frame[3] - frame[1])
    return [
        (row["lon"] - half_x, row["lat"] - half_y, row["lon"] + half_x, row["lat"] + half_y)
        for row in _rows(points)
    ]


def _route_boxes(
    lines: list[LineString], frame: Bounds, size_mm: tuple[float, float]
) -> list[Bounds]:
    """Small boxes along the tow, so that no name is set on it."""
    x = 0.7 / size_mm[0] * (frame[2] - frame[0])
    y = 0.7 / size_mm[1] * (frame[3] - frame[1])
    boxes: list[Bounds] = []
    for line in lines:
        steps = int(np.clip(line.length / (3 * x), 2, 150))
        share = np.linspace(0, 1, steps)
        spots = shapely.line_interpolate_point(line, share, normalized=True)
        for lon, lat in shapely.get_coordinates(spots):
            boxes.append((lon - x, lat - y, lon + x, lat + y))
    return boxes


def _point_labels(points: pd.DataFrame | None) -> list[Label]:
    return [
        Label(
            str(row.get("label", "")), row["lon"], row["lat"], 7.0, rank=-1, bold=True, gap_mm=2.6
        )
        for row in _rows(points)
        if row.get("label")
    ]


def _place_labels(region: Region, frame: Bounds, width_km: float) -> list[Label]:
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


def _road_labels(region: Region, frame: Bounds, width_km: float) -> list[Label]:
    """The number of each numbered road once, in the middle of its longest piece on the map."""
    roads = _in_frame(region.roads, frame)
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


def _draw_furniture(
    axes: Axes, frame: Bounds, size_mm: tuple[float, float], units: Units, attribution: str
) -> list[Bounds]:
    """Scale bar, north arrow, attribution and frame; returns the boxes they take."""
    lon_per_mm = (frame[2] - frame[0]) / size_mm[0]
    lat_per_mm = (frame[3] - frame[1]) / size_mm[1]
    km_per_mm = _width_km(frame) / size_mm[0]
    unit_km = KM_PER_MILE if units.distance == "miles" else 1.0
    bar = _round_length(size_mm[0] * 0.25 * km_per_mm / unit_km)
    bar_mm = bar * unit_km / km_per_mm

    def at(x_mm: float, y_mm: float) -> tuple[float, float]:
        return frame[0] + x_mm * lon_per_mm, frame[1] + y_mm * lat_per_mm

    def box(x1: float, y1: float, x2: float, y2: float) -> Bounds:
        return (*at(x1, y1), *at(x2, y2))

    boxes = [box(2.5, 2.5, max(bar_mm + 15.0, 24.0), 9.5)]
    _plate(axes, boxes[0])
    for part, fill in ((0, _INK), (1, "#ffffff")):
        x1, y1 = at(4 + part * bar_mm / 2, 4)
        x2, y2 = at(4 + (part + 1) * bar_mm / 2, 5.2)
        axes.add_patch(
            mpl.patches.Rectangle(
                (x1, y1), x2 - x1, y2 - y1, facecolor=fill, edgecolor=_INK, lw=0.6, zorder=9.1
            )
        )
    name = units.distance if bar != 1 else units.distance.removesuffix("s")
    for x_mm, text in ((4.0, "0"), (4 + bar_mm, f"{bar:g} {name}")):
        axes.text(
            *at(x_mm, 6), text, fontsize=5.8, ha="left" if x_mm == 4.0 else "center", va="bottom",
            color=_INK, zorder=9.2,
        )  # fmt: skip
    boxes.append(_draw_north(axes, at, box, size_mm))
    if attribution:
        length_mm = min(len(attribution) * 1.02 + 3, size_mm[0] - 4)
        boxes.append(box(size_mm[0] - length_mm, 0, size_mm[0], 3.4))
        _plate(axes, boxes[-1])
        axes.text(
            *at(size_mm[0] - 1, 1.0), attribution, fontsize=4.8, ha="right", va="bottom",
            color="#444444", zorder=9.2, parse_math=False,
        )  # fmt: skip
    axes.add_patch(
        mpl.patches.Rectangle(
            (0, 0), 1, 1, transform=axes.transAxes, fill=False, edgecolor="#555555", lw=1.0,
            zorder=10,
        )
    )  # fmt: skip
    return boxes


def _draw_north(axes: Axes, at: Any, box: Any, size_mm: tuple[float, float]) -> Bounds:
    x_mm, y_mm = size_mm[0] - 7.5, size_mm[1] - 12.0
    taken: Bounds = box(x_mm - 3.2, y_mm - 1, x_mm + 3.2, y_mm + 10.5)
    _plate(axes, taken)
    for side, fill in ((-1, _INK), (1, "#ffffff")):
        corners = [at(x_mm, y_mm + 6.5), at(x_mm + side * 1.8, y_mm), at(x_mm, y_mm + 1.4)]
        axes.add_patch(
            mpl.patches.Polygon(corners, facecolor=fill, edgecolor=_INK, lw=0.6, zorder=9.1)
        )
    x, y = at(x_mm, y_mm + 7.0)
    axes.text(
        x, y, "N", fontsize=7, fontweight="bold", ha="center", va="bottom",
        color=_INK, zorder=9.2,
    )  # fmt: skip
    return taken


def _plate(axes: Axes, box: Bounds) -> None:
    axes.add_patch(
        mpl.patches.Rectangle(
            (box[0], box[1]), box[2] - box[0], box[3] - box[1],
            facecolor="#ffffff", alpha=0.82, lw=0, zorder=9,
        )
    )  # fmt: skip


def _round_length(longest: float) -> float:
    """The longest of 1, 2, 5, 10, 20 ... that is not longer than `longest`."""
    power = 10.0 ** np.floor(np.log10(longest))
    return float(max(step * power for step in (1, 2, 5) if step * power <= longest * 1.0000001))


def svg_of(figure: Figure) -> str:
    """A figure as SVG text that is the same each time, with its words kept as words."""
    out = io.StringIO()
    settings = {
        "svg.fonttype": "none", "svg.hashsalt": "planner_kit", "path.simplify": False,
        "font.family": "DejaVu Sans",
    }  # fmt: skip
    with mpl.rc_context(settings):
        FigureCanvasSVG(figure).print_svg(out, metadata={"Date": None, "Creator": None})
    return slim_svg(out.getvalue())


def slim_svg(svg: str) -> str:
    """The same drawing with coordinates to a hundredth of a point and a white halo behind text."""
    short = re.sub(
        r' d="[^"]*"', lambda d: re.sub(r"(\d+\.\d\d)\d+", r"\1", d.group()).replace("\n", ""), svg
    )
    halo = "paint-order: stroke; stroke: #ffffff; stroke-width: 1.6px; stroke-linejoin: round; "
    return re.sub(r'<text style="(?![^"]*fill: #ffffff)', f'<text style="{halo}', short)
