from __future__ import annotations

import pytest

from planner_kit.trip.household import Units
from planner_kit.trip.wording import glosses, household_words

BRITISH = Units()
GERMAN = Units(distance="km", fuel="l_per_100km", locale="de-DE", currency="EUR")


@pytest.mark.parametrize(
    ("said", "british", "german"),
    [
        ("open from 2027-07-24 to 2027-07-31.", "open from 24 July 2027 to 31 July 2027.",
         "open from 24. Juli 2027 to 31. Juli 2027."),
        ("GBP 285.30 is due", "£285.30 is due", "285,30\xa0£ is due"),
        ("a budget of 1,250 GBP.", "a budget of £1,250.", "a budget of 1.250\xa0£."),
        ("close 16.6 km to the south", "close 10.3 miles to the south",
         "close 16.6 km to the south"),
        ("whose price in GBP is not known", "whose price in British pounds is not known",
         "whose price in British pounds is not known"),
        ("limit 96.56 km/h", "limit 60 mph (97 km/h)", "limit 96.56 km/h"),
        ("7.7 to 14 km off", "4.8 to 9 miles off", "7.7 to 14 km off"),
        ("at 80 km/h", "at 50 mph (80 km/h)", "at 80 km/h"),
        ("at 50 mph (80 km/h)", "at 50 mph (80 km/h)", "at 50 mph (80 km/h)"),
        ("6.1 l for 100 km", "46.3 mpg", "6,1 l/100 km"),
        ("1.609344 km, on", "1.000000 mile, on", "1.609344 km, on"),
    ],
)  # fmt: skip
def test_sentence_in_the_household_s_words(said: str, british: str, german: str) -> None:
    assert household_words(said, BRITISH) == british
    assert household_words(said, GERMAN) == german


@pytest.mark.parametrize(
    "said",
    [
        "see https://example.org/2027-07-24/5 km.html",
        "the record 2027-07-24_marren.2",
        "2027-02-30 is no day",
        "the EIRP 32 and ISO 4217",
        "pages of 123-4567-89",
        "24 July 2027, 18 miles, £20",
    ],
)
def test_what_is_no_figure_stays(said: str) -> None:
    assert household_words(said, BRITISH).split(" km.html")[0] == said.split(" km.html")[0]


def test_words_are_in_the_household_s_units_once() -> None:
    once = household_words("GBP 5.00 for 16.6 km on 2027-07-24 at 80 km/h", BRITISH)
    assert household_words(once, BRITISH) == once


def test_only_words_that_stand_in_the_text_are_explained() -> None:
    found = dict(glosses(["The MTPLM is 1500 kg, the Hook-up gives 16 A."]))
    assert list(found) == ["A", "hook-up", "MTPLM"]
    assert "pitchfork" not in dict(glosses(["a pitchfork"]))
    assert glosses(["a pitchfork"]) == []
