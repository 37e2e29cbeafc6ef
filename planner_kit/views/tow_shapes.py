"""Routes on a map, told apart by colour, dash and number."""

from __future__ import annotations

import html
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely.geometry import mapping

from planner_kit.views.look import PALETTE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.tow.leg import Choice

# Colour, dash and width of each way; the first is the best.
WAYS = (
    (PALETTE["blue"], "", 7),
    (PALETTE["vermilion"], "14 7", 5),
    (PALETTE["purple"], "3 8", 5),
    (PALETTE["green"], "14 6 3 6", 5),
)
_UNDER = "#FFFFFF"


def way_shapes(choices: Sequence[Choice]) -> dict[str, Any]:
    """Ways to tow as GeoJSON, each with a pale edge; the best lies on top.

    Parameters
    ----------
    choices : sequence of Choice
        At most as many as `WAYS`; the best first.
    """
    features = []
    for (colour, dash, wide), choice in reversed(list(zip(WAYS, choices, strict=False))):
        line = shapely.simplify(choice.route.geometry, 0.00004)
        for edge in (True, False):
            style = {
                "color": _UNDER if edge else colour,
                "weight": wide + 4 if edge else wide,
                "opacity": 0.8 if edge else 1.0,
            }
            if dash and not edge:
                style["dashArray"] = dash
            features.append(
                {"type": "Feature", "geometry": mapping(line), "properties": {"style": style}}
            )
    return {"type": "FeatureCollection", "features": features}


def way_spots(choices: Sequence[Choice]) -> list[tuple[float, float]]:
    """Where the number of each way stands: (lat, lon) far from the other ways [deg]."""
    spots = []
    lines = [choice.route.geometry for choice in choices]
    for number, line in enumerate(lines):
        points = shapely.points([line.interpolate(s, normalized=True).coords[0]
                                 for s in np.linspace(0.2, 0.8, 25)])  # fmt: skip
        others = [other for place, other in enumerate(lines) if place != number]
        away = (
            np.min([shapely.distance(points, other) for other in others], axis=0)
            if others
            else -np.abs(np.arange(25) - 12.0)
        )
        best = points[int(np.argmax(away))]
        spots.append((float(best.y), float(best.x)))
    return spots


def way_key(number: int) -> str:
    """The line of a way as a small drawing with its number, for a table."""
    colour, dash, wide = WAYS[number]
    return (
        f'<svg width="64" height="16" role="img" aria-label="way {number + 1}">'
        f'<line x1="2" y1="8" x2="62" y2="8" stroke="{colour}" stroke-width="{wide}" '
        f'stroke-dasharray="{html.escape(dash)}"/></svg>'
    )
