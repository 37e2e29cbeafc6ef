"""What phones showed on earlier trips, as the next forecast takes it."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path

from planner_kit.diary import signal_readings
from planner_kit.diary.migrations import FACTS_SCHEMA


def keep(folder: Path, name: str, end: str, readings: list[dict]) -> None:
    (folder / name).mkdir()
    facts = {
        "schema": FACTS_SCHEMA, "figures": [], "checks": [],
        "trip": {"id": name, "name": name, "start": "2026-07-01", "end": end, "sites": ["S07"]},
        "actuals": {"signals": readings},
    }  # fmt: skip
    (folder / name / "facts.json").write_text(json.dumps(facts))


def test_reading_without_a_site_is_one_of_the_trips_first(tmp_path: Path) -> None:
    told = [
        {"operator": "Ternfone", "level_dbm": -101.0},
        {"operator": "Ternfone", "level_dbm": -95.0, "site": "S02"},
    ]
    keep(tmp_path, "one", "2026-07-08", told)
    found = signal_readings(tmp_path, dt.date(2027, 1, 1))
    assert [(reading.site, reading.level_dbm) for reading in found] == [
        ("S07", -101.0), ("S02", -95.0),
    ]  # fmt: skip


def test_trips_that_are_not_over_and_damaged_records_teach_nothing(tmp_path: Path) -> None:
    keep(tmp_path, "later", "2027-07-08", [{"operator": "Ternfone", "level_dbm": -90.0}])
    (tmp_path / "broken").mkdir()
    (tmp_path / "broken" / "facts.json").write_text("{")
    assert signal_readings(tmp_path, dt.date(2027, 1, 1)) == ()
    assert signal_readings("", dt.date(2027, 1, 1)) == ()
