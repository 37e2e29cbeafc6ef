"""The one look of everything shown in a notebook: palette, state words, tables.

All text that came from a file passes through `text` or a frame's cells, which escape it.
"""

from __future__ import annotations

import datetime as dt
import html
import re
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.states import Check, State
from planner_kit.trip.display import check_digits, duration, is_missing, unit_words
from planner_kit.trip.wording import glosses, household_words

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Mapping

    from planner_kit.trip.household import Units

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

# The lettering of charts, that of the tables beside them.
CHART_FONT = {"family": "system-ui, sans-serif", "size": 13, "color": PALETTE["ink"]}
# How a chart is shown: it takes the width that the page has, and has no row of tools.
CHART_SHOWN = {"displayModeBar": False, "responsive": True}

_LONG_RULE = 150
_SHORT = 12  # signs of a cell that stays on one line
_LONG = 48  # signs of a cell that wants a wide column
_LONG_TITLE = 9  # signs of a heading that would else be broken at every word
_WORDS = re.compile(r">([^<>]+)<")

STYLE = """<style>
.pk {font: 15px/1.5 system-ui, sans-serif; max-width: 72rem;
  color: var(--jp-content-font-color0, #1b1b1b)}
.pk-scroll {overflow-x: auto; --pk-paper: var(--jp-layout-color0, #fff);
  background: linear-gradient(to right, var(--pk-paper) 40%, transparent) left / 2rem 100% local,
  linear-gradient(to left, var(--pk-paper) 40%, transparent) right / 2rem 100% local,
  linear-gradient(to right, rgba(0, 0, 0, .22), transparent) left / .7rem 100% scroll,
  linear-gradient(to left, rgba(0, 0, 0, .22), transparent) right / .7rem 100% scroll;
  background-repeat: no-repeat; background-color: var(--pk-paper)}
.pk.pk table {border-collapse: collapse; margin: .4rem 0 1rem; font-size: inherit}
.pk.pk caption {text-align: left; font-weight: 600; padding: .2rem 0}
.pk.pk th, .pk.pk td {text-align: left; vertical-align: top; padding: .35rem .9rem .35rem 0;
  border-bottom: 1px solid var(--jp-border-color1, #d5d5d5); white-space: normal;
  max-width: 34rem; background: none; line-height: 1.45}
.pk.pk tbody tr {background: none}
.pk.pk td.n, .pk.pk th.n {text-align: right; font-variant-numeric: tabular-nums}
.pk.pk td.n {white-space: nowrap}
.pk.pk td.d {white-space: nowrap}
.pk.pk td.s {min-width: 13rem}
.pk.pk td.c {min-width: 6.5rem}
.pk.pk td.t {min-width: 7.5rem}
.pk.pk td.l {min-width: 13rem}
.pk.pk th.w {min-width: 5rem}
.pk-nb {white-space: nowrap}
.pk.pk .pk-checks td.n {white-space: normal}
@media (max-width: 900px) {.pk.pk table {font-size: 14px}
  .pk.pk th, .pk.pk td {padding-right: .55rem}
  .pk.pk td.t {min-width: 5.5rem} .pk.pk td.l {min-width: 8rem}}
.pk-state {white-space: nowrap; font-weight: 600}
.pk-caution {border-left: .3rem solid #E69F00; padding: .2rem .9rem; margin: .5rem 0}
.pk td details, .pk-rule {font-size: 13px; overflow-wrap: anywhere;
  color: var(--jp-content-font-color1, #444)}
.pk summary {cursor: pointer}
.pk h3 {font-size: 1.1rem; margin: .3rem 0}
.pk p {margin: .3rem 0}
.pk-scroll:focus-visible {outline: 2px solid #0072B2; outline-offset: 2px}
.pk-narrow {font-size: 14px}
.pk-narrow.pk-narrow td, .pk-narrow.pk-narrow th {padding: .2rem .7rem .2rem 0;
  overflow-wrap: anywhere}
.pk p.pk-hint {margin: -.2rem 0 .5rem calc(var(--pk-label, 13em) + .6em); font-size: 13px;
  line-height: 1.35; color: var(--jp-content-font-color1, #444)}
@media (max-width: 700px) {.pk p.pk-hint {margin-left: 0}}
.pk-said {font-weight: 600}
.jp-OutputArea-output .widget-html, .jp-OutputArea-output .widget-html > .widget-html-content
  {min-width: 0; max-width: 100%}
.jp-OutputArea-output .widget-inline-hbox {max-width: calc(100% - 4px)}
.pk-form .widget-inline-hbox {height: auto}
.pk-form .widget-dropdown > select {height: var(--jp-widgets-inline-height, 28px)}
.pk-form .widget-inline-hbox > label.widget-label {white-space: normal; overflow: visible;
  height: auto; line-height: 1.2; padding: .3em 0; align-self: center}
.pk svg {max-width: min(100%, 46rem); height: auto; vertical-align: middle}
.pk .pk-wide svg {width: 100%}
.pk-map .leaflet-container {font: inherit; background: repeating-linear-gradient(135deg,
  #FFFFFF 0 7px, #D5D3CC 7px 8px)}
.pk-beyond {font-size: 12px; line-height: 1.3; background: #FFFFFF; padding: 1px 5px}
.pk-map .leaflet-div-icon {background: none; border: 0}
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


def page(*parts: str, units: Units | None = None) -> str:
    """Parts of HTML inside the kit's look; with `units`, in the household's words."""
    return STYLE + part(*parts, units=units)


def part(*parts: str, units: Units | None = None) -> str:
    """As `page`, for what a `View` shows: it brings the look itself.

    What follows a slider is drawn in less time when no style comes with it.
    """
    whole = "".join(parts)
    if units is not None:
        whole = _WORDS.sub(lambda hit: f">{household_words(hit[1], units)}<", whole)
    return f'<div class="pk">{whole}</div>'


def words_table(texts: Iterable[str]) -> str:
    """The words of the trade that stand in some texts, explained below a line that opens."""
    found = pd.DataFrame(glosses(texts), columns=["word", "meaning"])
    if found.empty:
        return ""
    columns = {"word": "Word", "meaning": "What it means"}
    return f"<details><summary>Words explained</summary>{table(found, columns)}</details>"


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
    blank: Collection[str] = (),
    below: Mapping[str, str] | None = None,
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
    blank : collection of str, optional
        Columns in which nothing is an answer: what is missing stays empty there, and does not read
        "not known". Where all of it is missing, the column is left out.
    below : mapping of str to str, optional
        For a column, another one whose text opens below each of its cells: where a figure comes
        from, which would else make every row tall.

    Returns
    -------
    markup : str
        A column named ``state`` is shown by shape, word and colour.
    """
    columns = {
        name: title
        for name, title in columns.items()
        if name not in blank or frame.empty or not frame[name].map(_is_nothing).all()
    }
    right = {
        name
        for name in columns
        if name in figures
        or (pd.api.types.is_numeric_dtype(frame[name]) and frame[name].dtype != bool)
    }
    head = "".join(
        f'<th scope="col"{_side(name in right, title)}>{html.escape(title)}</th>'
        for name, title in columns.items()
    )
    rows = []
    more = {name: frame[other].tolist() for name, other in (below or {}).items()}
    for number, values in enumerate(frame[list(columns)].itertuples(index=False, name=None)):
        cells = [
            "<td></td>"
            if name in blank and _is_nothing(value)
            else _cell(name, value, name in right, more[name][number] if name in more else None)
            for name, value in zip(columns, values, strict=True)
        ]
        rows.append(f"<tr>{''.join(cells)}</tr>")
    return _scrolling(head, rows, caption)


