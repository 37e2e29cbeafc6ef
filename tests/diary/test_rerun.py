"""An earlier trip again: which record it is held against, what is written, what is not carried."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from planner_kit.cli import main
from planner_kit.diary import record_trip
from planner_kit.diary.rerun import rerun_trip
from planner_kit.errors import PlanFileError
from planner_kit.trip.reading import read_trip

DAY = dt.date(2027, 1, 9)


@pytest.fixture
def mine(planning: Path, tmp_path: Path) -> Path:
    """A planning folder of this test alone."""
    for path in planning.iterdir():
        if path.suffix in (".toml", ".csv"):
            shutil.copy(path, tmp_path)
    for name in ("region", "rides"):
        shutil.copytree(planning / name, tmp_path / name)
    return tmp_path


def test_it_is_compared_with_the_record_it_reran_and_not_with_the_newest(
    mine: Path, quick: Callable[..., Path]
) -> None:
    template = quick(mine, "Path(record_folder, 'told.txt').write_text(compare_with)")
    asked: dict[str, Any] = {"planned_on": DAY, "template": template, "progress": False}
    old = record_trip(mine / "trip_2026.toml", mine / "records", **asked)
    newest = record_trip(mine / "trip_2027.toml", mine / "records", **asked)
    assert newest.folder != old.folder
    for source in (mine / "trip_2026.toml", old.folder):
        found = rerun_trip(source, year=2028, **asked)
        assert found.reran == old.folder
        assert found.record is not None
        assert (found.record.folder / "told.txt").read_text() == str(old.folder)
        assert found.trip_path == mine / "trip_2028-07-22_marren-summer.toml"
        assert found.record.before == old.folder


def test_new_trip_file_keeps_comments_and_leaves_bookings_behind(
    mine: Path, quick: Callable[..., Path]
) -> None:
    asked: dict[str, Any] = {"template": quick(mine, ""), "progress": False, "planned_on": DAY}
    found = rerun_trip(mine / "trip_2026.toml", **asked)
    assert found.reran is None
    assert found.trip_path is not None
    text, trip = found.trip_path.read_text(), read_trip(found.trip_path)
    assert trip.start == dt.date(2027, 7, 24)
    assert [stay.booking.state for stay in trip.stays] == ["not asked"]
    assert trip.actuals is None
    assert "MB-26-0417" not in text
    assert "# Last year's trip of the demo household; invented." in text
    assert len(rerun_trip(mine / "trip_2026.toml", **asked).trip_path.read_text()) == len(text)  # type: ignore[union-attr]
    found.trip_path.write_text(text + "# changed by hand\n")
    with pytest.raises(PlanFileError, match="was changed since"):
        rerun_trip(mine / "trip_2026.toml", **asked)
    assert found.trip_path.read_text().endswith("# changed by hand\n")


def test_candidate_that_is_no_longer_listed_is_taken_off_and_told(
    mine: Path, quick: Callable[..., Path]
) -> None:
    sites = mine / "sites.csv"
    rows = sites.read_text(encoding="utf-8").splitlines(keepends=True)
    sites.write_text("".join(row for row in rows if not row.startswith("S12,")))
    found = rerun_trip(mine / "trip_2026.toml", template=quick(mine, ""), progress=False)
    assert found.record is not None
    assert found.conflicts["before"].tolist() == ["S12"]
    assert found.trip_path is not None
    assert "S12" not in read_trip(found.trip_path).candidates


def test_template_that_fails_takes_the_new_trip_file_with_it(
    mine: Path, quick: Callable[..., Path]
) -> None:
    with pytest.raises(Exception, match="on purpose"):
        rerun_trip(
            mine / "trip_2026.toml", template=quick(mine, "raise ValueError('on purpose')"),
            progress=False,
        )  # fmt: skip
    assert not (mine / "trip_2027-07-24_marren-summer.toml").exists()


def test_command_ends_with_the_code_of_what_happened(
    mine: Path, quick: Callable[..., Path], capsys: pytest.CaptureFixture[str]
) -> None:
    trip, template = str(mine / "trip_2026.toml"), str(quick(mine, ""))
    assert main(["rerun", trip, "--holidays", "summer", "--template", template]) == 0
    assert "inside 'summer'" in capsys.readouterr().out
    assert main(["rerun", trip, "--start", "2026-07-25"]) == 2
    assert "first day that it has already" in capsys.readouterr().err
    assert main(["rerun", str(mine)]) == 2
    assert "not the folder of a record" in capsys.readouterr().err
    (mine / "sites.csv").write_text(
        "".join(
            row
            for row in (mine / "sites.csv").read_text().splitlines(keepends=True)
            if not row.startswith("S01,")
        )
    )
    assert main(["rerun", trip, "--year", "2029"]) == 2
    assert "not fine: site of stay 1" in capsys.readouterr().out
    assert json.loads((mine / "records" / "2027-07-24_marren-summer" / "run.json").read_text())
