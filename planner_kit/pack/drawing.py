"""A map or chart for paper as it grows: shapes, words and pictures, written as SVG.

Drawings are many and full of lines, so they are written straight as text: geometry goes from
columns of coordinates to paths in one step.
"""

from __future__ import annotations

import base64
import io
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PIL.Image import Image

    from planner_kit.pack.map_frame import Bounds

PT_PER_MM = 72 / 25.4
# Where the foot of letters stands below the point named, as a share of their size.
_FOOT = {"middle": 0.26, "bottom": -0.24, "sign": 0.38, "hangs": 0.76}
_HALO = "paint-order: stroke; stroke: #ffffff; stroke-width: 1.6px; stroke-linejoin: round; "


class Drawing:
    """What was drawn so far, each piece at its level; written once at the end.

    Parameters
    ----------
    frame : tuple of float
        West, south, east, north of a map, in deg; of a chart what lies at its edges.
    size_mm : tuple of float
        Width and height on paper. [mm]
    """

    def __init__(self, frame: Bounds, size_mm: tuple[float, float]) -> None:
        self.frame = frame
        self.width_pt, self.height_pt = size_mm[0] * PT_PER_MM, size_mm[1] * PT_PER_MM
        self._pieces: list[tuple[float, int, str]] = []
        self._hatches: dict[str, str] = {}

    def place(self, lon: float, lat: float) -> tuple[float, float]:
        """Where a position lies: across from the left and down from the top, in points."""
        west, south, east, north = self.frame
        return (
            (lon - west) / (east - west) * self.width_pt,
            (north - lat) / (north - south) * self.height_pt,
        )

    def way_of(self, geometries: Any, tolerance_deg: float) -> str:
        """All lines or rings as one SVG path, thinned to what can be seen on paper."""
        thin = shapely.simplify(np.asarray(geometries), tolerance_deg, preserve_topology=False)
        parts = shapely.get_parts(thin)
        if len(parts) and shapely.get_dimensions(parts[0]) == 2:
            parts = shapely.get_rings(parts)
        lonlat, owner = shapely.get_coordinates(parts, return_index=True)
        if not len(lonlat):
            return ""
        across, down = self.place(lonlat[:, 0], lonlat[:, 1])
        points = np.round(np.column_stack([across, down]), 1) + 0.0  # no -0.0
        words = [f"{x} {y}" for x, y in points.tolist()]
        starts = np.flatnonzero(np.r_[True, np.diff(owner) > 0]).tolist()
        return "".join(
            "M" + " ".join(words[start:end])
            for start, end in zip(starts, [*starts[1:], len(words)], strict=True)
        )

    def way(
        self,
        way: str,
        level: float,
        *,
        fill: str = "none",
        stroke: str = "",
        width: float = 0.0,
        dash: Sequence[float] = (),
        opacity: float = 1.0,
    ) -> None:
        """Draw an SVG path; widths in points, dashes in widths of the line."""
        if not way:
            return
        style = f"fill: {fill}"
        if stroke and width:
            style += f"; stroke: {stroke}; stroke-width: {width:g}; stroke-linecap: round"
        if dash:
            style += f"; stroke-dasharray: {','.join(f'{part * width:g}' for part in dash)}"
            style += "; stroke-linecap: butt"
        if opacity < 1:
            style += f"; opacity: {opacity:g}"
        self._add(level, f'<path d="{way}" style="{style}"/>')

    def shapes(self, geometries: Any, tolerance_deg: float, level: float, **look: Any) -> None:
        """Draw lines or areas as one path; see `way` for their look."""
        self.way(self.way_of(geometries, tolerance_deg), level, **look)

    def outline(self, points_pt: Sequence[Sequence[float]], level: float, **look: Any) -> None:
        """Draw a closed figure through points of the sheet, in points."""
        corners = " L ".join(f"{x:.2f} {y:.2f}" for x, y in points_pt)
        self.way(f"M {corners} z", level, **look)

    def box(self, box: Bounds, level: float, **look: Any) -> None:
        """Draw a box given in deg."""
        left, low = self.place(box[0], box[1])
        right, high = self.place(box[2], box[3])
        self.outline([(left, low), (right, low), (right, high), (left, high)], level, **look)

    def dot(
        self, at_pt: tuple[float, float], radius_pt: float, level: float, fill: str,
        *, stroke: str = "", width: float = 0.0,
    ) -> None:  # fmt: skip
        """Draw a disc about a point of the sheet."""
        edge = f"; stroke: {stroke}; stroke-width: {width:g}" if stroke else ""
        self._add(
            level,
            f'<circle cx="{at_pt[0]:.2f}" cy="{at_pt[1]:.2f}" r="{radius_pt:g}" '
            f'style="fill: {fill}{edge}"/>',
        )

    def words(
        self,
        text: str,
        at_pt: tuple[float, float],
        level: float,
        *,
        size_pt: float,
        colour: str,
        bold: bool = False,
        anchor: str = "middle",
        stands: str = "middle",
        upright: bool = False,
        over_lines: bool = True,
    ) -> None:
        """Set words about a point of the sheet, with a white halo where they may lie over lines."""
        halo = _HALO if over_lines and colour != "#ffffff" else ""
        weight = "font-weight: 700; " if bold else ""
        foot = at_pt[1] + _FOOT[stands] * size_pt
        turn = f' transform="rotate(-90 {at_pt[0]:.2f} {at_pt[1]:.2f})"' if upright else ""
        self._add(
            level,
            f'<text style="{halo}{weight}font-size: {size_pt:g}px; text-anchor: {anchor}; '
            f'fill: {colour}" x="{at_pt[0]:.2f}" y="{foot:.2f}"{turn}>{escape(text)}</text>',
        )

    def picture(self, image: Image, level: float) -> None:
        """Lay a picture over the whole sheet."""
        out = io.BytesIO()
        image.save(out, "PNG")
        data = base64.b64encode(out.getvalue()).decode("ascii")
        self._add(
            level,
            f'<image xlink:href="data:image/png;base64,{data}" x="0" y="0" '
            f'width="{self.width_pt:.2f}" height="{self.height_pt:.2f}" '
            'preserveAspectRatio="none" style="image-rendering: pixelated"/>',
        )

    def hatched(
        self, geometries: Any, level: float, *, fill: str, line: str, width: float, edge: bool
    ) -> None:
        """Fill areas with thin slanted lines on a ground."""
        way = self.way_of(geometries, 0.0)
        if not way:
            return
        name = f"pk-hatch-{line.removeprefix('#')}"
        self._hatches[name] = f"stroke: {line}; stroke-width: {width:g}"
        self.way(way, level, fill=fill)
        self.way(way, level, fill=f"url(#{name})", stroke=line if edge else "", width=width * edge)

    def _add(self, level: float, piece: str) -> None:
        self._pieces.append((level, len(self._pieces), piece))

    def svg(self) -> str:
        """The drawing as SVG text, lower levels first."""
        wide, tall = f"{self.width_pt:.6f}", f"{self.height_pt:.6f}"
        clip = f"pk-{self.width_pt:.0f}-{self.height_pt:.0f}"  # one meaning wherever it stands
        hatches = "".join(
            f'<pattern id="{name}" patternUnits="userSpaceOnUse" width="6" height="6">'
            f'<path d="M-1 1L1 -1M0 6L6 0M5 7L7 5" style="{style}"/></pattern>'
            for name, style in sorted(self._hatches.items())
        )
        drawn = "\n".join(piece for _, _, piece in sorted(self._pieces))
        return (
            '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
            f'width="{wide}pt" height="{tall}pt" viewBox="0 0 {wide} {tall}" version="1.1">\n'
            f'<defs><clipPath id="{clip}"><rect x="0" y="0" width="{wide}" height="{tall}"/>'
            f"</clipPath>{hatches}</defs>\n"
            f'<g clip-path="url(#{clip})" style="font-family: \'DejaVu Sans\', sans-serif; '
            f'stroke-linejoin: round">\n{drawn}\n</g>\n</svg>\n'
        )
