"""Stamps, notes and filled-in fields that lie on a PDF's pages, made part of the pages."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

from pypdf import PdfReader, PdfWriter
from pypdf.generic import DecodedStreamObject, DictionaryObject, NameObject

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pypdf import PageObject

_NOT_DRAWN = {"/Link", "/Popup"}
_HIDDEN = 0b100010  # hidden, and not to be seen on a screen


def lies_on(page: PageObject) -> bool:
    """Whether something lies on a page that a typesetter would leave out."""
    return any(True for _ in _laid(page))


def with_laid_on(data: bytes, pages: int) -> bytes:
    """A copy of a PDF in which what lies on its first pages belongs to them.

    Parameters
    ----------
    data : bytes
        A PDF without a password.
    pages : int
        How many pages are looked at.

    Returns
    -------
    data : bytes
        The same bytes where nothing lies on a page.

    References
    ----------
    .. [1] ISO 32000-1:2008, "Document management - Portable document format - Part 1: PDF 1.7",
       12.5.5, algorithm 8.1: how an appearance is placed in its rectangle.
    """
    if not any(lies_on(page) for page in PdfReader(io.BytesIO(data)).pages[:pages]):
        return data
    writer = PdfWriter(clone_from=io.BytesIO(data))
    for page in writer.pages[:pages]:
        _lay(writer, page)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def _laid(page: PageObject) -> Iterator[tuple[Any, Any]]:
    """Each visible thing that lies on a page, with its appearance."""
    for one in page.get("/Annots") or ():
        thing = one.get_object()
        if thing.get("/Subtype") in _NOT_DRAWN or int(thing.get("/F", 0)) & _HIDDEN:
            continue
        shown = thing.get("/AP", {}).get_object().get("/N")
        shown = None if shown is None else shown.get_object()
        if shown is not None and "/BBox" not in shown:  # one for each state, such as a tick's
            shown = shown.get(thing.get("/AS", "/Off"))
            shown = None if shown is None else shown.get_object()
        if shown is not None and "/BBox" in shown and "/Rect" in thing:
            yield thing, shown


def _lay(writer: PdfWriter, page: PageObject) -> None:
    drawn = []
    for number, (thing, shown) in enumerate(list(_laid(page))):
        name = f"/LaidOn{number}"
        if "/Resources" not in page:
            page[NameObject("/Resources")] = DictionaryObject()
        held = page["/Resources"]
        if "/XObject" not in held:
            held[NameObject("/XObject")] = DictionaryObject()
        shown[NameObject("/Type")] = NameObject("/XObject")
        shown[NameObject("/Subtype")] = NameObject("/Form")
        held["/XObject"][NameObject(name)] = shown.indirect_reference
        drawn.append(f"q {_placing(thing, shown)} cm {name} Do Q")
    if drawn:
        before = page.get_contents()
        content = DecodedStreamObject()
        own = b"" if before is None else before.get_data()
        content.set_data(b"q\n" + own + b"\nQ\n" + "\n".join(drawn).encode())
        page[NameObject("/Contents")] = writer._add_object(content)


def _placing(thing: Any, shown: Any) -> str:
    """The matrix that puts an appearance into its rectangle."""
    left, low, right, high = (float(value) for value in shown["/BBox"])
    a, b, c, d, e, f = (float(value) for value in shown.get("/Matrix", (1, 0, 0, 1, 0, 0)))
    corners = [(x, y) for x in (left, right) for y in (low, high)]
    across = [a * x + c * y + e for x, y in corners]
    up = [b * x + d * y + f for x, y in corners]
    wide, tall = max(across) - min(across), max(up) - min(up)
    x0, y0, x1, y1 = (float(value) for value in thing["/Rect"])
    scale_x = abs(x1 - x0) / wide if wide else 1.0
    scale_y = abs(y1 - y0) / tall if tall else 1.0
    shift_x, shift_y = min(x0, x1) - scale_x * min(across), min(y0, y1) - scale_y * min(up)
    return f"{scale_x:.5f} 0 0 {scale_y:.5f} {shift_x:.3f} {shift_y:.3f}"
