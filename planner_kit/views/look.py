"""The one look of everything shown in a notebook: palette, state words, tables.

All text that came from a file passes through `text` or a frame's cells, which escape it.
"""

from __future__ import annotations

import html
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.states import Check, State, checks_frame
from planner_kit.trip.display import is_missing

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping

# Okabe and Ito, "Color Universal Design", 2008.
PALETTE = {
    "ink": "#1B1B1B",
    "orange": "#E69F00",
    "sky": "#56B4E9",
    "green": "#009E73",
    "yellow": "#F0E442",
    "blue": "#0072B2",
    "vermilion": "#D55E00",
    "purple": "#CC79A7",
    "grey": "#7F7F7F",
}

STYLE = """<style>
.pk {font: 15px/1.5 system-ui, sans-serif; max-width: 72rem;
  color: var(--jp-content-font-color0, #1b1b1b)}
.pk-scroll {overflow-x: auto}
.pk table {border-collapse: collapse; margin: .4rem 0 1rem}
.pk caption {text-align: left; font-weight: 600; padding: .2rem 0}
.pk th, .pk td {text-align: left; vertical-align: top; padding: .35rem .9rem .35rem 0;
  border-bottom: 1px solid var(--jp-border-color1, #d5d5d5); white-space: normal; max-width: 34rem}
.pk td.n, .pk th.n {text-align: right; font-variant-numeric: tabular-nums; white-space: nowrap}
.pk-state {white-space: nowrap; font-weight: 600}
.pk-caution {border-left: .3rem solid #E69F00; padding: .2rem .9rem; margin: .5rem 0}
.pk h3 {font-size: 1.1rem; margin: .3rem 0}
.pk p {margin: .3rem 0}
.pk-scroll:focus-visible {outline: 2px solid #0072B2; outline-offset: 2px}
.pk-narrow {font-size: 14px}
.pk-narrow td, .pk-narrow th {padding: .2rem .7rem .2rem 0; overflow-wrap: anywhere}
.pk svg {max-width: 100%; height: auto; vertical-align: middle}
.pk-map .leaflet-container {background: #ECEBE7; font: inherit}
</style>"""


def text(value: object) -> str:
    """A value as escaped text; what is missing reads "not known"."""
    if is_missing(value) or value == "":
        return "not known"
    if isinstance(value, float):
        return f"{value:,.1f}".removesuffix(".0")
    return html.escape(str(value))


def state_html(state: State | str) -> str:
    """A state as shape, word and colour."""
    known = State(state)
    return (
        f'<span class="pk-state"><span aria-hidden="true" style="color:{known.colour}">'
        f"{known.mark}</span> {known.value}</span>"
    )


def page(*parts: str) -> str:
    """Parts of HTML inside the kit's look."""
    return f'{STYLE}<div class="pk">{"".join(parts)}</div>'


def paragraphs(sentences: Iterable[str]) -> str:
    """Sentences, one paragraph each, escaped."""
    return "".join(f"<p>{html.escape(sentence)}</p>" for sentence in sentences)


def bullets(sentences: Iterable[str]) -> str:
    """Sentences as a list, escaped."""
    return "<ul>" + "".join(f"<li>{html.escape(each)}</li>" for each in sentences) + "</ul>"


def cautions(sentences: Iterable[str]) -> str:
    """Cautions, set apart."""
    return "".join(f'<p class="pk-caution">{html.escape(each)}</p>' for each in sentences)


def table(
    frame: pd.DataFrame,
    columns: Mapping[str, str],
    *,
    caption: str = "",
    figures: Collection[str] = (),
) -> str:
    """A frame as a table that scrolls sideways when it is wide.

    Parameters
    ----------
    frame : DataFrame
    columns : mapping of str to str
        The columns to show, and the heading of each.
    caption : str, optional
    figures : collection of str, optional
        Columns whose figures are text already (money, times); set right, as numbers are.

    Returns
    -------
    markup : str
        A column named ``state`` is shown by shape, word and colour.
    """
    right = {
        name
        for name in columns
        if name in figures
        or (pd.api.types.is_numeric_dtype(frame[name]) and frame[name].dtype != bool)
    }
    head = "".join(
        f'<th scope="col"{_side(name in right)}>{html.escape(title)}</th>'
        for name, title in columns.items()
    )
    rows = []
    for values in frame[list(columns)].itertuples(index=False, name=None):
        cells = [
            _cell(name, value, name in right) for name, value in zip(columns, values, strict=True)
        ]
        rows.append(f"<tr>{''.join(cells)}</tr>")
    title = f"<caption>{html.escape(caption)}</caption>" if caption else ""
    return (
        f'<div class="pk-scroll" tabindex="0" role="region" '
        f'aria-label="{html.escape(caption or "table", quote=True)}"><table>{title}'
        f"<thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table></div>"
    )


def checks_table(checks: Iterable[Check], *, caption: str = "") -> str:
    """Checks as a table, with the figure, the limit and where it comes from."""
    columns = {
        "subject": "What",
        "state": "State",
        "sentence": "What it means",
        "figure": "Figure",
        "limit": "Limit",
        "unit": "Unit",
        "rule": "Rule",
        "source": "Source",
    }
    frame = checks_frame(checks)
    frame[["figure", "limit"]] = [
        [_measure(value, unit) for value in pair]
        for *pair, unit in zip(frame["figure"], frame["limit"], frame["unit"], strict=True)
    ]
    frame[["rule", "source", "unit"]] = frame[["rule", "source", "unit"]].replace("", " ")
    return table(frame, columns, caption=caption)


def _measure(value: float | None, unit: str) -> float | str | None:
    """Metres to the centimetre, since a limit in law is; other figures as they are."""
    if value is None or is_missing(value) or unit != "m":
        return value
    return f"{value:.2f}"


def _cell(name: str, value: object, right: bool) -> str:
    if name == "state" and value in set(State):
        return f"<td>{state_html(str(value))}</td>"
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    return f"<td{_side(right or number)}>{text(value)}</td>"


def _side(right: bool) -> str:
    return ' class="n"' if right else ""
