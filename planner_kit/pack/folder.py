"""The printable folder of a trip as one PDF."""

from __future__ import annotations

import gc
import json
import logging
import re
import shutil
import tempfile
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import matplotlib as mpl
import typst

from planner_kit.errors import PlanFileError, PlannerKitError, nearest_name
from planner_kit.files import write_whole
from planner_kit.pack import blocks
from planner_kit.pack.back_sheets import contacts_sheet, credits_sheet
from planner_kit.pack.bring_sheet import to_bring_sheet
from planner_kit.pack.enclosures import (
    Enclosure,
    drawn_beside,
    enclosure_sheet,
    no_confirmation_sheet,
    put_enclosures,
)
from planner_kit.pack.pitch_sheets import pitch_sheets
from planner_kit.pack.sheet_words import in_household_words, words_sheet
from planner_kit.pack.sources import numbered_sources
from planner_kit.pack.stay_sheets import outings_sheets
from planner_kit.pack.tow_sheets import tow_sheets
from planner_kit.pack.trip_sheets import (
    cover_sheet,
    deadlines_sheet,
    money_sheet,
    outfit_sheet,
    unknowns_sheet,
)
from planner_kit.summary import all_checks
from planner_kit.trip import display
from planner_kit.trip.page_look import PAGE_LOOK, PAGE_TEMPLATE

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Iterator, Sequence

    from planner_kit.pack.blocks import Block
    from planner_kit.plan import TripPlan
    from planner_kit.trip.household import Household

_LOG = logging.getLogger(__name__)
Paper = Literal["A4", "Letter"]
PAGES = (
    "cover", "deadlines", "tow", "outfit", "pitch", "outings", "money", "bring", "contacts",
    "unknowns", "credits", "words", "confirmations",
)  # fmt: skip
FILE_NAME = "pack.pdf"
WIDTH_MM = {"A4": 170.0, "Letter": 175.9}
# The gap between a figure and its unit, where no line may break.
_UNIT = re.compile(
    r"(?<=\d) (?=(?:l|L|km|kg|m|cm|mm|ft|in|kWh|W|A|Ah|V|h|min|bar|dBm?|\\u00b0C|%)(?!\w))"
)
_TYPST_PAPER = {"A4": "a4", "Letter": "us-letter"}
# How the pages look. A person's own begins as a copy of this one.
TEMPLATE = Path(__file__).with_name("template") / PAGE_TEMPLATE


def write_pack(
    plan: TripPlan,
    folder: Path,
    *,
    pages: Iterable[str] | None = None,
    paper: Paper | None = None,
) -> Path:
    """Write the printable folder of a trip.

    Parameters
    ----------
    plan : TripPlan
    folder : Path
        Where ``pack.pdf`` is put; it is written whole or not at all.
    pages : iterable of str, optional
        Which of `PAGES`, in their usual order; all of them unless given.
    paper : str, optional
        ``A4`` or ``Letter``; the household's unless given.

    Returns
    -------
    path : Path
        The PDF.

    Raises
    ------
    PlannerKitError
        If a page or paper is not known.
    PlanFileError
        If the place cannot be written to, or the household's own template cannot be typeset.

    Notes
    -----
    The household's ``page_look`` takes the place of the kit's template; see `TEMPLATE`.

    The same plan gives the same bytes: the document's date is the day of planning.

    The file is typeset as PDF/UA-1 [1]_, which the typesetter checks, and says so, unless a name is
    in a script that no font here has. A page of a confirmation is a figure with the words that
    could be read in it; the confirmations themselves are attached as they were sent, as far as the
    size of the folder allows.

    References
    ----------
    .. [1] ISO 14289-1:2014, "Document management applications - Electronic document file format
       enhancement for accessibility - Part 1".
    """
    size = paper or plan.files.inputs.household.units.paper
    if size not in WIDTH_MM:
        raise PlanFileError(f"'{size}' is not known", "paper", nearest_name(size, WIDTH_MM))
    wanted = wanted_pages(pages)
    drawing = drawn_beside(plan) if "confirmations" in wanted else nullcontext(tuple)
    with _collecting_later(), drawing as ready:
        sheets = pack_sheets(plan, wanted, WIDTH_MM[size])
        enclosures: tuple[Enclosure, ...] = ready()
    sheets += enclosure_sheet(enclosures)
    if not sheets:
        sheets = [no_confirmation_sheet()]
    trip = plan.files.inputs.trip
    document = page_document(
        blocks.clean(trip.name) or trip.id, plan.files.inputs.household, plan.planned_on, sheets,
        size,
    )  # fmt: skip
    path = folder / FILE_NAME
    look = plan.files.paths.get(PAGE_LOOK)
    write_whole(path, typeset(document, plan.planned_on, enclosures, look))
    return path


