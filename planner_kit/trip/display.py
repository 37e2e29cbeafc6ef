"""Figures as the household wants to read them: miles or kilometres, its money, its dates.

Inside, everything stays in kilometres, kilograms, litres and minutes; these functions are called
where a person reads. Whatever is missing (None, NaN, NaT) reads ``unknown``, never 0.
"""

from __future__ import annotations

import datetime as dt
import math
import numbers
from functools import lru_cache
from typing import TYPE_CHECKING, Literal

from babel import Locale
from babel.dates import format_date, format_skeleton, format_time
from babel.numbers import (
    format_currency,
    format_decimal,
    get_currency_symbol,
    get_decimal_symbol,
    parse_decimal,
)

if TYPE_CHECKING:
    from planner_kit.trip.household import Units

UNKNOWN = "unknown"
# Definitions, not measurements: Weights and Measures Act 1985 (UK), schedule 1; the US gallon from
# NIST Handbook 44 (2024), appendix C.
KM_PER_MILE = 1.609344
L_PER_UK_GALLON = 4.54609
L_PER_US_GALLON = 3.785411784
M_PER_INCH = 0.0254
M_PER_YARD = 0.9144
_POINTS = "N NNE NE ENE E ESE SE SSE S SSW SW WSW W WNW NW NNW".split()


def locale_of(units: Units) -> Locale:
    """The locale in which the household reads dates and numbers."""
    return Locale.parse(units.locale, sep="-")


def is_missing(value: object) -> bool:
    """Whether a figure or date is None, NaN, NA or NaT."""
    if value is None:
        return True
    if isinstance(value, float):  # the usual case, and the quickest to tell
        return math.isnan(value)
    if isinstance(value, numbers.Real):  # of whatever width: float, numpy's float32, int
        return math.isnan(value)
    return type(value).__name__ in ("NaTType", "NAType")


def number(value: float | None, units: Units, digits: int = 0) -> str:
    """A plain number with the household's separators.

    Parameters
    ----------
    value : float or None
    units : Units
    digits : int
        Decimals shown.

    Returns
    -------
    text : str
        Such as ``1,500``; ``unknown`` where the value is missing.
    """
    if value is None or is_missing(value):
        return UNKNOWN
    rounded = round(float(value), digits) + 0.0
    group, point, minus, plain = signs = _number_signs(units.locale)
    if signs == _PYTHON_SIGNS and not math.isinf(rounded):
        return f"{rounded:,.{digits}f}"
    if not plain or math.isinf(rounded):
        pattern = "#,##0" + ("." + "0" * digits if digits else "")
        return format_decimal(rounded, format=pattern, locale=locale_of(units))
    whole, _, part = f"{abs(rounded):,.{digits}f}".partition(".")
    text = whole.replace(",", group) + (point + part if digits else "")
    return minus + text if rounded < 0 else text


# The signs of `_number_signs` as Python itself writes numbers.
_PYTHON_SIGNS = (",", ".", "-", True)


@lru_cache
def _number_signs(locale: str) -> tuple[str, str, str, bool]:
    """Sign between thousands, decimal point and minus sign, and whether digits are 0 to 9.

    A route has hundreds of figures in its sentences, and reading a pattern for each is slow.
    """
    words = Locale.parse(locale, sep="-")
    minus = format_decimal(-1, "0", locale=words)
    group = format_decimal(1000, "#,##0", locale=words)
    plain = minus.endswith("1") and group.startswith("1") and group.endswith("000")
    return group[1:-3], get_decimal_symbol(words), minus[:-1], plain


def plain_number(value: float, units: Units, *, pennies: bool = False) -> str:
    """A number as a person types it: no separators of thousands, no needless noughts.

    With `pennies` it has two decimals, as amounts of money have.
    """
    form = "0.00" if pennies else "0.######"
    return str(format_decimal(value, form, locale=locale_of(units)))


def read_number(text: str, units: Units) -> float:
    """A number as the household types it: ``1,735`` is 1735 in British English, 1.735 in German.

    Raises
    ------
    ValueError
        If it is no number written in that way.
    """
    return float(parse_decimal(text.replace(" ", ""), locale=locale_of(units), strict=True))