def checks_table(checks: Iterable[Check], *, caption: str = "") -> str:
    """Checks as a table: what, how it ended, what that means, and figure beside limit.

    The rule and where it comes from open below the sentence.
    """
    rows = [
        f'<tr><td class="c">{text(check.subject)}</td><td>{state_html(check.state)}</td>'
        f'<td class="s">{html.escape(check.sentence)}{_rule_html(check)}</td>'
        f'<td class="n">{_with_unit(check.figure, check.unit)}</td>'
        f'<td class="n">{"at least " if check.limit_is_least else ""}'
        f"{_with_unit(check.limit, check.unit)}</td></tr>"
        for check in checks
    ]
    head = (
        '<th scope="col">What</th><th scope="col">State</th><th scope="col">What it means</th>'
        '<th scope="col" class="n">Figure</th><th scope="col" class="n">Limit</th>'
    )
    return f'<div class="pk-checks">{_scrolling(head, rows, caption)}</div>'


def _rule_html(check: Check) -> str:
    """The rule of a check as a line that opens on its source."""
    rule, source = html.escape(check.rule), html.escape(check.source)
    basis = html.escape(check.basis)
    if not source:
        return f'<div class="pk-rule">{rule}</div>' if rule else ""
    if len(check.rule) > _LONG_RULE:  # it opens with its source
        rule, source = "", rule if check.rule == check.source else f"{rule}. {source}"
    return (
        f"<details><summary>{rule or 'where this comes from'}</summary>{source} ({basis})</details>"
    )


def _with_unit(value: float | None, unit: str) -> str:
    """A figure with its unit; nothing where the check has none."""
    if value is None or is_missing(value):
        return ""
    if unit == "min":
        return f'<span class="pk-nb">{duration(value)}</span>'
    shown = f"{value:,.{check_digits(value, unit)}f}"
    if "." in shown:
        shown = shown.rstrip("0").rstrip(".")
    if unit == "deg":
        return f"{shown}°"
    unit = unit_words(shown, unit)
    whole = f"{shown} {html.escape(unit.replace('dBuV', 'dBµV'))}".strip()
    # A speed has the other unit in brackets, and some units are words: these may be broken.
    return whole if unit == "km/h" or " " in unit else f'<span class="pk-nb">{whole}</span>'


def _scrolling(head: str, rows: list[str], caption: str) -> str:
    title = f"<caption>{html.escape(caption)}</caption>" if caption else ""
    return (
        f'<div class="pk-scroll" tabindex="0" role="region" '
        f'aria-label="{html.escape(caption or "table", quote=True)}"><table>{title}'
        f"<thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table></div>"
    )


def _cell(name: str, value: object, right: bool, below: object = None) -> str:
    if not _is_nothing(below):
        opens = f"<details><summary>where this comes from</summary>{text(below)}</details>"
        return f'<td class="l">{text(value)}{opens}</td>'
    if name == "state" and value in set(State):
        return f"<td>{state_html(str(value))}</td>"
    number = isinstance(value, (int, float)) and not isinstance(value, bool)
    if isinstance(value, str) and not right:
        kind = "d" if len(value) <= _SHORT else "t" if len(value) <= _LONG else "l"
        return f'<td class="{kind}">{text(value)}</td>'
    if isinstance(value, dt.date):
        return f'<td class="d">{text(value)}</td>'
    return f"<td{_side(right or number)}>{text(value)}</td>"


def _is_nothing(value: object) -> bool:
    return is_missing(value) or value == ""


def _side(right: bool, title: str = "") -> str:
    kinds = ["n"] if right else ["w"] if len(title) > _LONG_TITLE else []
    return f' class="{kinds[0]}"' if kinds else ""
