"""The confirmations that people keep as PDF, appended to the folder as they are."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import TYPE_CHECKING

from pypdf import PdfReader, PdfWriter
from pypdf.errors import PyPdfError

from planner_kit.errors import PlanFileError
from planner_kit.pack.blocks import clean

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from planner_kit.plan import TripPlan

_MAX_BYTES = 30_000_000
_MAX_PAGES = 60


@dataclass(frozen=True)
class Enclosure:
    """A confirmation named in the trip file.

    Attributes
    ----------
    title : str
        What it confirms.
    file : str
        The name as written in the trip file.
    pages : int
        How many pages it brings; 0 where it cannot be included.
    fault : str
        Why it cannot be included; empty if it can.
    data : bytes
        The file as it was read.
    """

    title: str
    file: str
    pages: int = 0
    fault: str = ""
    data: bytes = b""


def read_enclosures(plan: TripPlan) -> tuple[Enclosure, ...]:
    """The confirmations of the trip's stays; one that cannot be used says why."""
    inputs = plan.files.inputs
    names = dict(zip(plan.files.sites.index, plan.files.sites.get("name", ()), strict=False))
    found = []
    for stay in inputs.trip.stays:
        file = stay.booking.confirmation
        if file:
            title = f"Confirmation: {names.get(stay.site, stay.site)}"
            try:
                found.append(_read(title, file, inputs.path_of(file)))
            except PlanFileError as error:
                found.append(Enclosure(title, file, fault=error.what))
    return tuple(found)


def _read(title: str, file: str, path: Path) -> Enclosure:
    try:
        if path.stat().st_size > _MAX_BYTES:
            return Enclosure(title, file, fault="it is larger than 30 MB")
        data = path.read_bytes()
    except FileNotFoundError:
        return Enclosure(title, file, fault="there is no such file")
    except OSError as error:
        return Enclosure(title, file, fault=f"it cannot be read ({error.strerror})")
    try:
        reader = PdfReader(io.BytesIO(data))
        if reader.is_encrypted:
            return Enclosure(title, file, fault="it is locked with a password")
        pages = len(reader.pages)
        if pages == 0 or pages > _MAX_PAGES:
            return Enclosure(title, file, fault=f"it has {pages} pages, not 1 to {_MAX_PAGES}")
        trial = PdfWriter()
        _append(trial, reader)
        trial.write(io.BytesIO())
    except (
        PyPdfError,
        ValueError,
        KeyError,
        TypeError,
        AttributeError,
        IndexError,
        RecursionError,
    ):
        # A damaged file fails in many ways inside the reader; all mean the same to a person.
        return Enclosure(title, file, fault="it is damaged or not a PDF")
    return Enclosure(title, file, pages, data=data)


def _append(writer: PdfWriter, reader: PdfReader) -> None:
    for page in reader.pages:
        added = writer.add_page(page)
        # Links, forms and scripts of somebody else's file have no place on paper.
        for key in ("/Annots", "/AA"):
            if key in added:
                del added[key]


def contents_of(enclosures: Sequence[Enclosure]) -> list[dict[str, str | int]]:
    """What the contents page says: each usable confirmation, and how many pages stand before it."""
    found: list[dict[str, str | int]] = []
    after = 0
    for enclosure in enclosures:
        if enclosure.pages:
            found.append({"title": clean(enclosure.title), "after": after})
            after += enclosure.pages
    return found


def with_enclosures(pdf: bytes, enclosures: Sequence[Enclosure]) -> bytes:
    """The folder's PDF with the usable confirmations behind it, each with a bookmark.

    Parameters
    ----------
    pdf : bytes
    enclosures : sequence of Enclosure

    Returns
    -------
    pdf : bytes
        The very bytes given where there is nothing to append.
    """
    usable = [enclosure for enclosure in enclosures if enclosure.pages]
    if not usable:
        return pdf
    writer = PdfWriter(clone_from=io.BytesIO(pdf))
    for enclosure in usable:
        first = len(writer.pages)
        _append(writer, PdfReader(io.BytesIO(enclosure.data)))
        writer.add_outline_item(title=enclosure.title, page_number=first)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()
