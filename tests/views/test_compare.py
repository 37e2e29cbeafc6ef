from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from planner_kit.diary.side_by_side import side_by_side, with_worth
from planner_kit.views.compare import TripComparer, compare_trips

KEPT = Path(__file__).parents[1] / "diary" / "kept_records" / "schema_2"


@pytest.fixture
def folder(demo: Path, tmp_path: Path) -> Path:
    """A planning folder with three records: as kept, dearer but near, and without a cost."""
    shutil.copy(demo / "household.toml", tmp_path / "household.toml")
    for name, title, cost, minutes in (
        ("a", "Far and cheap", 500.0, 300.0),
        ("b", "Near <b>and</b> dear", 560.0, 60.0),
        ("c", "No price", None, 60.0),
    ):
        facts = json.loads((KEPT / "facts.json").read_text(encoding="utf-8"))
        facts["trip"]["name"] = title
        for figure in facts["figures"]:
            if figure["key"] == "cost.likely":
                figure["value"] = cost
            if figure["key"].endswith(".door_min"):
                figure["value"] = minutes / 2
        (tmp_path / "records" / name).mkdir(parents=True)
        (tmp_path / "records" / name / "facts.json").write_text(json.dumps(facts))
    return tmp_path


def test_sums_of_legs_and_counts_of_checks(folder: Path) -> None:
    trips = side_by_side([folder / "records" / "a"])
    row = trips.iloc[0]
    assert row["tow_km"] == pytest.approx(68.6 + 68.8)
    assert row["tow_door_min"] == 300
    assert row["cost_per_night"] == pytest.approx(500 / 7)
    facts = json.loads((folder / "records" / "a" / "facts.json").read_text())
    assert row["unknown"] == sum(c["state"] == "unknown" for c in facts["checks"])


def test_trip_without_a_price_comes_last_and_is_not_free(folder: Path) -> None:
    trips = side_by_side([folder / "records" / name for name in "cab"])
    weighed = with_worth(trips, hour=0, unknown=0)
    assert list(weighed["name"]) == ["Far and cheap", "Near <b>and</b> dear", "No price"]
    assert weighed["felt"].isna().tolist() == [False, False, True]


def test_dear_hours_put_the_near_trip_first(folder: Path) -> None:
    comparer = compare_trips(folder)
    comparer.hour.value = 0
    assert comparer.chart.names[0].startswith("1. Far and cheap")
    comparer.hour.value = 20  # four hours at 20 are more than the 60 that it costs less
    assert comparer.chart.names[0].startswith("1. Near")
    assert "Near &lt;b&gt;and&lt;/b&gt; dear" in comparer.told.value
    assert "<b>and" not in comparer.table.value + comparer.chart.bars.value


def test_no_trip_chosen_and_no_record_are_told(folder: Path, demo: Path, tmp_path: Path) -> None:
    comparer = compare_trips(folder)
    for box in comparer.boxes.values():
        box.value = False
    assert "Choose a trip" in comparer.told.value
    empty = compare_trips(folder, records="nowhere")
    assert isinstance(empty, TripComparer)
    assert "There is no record yet" in empty.children[0].value
