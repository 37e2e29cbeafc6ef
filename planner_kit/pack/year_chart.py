"""A year as a drawing: a row for each month, nights away and what is due on each day."""

from __future__ import annotations

import calendar
import datetime as dt
from html import escape
from typing import TYPE_CHECKING

from planner_kit.trip import display

if TYPE_CHECKING:
    from planner_kit.sites.year import Year

_AGREED = ("held", "booked", "paid")
_LEFT, _CELL, _ROW, _TOP = 74, 19, 25, 22
# Signs of what is due, told by shape as well as by colour.
_SIGNS = {"done": ("#0072B2", "✓"), "to do": ("#1B1B1B", "●"), "late": ("#D55E00", "▲")}


def year_chart(year: Year) -> str:
    """The year as SVG text.

    Parameters
    ----------
    year : Year

    Returns
    -------
    svg : str
        Nights with an agreed pitch are filled, others hatched; ✓ done, ● to do, ▲ late, with the
        number of things where there are several. The same text for the same year.
    """
    width, height = _LEFT + 31 * _CELL + 8, _TOP + 12 * _ROW + 30
    units = year.household.units
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'width="{width}" height="{height}" role="img" '
        'font-family="DejaVu Sans, system-ui, sans-serif" font-size="10">',
        f"<title>{year.year}: nights away and what is due</title>",
        '<defs><pattern id="asked" width="5" height="5" patternUnits="userSpaceOnUse">'
        '<rect width="5" height="5" fill="#fff"/><path d="M0 5L5 0" stroke="#0072B2" '
        'stroke-width="1.2"/></pattern></defs>',
        f'<rect width="{width}" height="{height}" fill="#fff"/>',
    ]
    for day in range(1, 32):
        x = _LEFT + (day - 0.5) * _CELL
        parts.append(f'<text x="{x:g}" y="14" text-anchor="middle" fill="#55534e">{day}</text>')
    nights, due = _nights(year), _due(year)
    for month in range(1, 13):
        y = _TOP + (month - 1) * _ROW
        name = escape(display.month(dt.date(year.year, month, 1), units).split(" ")[0])
        parts.append(f'<text x="4" y="{y + 16}" font-size="11" fill="#1d1d1b">{name}</text>')
        for number in range(1, calendar.monthrange(year.year, month)[1] + 1):
            day_of_year = dt.date(year.year, month, number)
            parts += _day(day_of_year, y, nights.get(day_of_year), due.get(day_of_year, []))
    parts += _legend(_TOP + 12 * _ROW + 18)
    parts.append("</svg>")
    return "".join(parts)


def _nights(year: Year) -> dict[dt.date, str]:
    """Each night away, and whether its pitch is agreed."""
    found = {}
    for row in year.stays.to_dict("records"):
        if row["booking"] != "called off":
            for night in range(int(row["nights"])):
                found[row["arrive"] + dt.timedelta(days=night)] = str(row["booking"])
    return found


def _due(year: Year) -> dict[dt.date, list[str]]:
    found: dict[dt.date, list[str]] = {}
    for day, state in zip(year.deadlines["on"], year.deadlines["state"], strict=True):
        found.setdefault(day, []).append(str(state))
    return found


def _day(day: dt.date, y: int, night: str | None, states: list[str]) -> list[str]:
    x = _LEFT + (day.day - 1) * _CELL
    fill = "#e6e4de" if day.weekday() >= 5 else "#f7f6f2"
    if night is not None:
        fill = "#56B4E9" if night in _AGREED else "url(#asked)"
    parts = [
        f'<rect x="{x}" y="{y}" width="{_CELL - 1}" height="{_ROW - 4}" fill="{fill}" '
        'stroke="#d5d2c8" stroke-width="0.5"/>'
    ]
    if states:
        worst = next(one for one in ("late", "to do", "done") if one in states)
        colour, sign = _SIGNS[worst]
        count = str(len(states)) if len(states) > 1 else ""
        parts.append(
            f'<text x="{x + (_CELL - 1) / 2:g}" y="{y + 15}" text-anchor="middle" '
            f'fill="{colour}" font-weight="bold">{sign}{count}</text>'
        )
    return parts


def _legend(y: int) -> list[str]:
    words = [
        ("#56B4E9", "night with a pitch held, booked or paid"), ("url(#asked)", "night without"),
    ]  # fmt: skip
    parts, x = [], 4.0
    for fill, text in words:
        parts.append(
            f'<rect x="{x:g}" y="{y - 9}" width="14" height="11" fill="{fill}" '
            f'stroke="#55534e" stroke-width="0.5"/><text x="{x + 18:g}" y="{y}">{text}</text>'
        )
        x += 30 + 5.7 * len(text)
    for state, (colour, sign) in _SIGNS.items():
        parts.append(
            f'<text x="{x:g}" y="{y}" fill="{colour}" font-weight="bold">{sign}</text>'
            f'<text x="{x + 12:g}" y="{y}">{state}</text>'
        )
        x += 26 + 5.7 * len(state)
    return parts
