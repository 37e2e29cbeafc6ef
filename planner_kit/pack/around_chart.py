"""Where near a pitch a phone is heard better, as a small plan with figures."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner_kit.pack.chart_frame import chart, draw_axes

if TYPE_CHECKING:
    import pandas as pd

_ROOM = (0.15, 0.12, 0.84, 0.86)
# Corners of the square about the pitch. [pt]
_SQUARE = ((-6.5, -6.5), (6.5, -6.5), (6.5, 6.5), (-6.5, 6.5))
# Beyond these the shade does not grow. [dB]
_FULL_DB = 12.0


def around_chart(around: pd.DataFrame | None, *, size_mm: float = 92.0) -> str | None:
    """The surroundings of a pitch as SVG text: north up, each figure the gain over the pitch in dB.

    Parameters
    ----------
    around : DataFrame or None
        As `planner_kit.pitch.surroundings.surroundings` returns it.
    size_mm : float
        Side of the drawing. [mm]

    Returns
    -------
    svg : str or None
        None where nothing is known.
    """
    if around is None or not np.isfinite(around["gain_db"]).any():
        return None
    turn = np.radians(around["bearing_deg"].to_numpy(dtype=np.float64))
    away = around["distance_m"].to_numpy(dtype=np.float64)
    east, north = away * np.sin(turn), away * np.cos(turn)
    gain = around["gain_db"].to_numpy(dtype=np.float64)
    road = around["on_road"].to_numpy(dtype=bool)
    grid = ~road & np.isfinite(gain)
    reach = float(np.abs(np.append(east[~road], north[~road])).max())
    cell = reach / 6.5
    edge = reach + cell / 2
    drawn = chart((size_mm, size_mm), _ROOM, (-edge, -edge, edge, edge))
    sheet = drawn.drawing
    shade = 0.97 - 0.3 * np.clip(gain[grid] / _FULL_DB, 0, 1)
    for x, y, better, dark in zip(east[grid], north[grid], gain[grid], shade, strict=True):
        grey = f"{round(dark * 255):02x}"
        sheet.box(
            (x - cell / 2, y - cell / 2, x + cell / 2, y + cell / 2), 1, fill=f"#{grey}f7{grey}",
            stroke="#ffffff", width=0.4,
        )  # fmt: skip
        told = f"{round(better):+d}".replace("-", "\u2212") if round(better) else "0"
        sheet.words(
            told, sheet.place(x, y), 2, size_pt=5.5, colour="#000000", bold=better >= 3,
            over_lines=False,
        )  # fmt: skip
    for x, y in zip(east[road], north[road], strict=True):
        if max(abs(x), abs(y)) <= edge:
            sheet.dot(sheet.place(x, y), 0.6, 3, "#555555")
    middle = sheet.place(0.0, 0.0)
    corners = [(middle[0] + x, middle[1] + y) for x, y in _SQUARE]
    sheet.outline(corners, 4, stroke="#1B1B1B", width=1.2)
    draw_axes(
        drawn, "m east of the pitch (square); dots are roads", "m north; dB over the pitch",
        size_pt=6.0,
    )  # fmt: skip
    return sheet.svg()
