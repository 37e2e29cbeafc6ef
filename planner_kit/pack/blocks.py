"""The pieces a printed sheet is made of, as plain data that the page template reads.

Nothing of what people or stages wrote is ever markup: it goes to the template as JSON text.
"""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING, Any

from planner_kit.pack.codes import code_svg, geo_uri
from planner_kit.states import Check, State
from planner_kit.trip import display

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from planner_kit.trip.household import Units

Block = dict[str, Any]
Cell = str | Block
# Signs that turn or hide the text around them; letters of every script stay.
_STEERING = re.compile("[\u202a-\u202e\u2066-\u2069\ufeff\U000e0000-\U000e007f]")
_BEYOND_ASCII = re.compile("[^\x00-\x7f]")
_LONGEST = 2000
_GRAVEST_FIRST = (State.NOT_FINE, State.LOOK, State.UNKNOWN, State.FINE)


def clean(text: object, *, longest: int = _LONGEST) -> str:
    """Text fit for paper: one line, no control signs, no signs that reorder their neighbours."""
    kept = str(text)
    if not kept.isprintable():
        spaced = (" " if sign.isspace() else sign for sign in _STEERING.sub("", kept))
        kept = "".join(
            sign for sign in spaced if unicodedata.category(sign) not in ("Cc", "Cs", "Co", "Cn")
        )
    kept = " ".join(kept.split())
    return kept if len(kept) <= longest else kept[: longest - 1] + "…"


def clean_drawing(svg: str) -> str:
    """A drawing whose words the typesetter can set.

    It looks for each mark that belongs to the letter before it in one font only, and refuses the
    page when that font has none: so letters are composed where they can be, and other marks left
    out.
    """
    composed = unicodedata.normalize("NFC", _STEERING.sub("", svg))
    return _BEYOND_ASCII.sub(
        lambda sign: "" if unicodedata.category(sign[0]) in ("Mn", "Me", "Cf") else sign[0],
        composed,
    )


def sheet(name: str, title: str, blocks: Iterable[Block | None], intro: str = "") -> Block:
    """A sheet that starts on a new page; blocks that are None are left out."""
    return {
        "name": name,
        "title": clean(title),
        "intro": clean(intro),
        "blocks": [block for block in blocks if block is not None],
    }


def heading(text: str) -> Block:
    """A heading inside a sheet."""
    return {"type": "heading", "text": clean(text)}


def text(words: str, *, small: bool = False) -> Block | None:
    """A paragraph; None if it is empty."""
    said = clean(words)
    return {"type": "text", "text": said, "small": small} if said else None


def facts(pairs: Iterable[tuple[str, object]], *, columns: int = 3) -> Block:
    """Short facts under their labels, side by side."""
    rows = [{"label": clean(label), "value": clean(value)} for label, value in pairs]
    return {"type": "facts", "rows": rows, "columns": columns}


def state_cell(state: State | str) -> Cell:
    """A cell that shows a state by its mark, its word and its colour."""
    known = State(str(state)) if str(state) in set(State) else None
    if known is None:
        return clean(state)
    return {"state": known.value, "mark": known.mark, "colour": known.colour}


def noted_cell(words: object, note: object) -> Cell:
    """A cell with a small line under its words."""
    return {"text": clean(words), "small": clean(note)}


def table(
    columns: Sequence[tuple[str, str]], rows: Iterable[Sequence[Cell]], *, empty: str = ""
) -> Block | None:
    """A table with a heading for each column.

    Parameters
    ----------
    columns : sequence of (str, str)
        Heading, and width with side: ``auto``, ``1fr`` or ``2fr``, with ``right`` after a space
        for figures.
    rows : iterable of sequences of cells
        Each is text or what `state_cell` gave.
    empty : str
        What is said where there are no rows; without it the table is left out.

    Returns
    -------
    block : dict or None
    """
    cells = [[cell if isinstance(cell, dict) else clean(cell) for cell in row] for row in rows]
    if not cells:
        return text(empty) if empty else None
    looks = [width.split() for _, width in columns]
    return {
        "type": "table",
        "heads": [clean(head) for head, _ in columns],
        "widths": [look[0] for look in looks],
        "right": ["right" in look for look in looks],
        "rows": cells,
    }


