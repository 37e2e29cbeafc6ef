"""The folder as one HTML page that opens on a phone with no network.

It shows the same sheets as the PDF. Whatever a person or a stage wrote is escaped here, and the
page's own rule (a content security policy) lets nothing run and nothing be fetched.
"""

from __future__ import annotations

import base64
import html
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from planner_kit.files import write_whole
from planner_kit.pack.enclosures import files_to_carry, no_confirmation_sheet
from planner_kit.pack.folder import TEMPLATE, pack_sheets, wanted_pages
from planner_kit.trip import display
from planner_kit.trip.page_look import PAGE_LOOK, PAGE_STYLE, own_style

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    from planner_kit.pack.blocks import Block
    from planner_kit.plan import TripPlan

FILE_NAME = "pack.html"
_WIDTH_MM = 170.0
_MANY_COLUMNS = 5


def write_html_twin(plan: TripPlan, folder: Path, *, pages: Iterable[str] | None = None) -> Path:
    """Write the folder of a trip as ``pack.html``.

    Parameters
    ----------
    plan : TripPlan
    folder : Path
        Where the file is put; it is written whole or not at all.
    pages : iterable of str, optional
        Which of `planner_kit.pack.folder.PAGES`; all of them unless given.

    Returns
    -------
    path : Path
        One file that needs no other and no network.

    Raises
    ------
    PlannerKitError
        If a page is not known.
    PlanFileError
        If the place cannot be written to, or the household's own style cannot be used.
    """
    wanted = wanted_pages(pages)
    sheets = pack_sheets(plan, wanted, _WIDTH_MM)
    if "confirmations" in wanted:
        sheets += files_to_carry(plan)
    if not sheets:
        sheets = [no_confirmation_sheet()]
    household = plan.files.inputs.household
    title = plan.files.inputs.trip.name
    planned = f"planned on {display.day(plan.planned_on, household.units)}"
    path = folder / FILE_NAME
    own = plan.files.paths.get(f"{PAGE_LOOK} {PAGE_STYLE}")
    style = "" if own is None else own_style(own)
    page = twin_page(sheets, title, household.name, planned, household.units.locale, style)
    write_whole(path, page)
    return path


def twin_page(
    sheets: list[Block], title: str, author: str, planned: str, locale: str, style: str = ""
) -> str:
    """The page of some sheets; see `planner_kit.pack.blocks` for what they hold.

    A household's own style comes behind the kit's and so goes before it.
    """
    bodies, links = [], []
    for number, sheet in enumerate(sheets, start=1):
        if number > 1:
            links.append(f'<a href="#s{number}">{_text(sheet["title"])}</a>')
        intro = f'<p class="intro">{_text(sheet["intro"])}</p>' if sheet["intro"] else ""
        blocks = "".join(_block(block) for block in sheet["blocks"])
        bodies.append(
            f'<section id="s{number}" aria-labelledby="h{number}">'
            f'<h1 id="h{number}">{_text(sheet["title"])}</h1>{intro}{blocks}</section>'
        )
    contents = f'<nav aria-label="sheets">{"".join(links)}</nav>'
    whole = "".join(bodies).replace(_CONTENTS, contents)
    return (
        f'<!doctype html><html lang="{_text(locale)}"><head><meta charset="utf-8">'
        '<meta http-equiv="Content-Security-Policy" content="default-src \'none\'; '
        "style-src 'unsafe-inline'; img-src data:; font-src data:\">"
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{_text(title)}</title><style>{_kits_style()}{style}</style></head><body><main>{whole}</main>"
        f'<footer class="quiet"><p>{_text(author)}, {_text(planned)}</p></footer></body></html>'
    )


_CONTENTS = "<!--contents-->"


@lru_cache
def _kits_style() -> str:
    return (TEMPLATE.parent / PAGE_STYLE).read_text(encoding="utf-8")


def _text(words: object) -> str:
    return html.escape(str(words), quote=True)


def _block(block: Block) -> str:
    return _SHOWN[block["type"]](block)


def _heading(block: Block) -> str:
    return f"<h2>{_text(block['text'])}</h2>"


def _paragraph(block: Block) -> str:
    look = ' class="quiet"' if block["small"] else ""
    return f"<p{look}>{_text(block['text'])}</p>"


def _facts(block: Block) -> str:
    rows = "".join(
        f"<div><dt>{_text(row['label'])}</dt><dd>{_text(row['value'])}</dd></div>"
        for row in block["rows"]
    )
    return f"<dl>{rows}</dl>"


def _state(cell: Block) -> str:
    return (
        f'<span class="state"><span aria-hidden="true" style="color:{_text(cell["colour"])}">'
        f"{_text(cell['mark'])}</span> {_text(cell['state'])}</span>"
    )


