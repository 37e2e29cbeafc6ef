"""A noseweight that was measured with another list than the one that is loaded now."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path

import pytest

from planner_kit.errors import PlanFileError
from planner_kit.plan import outfit_stage
from planner_kit.states import State
from planner_kit.trip_files import read_files


@pytest.fixture
def island(demo: Path, tmp_path: Path) -> Path:
    """The demo, whose awning lies elsewhere than when the noseweight was measured."""
    folder = tmp_path / "island"
    shutil.copytree(demo, folder)
    items = folder / "items.csv"
    shutil.copy(items, folder / "then.csv")
    items.write_text(items.read_text().replace("caravan over axle,0.1,", "caravan kitchen,-0.5,"))
    return folder


def measured_with(island: Path, name: str) -> None:
    path = island / "household.toml"
    line = "noseweight_measured_kg = 82.0"
    path.write_text(path.read_text().replace(line, f'{line}\nnoseweight_measured_with = "{name}"'))


def test_plan_reckons_from_the_list_that_was_measured(island: Path) -> None:
    measured_with(island, "then.csv")
    files = read_files(island / "trip_2027.toml")
    assert files.paths["items measured"] == island / "then.csv"
    report = outfit_stage(files, planned_on=dt.date(2027, 3, 1))
    (check,) = [c for c in report.checks if c.subject == "noseweight on the tow ball"]
    # 24 kg, 0.6 m further back, 4.28 m behind the ball.
    assert check.figure == pytest.approx(82 - 24 * 0.6 / 4.28)
    assert check.state is State.LOOK


def test_list_that_was_measured_and_is_gone_is_one_sentence(island: Path) -> None:
    measured_with(island, "gone.csv")
    with pytest.raises(PlanFileError, match=r"gone\.csv: there is no such file"):
        read_files(island / "trip_2027.toml")
