"""OpenStreetMap values as numbers, by the conventions of its wiki.

A value that cannot be read gives NaN and is marked unread; it is never taken for "no limit".
"""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, NamedTuple

from planner_kit.reference import constant
from planner_kit.rules.plausible import bounds_of

if TYPE_CHECKING:
    from collections.abc import Callable

_TABLE = "osm_values"
_NUMBER = r"(\d+(?:\.\d+)?|\.\d+)"
_PLAIN = re.compile(rf"^{_NUMBER}\s*([a-z/\"'%°]*)$")
_FEET = re.compile(
    rf"^{_NUMBER}\s*(?:'|ft|feet|foot)(?:\s*-?\s*{_NUMBER}\s*(?:\"|''|in|inch|inches))?$"
)
_RATIO = re.compile(rf"^(-?)1\s*:\s*{_NUMBER}$")
_SLOPE = re.compile(rf"^([+-]?){_NUMBER}\s*(%|°)$")
_CLOCK = re.compile(r"^(?:(\d{1,3}):)?(\d{1,4})(?::(\d{2}))?$")
_ISO_TIME = re.compile(r"^PT(?:(\d+)H)?(?:(\d+)M)?(?:(\d+)S)?$")

# Identities of measure: metres, tonnes and km/h in one of each unit.
_METRES = {
    "": 1.0,
    "m": 1.0,
    "mm": 0.001,
    "cm": 0.01,
    "km": 1000.0,
    "in": 0.0254,
    '"': 0.0254,
    "mi": 1609.344,
    "nmi": 1852.0,
}
_TONNES = {
    "": 1.0,
    "t": 1.0,
    "kg": 0.001,
    "st": 0.90718474,
    "lt": 1.0160469088,
    "lb": 0.00045359237,
    "lbs": 0.00045359237,
    "cwt": 0.0508023454,
}
_KMH = {"": 1.0, "km/h": 1.0, "kmh": 1.0, "kph": 1.0, "mph": 1.609344, "knots": 1.852}
_NO_LIMIT = {"none", "no", "unlimited", "unsigned_none"}


class Reading(NamedTuple):
    """A number and whether the text it came from could not be read.

    Attributes
    ----------
    value : float
        NaN where nothing could be read or the text says that there is no limit of that kind.
    unread : bool
        True when the text says something that was not understood, or not believed.
    odd : bool
        True when it is a number that is not believed.
    """

    value: float
    unread: bool
    odd: bool = False


UNREAD = Reading(math.nan, True)
NOTHING = Reading(math.nan, False)


def _within(value: float, name: str) -> Reading:
    allowed = bounds_of("map")[name]
    if math.isnan(value):
        return UNREAD
    believed = allowed.low <= value <= allowed.high
    return Reading(value, False) if believed else Reading(math.nan, True, odd=True)


def _measured(text: str, units: dict[str, float]) -> float:
    found = _PLAIN.match(text)
    if found is None or found.group(2) not in units:
        return math.nan
    return float(found.group(1)) * units[found.group(2)]


def read_length_m(text: str, name: str = "maxheight") -> Reading:
    """A height, width or length: metres unless a unit follows, or feet and inches.

    Parameters
    ----------
    text : str
        Such as ``2``, ``2.1 m``, ``6'6"`` or ``6 ft 6 in``; ``none`` says that there is no limit.
    name : str
        The row of ``data/reference/plausible.csv`` (of ``map``) with the range that is believed.

    Returns
    -------
    reading : Reading
        Metres; unread for anything else, also for ``default``, a comma or a list. [m]

    References
    ----------
    .. [1] OpenStreetMap wiki, "Key:width", read in its French edition on 2026-11-25: metres by
       default, another unit after a space, a point as decimal mark, ``16'3"`` for feet and inches.
    """
    text = text.strip().lower()
    if text == "none":
        return NOTHING
    feet = _FEET.match(text)
    if feet is not None:
        return _within(float(feet.group(1)) * 0.3048 + float(feet.group(2) or 0) * 0.0254, name)
    return _within(_measured(text, _METRES), name)


def read_weight_t(text: str, name: str = "maxweight") -> Reading:
    """A mass limit: tonnes unless a unit follows (``kg``, ``st`` short tons, ``lbs``)."""
    text = text.strip().lower()
    return NOTHING if text == "none" else _within(_measured(text, _TONNES), name)