def _cell(cell: Any) -> str:
    if not isinstance(cell, dict):
        return _text(cell)
    if "state" in cell:
        return _state(cell)
    small = f'<br><span class="quiet">{_text(cell["small"])}</span>' if cell["small"] else ""
    return _text(cell["text"]) + small


def _table(block: Block) -> str:
    """A table; one of many columns is read row by row on a phone, each cell under its heading."""
    many = len(block["heads"]) >= _MANY_COLUMNS
    looks = [' class="n"' if right else "" for right in block["right"]]
    head = "".join(
        f'<th scope="col"{look}{_role("columnheader", many)}>{_text(words)}</th>'
        for words, look in zip(block["heads"], looks, strict=True)
    )
    rows = "".join(
        f"<tr{_role('row', many)}>"
        + "".join(
            f'<td{look} role="cell" data-head="{_text(words)}"><div>{_cell(cell)}</div></td>'
            if many
            else f"<td{look}>{_cell(cell)}</td>"
            for cell, look, words in zip(row, looks, block["heads"], strict=True)
        )
        + "</tr>"
        for row in block["rows"]
    )
    return (
        f'<div class="wide{" many" * many}" tabindex="0" role="region" aria-label="table">'
        f"<table{_role('table', many)}><thead{_role('rowgroup', many)}><tr{_role('row', many)}>"
        f"{head}</tr></thead><tbody{_role('rowgroup', many)}>{rows}</tbody></table></div>"
    )


def _role(name: str, told: bool) -> str:
    """What a part of a table is, for a page whose style shows it as something else."""
    return f' role="{name}"' if told else ""


def _checks(block: Block) -> str:
    rows = []
    for row in block["rows"]:
        figures = "; ".join(_text(words) for words in row["figures"])
        more = " ".join(part for part in (figures, _text(row["source"])) if part)
        small = f'<br><span class="quiet">{more}</span>' if more else ""
        rows.append(
            f"<li>{_state(row['state'])} · <strong>{_text(row['subject'])}</strong>: "
            f"{_text(row['sentence'])}{small}</li>"
        )
    return f'<ul class="checks">{"".join(rows)}</ul>'


def _ticks(block: Block) -> str:
    rows = "".join(
        f'<li><label><input type="checkbox">{_text(words)}</label></li>' for words in block["rows"]
    )
    return f'<ul class="ticks">{rows}</ul>'


def _bullets(block: Block) -> str:
    return "<ul>" + "".join(f"<li>{_text(words)}</li>" for words in block["rows"]) + "</ul>"


def _sources(block: Block) -> str:
    rows = "".join(
        f"<li>[{row['number']}] {_text(row['words'])}</li>"
        if row["number"]
        else f"<li><strong>{_text(row['words'])}</strong></li>"
        for row in block["rows"]
    )
    return f'<ul class="sources quiet">{rows}</ul>'


def _cautions(block: Block) -> str:
    rows = "".join(f"<p>{_text(words)}</p>" for words in block["rows"])
    return f'<div class="care" role="note"><strong>Take care</strong>{rows}</div>'


def _figure(block: Block) -> str:
    return (
        f'<figure><img src="{_data_uri(block["svg"])}" alt="{_text(block["alt"])}">'
        f"<figcaption>{_text(block['caption'])}</figcaption></figure>"
    )


def _data_uri(svg: str) -> str:
    """A drawing as an image, inside which nothing can run."""
    return "data:image/svg+xml;base64," + base64.b64encode(svg.encode("utf-8")).decode("ascii")


def _codes(block: Block) -> str:
    rows = "".join(
        f'<figure><img src="{_data_uri(row["svg"])}" alt="{_text(row["alt"])}">'
        f'<figcaption><a href="{_text(row["words"])}">{_text(row["label"])}</a></figcaption>'
        "</figure>"
        for row in block["rows"]
    )
    return f'<div class="codes">{rows}</div>'


def _number(block: Block) -> str:
    return (
        f'<p class="quiet">{_text(block["label"])}</p><p class="big">{_text(block["value"])}</p>'
        f'<p class="quiet">{_text(block["source"])}</p>'
    )


_SHOWN: dict[str, Callable[[Block], str]] = {
    "heading": _heading,
    "text": _paragraph,
    "facts": _facts,
    "table": _table,
    "checks": _checks,
    "ticks": _ticks,
    "bullets": _bullets,
    "sources": _sources,
    "cautions": _cautions,
    "figure": _figure,
    "codes": _codes,
    "contents": lambda _: _CONTENTS,
    "number": _number,
    "lines": lambda _: "",
}