def check_digits(value: float, unit: str) -> int:
    """Decimals that the figure of a check deserves: none for kilograms, one for shares.

    What would read as nothing at all keeps two, so that a little too much is seen.
    """
    if abs(value) >= 100:
        return 0
    digits = {
        "kg": 0,
        "min": 0,
        "W": 0,
        "%": 1,
        "years": 1,
        "l": 1,
        "L": 1,
        "h": 1,
        "A": 1,
        "kWh": 1,
        "kg of gas": 1,
        "L/day": 0,
        "days": 1,
        "cm": 0,
        "dBm": 0,
        "dBuV/m": 0,
        "deg": 1,
    }.get(unit, 2)
    return digits if not value or round(value, digits) else 2


def distance_in_units(distance_km: float, units: Units) -> float:
    """A distance in the household's unit: miles or kilometres."""
    return distance_km / KM_PER_MILE if units.distance == "miles" else distance_km


def km_of(value: float, units: Units) -> float:
    """A distance that was given in the household's unit, in kilometres."""
    return value * KM_PER_MILE if units.distance == "miles" else value


def per_distance(per_km: float, units: Units) -> float:
    """What is counted for each kilometre, for each of the household's unit of distance."""
    return per_km * KM_PER_MILE if units.distance == "miles" else per_km


def per_km_of(value: float, units: Units) -> float:
    """What the household counts for each of its unit of distance, for each kilometre."""
    return value / KM_PER_MILE if units.distance == "miles" else value


def distance_unit(units: Units) -> str:
    """The household's unit of distance: ``miles`` or ``km``."""
    return units.distance


def distance(distance_km: float | None, units: Units, digits: int | None = None) -> str:
    """A distance with its unit: ``18 miles``, ``4.2 km``.

    Parameters
    ----------
    distance_km : float or None
        Length of the way. [km]
    units : Units
    digits : int, optional
        Decimals; one below 10 of the unit and none from there on, unless given. Below a tenth
        of the unit the distance reads in yards or metres.

    Returns
    -------
    text : str
    """
    if distance_km is None or is_missing(distance_km):
        return UNKNOWN
    value = distance_in_units(float(distance_km), units)
    if digits is None and 0 < round(abs(value), 2) < 0.1:
        step, unit = (M_PER_YARD, "yards") if units.distance == "miles" else (1.0, "m")
        return f"{number(round(distance_km * 1000 / step / 10) * 10, units)} {unit}"
    if digits is None:
        digits = 1 if round(abs(value), 1) < 10 else 0
    shown = number(value, units, digits)
    name = "mile" if units.distance == "miles" and round(value, digits) == 1 else units.distance
    return f"{shown} {name}"


# Units that are words, as one of them is called.
_ONE_OF = {
    "breaks": "break", "corners": "corner", "days": "day", "miles": "mile", "nights": "night",
    "prices": "price", "years": "year",
}  # fmt: skip


def unit_words(shown: str, unit: str) -> str:
    """A unit beside a figure as it is shown: ``1 day``, ``2 days``, ``-1 mile``."""
    return _ONE_OF.get(unit, unit) if shown.lstrip("+-−") == "1" else unit


def measured(value: float | None, unit: str, units: Units) -> str:
    """A figure of the kit's own unit as the household reads it: kilometres, hours, litres, dBm."""
    if value is None or is_missing(value):
        return UNKNOWN
    if unit == "km":
        return distance(value, units)
    if unit == "h":
        return duration(60 * value)
    if unit == "l/100 km":
        return consumption(value, units)
    shown = number(value, units, _measured_digits(unit))
    return f"{shown} {unit_words(shown, unit)}"


def measured_gap(earlier: float | None, later: float | None, unit: str, units: Units) -> str:
    """How much more the later figure is than the earlier one, as both are shown by `measured`.

    Each is rounded before one is taken from the other, so that a reader finds the same with the
    two figures in front of them: 85 miles and 73 miles differ by 12 miles, whatever their decimals.

    Parameters
    ----------
    earlier, later : float or None
        In `unit`.
    unit : str
        Not ``l/100 km``, of which the household may read the inverse.
    units : Units

    Returns
    -------
    text : str
        With its sign, such as ``+5 min``; ``unknown`` where one of the two is missing. Levels in
        dBm differ by dB.
    """
    if earlier is None or later is None or is_missing(earlier) or is_missing(later):
        return UNKNOWN
    if unit == "h":
        gap = float(round(60 * later) - round(60 * earlier))
        return f"{'+' if gap > 0 else ''}{duration(gap)}"
    pair = [float(earlier), float(later)]
    if unit == "km":
        pair = [distance_in_units(one, units) for one in pair]
        places = [1 if round(abs(one), 1) < 10 else 0 for one in pair]
    else:
        places = [_measured_digits(unit)] * 2
    shown = [round(one, digits) for one, digits in zip(pair, places, strict=True)]
    gap, digits = round(shown[1] - shown[0], max(places)), max(places)
    text = f"{'+' if gap > 0 else ''}{number(gap, units, digits)}"
    return f"{text} {unit_words(text, {'km': units.distance, 'dBm': 'dB'}.get(unit, unit))}"


