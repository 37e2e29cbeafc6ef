"""The words of the demo's printed folder: plain English in the household's units."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from planner_kit.pack.folder import PAGES, pack_sheets
from planner_kit.plan import plan_trip
from planner_kit.trip_files import read_files

LEAST_WORDS = 60  # of a sheet, for its reading age to mean anything


@pytest.fixture(scope="module")
def sheets(demo: Path) -> list[dict[str, Any]]:
    plan = plan_trip(read_files(demo / "trip_2027.toml"), planned_on=dt.date(2027, 1, 9))
    return pack_sheets(plan, [page for page in PAGES if page != "credits"], 170.0)


def sentences(part: Any) -> Iterator[str]:
    """What is written in sentences: no cells of tables, no names, no sources."""
    if isinstance(part, list):
        for one in part:
            yield from sentences(one)
    elif isinstance(part, dict):
        for key in ("sentence", "intro", "caption"):
            if part.get(key):
                yield part[key]
        if part.get("type") == "text" and not part["text"].startswith("["):
            yield part["text"]
        if part.get("type") in ("ticks", "bullets", "cautions"):
            yield from part["rows"]
        for key in ("blocks", "rows"):
            yield from sentences(part.get(key))


def automated_readability_index(words_in_sentences: list[str]) -> float:
    """The index of Senter and Smith; the school year of the United States that it stands for."""
    # A line of a list is a sentence of its own, though it has no full stop.
    text = " ".join(one if one[-1] in ".!?" else f"{one}." for one in words_in_sentences)
    count = sum(1 for part in re.split(r"[.!?:;]\s", text + " ") if re.search("[a-z]", part))
    words = re.findall(r"[A-Za-z][A-Za-z'-]*", text)
    letters = sum(len(word) for word in words)
    return 4.71 * letters / len(words) + 0.5 * len(words) / count - 21.43


@pytest.mark.published(
    source="Senter and Smith, Automated Readability Index, AMRL-TR-66-220 (1967), as quoted with "
    "its table of ages in Wikipedia, 'Automated readability index', stored copy read 2026-11-25: "
    "6 is the sixth school year, 11 to 12 years old"
)
def test_each_sheet_can_be_read_at_twelve(sheets: list[dict[str, Any]]) -> None:
    ages = {}
    for sheet in sheets:
        said = list(sentences(sheet))
        if len(" ".join(said).split()) >= LEAST_WORDS:
            ages[sheet["title"]] = automated_readability_index(said)
    assert len(ages) > 8
    assert {title: age for title, age in ages.items() if age > 6} == {}


def test_sentences_of_a_miles_household_hold_no_km_iso_days_or_codes(
    sheets: list[dict[str, Any]],
) -> None:
    said = "\n".join(text for sheet in sheets for text in sentences(sheet))
    assert re.findall(r"(?<!\()\b[\d.]+ km\b(?!/h\))", said) == []
    assert re.findall(r"\b20\d\d-\d\d-\d\d\b", said) == []
    assert re.findall(r"\bGBP\b", said) == []


def test_words_of_the_trade_are_explained_in_the_folder(sheets: list[dict[str, Any]]) -> None:
    words = next(sheet for sheet in sheets if sheet["name"] == "words")
    explained = {row[0] for row in words["blocks"][0]["rows"]}
    said = "\n".join(text for sheet in sheets for text in sentences(sheet))
    for word in ("MTPLM", "noseweight", "RCD", "dBm", "kWh", "hook-up", "outfit", "plate"):
        assert (re.search(rf"\b{word}\b", said) is None) or word in explained, word
    assert "noseweight" in explained
