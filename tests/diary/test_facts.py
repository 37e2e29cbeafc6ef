"""Facts of every schema that a kit ever wrote are read by this one."""

import json
from pathlib import Path

import pytest

from planner_kit.diary import compare_records, read_facts, read_index
from planner_kit.diary.migrations import FACTS_SCHEMA

KEPT = Path(__file__).parent / "kept_records"


def test_a_record_of_each_schema_is_kept() -> None:
    kept = sorted(path.name for path in KEPT.iterdir())
    assert kept == [f"schema_{number}" for number in range(1, FACTS_SCHEMA + 1)]
    for number in range(1, FACTS_SCHEMA + 1):
        facts = json.loads((KEPT / f"schema_{number}" / "facts.json").read_text(encoding="utf-8"))
        assert facts["schema"] == number


@pytest.mark.parametrize("path", sorted(KEPT.iterdir()), ids=lambda path: path.name)
def test_old_facts_have_all_that_new_ones_have(path: Path) -> None:
    newest = json.loads((KEPT / f"schema_{FACTS_SCHEMA}" / "facts.json").read_text())
    before = (path / "facts.json").read_bytes()
    facts = read_facts(path / "facts.json")
    assert facts["schema"] == FACTS_SCHEMA
    assert newest.keys() <= facts.keys()
    assert newest["learning"].keys() == facts["learning"].keys()
    assert (path / "facts.json").read_bytes() == before


def test_old_and_new_records_are_listed_and_compared() -> None:
    index = read_index(KEPT)
    assert len(index) == FACTS_SCHEMA
    assert (index["state"] == "whole").all()
    changes = compare_records(KEPT / "schema_1", KEPT / f"schema_{FACTS_SCHEMA}")
    assert (changes["why"] != "").all()
