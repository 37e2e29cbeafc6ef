"""Scale bar, north arrow, attribution and frame of a printed map."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from planner_kit.pack.map_frame import INK, Bounds, frame_width_km
from planner_kit.trip.display import KM_PER_MILE

if TYPE_CHECKING:
    from planner_kit.pack.drawing import Drawing
    from planner_kit.trip.household import Units


def draw_furniture(
    canvas: Drawing, frame: Bounds, size_mm: tuple[float, float], units: Units, attribution: str
) -> list[Bounds]:
    """Scale bar, north arrow, attribution and frame; returns the boxes they take."""
    lon_per_mm = (frame[2] - frame[0]) / size_mm[0]
    lat_per_mm = (frame[3] - frame[1]) / size_mm[1]
    km_per_mm = frame_width_km(frame) / size_mm[0]
    unit_km = KM_PER_MILE if units.distance == "miles" else 1.0
    bar = _round_length(size_mm[0] * 0.25 * km_per_mm / unit_km)
    bar_mm = bar * unit_km / km_per_mm

    def at(x_mm: float, y_mm: float) -> tuple[float, float]:
        return frame[0] + x_mm * lon_per_mm, frame[1] + y_mm * lat_per_mm

    def box(x1: float, y1: float, x2: float, y2: float) -> Bounds:
        return (*at(x1, y1), *at(x2, y2))

    boxes = [box(2.5, 2.5, max(bar_mm + 15.0, 24.0), 9.5)]
    _plate(canvas, boxes[0])
    for part, fill in ((0, INK), (1, "#ffffff")):
        x1, y1 = at(4 + part * bar_mm / 2, 4)
        x2, y2 = at(4 + (part + 1) * bar_mm / 2, 5.2)
        canvas.box((x1, y1, x2, y2), 9.1, fill=fill, stroke=INK, width=0.6)
    name = units.distance if bar != 1 else units.distance.removesuffix("s")
    for x_mm, text in ((4.0, "0"), (4 + bar_mm, f"{bar:g} {name}")):
        canvas.words(
            text, canvas.place(*at(x_mm, 6)), 9.2, size_pt=5.8, colour=INK,
            anchor="start" if x_mm == 4.0 else "middle", stands="bottom",
        )  # fmt: skip
    boxes.append(_draw_north(canvas, at, box, size_mm))
    if attribution:
        length_mm = min(len(attribution) * 1.02 + 3, size_mm[0] - 4)
        boxes.append(box(size_mm[0] - length_mm, 0, size_mm[0], 3.4))
        _plate(canvas, boxes[-1])
        canvas.words(
            attribution, canvas.place(*at(size_mm[0] - 1, 1.0)), 9.2, size_pt=4.8,
            colour="#444444", anchor="end", stands="bottom",
        )  # fmt: skip
    canvas.box(frame, 10, stroke="#555555", width=1.0)
    return boxes


def _draw_north(canvas: Drawing, at: Any, box: Any, size_mm: tuple[float, float]) -> Bounds:
    x_mm, y_mm = size_mm[0] - 7.5, size_mm[1] - 12.0
    taken: Bounds = box(x_mm - 3.2, y_mm - 1, x_mm + 3.2, y_mm + 10.5)
    _plate(canvas, taken)
    for side, fill in ((-1, INK), (1, "#ffffff")):
        corners = [at(x_mm, y_mm + 6.5), at(x_mm + side * 1.8, y_mm), at(x_mm, y_mm + 1.4)]
        canvas.outline(
            [canvas.place(*corner) for corner in corners], 9.1, fill=fill, stroke=INK, width=0.6
        )
    canvas.words(
        "N", canvas.place(*at(x_mm, y_mm + 7.0)), 9.2, size_pt=7, colour=INK, bold=True,
        stands="bottom",
    )  # fmt: skip
    return taken


def _plate(canvas: Drawing, box: Bounds) -> None:
    canvas.box(box, 9, fill="#ffffff", opacity=0.82)


def _round_length(longest: float) -> float:
    """The longest of 1, 2, 5, 10, 20 ... that is not longer than `longest`."""
    power = 10.0 ** np.floor(np.log10(longest))
    return float(max(step * power for step in (1, 2, 5) if step * power <= longest * 1.0000001))
