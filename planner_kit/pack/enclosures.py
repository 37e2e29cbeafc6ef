"""The confirmations that people keep as PDF: drawn behind the folder's pages, and attached."""

from __future__ import annotations

import io
import logging
import os
import re
import tempfile
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING, Any

from pypdf import PdfReader
from pypdf.errors import DependencyError

from planner_kit.errors import PlanFileError
from planner_kit.pack import blocks
from planner_kit.pack.blocks import clean
from planner_kit.pack.laid_on import with_laid_on
from planner_kit.pack.page_drawer import SOURCE, DrawingError, draw_pages

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from concurrent.futures import Future

    from pypdf import PageObject

    from planner_kit.pack.blocks import Block
    from planner_kit.plan import TripPlan

# A folder stays below 15 MB, which post carries: its own pages, the drawings and the files.
_LOG = logging.getLogger(__name__)
_MAX_DRAWN_BYTES = 7_000_000
_MAX_ATTACHED_BYTES = 6_000_000
_MAX_READ_BYTES = 40_000_000
_MAX_PAGES = 40  # of one
_MAX_PAGES_IN_ALL = 120
_LONGEST_WORDS = 6000  # of a page
_FULLEST = 1_000_000  # bytes of drawing on a page; to look for words in more takes minutes
_SHARP_DPI = 150
_SCAN_DOTS = 1_500_000  # on a page that is a scan or a photograph
_MOST_DOTS = 150_000_000
_DEEPEST = 5
_LOCKED = "it is locked, with a password or against changes"
_MOST_AT_ONCE = 4
_PORTION = 10  # pages


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
        How many pages are drawn, from the first; 0 where it cannot be included.
    of_pages : int
        How many it has.
    fault : str
        Why it cannot be included; empty if it can.
    data : bytes
        The file as it was read.
    words : tuple of str
        For each page what stands for it where it is read out.
    drawings : tuple of (str, bytes)
        For each page the ending of its drawing's name, and the drawing.
    sizes_pt : tuple of (float, float)
        Width and height of each page. [pt]
    dpi : int
        How sharp the pages are drawn, in dots an inch; 0 where they are sharp at any size.
    attached_as : str
        The name under which the folder's PDF holds the file itself; empty where it does not.
    left_out : bool
        Whether stamps, notes or filled-in fields may lie on its pages that are not drawn.
    """

    title: str
    file: str
    pages: int = 0
    of_pages: int = 0
    fault: str = ""
    data: bytes = b""
    words: tuple[str, ...] = ()
    drawings: tuple[tuple[str, bytes], ...] = ()
    sizes_pt: tuple[tuple[float, float], ...] = ()
    dpi: int = 0
    attached_as: str = ""
    left_out: bool = False


@contextmanager
def drawn_beside(plan: TripPlan) -> Iterator[Callable[[], tuple[Enclosure, ...]]]:
    """The confirmations of the trip's stays, drawn in other processes while the caller goes on.

    Parameters
    ----------
    plan : TripPlan

    Yields
    ------
    ready : callable
        Waits for the drawings and gives the confirmations; one that cannot be used says why.
    """
    opened = _opened_of(plan)
    share_bytes = _MAX_DRAWN_BYTES // max(sum(one.read.pages for one in opened), 1)
    with ThreadPoolExecutor(min(os.cpu_count() or 1, _MOST_AT_ONCE)) as pool:
        drawn = [
            [
                pool.submit(_drawn, one, numbers, share_bytes * len(numbers))
                for numbers in _portions(one.read)
            ]
            for one in opened
        ]
        words = [_words_of(one) for one in opened]
        try:
            yield lambda: _attached(list(map(_joined, opened, words, drawn)))
        finally:
            pool.shutdown(wait=False, cancel_futures=True)


def _opened_of(plan: TripPlan) -> list[_Opened]:
    """The confirmations of the trip's stays, one after the other."""
    inputs = plan.files.inputs
    names = dict(zip(plan.files.sites.index, plan.files.sites.get("name", ()), strict=False))
    opened: list[_Opened] = []
    for stay in inputs.trip.stays:
        if stay.booking.confirmation is None:
            continue
        file = str(stay.booking.confirmation)
        title = clean(f"Confirmation: {names.get(stay.site, stay.site)}")
        room = min(_MAX_PAGES, _MAX_PAGES_IN_ALL - sum(one.read.pages for one in opened))
        try:
            opened.append(_open(title, file, inputs.path_of(file), room))
        except PlanFileError as error:
            opened.append(_Opened(Enclosure(title, file, fault=error.what)))
    return opened


def _portions(read: Enclosure) -> list[range]:
    """The pages of a confirmation in portions that are drawn side by side."""
    numbers = range(1, 1 if read.fault else read.pages + 1)
    return [numbers[start : start + _PORTION] for start in range(0, len(numbers), _PORTION)]


@dataclass(frozen=True)
class _Opened:
    """A confirmation before its pages are drawn.

    Attributes
    ----------
    read : Enclosure
    shown : bytes
        The file with what lies on its pages.
    photos : tuple of int
        The pages, from 1, that are scans or photographs.
    """

    read: Enclosure
    shown: bytes = b""
    photos: tuple[int, ...] = ()