def checks(
    found: Iterable[Check], *, units: Units | None = None, sources: Mapping[str, int] | None = None
) -> Block | None:
    """Checks, each with mark, word, subject and sentence, the gravest first; None if none.

    Parameters
    ----------
    found : iterable of Check
    units : Units, optional
        Show figure, limit and room too, in the numbers of this household.
    sources : mapping of str to int, optional
        Add the rule and its basis, with the number that its source has here.

    Returns
    -------
    block : dict or None
    """
    numbers = sources or {}
    rows = []
    for check in sorted(found, key=lambda check: _GRAVEST_FIRST.index(check.state)):
        told = check.rule and not check.sentence.startswith(check.rule.rstrip("."))
        rule = f"{check.rule.rstrip('.')} ({check.basis})" if told else f"({check.basis})"
        mark = f" [{numbers[check.source]}]" if check.source in numbers else ""
        rows.append(
            {
                "state": state_cell(check.state),
                "fine": check.state is State.FINE,
                "subject": clean(check.subject),
                "sentence": clean(check.sentence),
                "source": clean(rule + mark) if sources is not None else "",
                "figures": [] if units is None else _figures(check, units),
            }
        )
    return {"type": "checks", "rows": rows} if rows else None


def _figures(check: Check, units: Units) -> list[str]:
    if check.figure is None and check.limit is None:
        return []
    found, limit, margin = (
        _figure(value, check.unit, units) for value in (check.figure, check.limit, check.margin)
    )
    # Without a margin the limit is a threshold of the rule, which the sentence explains.
    held = check.limit is not None and (check.margin is not None or check.figure is None)
    least = check.limit_is_least
    said = [f"{found}, {'at least' if least else 'limit'} {limit}" if held else found]
    if check.margin is not None:
        past = "short by" if least else "over by"
        said.append(f"room {margin}" if check.margin >= 0 else f"{past} {margin.lstrip('-')}")
    return [clean(words) for words in said]


def _figure(value: float | None, unit: str, units: Units) -> str:
    if value is None or display.is_missing(value):
        return display.UNKNOWN
    if unit == "min":
        return display.duration(value)
    digits = 0 if float(value).is_integer() else display.check_digits(value, unit)
    return f"{display.number(value, units, digits)} {unit}".strip()


def ticks(lines: Iterable[str]) -> Block | None:
    """A list with boxes to tick; None if it is empty."""
    rows = [clean(line) for line in lines]
    return {"type": "ticks", "rows": rows} if rows else None


def bullets(lines: Iterable[str]) -> Block | None:
    """A plain list; None if it is empty."""
    rows = [clean(line) for line in lines]
    return {"type": "bullets", "rows": rows} if rows else None


def sources(groups: Iterable[tuple[str, Iterable[tuple[int, str]]]]) -> Block | None:
    """Sources in small letters under what they are, each with its number; None if there are none.

    Parameters
    ----------
    groups : iterable of (title, iterable of (number, words))
        An empty title is left out.
    """
    rows = [
        row
        for title, numbered in groups
        for row in (
            *([{"number": 0, "words": clean(title)}] if title else []),
            *({"number": number, "words": clean(words)} for number, words in numbered),
        )
    ]
    return {"type": "sources", "rows": rows} if any(row["number"] for row in rows) else None


def cautions(lines: Iterable[str]) -> Block | None:
    """Cautions in a frame; None if there are none."""
    rows = [clean(line) for line in lines]
    return {"type": "cautions", "rows": rows} if rows else None


def figure(svg: str | None, alt: str, caption: str, *, width_mm: float) -> Block | None:
    """A drawing with its caption and the words that stand for it; None if there is no drawing."""
    if svg is None:
        return None
    return {
        "type": "figure",
        "svg": svg,
        "alt": clean(alt),
        "caption": clean(caption),
        "width_mm": width_mm,
    }


def codes(places: Iterable[tuple[str, float, float]]) -> Block | None:
    """Positions as squares for a phone's camera; None if there are none.

    Parameters
    ----------
    places : iterable of (str, float, float)
        Label, lat and lon. [deg]
    """
    rows = [
        {
            "svg": code_svg(geo_uri(lat, lon)),
            "label": clean(label),
            "words": geo_uri(lat, lon),
            "alt": clean(f"Square code of the position of {label}: {lat:.5f}, {lon:.5f}."),
        }
        for label, lat, lon in places
    ]
    return {"type": "codes", "rows": rows} if rows else None


def contents() -> Block:
    """The list of sheets with their pages."""
    return {"type": "contents"}


def number(label: str, value: str, source: str) -> Block:
    """One thing in large letters, such as the emergency number."""
    return {
        "type": "number",
        "label": clean(label),
        "value": clean(value),
        "source": clean(source),
    }


def lines(count: int, title: str = "") -> Block:
    """Ruled lines to write on by hand, as far as the page has room; under a title, or none."""
    return {"type": "lines", "count": count, "title": clean(title)}
