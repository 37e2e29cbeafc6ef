"""Sentences as the household reads them: the last step before a person's eyes.

Stages write kilometres, ISO 8601 dates and money by its ISO 4217 code; here these become the
household's units, dates and money. Words that need explaining have their gloss in
``data/reference/words.csv``.
"""

from __future__ import annotations

import datetime as dt
import re
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from babel import Locale
from babel.numbers import get_currency_name

from planner_kit.reference import read_table
from planner_kit.trip import display

if TYPE_CHECKING:
    from collections.abc import Iterable

    from planner_kit.trip.household import Units

# A sentence without either holds nothing that the household would read otherwise.
_FIGURE_OR_CODE = re.compile(r"\d|\b[A-Z]{3}\b")
_NUMBER = r"\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)?"
_ADDRESS = re.compile(r"(https?://\S+|\S+@\S+)")
_DATE = re.compile(r"(?<![\w/.:-])(\d{4})-(\d\d)-(\d\d)(?![\w/-])")
_MONEY = re.compile(
    rf"(?<![\w.,])(?:(?P<before>[A-Z]{{3}}) (?P<a>-?(?:{_NUMBER}))"
    rf"|(?P<b>-?(?:{_NUMBER})) (?P<after>[A-Z]{{3}}))(?![\w])"
)
_IN_CODE = re.compile(r"\bin ([A-Z]{3})\b")
_USE = re.compile(rf"({_NUMBER}) (l|kWh)(?:/| for | per )100 km\b")
_SPEED = re.compile(rf"({_NUMBER}) km/h\b")
_RANGE = re.compile(rf"(?<![\w.,/])({_NUMBER}) (to|and|or) ({_NUMBER}) km\b(?!/h)")
_LENGTH = re.compile(rf"(?<![\w.,/])({_NUMBER}) km\b(?!/h)")

_METRES = re.compile(rf"(?<![\w.,/])({_NUMBER}) m\b(?! \()")


def household_words(text: str, units: Units) -> str:
    """A sentence with dates, money, distances, speeds and fuel use as the household reads them.

    Parameters
    ----------
    text : str
        As a stage wrote it. Addresses of pages stay as they are.
    units : Units

    Returns
    -------
    text : str
        A speed keeps its km/h in brackets for those who read mph: signs abroad show it.
    """
    if not _FIGURE_OR_CODE.search(text):
        return text
    parts = _ADDRESS.split(text)
    return "".join(
        part if number % 2 else _converted(part, units) for number, part in enumerate(parts)
    )


def with_feet(text: str, units: Units) -> str:
    """A sentence whose metres have feet and inches beside them, for those who read miles.

    For limits that were written before the household was known; a figure that has its feet already
    is left alone.
    """
    if units.distance != "miles":
        return text
    return _METRES.sub(lambda hit: f"{hit[0]} ({_feet(_figure(hit[1]))})", text)


def _feet(length_m: float) -> str:
    feet, inches = divmod(round(length_m / display.M_PER_INCH), 12)
    return f"{feet} ft {inches} in"


def _converted(text: str, units: Units) -> str:
    text = _DATE.sub(lambda hit: _date(hit, units), text)
    text = _MONEY.sub(lambda hit: _money(hit, units), text)
    text = _IN_CODE.sub(lambda hit: _named(hit), text)
    text = _USE.sub(
        lambda hit: display.consumption(_figure(hit[1]), units, "l" if hit[2] == "l" else "kWh"),
        text,
    )
    if units.distance == "miles":
        text = _SPEED.sub(
            lambda hit: (
                f"{display.speed(_figure(hit[1]), units)} ({_figure(hit[1]):.0f} km/h)"
                if not hit.string[: hit.start()].endswith("(")
                else hit[0]
            ),
            text,
        )
        text = _RANGE.sub(lambda hit: _range(hit, units), text)
        text = _LENGTH.sub(lambda hit: _length(hit[1], units), text)
    return text


def _date(hit: re.Match[str], units: Units) -> str:
    try:
        return display.day(dt.date(int(hit[1]), int(hit[2]), int(hit[3])), units)
    except ValueError:
        return hit[0]


@lru_cache
def _codes() -> frozenset[str]:
    return frozenset(Locale("en").currencies)


def _money(hit: re.Match[str], units: Units) -> str:
    code = hit["before"] or hit["after"]
    if code not in _codes():
        return hit[0]
    amount = _figure(hit["a"] or hit["b"])
    whole = "." not in (hit["a"] or hit["b"])
    return display.money(amount, code, units, whole=whole)


def _named(hit: re.Match[str]) -> str:
    """A price "in GBP" by the name of its money."""
    if hit[1] not in _codes():
        return hit[0]
    return f"in {get_currency_name(hit[1], count=2, locale='en')}"


def _figure(text: str) -> float:
    return float(text.replace(",", ""))


def _decimals(text: str) -> int | None:
    return len(text.partition(".")[2]) or None


def _length(text: str, units: Units) -> str:
    return display.distance(_figure(text), units, _decimals(text))


def _range(hit: re.Match[str], units: Units) -> str:
    first, last = (
        display.number(display.distance_in_units(_figure(text), units), units, _decimals(text) or 0)
        for text in (hit[1], hit[3])
    )
    return f"{first} {hit[2]} {last} {display.distance_unit(units)}"


def glosses(texts: Iterable[str]) -> list[tuple[str, str]]:
    """The words of the trade that stand in some texts, each with what it means.

    Returns
    -------
    glosses : list of (str, str)
        By the alphabet; a word is found whole, whatever its case if the table has it in small
        letters.
    """
    whole = "\n".join(texts)
    table: Any = read_table("words")
    found = [
        (str(row["word"]), str(row["meaning"]))
        for row in table.to_dict("records")
        if _pattern(str(row["find"] or row["word"])).search(whole)
    ]
    return sorted(found, key=lambda gloss: gloss[0].casefold())


@lru_cache
def _pattern(words: str) -> re.Pattern[str]:
    flags = re.IGNORECASE if words == words.lower() else 0
    return re.compile(rf"(?<!\w)(?:{words})(?!\w)", flags)
