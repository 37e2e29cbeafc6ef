from __future__ import annotations

import copy
import json
import shutil
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from planner_kit.views.diary import changes_html, show_diary

HARM = "<script>alert(1)</script><img src=x onerror=alert(1)>"
FACTS: dict[str, Any] = {
    "schema": 1,
    "trip": {
        "id": "summer", "name": "Summer", "start": "2026-07-25", "end": "2026-08-01",
        "nights": 7, "sites": ["S01"],
    },
    "figures": [
        {"key": "cost.likely", "label": "whole trip", "value": 805.0, "unit": "GBP", "reasons": {}},
        {"key": "tow.1.km", "label": "tow", "value": 68.4, "unit": "km", "reasons": {}},
    ],
    "checks": [], "bookings": [], "inputs": {}, "visited": [], "actuals": None,
}  # fmt: skip


@pytest.fixture
def folder(demo: Path, tmp_path: Path) -> Path:
    shutil.copy(demo / "household.toml", tmp_path)
    return tmp_path


def keep(folder: Path, name: str, **changes: Any) -> None:
    facts = copy.deepcopy(FACTS)
    facts["trip"].update(changes.pop("trip", {}))
    facts["figures"][0]["value"] = changes.pop("cost", 805.0)
    facts.update(changes)
    record = folder / "records" / name
    record.mkdir(parents=True)
    (record / "facts.json").write_text(json.dumps(facts), encoding="utf-8")


def words_of(diary: Any) -> str:
    return str(diary.children[0].value)


def test_diary_without_records_says_how_to_make_one(folder: Path) -> None:
    diary = show_diary(folder)
    assert "There is no record yet" in words_of(diary)
    assert diary.changes.value == ""


def test_record_is_shown_in_the_households_units(folder: Path) -> None:
    keep(folder, "2026-07-25_summer")
    shown = words_of(show_diary(folder))
    assert "£805.00" in shown
    assert "43 miles" in shown
    assert "25 July 2026" in shown


def test_newest_two_are_compared_at_first_and_others_on_choice(folder: Path) -> None:
    keep(folder, "a", cost=700.0, trip={"start": "2025-07-26", "end": "2025-08-02"})
    keep(folder, "b", cost=805.0)
    keep(folder, "c", cost=842.0, trip={"start": "2027-07-24", "end": "2027-07-31"})
    diary = show_diary(folder)
    assert "+£37.00" in diary.changes.value
    diary.older.value = str(folder / "records" / "a")
    assert "+£142.00" in diary.changes.value


def test_record_beside_itself_asks_for_two(folder: Path) -> None:
    keep(folder, "a")
    assert "Choose two records" in show_diary(folder).changes.value


def test_records_of_the_same_words_are_told_apart(folder: Path) -> None:
    keep(folder, "a")
    keep(folder, "b")
    options = [label for label, _ in show_diary(folder).newer.options]
    assert len(set(options)) == 2


def test_record_that_cannot_be_read_is_named_and_the_others_are_shown(folder: Path) -> None:
    keep(folder, "a")
    broken = folder / "records" / "b"
    broken.mkdir()
    (broken / "facts.json").write_text("{", encoding="utf-8")
    shown = words_of(show_diary(folder))
    assert "£805.00" in shown
    assert "facts.json" in shown


def test_hostile_name_of_a_trip_is_escaped(folder: Path) -> None:
    keep(folder, "a", trip={"name": HARM, "sites": [HARM]})
    keep(folder, "b", trip={"name": HARM, "start": "2027-07-24"}, cost=1.0)
    diary = show_diary(folder)
    for shown in (words_of(diary), diary.changes.value):
        assert "<script" not in shown
        assert "<img" not in shown


def test_diary_can_be_shown_as_text(folder: Path) -> None:
    keep(folder, "a")
    assert repr(show_diary(folder)).startswith("Diary(")


def test_change_of_minutes_and_of_levels_reads_as_people_say_it() -> None:
    changes = pd.DataFrame(
        {"what": ["daylight", "phone"], "before": [928.0, -107.1], "after": [932.0, -103.3],
         "change": [4.0, 3.8], "unit": ["min", "dBm"], "cause": ["dates", "learnt"],
         "why": ["", ""]}
    )  # fmt: skip
    shown = changes_html(changes)
    for words in ("15 h 28 min", "15 h 32 min", "+4 min", "-107.1 dBm", "+3.8 dB<"):
        assert words in shown
