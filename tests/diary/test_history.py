"""Years, tows, search and questions over records made by hand from a kept one."""

import copy
import json
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from planner_kit.diary import read_index
from planner_kit.diary.history import (
    all_tows,
    by_year,
    one_for_each_trip,
    query_records,
    search_records,
    write_index,
)
from planner_kit.diary.side_by_side import side_by_side
from planner_kit.errors import PlannerKitError

FACTS = json.loads(
    (Path(__file__).parent / "kept_records" / "schema_4" / "facts.json").read_text("utf-8")
)


def keep(records: Path, name: str, *, start: str, **changes: Any) -> None:
    facts = copy.deepcopy(FACTS)
    facts["trip"]["start"] = start
    facts.update(changes)
    (records / name).mkdir(parents=True)
    (records / name / "facts.json").write_text(json.dumps(facts), encoding="utf-8")


@pytest.fixture
def records(tmp_path: Path) -> Path:
    keep(tmp_path, "a", start="2026-07-25")
    keep(tmp_path, "a.2", start="2026-07-25", actuals=None)
    keep(tmp_path, "b", start="2027-07-24", actuals=None)
    return tmp_path


def test_a_year_counts_each_trip_once_with_what_was_driven_and_spent(records: Path) -> None:
    years = by_year(read_index(records))
    assert list(years["year"]) == [2026, 2027]
    assert list(years["trips"]) == [1, 1]
    spent = sum(one["amount"] for one in FACTS["actuals"]["spent"])
    assert years.loc[0, "spent"] == pytest.approx(spent)
    assert years.loc[0, "towed_km"] == pytest.approx(117.0)
    assert years.loc[0, "l_per_100km"] == pytest.approx(100 * 12.4 / 117.0)
    assert years.loc[0, "per_night"] == pytest.approx(spent / 7)
    assert pd.isna(years.loc[1, "spent"])
    assert years.loc[1, "towed_km"] > 0


def test_years_of_an_empty_folder_are_empty(tmp_path: Path) -> None:
    assert by_year(read_index(tmp_path)).empty
    assert all_tows(tmp_path).empty


def test_years_of_records_that_are_all_damaged_are_empty_and_told_once(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / "facts.json").write_text('{"x":', encoding="utf-8")
    index = read_index(tmp_path)
    assert by_year(index).empty
    assert all_tows(tmp_path).empty
    assert one_for_each_trip(index).empty
    assert len(caplog.records) == 1
    assert "it is not a facts file" in index.loc[0, "state"]


def test_every_tow_has_its_line_once_for_each_trip(records: Path) -> None:
    tows = all_tows(records)
    assert len(tows) == 4
    first = tows["line"].iloc[0]
    assert len(first) > 10
    assert all(49 < lat < 50 and -15 < lon < -14 for lat, lon in first)


def test_search_finds_words_in_any_order_without_case_and_nothing_for_nothing(
    records: Path,
) -> None:
    found = search_records(records, "ASK pegs")
    assert set(found["record"]) == {"a"}
    assert found["where"].tolist() == ["learnt"]
    assert search_records(records, "pegs 2026")["record"].tolist() == ["a"]
    assert search_records(records, "pegs zeppelin").empty
    assert search_records(records, "  ").empty


def test_index_as_parquet_and_in_sql_says_the_same(records: Path) -> None:
    path = write_index(records)
    frame = pd.read_parquet(path)
    assert list(frame["record"]) == list(read_index(records)["record"])
    duckdb = pytest.importorskip("duckdb")
    asked = f"select sum(nights) as nights from read_parquet('{path}')"
    assert duckdb.sql(asked).df()["nights"].item() == 21
    found = query_records(records, "select year(start) y, count(*) n from records group by all")
    assert dict(zip(found["y"], found["n"], strict=True)) == {2026: 2, 2027: 1}
    km = query_records(records, "select value from figures where key = 'tow.out.km'")
    assert (km["value"] > 0).all()


def test_index_is_rebuilt_after_a_folder_was_removed_or_the_index_damaged(records: Path) -> None:
    path = write_index(records)
    path.write_bytes(b"harmed")
    (records / "b" / "facts.json").unlink()
    write_index(records)
    assert list(pd.read_parquet(path)["record"]) == ["a.2", "a"]


@pytest.mark.parametrize(
    "question",
    [
        "select * from read_csv('/etc/passwd')",
        "copy records to '{folder}/out.csv'",
        "set enable_external_access = true",
        "selekt 1",
    ],
)
def test_question_reaches_no_file_and_a_wrong_one_is_one_sentence(
    records: Path, question: str
) -> None:
    pytest.importorskip("duckdb")
    with pytest.raises(PlannerKitError, match="not understood"):
        query_records(records, question.format(folder=records))
    assert not (records / "out.csv").exists()


def test_record_that_cannot_be_read_spoils_no_question(records: Path) -> None:
    (records / "c").mkdir()
    (records / "c" / "facts.json").write_text("{")
    pytest.importorskip("duckdb")
    assert query_records(records, "select count(*) n from records")["n"].item() == 4
    assert len(all_tows(records)) == 4


def test_hours_under_tow_are_those_of_the_legs_and_not_of_the_ways_beside_them(
    records: Path,
) -> None:
    value = {figure["key"]: figure["value"] for figure in FACTS["figures"]}
    assert "tow.out.way_1.drive_min" in value
    both_min = value["tow.out.drive_min"] + value["tow.home.drive_min"]
    assert set(read_index(records)["tow_drive_min"]) == {both_min}
    trips = side_by_side([records / "a"])
    assert trips["tow_drive_min"].item() == both_min
    assert trips["tow_door_min"].item() >= both_min
    assert trips["sites"].item() == "Marren Bay Touring Park"
