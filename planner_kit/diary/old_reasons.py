"""The reasons of figures as older kits named them, brought to the names that hold now."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from planner_kit.diary.reasons import JOIN, PART

if TYPE_CHECKING:
    from collections.abc import Mapping

_NAMES = {
    "road data": "map: road data of",
    "from": "trip file: from",
    "to": "trip file: to",
    "leaving at": "trip file: leaving at",
    "roads to avoid": "household: roads to avoid",
    "hours": "learnt: hours",
    "law rows": "law: rows of the tables of law",
    "distance": "map: distance",
    "kind of way": "map: kind of way",
    "site": "trip file: site",
    "nights": "trip file: nights",
    "price season": "dates: price season",
    "each night": "prices: each night",
    "offers": "prices: offers and taxes",
    "price": "bookings: price",
    "site list of": "prices: site list of",
    "counted on": "day of planning: counted on",
    "last trip": "trip file: last trip",
    "price list of": "prices: price list of",
    "tolls of": "prices: tolls noted on",
    "date": "dates: first day",
    "days": "dates: days",
    "closed": "opening: closed",
    "places": "days out: places",
    "way": "map: way",
    "kind": "map: kind",
    "visits": "days out: visits in its year",
    "fee": "household: fee of a year",
    "people": "trip file: people",
    "weather": "trip file: weather",
}
_LISTS = ("roads to avoid", "closed", "places")
_AMOUNT = re.compile(r"(-?\d+\.\d\d)")


def renamed_reasons(figure: Mapping[str, Any]) -> dict[str, str]:
    """The reasons of a figure of schema 1 to 3 under the names of schema 4.

    What has no such name is left out; amounts get the money of their figure.
    """
    unit, key = str(figure["unit"]), str(figure["key"])
    found = {}
    for name, value in figure["reasons"].items():
        text = str(value)
        if key.startswith("cost.") and _AMOUNT.match(text):
            found[PART + name.removesuffix(" in all")] = _with_money(text, unit)
        elif name == "each night":
            each = (one.rpartition(" at ") for one in text.split(JOIN))
            found[_NAMES[name]] = JOIN.join(
                f"{what}: {unit} {amount} each" if what else amount for what, _, amount in each
            )
        elif name == "offers":
            found[_NAMES[name]] = re.sub(r" \((-?\d+\.\d\d)\)", rf": {unit} \1", text)
        elif name == "fee" and _AMOUNT.match(text):
            found[_NAMES[name]] = f"{unit} {text}"
        elif name == "nights":
            nights = int(text) if text.isdecimal() else 0
            plain = key.startswith(("cost.", "pitch."))
            found[_NAMES[name]] = text if plain else f"{nights} night{'' if nights == 1 else 's'}"
        elif name == "road data":
            found[_NAMES[name]] = "no date" if text == "None" else text
        elif name == "weather":
            known = not text.startswith("The trip file names no")
            found[_NAMES[name]] = text.rstrip(".").replace(";", ",") if known else "not given"
        elif name in _LISTS:
            found[_NAMES[name]] = text.replace(", ", JOIN)
        elif name in _NAMES:
            found[_NAMES[name]] = text
    return found


def _with_money(text: str, unit: str) -> str:
    return f"{unit} {text}".removesuffix(" (expected)")
