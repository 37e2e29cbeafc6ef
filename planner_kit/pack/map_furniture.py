"""Scale bar, north arrow, attribution and frame of a printed map."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from planner_kit.pack.map_frame import INK, Bounds, frame_width_km
from planner_kit.trip.display import KM_PER_MILE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.pack.drawing import Drawing
    from planner_kit.trip.household import Units


_ARROW_MM = (6.4, 11.5)  # the north arrow's plate
_CREDIT_MM = 3.4


def draw_furniture(
    canvas: Drawing,
    frame: Bounds,
    size_mm: tuple[float, float],
    units: Units,
    attribution: str,
    keep_clear: Sequence[Bounds] = (),
) -> list[Bounds]:
    """Scale bar, north arrow, attribution and frame, each in the corner that hides least.

    Parameters
    ----------
    canvas : Drawing
    frame : tuple of float
        West, south, east, north of the map. [deg]
    size_mm : tuple of float
        Of the map on paper. [mm]
    units : Units
    attribution : str
        Empty if there is none.
    keep_clear : sequence of tuple
        Boxes of the way and its marks. [deg]

    Returns
    -------
    boxes : list of tuple
        What the furniture takes. [deg]
    """
    wide, tall = size_mm
    lon_per_mm, lat_per_mm = (frame[2] - frame[0]) / wide, (frame[3] - frame[1]) / tall
    clear = np.array(keep_clear, dtype=np.float64).reshape(-1, 4)
    clear = (clear - np.tile(frame[:2], 2)) / np.tile([lon_per_mm, lat_per_mm], 2)

    def at(x_mm: float, y_mm: float) -> tuple[float, float]:
        return frame[0] + x_mm * lon_per_mm, frame[1] + y_mm * lat_per_mm

    taken: list[Bounds] = []

    def corner(size: tuple[float, float], margin: float, order: str) -> Bounds:
        """The box of a size in the corner with least below it; ties by `order`."""
        boxes = [_in_corner(name, size, margin, size_mm) for name in order.split()]
        best = min(boxes, key=lambda box: _meets(box, taken) * 1000 + _meets(box, clear))
        taken.append(best)
        return best

    if attribution:
        box = corner((min(len(attribution) * 1.02 + 3, wide - 4), _CREDIT_MM), 0.0, "SE SW NE NW")
        _plate(canvas, (*at(*box[:2]), *at(*box[2:])))
        left = box[0] < wide - box[2]
        canvas.words(
            attribution, canvas.place(*at(box[0] + 1 if left else box[2] - 1, box[1] + 1.0)), 9.2,
            size_pt=4.8, colour="#444444", anchor="start" if left else "end", stands="bottom",
        )  # fmt: skip
    unit_km = KM_PER_MILE if units.distance == "miles" else 1.0
    km_per_mm = frame_width_km(frame) / wide
    bar = _round_length(wide * 0.25 * km_per_mm / unit_km)
    bar_mm = bar * unit_km / km_per_mm
    box = corner((max(bar_mm + 12.5, 21.5), 7.0), 2.5, "SW NW SE NE")
    _plate(canvas, (*at(*box[:2]), *at(*box[2:])))
    name = units.distance if bar != 1 else units.distance.removesuffix("s")
    _draw_bar(canvas, at, box, bar_mm, f"{bar:g} {name}")
    box = corner(_ARROW_MM, 2.0, "NE NW SE SW")
    _plate(canvas, (*at(*box[:2]), *at(*box[2:])))
    _draw_north(canvas, at, box)
    canvas.box(frame, 10, stroke="#555555", width=1.0)
    return [(*at(*box[:2]), *at(*box[2:])) for box in taken]


def _in_corner(
    name: str, size: tuple[float, float], margin: float, size_mm: tuple[float, float]
) -> Bounds:
    """A box in a corner of the sheet, in mm; above the usual line of the attribution."""
    raised = name == "SE" and size[1] > _CREDIT_MM
    x = margin if "W" in name else size_mm[0] - margin - size[0]
    room = _CREDIT_MM + 1.0 if raised else margin
    y = room if "S" in name else size_mm[1] - room - size[1]
    return x, y, x + size[0], y + size[1]


def _meets(box: Bounds, others: Any) -> int:
    """How many boxes one meets."""
    found = np.asarray(others, dtype=np.float64).reshape(-1, 4)
    across = (found[:, 0] < box[2]) & (found[:, 2] > box[0])
    return int((across & (found[:, 1] < box[3]) & (found[:, 3] > box[1])).sum())


def _draw_bar(canvas: Drawing, at: Any, box: Bounds, bar_mm: float, words: str) -> None:
    x_mm, y_mm = box[0] + 1.5, box[1] + 1.5
    for part, fill in ((0, INK), (1, "#ffffff")):
        x1, y1 = at(x_mm + part * bar_mm / 2, y_mm)
        x2, y2 = at(x_mm + (part + 1) * bar_mm / 2, y_mm + 1.2)
        canvas.box((x1, y1, x2, y2), 9.1, fill=fill, stroke=INK, width=0.6)
    for x, text, anchor in ((x_mm, "0", "start"), (x_mm + bar_mm, words, "middle")):
        canvas.words(
            text, canvas.place(*at(x, y_mm + 2)), 9.2, size_pt=5.8, colour=INK, anchor=anchor,
            stands="bottom",
        )  # fmt: skip


def _draw_north(canvas: Drawing, at: Any, box: Bounds) -> None:
    x_mm, y_mm = (box[0] + box[2]) / 2, box[1] + 1
    for side, fill in ((-1, INK), (1, "#ffffff")):
        corners = [at(x_mm, y_mm + 6.5), at(x_mm + side * 1.8, y_mm), at(x_mm, y_mm + 1.4)]
        canvas.outline(
            [canvas.place(*corner) for corner in corners], 9.1, fill=fill, stroke=INK, width=0.6
        )
    canvas.words(
        "N", canvas.place(*at(x_mm, y_mm + 7.0)), 9.2, size_pt=7, colour=INK, bold=True,
        stands="bottom",
    )  # fmt: skip


def _plate(canvas: Drawing, box: Bounds) -> None:
    canvas.box(box, 9, fill="#ffffff", opacity=0.82)


def _round_length(longest: float) -> float:
    """The longest of 1, 2, 5, 10, 20 ... that is not longer than `longest`."""
    power = 10.0 ** np.floor(np.log10(longest))
    return float(max(step * power for step in (1, 2, 5) if step * power <= longest * 1.0000001))
