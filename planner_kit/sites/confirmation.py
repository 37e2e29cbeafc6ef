"""What the text of a confirmation PDF seems to say; nothing is taken without a person's yes."""

from __future__ import annotations

import datetime as dt
import io
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from pypdf import PdfReader
from pypdf.errors import PyPdfError

from planner_kit.errors import PlanFileError

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator
    from pathlib import Path

_MAX_BYTES, _MAX_PAGES, _MAX_CHARACTERS = 20_000_000, 20, 200_000
_MONTHS = {
    name: number
    for number, names in enumerate(
        ("jan january", "feb february", "mar march", "apr april", "may", "jun june", "jul july",
         "aug august", "sep sept september", "oct october", "nov november", "dec december"), 1)
    for name in names.split()
}  # fmt: skip
_SIGNS = {"£": "GBP", "€": "EUR"}
_REFERENCE = re.compile(
    r"(?:\b(?:reference|ref)\b\.?|\b(?:booking|reservation|confirmation|order)\s+"
    r"(?:number|no\.|code|id))(?:\s+(?:number|no\.))?"
    r"\s*(?:is|[:#])?\s*([A-Z0-9][A-Z0-9/-]{3,24})\b",
    re.IGNORECASE,
)
_MONEY = re.compile(
    r"(?:(?P<sign>[£€])|\b(?P<code>[A-Z]{3}))\s?(?P<a>\d{1,3}(?:[,.\s]?\d{3})*(?:[.,]\d{2})?)"
    r"|(?P<b>\d{1,3}(?:[,.\s]?\d{3})*[.,]\d{2})\s?(?:(?P<sign2>[£€])|(?P<code2>[A-Z]{3})\b)"
)
_ISO = re.compile(r"\b(\d{4})-(\d{2})-(\d{2})\b")
_SPELT = re.compile(r"\b(\d{1,2})(?:st|nd|rd|th)?\.?\s+([A-Za-z]{3,9})\.?,?\s+(\d{4})\b")
_MONTH_FIRST = re.compile(r"\b([A-Za-z]{3,9})\.?\s+(\d{1,2})(?:st|nd|rd|th)?,?\s+(\d{4})\b")
_SLASHED = re.compile(r"\b(\d{1,2})[/.](\d{1,2})[/.](\d{4})\b")
# Which words near a figure say what it is, in the order in which they are tried.
_AMOUNT_WORDS = (
    ("balance", ("balance", "outstanding", "still to pay", "remaining")),
    ("paid", ("deposit", "paid", "received")),
    ("price", ("total", "price", "cost")),
)
_DATE_WORDS = (
    ("free_cancellation_until", ("cancel",)),
    ("due_on", ("due", "balance", "payable by", "pay by")),
    ("arrive", ("arriv", "check in", "check-in", "from")),
    ("leave", ("depart", "check out", "check-out", "leav")),
)
_CODE = re.compile(r"(?:gate|arrival|barrier|door)\s+code\s*(?:is|:)?\s*([A-Z0-9#*]{3,12})", re.I)


@dataclass(frozen=True)
class Suggestion:
    """Something that a confirmation seems to say.

    Attributes
    ----------
    field : str
        reference, price, paid, balance, due_on, free_cancellation_until, arrive, leave,
        arrival_code, or `figure` and `date` where the text does not say what they are.
    value : str, float or date
    currency : str
        For amounts.
    line : str
        The line of the text that it was read from.
    page : int
        From 1.
    doubt : str
        Why it may be wrong; empty where nothing speaks against it.
    """

    field: str
    value: str | float | dt.date
    currency: str
    line: str
    page: int
    doubt: str = ""


