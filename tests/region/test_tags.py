from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.region import tags


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("2", 2.0),
        ("2 m", 2.0),
        ("2.1m", 2.1),
        ("6'6\"", 6 * 0.3048 + 6 * 0.0254),
        ("6 ft 6 in", 6 * 0.3048 + 6 * 0.0254),
        ("6ft6in", 6 * 0.3048 + 6 * 0.0254),
        ("14'", 14 * 0.3048),
        ("210 cm", 2.1),
        (" 3.8 ", 3.8),
    ],
)
def test_length_is_read_in_metres(text: str, metres: float) -> None:
    reading = tags.read_length_m(text, "maxwidth" if metres < 3 else "maxheight")
    assert reading.value == pytest.approx(metres)
    assert not reading.unread


@pytest.mark.parametrize(
    "text", ["default", "below_default", "-2", "0", "999", "2,1", "2;3", "2-3", "narrow", "", "6'6"]
)
def test_length_that_is_no_believable_number_is_unread(text: str) -> None:
    reading = tags.read_length_m(text, "maxheight")
    assert math.isnan(reading.value)
    assert reading.unread


def test_none_is_no_number_and_not_unread() -> None:
    for reading in (tags.read_length_m("none"), tags.read_weight_t("none")):
        assert math.isnan(reading.value)
        assert not reading.unread


@pytest.mark.parametrize(
    ("text", "tonnes"),
    [
        ("7.5", 7.5),
        ("7.5 t", 7.5),
        ("3500 kg", 3.5),
        ("7.5 st", 7.5 * 2000 * 0.45359237 / 1000),
        ("10000 lbs", 10000 * 0.45359237 / 1000),
    ],
)
def test_weight_is_read_in_tonnes(text: str, tonnes: float) -> None:
    assert tags.read_weight_t(text).value == pytest.approx(tonnes)


def test_kilograms_written_without_unit_are_unread() -> None:
    assert tags.read_weight_t("3500").unread


@pytest.mark.parametrize(
    ("text", "kmh"), [("50", 50.0), ("30 mph", 48.28032), ("30mph", 48.28032), ("none", math.inf)]
)
def test_speed_is_read_in_kmh(text: str, kmh: float) -> None:
    assert tags.read_speed_kmh(text)[:2] == (pytest.approx(kmh), False)


@pytest.mark.parametrize("text", ["GB:nsl_single", "DE:urban", "signals", "-30", "0", "50;30"])
def test_speed_that_names_a_rule_is_unread(text: str) -> None:
    assert tags.read_speed_kmh(text).unread


@pytest.mark.parametrize(
    ("text", "pct"),
    [
        ("12%", 12),
        ("-8 %", -8),
        ("1:8", 12.5),
        ("-1:5", -20),
        ("45°", math.nan),
        ("0", 0),
        ("5°", 8.7489),
    ],
)
def test_incline_is_read_in_percent(text: str, pct: float) -> None:
    value = tags.read_incline_pct(text).value
    assert value == pytest.approx(pct, abs=1e-3, nan_ok=True)


def test_incline_direction_alone_is_no_number() -> None:
    assert not tags.read_incline_pct("up").unread
    assert math.isnan(tags.read_incline_pct("up").value)
    assert tags.read_incline_pct("steep").unread


@pytest.mark.parametrize(
    ("text", "minutes"),
    [("20", 20), ("00:20", 20), ("1:30", 90), ("PT1H20M", 80), ("01:30:30", 90.5)],
)
def test_duration_is_read_in_minutes(text: str, minutes: float) -> None:
    assert tags.read_duration_min(text).value == pytest.approx(minutes)


def test_oneway_words() -> None:
    read = {text: tags.read_oneway(text) for text in ("yes", "-1", "no", "alternating")}
    assert [r.value for r in read.values()] == [1, -1, 0, 0]
    assert tags.read_oneway("reversible").unread


@settings(max_examples=50, deadline=None)
@given(st.text(max_size=12))
def test_any_text_gives_a_believable_number_or_none(text: str) -> None:
    for value, low, high in (
        (tags.read_length_m(text, "maxheight").value, 1, 20),
        (tags.read_weight_t(text).value, 0.2, 200),
        (tags.read_incline_pct(text).value, -45, 45),
        (tags.read_lanes(text).value, 0.5, 16),
    ):
        assert math.isnan(value) or low <= value <= high


@settings(max_examples=50, deadline=None)
@given(st.integers(4, 60), st.integers(0, 11))
def test_feet_and_inches_agree_with_metres(feet: int, inches: int) -> None:
    metres = (feet * 12 + inches) * 0.0254
    read = tags.read_length_m(f"{feet}'{inches}\"").value
    assert read == pytest.approx(metres)
    assert read == pytest.approx(tags.read_length_m(f"{metres:.4f} m").value, abs=1e-4)


@settings(max_examples=50, deadline=None)
@given(st.floats(1, 120))
def test_miles_and_kilometres_agree(mph: float) -> None:
    kmh = tags.read_speed_kmh(f"{mph:.3f} mph").value
    assert kmh == pytest.approx(round(mph, 3) * 1.609344)
