"""The form that runs an earlier trip with new dates."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

import ipywidgets as widgets
import pytest

from planner_kit.errors import PlanFileError
from planner_kit.views.rerun import RerunForm, rerun


@pytest.fixture
def folder(demo: Path, tmp_path: Path) -> Path:
    for path in demo.iterdir():
        if path.is_file() and path.suffix in (".toml", ".csv"):
            shutil.copy(path, tmp_path)
    shutil.copytree(demo / "rides", tmp_path / "rides")
    shutil.copytree(demo / "region", tmp_path / "region")
    return tmp_path


@pytest.fixture
def form(folder: Path) -> RerunForm:
    return rerun(folder, trip="trip_2026.toml", planned_on="2027-01-09")


def test_weekday_holidays_and_own_day_are_told_before_anything_runs(form: RerunForm) -> None:
    assert "Saturday, 24 July 2027 to Saturday, 31 July 2027" in form.dates.value
    form.year.value = 2028
    assert "22 July 2028" in form.dates.value
    form.year.value = 2027
    form.how.value = "holidays"
    form.holidays.value = "autumn break"
    assert "inside &#x27;autumn break&#x27;" in form.dates.value
    form.holidays.value = "half term"
    assert form.year.layout.display is None
    assert form.day.layout.display == "none"
    form.how.value = "own"
    assert "no day is chosen" in form.dates.value
    assert form.start.disabled
    form.day.value = dt.date(2027, 11, 1)
    assert "as you chose" in form.dates.value
    assert not form.start.disabled


def test_site_row_that_is_gone_is_told_and_nothing_is_written(
    form: RerunForm, folder: Path
) -> None:
    sites = folder / "sites.csv"
    lines = sites.read_text(encoding="utf-8").splitlines(keepends=True)
    sites.write_text("".join(line for line in lines if not line.startswith("S01,")))
    before = sorted(folder.rglob("*"))
    form.start.click()
    assert "cannot be planned as it stands" in form.told.value
    assert "no row of sites.csv any more" in form.found.value
    assert "S01" in form.found.value
    assert sorted(folder.rglob("*")) == before


def test_folder_without_a_trip_and_wrong_name_are_one_sentence(
    folder: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    with pytest.raises(PlanFileError, match="no trip file"):
        rerun(tmp_path_factory.mktemp("empty"))
    spoilt = tmp_path_factory.mktemp("spoilt")
    (spoilt / "trip.toml").write_text("name = ")
    with pytest.raises(PlanFileError, match=r"trip\.toml: it is not valid TOML"):
        rerun(spoilt)
    (folder / "trip_odd.toml").write_text("name = ")
    shown = [one.value for one in rerun(folder).children if isinstance(one, widgets.HTML)]
    (folder / "trip_odd.toml").unlink()
    assert any("trip_odd.toml: it is not valid TOML" in one for one in shown)
    with pytest.raises(PlanFileError, match="no such trip file"):
        rerun(folder, trip="trip_2000.toml")


def test_trip_file_taken_away_meanwhile_is_told(folder: Path) -> None:
    form = rerun(folder)
    (_, first), (_, other), *_ = form.trip.options
    Path(first).unlink()
    form.year.value += 1
    assert f"{first}: there is no such file" in form.dates.value
    assert form.start.disabled
    form.trip.value = other
    assert not form.start.disabled
    Path(other).rename(folder / "away")
    form.trip.value = first
    assert "there is no such file" in form.dates.value
