"""A picture of the caravan's floor with the masses on it, as SVG."""

from __future__ import annotations

import html
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.errors import shown
from planner_kit.outfit.floor_room import room_for
from planner_kit.outfit.loading import item_names, with_totals
from planner_kit.reference import constant

if TYPE_CHECKING:
    from collections.abc import Callable

    import pandas as pd

    from planner_kit.outfit.floor_room import Spot
    from planner_kit.outfit.report import Outfit
    from planner_kit.trip.household import Caravan

    At = Callable[[float], float]

_INK, _PALE, _ORANGE, _GREY = "#1B1B1B", "#CDE4F2", "#E69F00", "#7F7F7F"
_SCALE, _EDGE = 100.0, 30.0
_COLUMNS, _LINE, _NAME_LENGTH = 2, 24.0, 36
# More discs than this cannot be told apart; the lighter things are then counted in words.
_MOST_DRAWN = 40
# From this radius on a disc holds its mass too.
_ROOMY_PX = 23.0


def floor_picture(
    caravan: Caravan,
    outfit: Outfit,
    items: pd.DataFrame,
    *,
    nose_kg: float | None = None,
    axle_kg: float | None = None,
) -> str | None:
    """The floor from above, front to the left, with a numbered disc for each thing.

    Parameters
    ----------
    caravan : Caravan
    outfit : Outfit
    items : DataFrame
        The loading list; things without mass or place are counted below the picture.
    nose_kg, axle_kg : float or None
        Written at the ball and at the axle, if known. [kg]

    Returns
    -------
    svg : str or None
        None where the length of the body, or the place of the axle, is not known.

    Notes
    -----
    The area of a disc goes with its mass, the lightest drawn large enough to hold their number.
    Discs never cover each other: where things lie at one place they stand beside each other across
    the floor, then a little along it, and the picture says so. Things over half a metre behind the
    axle are striped as well as coloured.
    """
    if outfit.ball_to_axle_m is None or outfit.axle_to_tail_m is None:
        return None
    front_m, tail_m = outfit.ball_to_axle_m, -outfit.axle_to_tail_m
    body_m = caravan.body_length_m or (front_m - tail_m - 1.2)
    width_m = caravan.width_m or 2.2
    middle = _EDGE + width_m * _SCALE / 2
    wide, high = (front_m - tail_m + 0.6) * _SCALE + 2 * _EDGE, middle + width_m * _SCALE / 2 + 70

    def at(x_m: float) -> float:
        return _EDGE + (front_m - x_m + 0.3) * _SCALE

    nose_of_body = tail_m + body_m
    table = with_totals(items).assign(item=item_names(items))
    here = table[table["vehicle"] == "caravan"]
    reached = here["x_m"].between(tail_m - constant("outfit", "beyond_tail").value, front_m)
    placed = here[reached & (here["total_kg"] > 0)].sort_values(
        "total_kg", ascending=False, kind="stable"
    )
    spots = room_for(placed.head(_MOST_DRAWN), width_m=width_m)
    drawn = placed.iloc[: len(spots)]
    wide = max([wide, *(at(spot.x_m - spot.radius_m) + 10 for spot in spots)])
    said = _not_drawn(here, placed, drawn)
    if any(abs(spot.aside_m) > 0.05 for spot in spots):
        said.append("Discs stand side by side, so some are a little off their place.")
    rows = -(-len(drawn) // _COLUMNS)
    floor_high = high
    high += 16 + _LINE * (rows + len(said))
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0f} {high:.0f}" '
        'font-family="sans-serif" role="img" '
        f'aria-label="{_told(drawn, nose_kg, axle_kg)}">',
        f'<defs><pattern id="stripes" width="8" height="8" patternUnits="userSpaceOnUse" '
        f'patternTransform="rotate(45)"><rect width="8" height="8" fill="{_ORANGE}"/>'
        '<rect width="3" height="8" fill="#ffffff" fill-opacity="0.6"/></pattern></defs>',
        f'<rect width="{wide:.0f}" height="{high:.0f}" fill="#ffffff"/>',
        _body(at, nose_of_body, tail_m, front_m, middle, width_m),
        *_wheels(at, caravan, middle, width_m),
        _words(8, middle - 34, "ball" + _kg(nose_kg), "start"),
        _words(at(0), middle + width_m * _SCALE / 2 + 24, "axle" + _kg(axle_kg), "middle"),
        *_discs(drawn, spots, at, middle),
        *_ruler(at, tail_m, front_m, floor_high),
        *_legend(drawn, wide, floor_high + 22),
    ]
    parts += [
        _words(_EDGE, floor_high + 22 + _LINE * (rows + line), words, "start", 15)
        for line, words in enumerate(said)
    ]
    return "".join(parts) + "</svg>"


def _told(drawn: pd.DataFrame, nose_kg: float | None, axle_kg: float | None) -> str:
    heaviest = ", ".join(
        f"{shown(str(row['item']))} {row['total_kg']:.0f} kg at {row['x_m']:+.1f} m"
        for _, row in drawn.head(5).iterrows()
    )
    words = (
        f"Caravan floor from above. Ball{_kg(nose_kg)}, axle{_kg(axle_kg)}. Heaviest: {heaviest}"
    )
    return html.escape(words, quote=True)


def _kg(mass_kg: float | None) -> str:
    return " unknown" if mass_kg is None else f" {mass_kg:,.0f} kg"