def read_speed_kmh(text: str) -> Reading:
    """A speed limit: km/h unless ``mph`` follows; inf for ``none``.

    A limit that only names a rule of the country (``GB:nsl_single``) is unread. [km/h]
    """
    text = text.strip().lower()
    if text == "none":
        return Reading(math.inf, False)
    if text == "walk":
        return Reading(constant(_TABLE, "walk_speed").value, False)
    return _within(_measured(text, _KMH), "maxspeed")


def read_incline_pct(text: str) -> Reading:
    """An incline in the direction of the way, uphill positive: ``12%``, ``-8 %``, ``1:8``, ``7°``.

    ``up`` and ``down`` give a direction and no number: NaN, and not unread. [%]
    """
    text = text.strip().lower()
    if text in {"up", "down"}:
        return NOTHING
    ratio = _RATIO.match(text)
    if ratio is not None and float(ratio.group(2)) > 0:
        value = 100.0 / float(ratio.group(2))
        return _within(-value if ratio.group(1) else value, "incline")
    if text in {"0", "0%", "0 %"}:
        return Reading(0.0, False)
    slope = _SLOPE.match(text)
    if slope is None:
        return UNREAD
    value = float(slope.group(2))
    if slope.group(3) == "°":
        value = 100.0 * math.tan(math.radians(value)) if value < 60 else math.nan
    return _within(-value if slope.group(1) == "-" else value, "incline")


def read_lanes(text: str) -> Reading:
    """The number of lanes in both directions together; fractions are allowed."""
    return _within(_measured(text.strip(), {"": 1.0}), "lanes")


def read_duration_min(text: str) -> Reading:
    """A crossing time: ``MM``, ``HH:MM``, ``HH:MM:SS`` or ISO 8601 ``PT1H20M``."""
    text = text.strip()
    found = _CLOCK.match(text)
    if found is not None:
        hours, minutes, seconds = (float(part or 0) for part in found.groups())
        return _within(60 * hours + minutes + seconds / 60, "duration")
    found = _ISO_TIME.match(text.upper())
    if found is not None and any(found.groups()):
        hours, minutes, seconds = (float(part or 0) for part in found.groups())
        return _within(60 * hours + minutes + seconds / 60, "duration")
    return UNREAD


def read_flag(text: str) -> Reading:
    """1 for yes, 0 for no, by the words that OpenStreetMap uses for both."""
    text = text.strip().lower()
    if text in {"no", "false", "0", "disused", "none"}:
        return Reading(0.0, False)
    return Reading(1.0, False) if text else UNREAD


def read_oneway(text: str) -> Reading:
    """1 with the way, -1 against it, 0 both ways; ``reversible`` is unread.

    ``alternating`` is both ways: traffic takes turns.
    """
    text = text.strip().lower()
    if text in {"yes", "true", "1"}:
        return Reading(1.0, False)
    if text in {"-1", "reverse"}:
        return Reading(-1.0, False)
    if text in {"no", "false", "0", "alternating"}:
        return Reading(0.0, False)
    return UNREAD


# Limits, and the tags that give each; where several do, the lowest holds.
LIMITS: dict[str, tuple[tuple[str, ...], Callable[[str], Reading]]] = {
    "maxspeed_trailer_kmh": (
        ("maxspeed:trailer", "maxspeed:caravan", "maxspeed:towing"),
        read_speed_kmh,
    ),
    "maxheight_m": (
        (
            "maxheight",
            "maxheight:physical",
            "maxheight:signed",
            "maxheight:forward",
            "maxheight:backward",
        ),
        lambda text: read_length_m(text, "maxheight"),
    ),
    "maxwidth_m": (
        ("maxwidth", "maxwidth:physical", "maxwidth:trailer", "maxwidth:caravan"),
        lambda text: read_length_m(text, "maxwidth"),
    ),
    "maxlength_m": (
        ("maxlength", "maxlength:trailer", "maxlength:caravan"),
        lambda text: read_length_m(text, "maxlength"),
    ),
    "maxweight_t": (
        ("maxweight", "maxweightrating", "maxweight:trailer", "maxweight:caravan"),
        read_weight_t,
    ),
    "maxaxleload_t": (("maxaxleload",), lambda text: read_weight_t(text, "maxaxleload")),
}