def read_confirmation(path: Path) -> tuple[Suggestion, ...]:
    """What a confirmation PDF seems to say.

    Parameters
    ----------
    path : Path
        A PDF of at most 20 MB; its first 20 pages are read.

    Returns
    -------
    suggestions : tuple of Suggestion
        In the order of the text, each once; empty where the PDF has no text (a scan).

    Raises
    ------
    PlanFileError
        If it is no PDF, is locked with a password or is too large.
    """
    where = str(path)
    try:
        size = path.stat().st_size
        with path.open("rb") as source:
            content = source.read(_MAX_BYTES)
    except FileNotFoundError:
        raise PlanFileError("there is no such file", where, "check the name") from None
    except OSError as error:
        raise PlanFileError(
            f"it cannot be read ({error.strerror})", where, "check the file"
        ) from error
    if size > _MAX_BYTES:
        raise PlanFileError("it is larger than 20 MB", where, "is it the right file")
    if b"%PDF-" not in content[:1024]:
        raise PlanFileError("it is not a PDF", where, "save the confirmation as a PDF")
    try:
        reader = PdfReader(io.BytesIO(content))
        if reader.is_encrypted and not reader.decrypt(""):
            raise PlanFileError(
                "it is locked with a password", where, "save a copy without the password"
            )
        texts = [page.extract_text() or "" for page in reader.pages[:_MAX_PAGES]]
    except PlanFileError:
        raise
    except (PyPdfError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise PlanFileError(
            f"it is a damaged PDF ({type(error).__name__})", where, "ask for it again"
        ) from error
    return suggestions_in(texts)


def suggestions_in(pages: Iterable[str]) -> tuple[Suggestion, ...]:
    """What the text of each page seems to say; see `read_confirmation`."""
    found: dict[tuple[str, Any], Suggestion] = {}
    left = _MAX_CHARACTERS
    for number, text in enumerate(pages, start=1):
        for raw in text[:left].splitlines():
            line = " ".join(raw.split())[:300]
            for one in _in_line(line, number):
                found.setdefault((one.field, one.value), one)
        left -= min(left, len(text))
    return tuple(found.values())


def _in_line(line: str, page: int) -> Iterator[Suggestion]:
    reference = _REFERENCE.search(line)
    if reference and any(ch.isdigit() for ch in reference.group(1)):
        yield Suggestion("reference", reference.group(1), "", line, page)
    code = _CODE.search(line)
    if code:
        yield Suggestion("arrival_code", code.group(1), "", line, page)
    for hit in _MONEY.finditer(line):
        sign, letters = hit["sign"] or hit["sign2"], hit["code"] or hit["code2"]
        currency = _SIGNS.get(sign or "", letters or "")
        amount = _amount(hit["a"] or hit["b"])
        field = _named(line, hit.start(), _AMOUNT_WORDS, "figure")
        yield Suggestion(field, amount, currency, line, page)
    for start, day, doubt in _dates(line):
        yield Suggestion(_named(line, start, _DATE_WORDS, "date"), day, "", line, page, doubt)


def _named(
    line: str, at: int, words: tuple[tuple[str, tuple[str, ...]], ...], otherwise: str
) -> str:
    """What a figure is, by the word that stands nearest before it in its line."""
    before = line[:at].casefold()
    places = [
        (max(before.rfind(word) for word in spelt), -rank, field)
        for rank, (field, spelt) in enumerate(words)
    ]
    at_word, _, field = max(places)
    return field if at_word >= 0 else otherwise


def _amount(text: str) -> float:
    """``1,234.50``, ``1.234,50`` and ``1 234`` as a number."""
    digits = re.sub(r"\s", "", text)
    tail = re.search(r"[.,](\d{2})$", digits)
    whole = re.sub(r"[.,]", "", digits[: tail.start()] if tail else digits)
    return float(whole) + (int(tail.group(1)) / 100 if tail else 0.0)


def _dates(line: str) -> Iterator[tuple[int, dt.date, str]]:
    for hit in _ISO.finditer(line):
        yield from _day(hit.start(), hit[1], hit[2], hit[3])
    for hit in _SPELT.finditer(line):
        month = _MONTHS.get(hit[2].casefold())
        if month:
            yield from _day(hit.start(), hit[3], month, hit[1])
    for hit in _MONTH_FIRST.finditer(line):
        month = _MONTHS.get(hit[1].casefold())
        if month:
            yield from _day(hit.start(), hit[3], month, hit[2])
    for hit in _SLASHED.finditer(line):
        swapped = int(hit[2]) > 12
        both = int(hit[1]) <= 12 and int(hit[2]) <= 12 and hit[1] != hit[2]
        doubt = "day and month may be the other way round" if both else ""
        first, second = (hit[2], hit[1]) if swapped else (hit[1], hit[2])
        yield from _day(hit.start(), hit[3], second, first, doubt)


def _day(
    at: int, year: str, month: str | int, day: str, doubt: str = ""
) -> Iterator[tuple[int, dt.date, str]]:
    try:
        yield at, dt.date(int(year), int(month), int(day)), doubt
    except ValueError:
        return  # 31 February is no date, so there is nothing to suggest


def booking_values(accepted: Iterable[Suggestion]) -> dict[str, Any]:
    """The keys of a booking that suggestions a person said yes to come to.

    A reference together with a price makes the booking ``booked``; arrival and departure are for
    the person to compare with the stay and are in no key.
    """
    values: dict[str, Any] = {}
    for one in accepted:
        if one.field in ("reference", "price", "paid", "due_on", "free_cancellation_until",
                         "arrival_code"):  # fmt: skip
            values[one.field] = one.value
            if one.field in ("price", "paid") and one.currency:
                values["currency"] = one.currency
    if "reference" in values and "price" in values:
        values["state"] = "booked"
    return values
