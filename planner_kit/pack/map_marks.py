"""What a printed map shows of the trip: the tow, and marked points with their labels."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from planner_kit.pack.map_frame import INK, Bounds
from planner_kit.pack.map_labels import Label
from planner_kit.trip.display import is_missing

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray
    from shapely.geometry import LineString

    from planner_kit.pack.drawing import Drawing

    Places = NDArray[np.float64]

Mark = dict[str, Any]
_APART_MM = 4.6  # a mark is at most 4.4 mm wide
_ROUNDS = 60
_ROUTE = "#6b1d3a"
_RING = "ring"
# Corners of marks about their middle, across and down, as shares of half their size.
_CORNERS: dict[str, tuple[tuple[float, float], ...]] = {
    "house": ((0, -1), (0.951, -0.309), (0.588, 0.809), (-0.588, 0.809), (-0.951, -0.309)),
    "square": ((-1, -1), (1, -1), (1, 1), (-1, 1)),
    "up": ((0, -1), (1, 1), (-1, 1)),
    "down": ((0, 1), (1, -1), (-1, -1)),
}
# Kind of point: (shape, size in points squared, fill, edge, colour of the sign inside).
_MARKERS: dict[str, tuple[str, float, str, str, str]] = {
    "home": ("house", 105, "#ffffff", INK, INK),
    "site": ("square", 105, INK, "#ffffff", "#ffffff"),
    "rest": (_RING, 80, "#ffffff", INK, INK),
    "outing": (_RING, 80, INK, "#ffffff", "#ffffff"),
    "near limit": ("up", 90, "#ffffff", INK, INK),
    "mast": ("down", 60, "#ffffff", INK, INK),
}
_ARROW_PT = (3.4, 1.7)  # length, half width


def draw_route(canvas: Drawing, lines: list[LineString], tolerance_deg: float) -> None:
    """Draw the tow, with arrows in the driving direction."""
    if not lines:
        return
    west, south, east, north = canvas.frame
    room = 0.05 * (east - west)
    seen = shapely.clip_by_rect(
        np.array(lines, dtype=object), west - room, south - room, east + room, north + room
    )
    way = canvas.way_of(seen, tolerance_deg)
    for width, colour, level in ((5.6, "#ffffff", 5.0), (3.4, _ROUTE, 5.1)):
        canvas.way(way, level, stroke=colour, width=width)
    for line in lines:
        for share in (0.25, 0.5, 0.75):
            here = line.interpolate(share, normalized=True)
            ahead = line.interpolate(min(share + 0.01, 1.0), normalized=True)
            if not here.equals(ahead):
                _draw_arrow(canvas, canvas.place(here.x, here.y), canvas.place(ahead.x, ahead.y))


def _draw_arrow(canvas: Drawing, here: tuple[float, float], tip: tuple[float, float]) -> None:
    away = np.subtract(tip, here)
    away /= max(float(np.hypot(*away)), 1e-9)
    length, half = _ARROW_PT
    foot = np.array(tip) - length * away
    side = half * np.array([-away[1], away[0]])
    canvas.outline([tuple(foot + side), tip, tuple(foot - side)], 5.2, fill="#ffffff")


def set_apart(
    points: pd.DataFrame | None, frame: Bounds, size_mm: tuple[float, float]
) -> list[Mark]:
    """Where the marks of points are drawn: none lies on another.

    Parameters
    ----------
    points : DataFrame or None
        See `planner_kit.pack.print_map.print_map`; a point without a position is left out.
    frame : tuple of float
        West, south, east, north of the map. [deg]
    size_mm : tuple of float
        Size of the map on paper. [mm]

    Returns
    -------
    marks : list of dict
        The columns of `points`, and ``mark_lon, mark_lat`` where the mark is set: at the point
        itself, or pushed off as far as its neighbours ask. [deg]
    """
    if points is None or not len(points):
        return []
    rows: Any = points.to_dict("records")
    marks: list[Mark] = [
        row for row in rows if not (is_missing(row["lat"]) or is_missing(row["lon"]))
    ]
    if not marks:
        return []
    per_mm = np.array([(frame[2] - frame[0]) / size_mm[0], (frame[3] - frame[1]) / size_mm[1]])
    at = np.array([(mark["lon"], mark["lat"]) for mark in marks], dtype=np.float64)
    shown = at[:, 0] >= frame[0]
    shown &= (at[:, 0] <= frame[2]) & (at[:, 1] >= frame[1]) & (at[:, 1] <= frame[3])
    fixed = np.array([mark.get("kind") in ("home", "site") for mark in marks])
    place = (at - (frame[0], frame[1])) / per_mm
    place[shown] = pushed_apart(place[shown], fixed[shown], np.array(size_mm), _APART_MM)
    lonlat = place * per_mm + (frame[0], frame[1])
    for mark, (lon, lat) in zip(marks, lonlat, strict=True):
        mark["mark_lon"], mark["mark_lat"] = float(lon), float(lat)
    return marks


def pushed_apart(place: Places, fixed: NDArray[np.bool_], size: Places, apart: float) -> Places:
    """Positions on a map, each pair so far apart where there is room.

    Parameters
    ----------
    place : ndarray, shape (n, 2)
        Across and up, in any unit of the map's paper or screen.
    fixed : ndarray of bool, shape (n,)
        Which stay where they are.
    size : ndarray, shape (2,)
        Of the map; none is pushed over its edge.
    apart : float
        Wanted from middle to middle.
    """
    place = place.copy()
    # Marks on the very same spot are told apart by their order, so that they part in a fan.
    turn = np.arange(len(place)) * 2.399963
    place[~fixed] += 0.002 * apart * np.stack([np.cos(turn), np.sin(turn)], axis=1)[~fixed]
    for _ in range(_ROUNDS):
        gap = place[:, None, :] - place[None, :, :]
        away = np.hypot(gap[..., 0], gap[..., 1]) + np.eye(len(place)) * 1e9
        lack = np.clip(apart - away, 0, None)
        if not lack.any():
            break
        push = (gap / np.maximum(away, 1e-9)[..., None] * lack[..., None] * 0.5).sum(axis=1)
        place[~fixed] += push[~fixed]
        place[~fixed] = np.clip(place[~fixed], apart * 0.54, size - apart * 0.54)
    return place


def draw_points(canvas: Drawing, marks: list[Mark]) -> None:
    """Draw the marks; one that was pushed off its point is tied to it by a thin line."""
    for row in marks:
        shape, size, fill, edge, inside = _MARKERS.get(str(row.get("kind")), _MARKERS["outing"])
        at = canvas.place(row["mark_lon"], row["mark_lat"])
        point = canvas.place(row["lon"], row["lat"])
        sign = str(row.get("mark", ""))[:2]
        canvas.outline([point, at], 7.9, stroke=INK, width=0.7)
        canvas.dot(point, 1.3, 7.9, INK)
        half = float(np.sqrt(size)) / 2
        if shape == _RING:
            canvas.dot(at, round(half, 2), 8, fill, stroke=edge, width=1.1)
        else:
            corners = [(at[0] + half * x, at[1] + half * y) for x, y in _CORNERS[shape]]
            canvas.outline(corners, 8, fill=fill, stroke=edge, width=1.1)
        canvas.words(
            sign, at, 8.1, size_pt=6.5 if len(sign) < 2 else 5.2, colour=inside, bold=True,
            stands="sign",
        )  # fmt: skip


def marker_boxes(marks: list[Mark], frame: Bounds, size_mm: tuple[float, float]) -> list[Bounds]:
    """The boxes that marks take, in deg."""
    half_x = 2.2 / size_mm[0] * (frame[2] - frame[0])
    half_y = 2.2 / size_mm[1] * (frame[3] - frame[1])
    return [
        (
            mark["mark_lon"] - half_x,
            mark["mark_lat"] - half_y,
            mark["mark_lon"] + half_x,
            mark["mark_lat"] + half_y,
        )
        for mark in marks
    ]


def route_boxes(
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


def point_labels(marks: list[Mark]) -> list[Label]:
    """The labels of marked points, which are drawn in any case."""
    return [
        Label(
            str(mark["label"]), mark["mark_lon"], mark["mark_lat"], 7.0, rank=-1, bold=True,
            gap_mm=2.6,
        )
        for mark in marks
        if mark.get("label")
    ]  # fmt: skip
