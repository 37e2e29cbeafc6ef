"""Charts for paper: their frame and ticks, and lines and bands inside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from matplotlib.ticker import MaxNLocator

from planner_kit.pack.drawing import Drawing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

_INK = "#333333"
_LABEL_PT = 6.5
_LETTER = 0.64  # width of a figure as a share of the size of its letters
Limits = tuple[float, float, float, float]


@dataclass(frozen=True)
class Chart:
    """A drawing with axes.

    Attributes
    ----------
    drawing : Drawing
        Its frame is widened so that the figures of the axes can be used as positions.
    limits : tuple of float
        Least along, least up, most along, most up. [units of the axes]
    """

    drawing: Drawing
    limits: Limits


def chart(size_mm: tuple[float, float], room: Limits, limits: Limits) -> Chart:
    """An empty chart.

    Parameters
    ----------
    size_mm : tuple of float
        Width and height on paper. [mm]
    room : tuple of float
        Left, foot, width and height of the axes, as shares of the drawing.
    limits : tuple of float
        Least along, least up, most along, most up. [units of the axes]
    """
    left, foot, wide, tall = room
    across, up = (limits[2] - limits[0]) / wide, (limits[3] - limits[1]) / tall
    west, south = limits[0] - left * across, limits[1] - foot * up
    return Chart(Drawing((west, south, west + across, south + up), size_mm), limits)


def band(on: Chart, along: Floats, low: Any, high: Any, level: float, fill: str) -> None:
    """Fill between two lines where both are known."""
    on.drawing.shapes(bands(on, along, low, high), 0.0, level, fill=fill)


def bands(on: Chart, along: Floats, low: Any, high: Any, where: Any = True) -> list[Any]:
    """The areas between two lines where both are known and `where` holds, cut to the axes."""
    low, high = np.broadcast_to(low, along.shape), np.broadcast_to(high, along.shape)
    known = np.isfinite(low) & np.isfinite(high) & np.broadcast_to(where, along.shape)
    found = []
    for run in _runs(known):
        upper = np.column_stack([along[run], high[run]])
        lower = np.column_stack([along[run], low[run]])[::-1]
        area = shapely.polygons(np.vstack([upper, lower]))
        room = upper[:, 1] - lower[::-1, 1]
        if room.min() < 0 or not room[1:-1].all():
            area = shapely.make_valid(area)  # one line meets the other: the area may be several
        if not _inside(on.limits, shapely.bounds(area)):
            area = shapely.intersection(area, shapely.box(*on.limits))
        # Areas that meet lines come as a collection of several areas and of those lines.
        cut = shapely.get_parts(shapely.get_parts(area))
        found += [part for part in cut if part.geom_type == "Polygon"]
    return found


def _inside(limits: Limits, bounds: Any) -> bool:
    """Whether bounds lie within limits, or on them."""
    west, south, east, north = bounds
    return bool(
        west >= limits[0] and south >= limits[1] and east <= limits[2] and north <= limits[3]
    )


def line(on: Chart, along: Floats, up: Floats, level: float, **look: Any) -> None:
    """Draw a line, with gaps where it is not known."""
    lines = [
        shapely.linestrings(along[run], up[run]) for run in _runs(np.isfinite(up) & (up == up))
    ]
    cut = shapely.clip_by_rect(np.array(lines, dtype=object), *on.limits)
    on.drawing.shapes(cut, 0.0, level, **look)


def _runs(known: NDArray[np.bool_]) -> list[slice]:
    """Where something holds for two or more places on end."""
    edges = np.flatnonzero(np.diff(np.r_[False, known, False].astype(np.int8)))
    pairs = edges.reshape(-1, 2).tolist()
    return [slice(start, end) for start, end in pairs if end - start > 1]


def draw_axes(
    on: Chart,
    along: str,
    up: str,
    *,
    named: Sequence[tuple[float, str]] | None = None,
    most_up: int | None = None,
    size_pt: float = _LABEL_PT,
) -> None:
    """Draw the axes left and below, their ticks and what they tell.

    Parameters
    ----------
    on : Chart
    along, up : str
        What the axes tell.
    named : sequence of (float, str), optional
        Ticks along with words of their own.
    most_up : int, optional
        So many steps up at most, in whole numbers.
    size_pt : float
        Of the figures. [pt]
    """
    x0, y0, x1, y1 = on.limits
    left, foot = on.drawing.place(x0, y0)
    right, top = on.drawing.place(x1, y1)
    for end in ((right, foot), (left, top)):
        on.drawing.outline([(left, foot), end], 9, stroke="#000000", width=0.5)
    for at, words in named or _ticks(x0, x1, right - left, size_pt, None):
        x = on.drawing.place(at, y0)[0]
        on.drawing.outline([(x, foot), (x, foot + 2.5)], 9, stroke=_INK, width=0.5)
        on.drawing.words(
            words, (x, foot + 6), 9, size_pt=size_pt, colour=_INK, stands="hangs", over_lines=False
        )
    ticks = _ticks(y0, y1, foot - top, size_pt, most_up)
    for at, words in ticks:
        y = on.drawing.place(x0, at)[1]
        on.drawing.outline([(left - 2.5, y), (left, y)], 9, stroke=_INK, width=0.5)
        on.drawing.words(
            words, (left - 6, y), 9, size_pt=size_pt, colour=_INK, anchor="end", stands="sign",
            over_lines=False,
        )  # fmt: skip
    on.drawing.words(
        along, ((left + right) / 2, foot + 8.5 + size_pt), 9, size_pt=_LABEL_PT, colour="#000000",
        stands="hangs", over_lines=False,
    )  # fmt: skip
    wide = max((len(words) for _, words in ticks), default=0) * _LETTER * size_pt
    beside = left - 8 - wide - _LABEL_PT * 0.8
    on.drawing.words(
        up, (beside, (foot + top) / 2), 9, size_pt=_LABEL_PT, colour="#000000", upright=True,
        over_lines=False,
    )  # fmt: skip


def _ticks(
    least: float, most: float, length_pt: float, size_pt: float, steps: int | None
) -> list[tuple[float, str]]:
    """Round figures along an axis."""
    if steps is None:
        room = int(np.clip(length_pt / (2 * size_pt), 1, 9))
        locator = MaxNLocator(room, steps=[1, 2, 2.5, 5, 10])
    else:
        locator = MaxNLocator(steps, integer=True)
    values = locator.tick_values(least, most)
    slack = (most - least) * 1e-9
    inside = [float(v) for v in values if least - slack <= v <= most + slack]
    places = next((n for n in range(6) if np.allclose(inside, np.round(inside, n))), 6)
    return [(v, f"{v + 0.0:.{places}f}".replace("-", "\u2212")) for v in inside]
