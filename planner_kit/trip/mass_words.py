"""Masses as people write them: kilograms, grams, stones, pounds and ounces, alone or together."""

from __future__ import annotations

import re

# International yard and pound agreement of 1959; Weights and Measures Act 1985 (UK), schedule 1.
KG_PER_POUND = 0.45359237
_KG = {
    "kg": 1.0,
    "g": 0.001,
    "oz": KG_PER_POUND / 16,
    "lb": KG_PER_POUND,
    "st": KG_PER_POUND * 14,
}
_NAMES = {
    **{name: "kg" for name in ("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms")},
    **{name: "g" for name in ("g", "gram", "grams")},
    **{name: "oz" for name in ("oz", "ounce", "ounces")},
    **{name: "lb" for name in ("lb", "lbs", "pound", "pounds")},
    **{name: "st" for name in ("st", "stone", "stones")},
}
_PART = re.compile(r"\s*(\d+(?:\.\d+)?)\s*([a-z]+)\s*,?", re.IGNORECASE)


def mass_in_kg(words: str) -> float | None:
    """A mass with its unit in kilograms.

    Parameters
    ----------
    words : str
        Such as ``12.5 kg``, ``350 g``, ``8 lb``, ``1 st 4 lb``.

    Returns
    -------
    mass_kg : float or None
        None where a number has no unit, or a unit is not known. [kg]
    """
    total, place = 0.0, 0
    for part in _PART.finditer(words):
        if part.start() != place:
            return None
        unit = _NAMES.get(part.group(2).lower())
        if unit is None:
            return None
        total, place = total + float(part.group(1)) * _KG[unit], part.end()
    return total if place and not words[place:].strip() else None