@contextmanager
def _collecting_later() -> Iterator[None]:
    """Look for garbage afterwards: the sheets make hundreds of thousands of parts, none of it.

    Python would look through the whole plan again and again meanwhile, for a tenth of a second.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def wanted_pages(pages: Iterable[str] | None) -> tuple[str, ...]:
    """The pages asked for in their usual order, all of them for None.

    Raises
    ------
    PlannerKitError
        If one is not known, or none is named.
    """
    if pages is None:
        return PAGES
    asked = tuple(name.strip() for name in pages)
    for name in asked:
        if name not in PAGES:
            raise PlanFileError(f"'{name}' is not known", "pages", nearest_name(name, PAGES))
    if not asked:
        raise PlannerKitError(f"pages: none is named; use some of {', '.join(PAGES)}.")
    return tuple(name for name in PAGES if name in asked)


def pack_sheets(plan: TripPlan, wanted: Sequence[str], width_mm: float) -> list[Block]:
    """The sheets of the folder as data, in order; see `planner_kit.pack.blocks`.

    That of the confirmations, which are drawn meanwhile, is not among them.
    """
    found: list[Block] = []
    for name in wanted:
        if name == "tow":
            found += tow_sheets(plan, width_mm)
        elif name == "pitch":
            found += pitch_sheets(plan)
        elif name == "outings":
            found += outings_sheets(plan, width_mm)
        elif name == "outfit":
            numbers = numbered_sources(all_checks(plan))[1] if "credits" in wanted else None
            found.append(outfit_sheet(plan, numbers))
        elif name == "words":
            found.append(words_sheet(found))
        elif name != "confirmations":
            found.append(_SINGLE[name](plan))
    units = plan.files.inputs.household.units
    return [in_household_words(sheet, units) for sheet in found]


_SINGLE = {
    "cover": cover_sheet,
    "deadlines": deadlines_sheet,
    "money": money_sheet,
    "bring": to_bring_sheet,
    "contacts": contacts_sheet,
    "unknowns": unknowns_sheet,
    "credits": credits_sheet,
}


def page_document(
    title: str, household: Household, day: dt.date, sheets: list[Block], paper: str
) -> dict[str, Any]:
    """What the page template reads: the sheets and what stands on every page."""
    language, _, territory = household.units.locale.partition("-")
    return {
        "title": title,
        "author": blocks.clean(household.name),
        "household": blocks.clean(household.name),
        "planned": f"planned on {display.day(day, household.units)}",
        "year": day.year,
        "month": day.month,
        "day": day.day,
        "territory": territory.lower() if language == "en" else "gb",
        "paper": _TYPST_PAPER[paper],
        "sheets": sheets,
    }


def typeset(
    document: dict[str, Any],
    planned_on: dt.date,
    enclosures: Sequence[Enclosure] = (),
    template: Path | None = None,
) -> bytes:
    """The PDF of a document; drawings and confirmations go to files beside the template.

    A template of a household's own comes with all that lies in its folder, fonts too.

    Raises
    ------
    PlanFileError
        If that template cannot be typeset.
    """
    with tempfile.TemporaryDirectory(prefix="planner_kit_pack_") as name:
        root = Path(name)
        if template is not None:
            shutil.copytree(template.parent, root, dirs_exist_ok=True)
        files: dict[str, str] = {}  # the same drawing may stand on several sheets
        for drawn in _drawn(document["sheets"]):
            svg = drawn.pop("svg")
            drawn["file"] = files.setdefault(svg, f"drawing_{len(files)}.svg")
        for svg, file in files.items():
            (root / file).write_text(blocks.clean_drawing(svg), encoding="utf-8")
        document |= put_enclosures(enclosures, root)
        words = _UNIT.sub("\\\\u00a0", json.dumps(document))
        (root / "pack.json").write_text(words, encoding="utf-8")
        main = root / "pack.typ"
        main.write_bytes((template or TEMPLATE).read_bytes())
        made: dict[str, Any] = {
            "root": str(root),
            "format": "pdf",
            "font_paths": [str(Path(mpl.get_data_path()) / "fonts" / "ttf"), str(root)],
            "ignore_system_fonts": True,
            "timestamp": _noon(planned_on),
        }
        try:
            return _compiled(main, made)
        except typst.TypstError as error:
            if template is None:
                raise
            raise PlanFileError(
                f"the typesetter cannot use it ({blocks.clean(str(error))})",
                str(template),
                "mend it, or leave page_look out of the household file",
            ) from None


def _compiled(main: Path, made: dict[str, Any]) -> bytes:
    try:
        return bytes(typst.compile(str(main), pdf_standards=["ua-1"], **made))
    except typst.TypstError as error:
        if "PDF/UA" not in str(error):
            raise
        # A name in a script that no font here has: the folder comes out without the claim.
        _LOG.warning("The printable folder makes no claim to PDF/UA-1: %s.", error)
    return bytes(typst.compile(str(main), **made))


def _drawn(sheets: list[Block]) -> list[dict[str, Any]]:
    """Whatever holds a drawing: blocks, and the rows of blocks."""
    found = []
    for block in (block for sheet in sheets for block in sheet["blocks"]):
        rows = [row for row in block.get("rows", []) if isinstance(row, dict)]
        found += [part for part in (block, *rows) if "svg" in part]
    return found


def _noon(day: dt.date) -> int:
    """Seconds since 1970 at noon, universal time: the document's date."""
    return (day.toordinal() - 719_163) * 86_400 + 43_200
