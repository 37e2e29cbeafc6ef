"""The confirmations that people keep as PDF, set behind the folder's own pages as they are."""

from __future__ import annotations

import io
import tempfile
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typst
from pypdf import PdfReader

from planner_kit.errors import PlanFileError
from planner_kit.pack.blocks import clean

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pypdf import PageObject

    from planner_kit.plan import TripPlan

_MAX_BYTES = 12_000_000  # of all together: a folder stays below 15 MB, which post carries
_MAX_PAGES = 60
_READ_PAGES = 12  # of a confirmation; to read more would make a folder slow


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
    words : tuple of str
        For each page what stands for it where it is read out.
    """

    title: str
    file: str
    pages: int = 0
    fault: str = ""
    data: bytes = b""
    words: tuple[str, ...] = ()


def read_enclosures(plan: TripPlan) -> tuple[Enclosure, ...]:
    """The confirmations of the trip's stays; one that cannot be used says why."""
    inputs = plan.files.inputs
    names = dict(zip(plan.files.sites.index, plan.files.sites.get("name", ()), strict=False))
    found: list[Enclosure] = []
    for stay in inputs.trip.stays:
        file = stay.booking.confirmation
        if file:
            title = clean(f"Confirmation: {names.get(stay.site, stay.site)}")
            room = _MAX_BYTES - sum(len(enclosure.data) for enclosure in found)
            try:
                found.append(_read(title, file, inputs.path_of(file), room))
            except PlanFileError as error:
                found.append(Enclosure(title, file, fault=error.what))
    return tuple(found)


def _read(title: str, file: str, path: Path, room_bytes: int) -> Enclosure:
    try:
        if path.stat().st_size > room_bytes:
            return Enclosure(title, file, fault="it would make the folder larger than 15 MB")
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
        for page in reader.pages:
            page.get_contents()  # what is packed too tightly is refused here
        words = tuple(
            _read_out(page, number, pages, title) for number, page in enumerate(reader.pages, 1)
        )
    except Exception:
        # A damaged file fails in more ways than anybody can list; all mean the same to a person.
        return Enclosure(title, file, fault="it is damaged or not a PDF")
    read = Enclosure(title, file, pages, data=data, words=words)
    return read if _can_be_set(read) else Enclosure(title, file, fault="it is damaged")


def _read_out(page: PageObject, number: int, pages: int, title: str) -> str:
    """What a page says, for those who cannot see it."""
    try:
        words = clean(page.extract_text()) if number <= _READ_PAGES else ""
    except Exception:  # as above: the page may still be set as it is
        words = ""
    said = f"It says: {words}" if words else "Its words could not be read."
    return f"{title}, page {number} of {pages}, as it was sent. {said}"


def _can_be_set(enclosure: Enclosure) -> bool:
    """Whether the typesetter takes each page of a confirmation."""
    with tempfile.TemporaryDirectory(prefix="planner_kit_trial_") as name:
        root = Path(name)
        put_enclosures((enclosure,), root)
        main = root / "trial.typ"
        page = 'image("enclosed_0.pdf", page: n + 1)'
        main.write_text(f"#for n in range({enclosure.pages}) {{ {page} }}", encoding="utf-8")
        try:
            typst.compile(str(main), root=str(root), format="pdf", ignore_system_fonts=True)
        except typst.TypstError:
            return False
    return True


def put_enclosures(enclosures: Sequence[Enclosure], root: Path) -> list[dict[str, Any]]:
    """Lay the usable confirmations beside the page template, and tell it of them.

    Parameters
    ----------
    enclosures : sequence of Enclosure
    root : Path
        The template's folder.

    Returns
    -------
    enclosed : list of dict
        Title and file of each, and what is read out for each of its pages.
    """
    enclosed: list[dict[str, Any]] = []
    for enclosure in enclosures:
        if enclosure.pages:
            file = f"enclosed_{len(enclosed)}.pdf"
            (root / file).write_bytes(enclosure.data)
            enclosed.append(
                {"title": enclosure.title, "file": file, "words": list(enclosure.words)}
            )
    return enclosed
