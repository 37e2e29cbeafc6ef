"""Where near a pitch a phone is heard better, as a small plan with figures."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.collections import PatchCollection
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from planner_kit.pack.svg import svg_of

if TYPE_CHECKING:
    import pandas as pd

_MM_PER_INCH = 25.4
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
    figure = Figure(figsize=(size_mm / _MM_PER_INCH, size_mm / _MM_PER_INCH))
    axes = figure.add_axes((0.15, 0.12, 0.84, 0.86))
    reach = float(np.abs(np.append(east[~road], north[~road])).max())
    cell = reach / 6.5
    shade = 0.97 - 0.3 * np.clip(gain[grid] / _FULL_DB, 0, 1)
    corners = zip(east[grid] - cell / 2, north[grid] - cell / 2, strict=True)
    cells = PatchCollection(
        [Rectangle(corner, cell, cell) for corner in corners],
        facecolors=np.stack([shade, np.full_like(shade, 0.97), shade], axis=1),
        edgecolors="white",
        linewidths=0.4,
    )
    axes.add_artist(cells)
    for x, y, better in zip(east[grid], north[grid], gain[grid], strict=True):
        weight = "bold" if better >= 3 else "normal"
        told = f"{round(better):+d}" if round(better) else "0"
        axes.text(x, y, told, ha="center", va="center", fontsize=5.5, weight=weight)
    axes.plot(east[road], north[road], ".", ms=1.2, color="#555555")
    axes.plot([0], [0], "s", ms=13, mfc="none", mec="#1B1B1B", mew=1.2)
    axes.set_xlim(-reach - cell / 2, reach + cell / 2)
    axes.set_ylim(-reach - cell / 2, reach + cell / 2)
    axes.set_aspect("equal")
    axes.tick_params(labelsize=6, length=2.5, width=0.5, colors="#333333")
    for side, spine in axes.spines.items():
        spine.set_visible(side in ("left", "bottom"))
        spine.set_linewidth(0.5)
    axes.set_xlabel("m east of the pitch (square); dots are roads", fontsize=6.5)
    axes.set_ylabel("m north; dB over the pitch", fontsize=6.5)
    return svg_of(figure)
