"""Two runs at once, what a killed run left, a clock set back, a folder nobody may write."""

import datetime as dt
import os
import subprocess
import sys
from pathlib import Path

import pytest

from planner_kit.diary.run import (
    begin_run,
    drop_leftovers,
    earlier_record,
    one_run,
    read_run,
    write_run,
)
from planner_kit.errors import PlanFileError

FACTS = '{"schema": 1, "trip": {"id": "summer"}, "figures": [], "checks": []}'


@pytest.fixture
def template(tmp_path: Path) -> Path:
    path = tmp_path / "t.ipynb"
    path.write_text("{}")
    return path


def _record(folder: Path, template: Path, now: dt.datetime) -> tuple[str, ...]:
    run = begin_run(folder.parent, template, now=now)
    folder.mkdir(parents=True)
    (folder / "facts.json").write_text(FACTS)
    write_run(run, folder)
    return run.warnings


def test_a_second_run_of_the_trip_is_refused_in_one_sentence(tmp_path: Path) -> None:
    code = (
        "from pathlib import Path; from planner_kit.diary.run import one_run\n"
        f"with one_run(Path({str(tmp_path)!r}), 'summer'): pass"
    )
    with one_run(tmp_path, "summer"):
        with pytest.raises(PlanFileError, match="another run is recording the trip 'summer'"):
            with one_run(tmp_path, "summer"):
                pass
        other = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
        assert "another run is recording" in other.stderr
        with one_run(tmp_path, "winter"):
            pass
    with one_run(tmp_path, "summer"):
        pass


def test_order_is_by_number_and_a_clock_set_back_is_told(tmp_path: Path, template: Path) -> None:
    records = tmp_path / "records"
    now = dt.datetime(2027, 5, 1, 12, tzinfo=dt.UTC)
    assert _record(records / "a", template, now) == ()
    told = _record(records / "b", template, now - dt.timedelta(days=400))
    assert "before the last record" in told[0]
    assert earlier_record(records, "summer") == records / "b"
    assert [read_run(records / name)["number"] for name in "ab"] == [1, 2]


def test_damaged_run_file_does_not_hide_the_record(tmp_path: Path, template: Path) -> None:
    records = tmp_path / "records"
    _record(records / "a", template, dt.datetime(2027, 5, 1, tzinfo=dt.UTC))
    (records / "a" / "run.json").write_text('{"number": "many"')
    assert earlier_record(records, "summer") == records / "a"
    assert begin_run(records, template).number == 1


def test_leftovers_of_this_trip_and_day_go_and_all_else_stays(tmp_path: Path) -> None:
    mine = [".2027-07-24_summer.ab12.part", ".2027-07-24_summer.2.cd34.part"]
    others = [".2027-07-24_summer-2.ef56.part", ".2027-07-25_summer.gh78.part", "2027-07-24_summer"]
    for name in [*mine, *others]:
        (tmp_path / name).mkdir()
        (tmp_path / name / "facts.json").write_text(FACTS)
    assert drop_leftovers(tmp_path, "2027-07-24_summer") == 2
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(others)


def test_a_folder_that_cannot_be_made_is_one_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(PlanFileError, match="cannot be written"):
        with one_run(tmp_path / "file" / os.fspath("records"), "summer"):
            pass