def _open(title: str, file: str, path: Path, room_pages: int) -> _Opened:
    def refused(why: str, data: bytes = b"") -> _Opened:
        return _Opened(Enclosure(title, file, fault=why, data=data))

    try:
        if path.stat().st_size > _MAX_READ_BYTES:
            return refused("it is larger than 40 MB")
        data = path.read_bytes()
    except FileNotFoundError:
        return refused("there is no such file")
    except OSError as error:
        return refused(f"it cannot be read ({error.strerror})")
    try:
        reader = PdfReader(io.BytesIO(data))
        if reader.is_encrypted:
            return refused(_LOCKED, data)
        count = len(reader.pages)
        shown, left_out = _with_laid_on(data, min(count, room_pages))
        pages = PdfReader(io.BytesIO(shown)).pages[: min(count, room_pages)]
        for page in pages:
            page.get_contents()  # what is packed too tightly is refused here
        dots = [_dots_of(page.get("/Resources")) for page in pages]
    except DependencyError:  # one of the newer locks, which the reader does not know
        return refused(_LOCKED, data)
    except Exception:
        # A damaged file fails in more ways than anybody can list; all mean the same to a person.
        _LOG.info("%s cannot be read.", file, exc_info=True)
        return refused("it is damaged or not a PDF")
    if count == 0:
        return refused("it has no pages")
    if max(dots, default=0) > _MOST_DOTS:
        return refused("a picture in it is too large")
    read = Enclosure(title, file, len(pages), count, data=data, left_out=left_out)
    if not pages:
        return _Opened(replace(read, fault="the folder has no room for more pages"))
    photos = tuple(number for number, count in enumerate(dots, 1) if count > _SCAN_DOTS)
    return _Opened(read, shown, photos)


def _words_of(opened: _Opened) -> tuple[str, ...]:
    """What each page says, for those who cannot see it."""
    read = opened.read
    if read.fault:
        return ()
    pages = PdfReader(io.BytesIO(opened.shown)).pages[: read.pages]
    return tuple(_read_out(page, n, read) for n, page in enumerate(pages, 1))


def _read_out(page: PageObject, number: int, read: Enclosure) -> str:
    """What one page says."""
    whole = f"{read.title}, page {number} of {read.of_pages}, as it was sent."
    content = page.get_contents()
    if content is not None and len(content.get_data()) > _FULLEST:
        return f"{whole} The page is too full for its words to be read."
    try:
        words = clean(page.extract_text(), longest=_LONGEST_WORDS)
    except Exception:  # as above: the page may still be drawn
        words = ""
    readable = sum(sign.isalnum() for sign in words) > 1
    said = f"It says: {words}" if readable else "It holds no words that can be read."
    return f"{whole} {said}"


def _dots_of(resources: Any, depth: int = 0) -> int:
    """How many dots the pictures on a page have, those inside forms too."""
    held = {} if resources is None else resources.get_object()
    inside = held["/XObject"] if "/XObject" in held else {}
    count = 0
    for one in (thing.get_object() for thing in inside.values()):
        if one.get("/Subtype") == "/Image":
            count += int(one.get("/Width", 0)) * int(one.get("/Height", 0))
        elif depth < _DEEPEST:
            count += _dots_of(one.get("/Resources"), depth + 1)
    return count


def _drawn(opened: _Opened, numbers: range, share_bytes: int) -> dict[str, Any]:
    """What `draw_pages` gives for some pages, with the drawings themselves for their names."""
    pages = opened.read.pages
    dpi = 200 if pages <= 10 else 150 if pages <= 25 else 110
    photos = [number for number in opened.photos if number in numbers]
    with tempfile.TemporaryDirectory(prefix="planner_kit_draw_") as name:
        root = Path(name)
        (root / SOURCE).write_bytes(opened.shown)
        drawn = draw_pages(root, numbers, share_bytes, photos, dpi)
        files = [(Path(file).suffix, (root / file).read_bytes()) for file in drawn["files"]]
    return drawn | {"files": files}


def _joined(
    opened: _Opened, words: tuple[str, ...], portions: Sequence[Future[dict[str, Any]]]
) -> Enclosure:
    """A confirmation with its pages drawn, or with what keeps them from being drawn."""
    read = opened.read
    try:
        drawn = [portion.result() for portion in portions]
    except DrawingError as error:
        return Enclosure(read.title, read.file, fault=str(error))
    return replace(
        read,
        words=words,
        drawings=tuple(file for portion in drawn for file in portion["files"]),
        sizes_pt=tuple((wide, tall) for portion in drawn for wide, tall in portion["sizes"]),
        dpi=min((portion["dpi"] for portion in drawn if portion["dpi"]), default=0),
    )


def _with_laid_on(data: bytes, pages: int) -> tuple[bytes, bool]:
    """A file with its stamps, notes and fields on the pages, and whether they are left out."""
    try:
        return with_laid_on(data, pages), False
    except Exception:  # it fails in as many ways; the pages may still be drawn without
        return data, True


