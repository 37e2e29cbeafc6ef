"""Drawings as SVG text for paper: the same text each time, with words kept as words."""

from __future__ import annotations

import io
import re
import warnings
from contextlib import contextmanager
from typing import TYPE_CHECKING

import matplotlib as mpl
from matplotlib.backends.backend_svg import FigureCanvasSVG

if TYPE_CHECKING:
    from collections.abc import Iterator

    from matplotlib.figure import Figure


@contextmanager
def other_letters() -> Iterator[None]:
    """Says nothing of letters that the font for measuring lacks: the typesetter has another."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing from font")
        yield


def svg_of(figure: Figure) -> str:
    """A figure as SVG text that is the same each time, with its words kept as words."""
    out = io.StringIO()
    settings = {
        "svg.fonttype": "none", "svg.hashsalt": "planner_kit", "path.simplify": False,
        "font.family": "DejaVu Sans",
    }  # fmt: skip
    with mpl.rc_context(settings), other_letters():
        FigureCanvasSVG(figure).print_svg(out, metadata={"Date": None, "Creator": None})
    return slim_svg(out.getvalue())


def slim_svg(svg: str) -> str:
    """The same drawing with coordinates to a hundredth of a point and a white halo behind text."""
    short = re.sub(
        r' d="[^"]*"', lambda d: re.sub(r"(\d+\.\d\d)\d+", r"\1", d.group()).replace("\n", ""), svg
    )
    halo = "paint-order: stroke; stroke: #ffffff; stroke-width: 1.6px; stroke-linejoin: round; "
    return re.sub(r'<text style="(?![^"]*fill: #ffffff)', f'<text style="{halo}', short)