def _words(x: float, y: float, words: str, anchor: str, size: int = 18, colour: str = _INK) -> str:
    return (
        f'<text x="{x:.0f}" y="{y:.0f}" font-size="{size}" text-anchor="{anchor}" '
        f'fill="{colour}">{html.escape(words)}</text>'
    )


def _body(
    at: At, nose_m: float, tail_m: float, front_m: float, middle: float, width_m: float
) -> str:
    half = width_m * _SCALE / 2
    left, right = at(nose_m), at(tail_m)
    return (
        f'<rect x="{left:.0f}" y="{middle - half:.0f}" width="{right - left:.0f}" '
        f'height="{2 * half:.0f}" rx="22" fill="#F4F4F4" stroke="{_INK}" stroke-width="2"/>'
        f'<path d="M{left:.0f} {middle - half * 0.55:.0f} L{at(front_m):.0f} {middle:.0f} '
        f'L{left:.0f} {middle + half * 0.55:.0f}" fill="none" stroke="{_INK}" stroke-width="3"/>'
        f'<circle cx="{at(front_m):.0f}" cy="{middle:.0f}" r="8" fill="{_INK}"/>'
    )


def _wheels(at: At, caravan: Caravan, middle: float, width_m: float) -> list[str]:
    half = width_m * _SCALE / 2
    spacing = caravan.axle_spacing_m or 0.9
    places = [0.0] if caravan.axles == 1 else [spacing / 2, -spacing / 2]
    return [
        f'<rect x="{at(place) - 32:.0f}" y="{middle + side * half - 9:.0f}" width="64" '
        f'height="18" rx="5" fill="{_INK}"/>'
        for place in places
        for side in (-1, 1)
    ] + [
        f'<line x1="{at(place):.0f}" x2="{at(place):.0f}" y1="{middle - half:.0f}" '
        f'y2="{middle + half:.0f}" stroke="{_GREY}" stroke-dasharray="6 5" stroke-width="2"/>'
        for place in places
    ]


def _not_drawn(here: pd.DataFrame, placed: pd.DataFrame, drawn: pd.DataFrame) -> list[str]:
    """What is in the caravan by the list, but not in the picture."""
    said = []
    lost = len(here) - len(placed)
    if lost:
        said.append(f"{lost} more on the list without a mass or a place on the caravan, not drawn.")
    lighter = placed.iloc[len(drawn) :]
    if len(lighter):
        mass_kg = float(lighter["total_kg"].sum())
        said.append(f"{len(lighter)} lighter things, {mass_kg:,.0f} kg together, not drawn.")
    return said


def _discs(drawn: pd.DataFrame, spots: list[Spot], at: At, middle: float) -> list[str]:
    discs = []
    for number, ((_, row), spot) in enumerate(zip(drawn.iterrows(), spots, strict=True), start=1):
        mass = float(row["total_kg"])
        x, y, radius = at(spot.x_m), middle + spot.y_m * _SCALE, spot.radius_m * _SCALE
        fill = "url(#stripes)" if float(row["x_m"]) < -0.5 else _PALE
        discs.append(
            f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" fill="{fill}" '
            f'stroke="{_INK}" stroke-width="2"><title>{html.escape(shown(str(row["item"])))}, '
            f"{mass:.4g} kg, {float(row['x_m']):+.1f} m</title></circle>"
        )
        roomy = radius >= _ROOMY_PX
        discs.append(_halo(x, y - (6 if roomy else 0), str(number)))
        if roomy:
            discs.append(_halo(x, y + 10, f"{mass:.0f} kg", 13))
    return discs


def _halo(x: float, y: float, words: str, size: int = 17) -> str:
    place = (
        f'x="{x:.0f}" y="{y + size / 3:.0f}" font-size="{size}" font-weight="bold" '
        'text-anchor="middle"'
    )
    escaped = html.escape(words)
    return (
        f'<text {place} stroke="#ffffff" stroke-width="4" stroke-linejoin="round">{escaped}</text>'
        f'<text {place} fill="{_INK}">{escaped}</text>'
    )


def _legend(drawn: pd.DataFrame, wide: float, top: float) -> list[str]:
    """What the numbers are, in columns, heaviest first."""
    rows = -(-len(drawn) // _COLUMNS)
    lines = []
    for place, (_, row) in enumerate(drawn.iterrows()):
        column, line = divmod(place, max(rows, 1))
        name = shown(str(row["item"]))
        short = name if len(name) <= _NAME_LENGTH else name[: _NAME_LENGTH - 1].rstrip() + "…"
        x = _EDGE + column * (wide - 2 * _EDGE) / _COLUMNS
        words = f"{place + 1}  {short}, {float(row['total_kg']):.3g} kg"
        lines.append(_words(x, top + line * _LINE, words, "start", 17))
    return lines


def _ruler(at: At, tail_m: float, front_m: float, high: float) -> list[str]:
    marks = range(int(np.ceil(tail_m)), int(np.floor(front_m)) + 1)
    return [
        f'<line x1="{at(mark):.0f}" x2="{at(mark):.0f}" y1="{high - 30:.0f}" '
        f'y2="{high - 22:.0f}" stroke="{_GREY}" stroke-width="2"/>'
        + _words(at(mark), high - 6, f"{mark:+d} m" if mark else "0", "middle", 14, "#555555")
        for mark in marks
    ]