def _measured_digits(unit: str) -> int:
    return 0 if unit in ("breaks", "dBm", "dB") else 1


def speed(speed_kmh: float | None, units: Units) -> str:
    """A speed in mph or km/h; ``no limit`` where it is infinite."""
    if speed_kmh is None or is_missing(speed_kmh):
        return UNKNOWN
    if math.isinf(speed_kmh):
        return "no limit"
    unit = "mph" if units.distance == "miles" else "km/h"
    return f"{number(distance_in_units(float(speed_kmh), units), units)} {unit}"


def consumption(per_100km: float | None, units: Units, fuel_unit: Literal["l", "kWh"] = "l") -> str:
    """Fuel or energy used, in the way the household compares it.

    Parameters
    ----------
    per_100km : float or None
        Use. [l/100 km or kWh/100 km]
    units : Units
        Miles to the gallon are imperial gallons, save for the locale ``en-US``.
    fuel_unit : str
        ``l`` or ``kWh``.

    Returns
    -------
    text : str
        Such as ``24.1 mpg``, ``11.7 l/100 km``, ``2.1 miles/kWh``.
    """
    if per_100km is None or is_missing(per_100km) or per_100km <= 0:
        return UNKNOWN
    if fuel_unit == "kWh":
        if units.distance == "miles":
            return f"{number(100 / KM_PER_MILE / per_100km, units, 1)} miles/kWh"
        return f"{number(per_100km, units, 1)} kWh/100 km"
    if units.fuel == "l_per_100km":
        return f"{number(per_100km, units, 1)} l/100 km"
    if units.fuel == "km_per_l":
        return f"{number(100 / per_100km, units, 1)} km/l"
    american = units.locale == "en-US"
    gallon_l = L_PER_US_GALLON if american else L_PER_UK_GALLON
    mpg = 100 / KM_PER_MILE / per_100km * gallon_l
    return f"{number(mpg, units, 1)} mpg{' (US)' if american else ''}"


def currency_sign(currency: str, units: Units) -> str:
    """The sign of an ISO 4217 currency as the locale writes it, such as ``£``."""
    return str(get_currency_symbol(currency, locale=locale_of(units)))


def money(amount: float | None, currency: str, units: Units, *, whole: bool = False) -> str:
    """An amount with its symbol, as the locale writes it: ``£1,234.50``.

    Parameters
    ----------
    amount : float or None
    currency : str
        ISO 4217 code of the amount itself; nothing is converted.
    units : Units
    whole : bool
        Leave the pennies out, rounding.

    Returns
    -------
    text : str
    """
    if amount is None or is_missing(amount):
        return UNKNOWN
    if whole:
        return format_currency(
            round(float(amount)) + 0.0,
            currency,
            locale=locale_of(units),
            currency_digits=False,
            decimal_quantization=True,
            format=_whole_pattern(units),
        )
    return format_currency(float(amount), currency, locale=locale_of(units))


def _whole_pattern(units: Units) -> str:
    pattern = locale_of(units).currency_formats["standard"].pattern
    return str(pattern).replace(".00", "")


def money_range(
    low: float | None, high: float | None, currency: str, units: Units, *, whole: bool = True
) -> str:
    """A range of money, or one figure where both ends read the same: ``£90 to £120``."""
    first = money(low, currency, units, whole=whole)
    last = money(high, currency, units, whole=whole)
    return first if first == last else f"{first} to {last}"


def day(date: dt.date | None, units: Units, form: Literal["long", "short", "full"] = "long") -> str:
    """A date as the locale writes it.

    Parameters
    ----------
    date : date or None
    units : Units
    form : str
        ``full`` has the weekday and year, ``long`` the day, month and year, ``short`` the weekday,
        day and month in short.

    Returns
    -------
    text : str
        ``Saturday, 24 July 2027``, ``24 July 2027``, ``Sat 24 Jul`` in British English.
    """
    if date is None or is_missing(date):
        return UNKNOWN
    if form == "short":
        skeleton = "EEE MMM d" if units.locale == "en-US" else "EEE d MMM"
        return format_date(date, skeleton, locale=locale_of(units))
    return format_date(date, form, locale=locale_of(units))


