"""Figures as the household reads them."""

import datetime as dt
import math

import numpy as np
import pandas as pd
import pytest
from babel import Locale
from babel.numbers import format_decimal
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.trip import display
from planner_kit.trip.household import Units

BRITISH = Units()
AMERICAN = Units(locale="en-US", currency="USD", paper="Letter")
FRENCH = Units(distance="km", fuel="l_per_100km", locale="fr-FR", currency="EUR")


def test_distance_is_in_the_household_s_unit() -> None:
    assert display.distance(16.09344, BRITISH) == "10 miles"
    assert display.distance(1.609344, BRITISH, 0) == "1 mile"
    assert display.distance(1.609344, BRITISH) == "1.0 mile"
    assert display.distance(16.09344, FRENCH) == "16 km"
    assert display.distance(4.2, FRENCH) == "4,2 km"
    assert display.distance(0.0457, BRITISH) == "50 yards"
    assert display.distance(0.08, FRENCH) == "80 m"
    assert display.distance(0.0, BRITISH) == "0.0 miles"


@pytest.mark.parametrize("missing", [None, math.nan, np.float32("nan"), pd.NA, pd.NaT])
def test_missing_figures_read_unknown_never_zero(missing: object) -> None:
    for function in (display.distance, display.speed, display.mass, display.day, display.clock):
        assert function(missing, BRITISH) == "unknown"
    assert display.duration(missing) == "unknown"
    assert display.money(missing, "GBP", BRITISH) == "unknown"
    assert display.consumption(missing, BRITISH) == "unknown"
    assert display.bearing(missing) == "unknown"
    assert display.dimension(missing, BRITISH) == "unknown"


def test_money_follows_the_locale_and_keeps_its_own_currency() -> None:
    assert display.money(1234.5, "GBP", BRITISH) == "£1,234.50"
    assert display.money(1234.5, "GBP", BRITISH, whole=True) == "£1,234"
    assert display.money(1234.5, "EUR", FRENCH).replace("\u202f", " ") == "1 234,50\xa0€"
    assert display.money_range(90, 120, "GBP", BRITISH) == "£90 to £120"
    assert display.money_range(90, 90.2, "GBP", BRITISH) == "£90"
    assert display.money_range(None, None, "GBP", BRITISH) == "unknown"


def test_a_currency_has_its_sign() -> None:
    assert display.currency_sign("GBP", Units()) == "£"
    assert display.currency_sign("EUR", Units(locale="de-DE")) == "€"
    assert display.currency_sign("CHF", Units(locale="de-CH")) == "CHF"


def test_dates_and_times_follow_the_locale() -> None:
    saturday = dt.date(2027, 7, 24)
    assert display.day(saturday, BRITISH, "full") == "Saturday, 24 July 2027"
    assert display.day(saturday, BRITISH, "short") == "Sat 24 Jul"
    assert display.day(saturday, AMERICAN) == "July 24, 2027"
    assert display.clock(dt.time(9, 30), BRITISH) == "09:30"
    assert display.clock(dt.datetime(2027, 7, 24, 14, 5), AMERICAN) == "2:05\u202fPM"


def test_duration_in_hours_and_minutes() -> None:
    shown = [display.duration(m) for m in (0, 45, 59.6, 120, 190, -30)]
    assert shown == ["0 min", "45 min", "1 h", "2 h", "3 h 10 min", "-30 min"]


def test_one_of_a_unit_is_no_plural() -> None:
    assert display.measured(1, "breaks", BRITISH) == "1 break"
    assert display.measured(2, "breaks", BRITISH) == "2 breaks"
    assert display.measured_gap(2, 1, "breaks", BRITISH) == "-1 break"
    assert display.unit_words("1", "days") == "day"
    assert display.unit_words("1.5", "days") == "days"
    assert display.unit_words("1", "kg") == "kg"


def test_a_difference_is_that_of_the_figures_that_are_shown() -> None:
    planned, driven = 85.4 * 1.609344, 72.6 * 1.609344
    sides = [display.measured(one, "km", BRITISH) for one in (planned, driven)]
    assert sides == ["85 miles", "73 miles"]
    assert display.measured_gap(planned, driven, "km", BRITISH) == "-12 miles"
    assert display.measured_gap(driven, planned, "km", BRITISH) == "+12 miles"
    assert display.measured_gap(16.6, 15.5, "km", FRENCH) == "-1 km"  # 17 km and 16 km
    assert display.measured_gap(9.44, 12.4, "km", FRENCH) == "+2,6 km"  # 9,4 km and 12 km
    assert display.measured_gap(2.0, 2.4, "h", BRITISH) == "+24 min"
    assert display.measured_gap(-107.4, -100.6, "dBm", BRITISH) == "+6 dB"
    assert display.measured_gap(2, 2, "breaks", BRITISH) == "0 breaks"
    assert display.measured_gap(None, 2.0, "h", BRITISH) == "unknown"


def test_a_limit_rounds_down_and_an_outfit_rounds_up() -> None:
    assert display.dimension(2.611, BRITISH) == "2.62 m (8 ft 7 in)"
    assert display.dimension(2.611, BRITISH, "limit") == "2.61 m (8 ft 6 in)"
    assert display.dimension(2.3, FRENCH) == "2,30 m"


def test_speed_gradient_bearing_temperature() -> None:
    assert display.speed(96.56064, BRITISH) == "60 mph"
    assert display.speed(math.inf, FRENCH) == "no limit"
    assert display.gradient(12.4, BRITISH) == "12% (1 in 8)"
    assert display.bearing(45) == "NE (045°)"
    assert display.bearing(359.7) == "N (000°)"
    assert display.temperature(20, AMERICAN) == "68 °F"


@settings(max_examples=50, deadline=None)
@given(st.floats(min_value=0, max_value=1e5))
def test_units_agree_with_each_other(distance_km: float) -> None:
    miles = display.distance_in_units(distance_km, BRITISH)
    assert miles * 1.609344 == pytest.approx(display.distance_in_units(distance_km, FRENCH))


@pytest.mark.parametrize("locale", ["en-GB", "de-DE", "fr-FR", "de-CH", "hi-IN", "ar-EG", "sv-SE"])
@pytest.mark.parametrize("value", [0, -0.0, 2.5, 999.95, -1234567.891, 20, 1e9])
def test_number_reads_as_the_locale_library_writes_it(locale, value):
    for digits in (0, 1, 3):
        pattern = "#,##0" + ("." + "0" * digits if digits else "")
        words = Locale.parse(locale, sep="-")
        expected = format_decimal(round(value, digits) + 0.0, format=pattern, locale=words)
        assert display.number(value, Units(locale=locale), digits) == expected