def _attached(found: Sequence[Enclosure]) -> tuple[Enclosure, ...]:
    """With the names under which the folder's PDF holds the files, as far as there is room."""
    known: dict[bytes, str] = {}
    room, done = _MAX_ATTACHED_BYTES, []
    for one in found:
        name = known.get(one.data, "")
        if one.data and not name and len(one.data) <= room:
            room -= len(one.data)
            name = _free_name(one.file, set(known.values()))
            known[one.data] = name
        done.append(replace(one, attached_as=name))
    return tuple(done)


def _free_name(file: str, taken: set[str]) -> str:
    """A name for an attached file that opens everywhere and is not taken."""
    stem = re.sub(r"[^\w-]+", "_", PurePosixPath(clean(file)).stem).strip("_") or "confirmation"
    names = (f"{stem}{more}.pdf" for more in ("", *(f"_{n}" for n in range(2, len(taken) + 2))))
    return next(name for name in names if name not in taken)


def enclosure_sheet(enclosures: Sequence[Enclosure]) -> list[Block]:
    """The list of confirmations: what is drawn behind it, what is attached, what is missing."""
    if not enclosures:
        return []
    columns = [("what", "1fr"), ("file", "1fr"), ("in this folder", "1fr")]
    rows = [(one.title, one.file, _place_of(one)) for one in enclosures]
    told = [
        "Print what could not be included by itself and lay it in here; a locked file can "
        "be printed into a new one that is not."
        if any(one.fault for one in enclosures)
        else "",
        "Stamps, notes and filled-in fields of some pages could not be drawn: look at the file "
        "itself."
        if any(one.left_out for one in enclosures)
        else "",
        "The files themselves are attached to this PDF, as they were sent: open the list of "
        "attachments of your PDF reader to copy words or to print one by itself."
        if any(one.attached_as for one in enclosures)
        else "",
        "A page of a confirmation is a picture; for those who have this file read out, it stands "
        "with the words that could be read in it."
        if any(one.pages and not one.fault for one in enclosures)
        else "",
    ]
    parts = [blocks.table(columns, rows), *(blocks.text(words, small=True) for words in told)]
    return [blocks.sheet("confirmations", "Confirmations", parts)]


def no_confirmation_sheet() -> Block:
    """What stands for the confirmations where they alone are asked for and there are none."""
    said = "The trip file names no confirmation; a stay's booking may have one, as a PDF."
    return blocks.sheet("confirmations", "Confirmations", [blocks.text(said)])


def files_to_carry(plan: TripPlan) -> list[Block]:
    """The names of the confirmations, where their pages cannot be shown."""
    rows = [
        (one.read.title, one.read.file, one.read.fault or "copy it to the phone")
        for one in _opened_of(plan)
    ]
    if not rows:
        return []
    return [
        blocks.sheet(
            "confirmations",
            "Confirmations",
            [
                blocks.text(
                    "This page does not hold the confirmations themselves. Copy these files to the "
                    "phone beside it, or take the printed folder along."
                ),
                blocks.table([("what", "1fr"), ("file", "1fr"), ("", "1fr")], rows),
            ],
        )
    ]


def _place_of(one: Enclosure) -> str:
    """Where a confirmation stands, and what is missing of it."""
    kept = f"; attached as {one.attached_as}" if one.attached_as else ""
    if one.fault:
        return f"could not be included: {one.fault}{kept}"
    whole = one.pages == one.of_pages
    said = f"{one.pages} {'page' if one.pages == 1 else 'pages'}, behind this"
    if not whole:
        said = f"only pages 1 to {one.pages} of {one.of_pages}, behind this"
    if 0 < one.dpi < _SHARP_DPI:
        said += f"; less sharp ({one.dpi} dots an inch) to keep the folder small"
    return said + (kept or "; the file itself is too large to attach")


def put_enclosures(enclosures: Sequence[Enclosure], root: Path) -> dict[str, list[dict[str, Any]]]:
    """Lay the drawn pages and the files beside the page template, and tell it of them.

    Parameters
    ----------
    enclosures : sequence of Enclosure
    root : Path
        The template's folder.

    Returns
    -------
    told : dict
        ``enclosed``: title and pages of each, a page with its drawing, size and words;
        ``attached``: name, file and title of each file to attach.
    """
    enclosed, attached = [], {}
    for place, one in enumerate(enclosures):
        if one.attached_as and one.attached_as not in attached:
            file = f"attached_{place}.pdf"
            (root / file).write_bytes(one.data)
            attached[one.attached_as] = {"name": one.attached_as, "file": file, "title": one.title}
        pages = []
        parts = zip(one.drawings, one.sizes_pt, one.words, strict=True) if not one.fault else ()
        for number, ((ending, drawing), (width, height), words) in enumerate(parts):
            file = f"enclosed_{place}_{number}{ending}"
            (root / file).write_bytes(drawing)
            pages.append({"file": file, "width_pt": width, "height_pt": height, "words": words})
        if pages:
            enclosed.append({"title": one.title, "pages": pages})
    return {"enclosed": enclosed, "attached": list(attached.values())}