def month(date: dt.date, units: Units) -> str:
    """The month of a date with its year: ``July 2027``."""
    return format_skeleton("yMMMM", date, locale=locale_of(units))


def clock(time: dt.datetime | dt.time | None, units: Units) -> str:
    """A time of day as the locale writes it: ``09:30`` or ``9:30 AM``; no conversion of zones."""
    if time is None or is_missing(time):
        return UNKNOWN
    bare = time.time() if isinstance(time, dt.datetime) else time
    return format_time(bare.replace(tzinfo=None), "short", locale=locale_of(units))


def duration(minutes: float | None) -> str:
    """A length of time in hours and minutes: ``3 h 10 min``, ``45 min``, ``2 h``."""
    if minutes is None or is_missing(minutes):
        return UNKNOWN
    hours, rest = divmod(round(abs(float(minutes))), 60)
    sign = "-" if minutes < 0 and hours + rest else ""
    parts = [f"{hours} h"] if hours else []
    if rest or not hours:
        parts.append(f"{rest} min")
    return sign + " ".join(parts)


def temperature(temperature_c: float | None, units: Units) -> str:
    """A temperature in °C, or in °F for the locale ``en-US``."""
    if temperature_c is None or is_missing(temperature_c):
        return UNKNOWN
    if units.locale == "en-US":
        return f"{number(temperature_c * 9 / 5 + 32, units)} °F"
    return f"{number(temperature_c, units)} °C"


def mass(mass_kg: float | None, units: Units) -> str:
    """A mass in whole kilograms: plates and handbooks read so everywhere."""
    return UNKNOWN if is_missing(mass_kg) else f"{number(mass_kg, units)} kg"


def dimension(
    length_m: float | None, units: Units, of: Literal["outfit", "limit"] = "outfit"
) -> str:
    """A height, width or length in metres, with feet and inches for those who read miles.

    Parameters
    ----------
    length_m : float or None
        [m]
    units : Units
    of : str
        ``outfit`` rounds up, ``limit`` rounds down, so that rounding never makes room.

    Returns
    -------
    text : str
        Such as ``2.62 m (8 ft 8 in)``.
    """
    if length_m is None or is_missing(length_m):
        return UNKNOWN
    steer = math.ceil if of == "outfit" else math.floor
    metres = f"{number(steer(round(float(length_m) * 100, 6)) / 100, units, 2)} m"
    if units.distance != "miles":
        return metres
    feet, inches = divmod(steer(round(float(length_m) / M_PER_INCH, 6)), 12)
    return f"{metres} ({feet} ft {inches} in)"


def metres(length_m: float | None, units: Units) -> str:
    """A length on the ground in metres, with feet for those who read miles: ``12 m (39 ft)``.

    Radii of bends, drops and how far something reaches beyond the road: nothing that must fit, for
    which `dimension` rounds to the safe side. One decimal below 5 m, and inches below 10 feet.
    """
    if length_m is None or is_missing(length_m):
        return UNKNOWN
    value = float(length_m)
    shown = f"{number(value, units, 1 if round(abs(value), 1) < 5 else 0)} m"
    if units.distance != "miles":
        return shown
    whole_in = round(abs(value) / M_PER_INCH)
    if whole_in >= 120:
        return f"{shown} ({number(value / M_PER_INCH / 12, units)} ft)"
    feet, inches = divmod(whole_in, 12)
    parts = [f"{feet} ft"] if feet else []
    parts += [f"{inches} in"] if inches or not feet else []
    return f"{shown} ({'-' if value < 0 else ''}{' '.join(parts)})"


def gradient(gradient_pct: float | None, units: Units) -> str:
    """A gradient in percent and as one in so many: ``12% (1 in 8)``."""
    if gradient_pct is None or is_missing(gradient_pct):
        return UNKNOWN
    steep = abs(float(gradient_pct))
    shown = f"{number(steep, units)}%"
    return f"{shown} (1 in {round(100 / steep)})" if steep >= 1 else shown


def bearing(bearing_deg: float | None) -> str:
    """A direction as a compass point and degrees from true north: ``NE (045°)``."""
    if bearing_deg is None or is_missing(bearing_deg):
        return UNKNOWN
    whole = round(float(bearing_deg)) % 360
    return f"{_POINTS[round(float(bearing_deg) / 22.5) % 16]} ({whole:03d}°)"
