"""Names and numbered marks on a map, as one picture of the view."""

from __future__ import annotations

import base64
import html
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.pack.map_marks import pushed_apart
from planner_kit.views.look import PALETTE

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import pandas as pd
    from numpy.typing import NDArray

    from planner_kit.views.map_layers import Bounds

MOST_NAMES = 60
_LONGEST = 32
# Zoom from which a kind of settlement is named, and the size of its letters in pixels.
_SETTLEMENTS = {
    "city": (0, 17), "town": (8, 15), "village": (11, 13), "island": (11, 13),
    "suburb": (13, 12), "hamlet": (13, 12), "locality": (14, 12),
}  # fmt: skip
_MARK_PX = 26
_LETTER_WIDTH = 0.56  # of its height; only to keep names apart


@dataclass(frozen=True)
class Name:
    """Words at a position.

    Attributes
    ----------
    text : str
    lat, lon : float
        [deg]
    size_px : int
        Height of the letters.
    below_px : int
        How far below the position they stand.
    """

    text: str
    lat: float
    lon: float
    size_px: int
    below_px: int = 0


def name_drawing(
    places: pd.DataFrame, bounds: Bounds, zoom: float, *, more: Sequence[Name] = ()
) -> str:
    """The names of towns and villages in view as the address of one picture.

    Parameters
    ----------
    places : DataFrame
        The region's places.
    bounds : tuple of float
        West, south, east, north of the picture. [deg]
    zoom : float
        Web map zoom.
    more : sequence of Name, optional
        Further names, which yield to the towns.

    Returns
    -------
    address : str
        A ``data:`` address of an SVG whose text is escaped; at most `MOST_NAMES` names.
    """
    return names_and_spots(places, bounds, zoom, more=more)[0]


def names_and_spots(
    places: pd.DataFrame, bounds: Bounds, zoom: float, *, more: Sequence[Name] = ()
) -> tuple[str, NDArray[np.float64]]:
    """As `name_drawing`, and where the names stand, for what must not hide them.

    Returns
    -------
    address : str
    spots : ndarray, shape (n, 2)
        Points along the names, a mark's width apart, in pixels of the picture.
    """
    names = [*_settlement_names(places, bounds, zoom), *more]
    words, boxes = _words(names, bounds, zoom)
    spots = [
        (x, (top + bottom) / 2)
        for left, top, right, bottom in boxes
        for x in np.linspace(left, right, max(round((right - left) / _MARK_PX) + 1, 2))
    ]
    return _picture(words, bounds, zoom), np.array(spots).reshape(-1, 2)


def numbered_marks(
    points: Iterable[tuple[float, float]],
    here: tuple[float, float],
    bounds: Bounds,
    zoom: float,
    *,
    clear_of: NDArray[np.float64] | None = None,
) -> str:
    """Discs numbered from 1 at points, and a house at one more, as the address of one picture.

    A point without a position keeps its number and is not drawn; discs that would lie on each
    other are set apart, each tied to its point by a line.

    Parameters
    ----------
    points : iterable of (lat, lon)
        [deg]
    here : (lat, lon)
        Where the caravan stands. [deg]
    bounds : tuple of float
        West, south, east, north of the picture. [deg]
    zoom : float
        Web map zoom.
    clear_of : ndarray, shape (n, 2), optional
        Spots of names that the discs leave free; see `names_and_spots`. [pixels of the picture]
    """
    spots = [here, *points]
    known = [number for number, spot in enumerate(spots) if np.isfinite(spot).all()]
    at = np.array([_pixels(*spots[number], bounds, zoom) for number in known]).reshape(-1, 2)
    size = np.array(_pixels(bounds[1], bounds[2], bounds, zoom))
    seen = ((at >= 0) & (at <= size)).all(axis=1)
    set_at = at.copy()
    fixed = np.array([number == 0 for number in known])
    words = _near(clear_of, at[seen])
    every = np.vstack([at[seen], words])
    stays = np.append(fixed[seen], np.ones(len(words), dtype=bool))
    set_at[seen] = pushed_apart(every, stays, size, _MARK_PX)[: int(seen.sum())]
    lines, marks = [], []
    for number, (x0, y0), (x, y) in reversed(list(zip(known, at, set_at, strict=True))):
        if number == 0:
            marks.append(
                f'<path d="M{x - 11:.1f} {y + 10:.1f}v-12l11-10l11 10v12z" '
                f'fill="{PALETTE["vermilion"]}" stroke="#fff" stroke-width="2"/>'
            )
            continue
        if np.hypot(x - x0, y - y0) > 3:
            lines.append(
                f'<path d="M{x0:.1f} {y0:.1f}L{x:.1f} {y:.1f}" stroke="{PALETTE["ink"]}" '
                f'stroke-width="1.5"/><circle cx="{x0:.1f}" cy="{y0:.1f}" r="2.5"/>'
            )
        marks.append(
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="12" fill="#fff" '
            f'stroke="{PALETTE["ink"]}" stroke-width="2"/>'
            f'<text x="{x:.1f}" y="{y + 4.5:.1f}" text-anchor="middle" font-size="13" '
            f'font-weight="700">{number}</text>'
        )
    return _picture("".join([*lines, *marks]), bounds, zoom)


