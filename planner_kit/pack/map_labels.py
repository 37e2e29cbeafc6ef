"""Names on a map, set so that none lies over another."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.pack.drawing import Drawing

Bounds = tuple[float, float, float, float]
_MM_PER_POINT = 25.4 / 72
_MARGIN_MM = 0.5
_LONGEST = 40
_ROUND = ((-1, -1), (1, -1), (1, 1), (-1, 1))


@dataclass(frozen=True)
class Label:
    """A name that wants a place on the map.

    Attributes
    ----------
    text : str
    lon, lat : float
        What it names. [deg]
    size_pt : float
    rank : int
        Lower goes first; a name that finds no room is left out, unless its rank is below 0.
    bold, plate, dot : bool
        Heavy letters; a white plate centred on the position; a small dot at the position.
    gap_mm : float
        Room between the position and the name. [mm]
    """

    text: str
    lon: float
    lat: float
    size_pt: float
    rank: int
    bold: bool = False
    plate: bool = False
    dot: bool = False
    gap_mm: float = 0.0


def place_labels(
    canvas: Drawing,
    labels: Sequence[Label],
    frame: Bounds,
    size_mm: tuple[float, float],
    taken: Sequence[Bounds],
    way: Sequence[Bounds] = (),
) -> list[Bounds]:
    """Draw the labels that find room, the most important first.

    Parameters
    ----------
    canvas : Drawing
        Its frame is `frame`.
    labels : sequence of Label
    frame : tuple of float
        West, south, east, north of the map. [deg]
    size_mm : tuple of float
        Size of the map on paper. [mm]
    taken : sequence of tuple
        Boxes that are in use already. [deg]
    way : sequence of tuple
        Boxes on which only plates may be set. [deg]

    Returns
    -------
    boxes : list of tuple
        The boxes of the labels drawn, in the order drawn; they do not overlap each other or
        `taken`, save for labels of a rank below 0 that found no free side. [deg]
    """
    x_per_mm = (frame[2] - frame[0]) / size_mm[0]
    y_per_mm = (frame[3] - frame[1]) / size_mm[1]
    in_use, drawn = list(taken), []
    ordered = sorted(labels, key=lambda label: (label.rank, label.text, label.lon, label.lat))
    for label in ordered:
        text = label.text if len(label.text) <= _LONGEST else label.text[: _LONGEST - 1] + "…"
        width_mm, height_mm = _text_size_mm(text, label.size_pt, label.bold)
        choices = [
            (
                label.lon + left * x_per_mm,
                label.lat + low * y_per_mm,
                label.lon + (left + width_mm) * x_per_mm,
                label.lat + (low + height_mm) * y_per_mm,
            )
            for left, low in _offsets(label, width_mm, height_mm)
        ]
        shut = in_use if label.plate else [*in_use, *way]
        free = [box for box in choices if _is_inside(box, frame) and not _hits(box, shut)]
        must = [box for box in choices if _is_inside(box, frame)] if label.rank < 0 else []
        chosen = next(iter([*free, *must]), None)
        if chosen is None:
            continue
        in_use.append(_widened(chosen, x_per_mm * _MARGIN_MM, y_per_mm * _MARGIN_MM))
        drawn.append(chosen)
        _draw(canvas, label, text, chosen)
    return drawn


def _offsets(label: Label, width_mm: float, height_mm: float) -> list[tuple[float, float]]:
    """Lower left corners to try, from the position, in millimetres."""
    if label.plate:
        return [(-width_mm / 2, -height_mm / 2)]
    gap = label.gap_mm
    middle, beside = -height_mm / 2, -width_mm / 2
    return [
        (gap, middle),
        (-gap - width_mm, middle),
        (beside, gap),
        (beside, -gap - height_mm),
        (gap * 0.7, gap * 0.7),
        (-gap * 0.7 - width_mm, gap * 0.7),
        (gap * 0.7, -gap * 0.7 - height_mm),
        (-gap * 0.7 - width_mm, -gap * 0.7 - height_mm),
    ]


@lru_cache(maxsize=4096)  # the same names stand on map after map
def _text_size_mm(text: str, size_pt: float, bold: bool) -> tuple[float, float]:
    weight = "bold" if bold else "normal"
    font = FontProperties(family="DejaVu Sans", size=size_pt, weight=weight)
    with warnings.catch_warnings():
        # A letter that the font for measuring lacks: the typesetter has another.
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        width, height, _ = text_to_path.get_text_width_height_descent(text, font, ismath=False)
    return float(width) * _MM_PER_POINT, max(float(height), size_pt) * _MM_PER_POINT


def _is_inside(box: Bounds, frame: Bounds) -> bool:
    return box[0] >= frame[0] and box[1] >= frame[1] and box[2] <= frame[2] and box[3] <= frame[3]


def _hits(box: Bounds, others: Sequence[Bounds]) -> bool:
    return any(
        box[0] < other[2] and other[0] < box[2] and box[1] < other[3] and other[1] < box[3]
        for other in others
    )


def _widened(box: Bounds, x: float, y: float) -> Bounds:
    return box[0] - x, box[1] - y, box[2] + x, box[3] + y


def _draw(canvas: Drawing, label: Label, text: str, box: Bounds) -> None:
    left, low = canvas.place(box[0], box[1])
    right, high = canvas.place(box[2], box[3])
    middle = (left + right) / 2, (low + high) / 2
    if label.plate:
        half = (right - left) / 2 + 1.0, label.size_pt * 0.4975 + 1.0
        corners = [(middle[0] + x * half[0], middle[1] + y * half[1]) for x, y in _ROUND]
        canvas.outline(corners, 7, fill="#ffffff", stroke="#767676", width=0.5)
    if label.dot:
        canvas.dot(canvas.place(label.lon, label.lat), 1.4, 7.4, "#222222")
    canvas.words(
        text, middle, 7 if label.plate else 7.5, size_pt=label.size_pt, colour="#222222",
        bold=label.bold,
    )  # fmt: skip