def _near(spots: NDArray[np.float64] | None, at: NDArray[np.float64]) -> NDArray[np.float64]:
    """Those spots that a disc at one of the points could reach."""
    if spots is None or not len(spots) or not len(at):
        return np.empty((0, 2))
    gap = np.abs(spots[:, None, :] - at[None, :, :]).max(axis=2).min(axis=1)
    near: NDArray[np.float64] = spots[gap < 3 * _MARK_PX]
    return near


def _settlement_names(places: pd.DataFrame, bounds: Bounds, zoom: float) -> list[Name]:
    west, south, east, north = bounds
    named = places[
        places["kind"].isin([kind for kind, (least, _) in _SETTLEMENTS.items() if least <= zoom])
        & (places["name"] != "")
        & places["lon"].between(west, east)
        & places["lat"].between(south, north)
    ]
    rank = named["kind"].astype(str).map(list(_SETTLEMENTS).index)
    named = named.iloc[np.argsort(rank.to_numpy(), kind="stable")]
    return [
        Name(str(name), float(lat), float(lon), _SETTLEMENTS[str(kind)][1])
        for name, lat, lon, kind in zip(
            named["name"], named["lat"], named["lon"], named["kind"], strict=True
        )
    ]


def _words(names: Sequence[Name], bounds: Bounds, zoom: float) -> tuple[str, NDArray[np.float64]]:
    """The names that do not overlap as SVG, and the box of each: left, top, right, bottom."""
    parts: list[str] = []
    taken = np.empty((0, 4))
    for name in names:
        if len(parts) == MOST_NAMES:
            break
        text = name.text if len(name.text) <= _LONGEST else name.text[: _LONGEST - 1] + "…"
        x, y = _pixels(name.lat, name.lon, bounds, zoom)
        y += name.below_px
        half = _LETTER_WIDTH * name.size_px * len(text) / 2
        own = np.array([x - half, y - name.size_px, x + half, y + 4])
        over = (own[:2] < taken[:, 2:]).all(axis=1) & (taken[:, :2] < own[2:]).all(axis=1)
        if over.any():
            continue
        taken = np.vstack([taken, own])
        parts.append(
            f'<text x="{x:.1f}" y="{y:.1f}" font-size="{name.size_px}" text-anchor="middle" '
            f'stroke="#fff" stroke-width="3" stroke-linejoin="round" paint-order="stroke">'
            f"{html.escape(text)}</text>"
        )
    return "".join(parts), taken


def _pixels(lat: float, lon: float, bounds: Bounds, zoom: float) -> tuple[float, float]:
    """Where a position stands on the picture, in Web Mercator pixels from its upper left."""
    west, _, _, north = bounds
    world = 256 * 2**zoom
    return (lon - west) / 360 * world, (_mercator(north) - _mercator(lat)) / (2 * np.pi) * world


def _mercator(lat: float) -> float:
    return float(np.arcsinh(np.tan(np.radians(lat))))


def _picture(inside: str, bounds: Bounds, zoom: float) -> str:
    width, height = _pixels(bounds[1], bounds[2], bounds, zoom)
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.1f} {height:.1f}" '
        f'width="{width:.1f}" height="{height:.1f}" preserveAspectRatio="none" '
        f'font-family="system-ui, sans-serif" fill="{PALETTE["ink"]}">{inside}</svg>'
    )
    return "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode()
