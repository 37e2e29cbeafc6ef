from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from pypdf import PdfReader

from planner_kit.pack import print_folder
from planner_kit.plan import TripPlan, plan_trip
from planner_kit.trip_files import read_files
from planner_kit.views.printing import PagePrinter


@pytest.fixture(scope="module")
def plan(demo: Path) -> TripPlan:
    return plan_trip(read_files(demo / "trip_2027.toml"), planned_on=dt.date(2027, 1, 9))


def test_only_the_pages_ticked_are_written(plan: TripPlan, tmp_path: Path) -> None:
    printer = PagePrinter(plan, tmp_path)
    printer.set_all(False)
    for page in ("contacts", "words"):
        printer.boxes[page].value = True
    printer.paper.value = "Letter"
    printer.write()
    reader = PdfReader(tmp_path / "pack.pdf")
    assert len(reader.pages) == 2
    assert [round(float(side)) for side in reader.pages[0].mediabox[2:]] == [612, 792]
    assert "Money" not in (tmp_path / "pack.html").read_text(encoding="utf-8")
    assert "2 of 13 parts written" in printer.told.value
    assert len(printer.links.outputs) == 2


def test_no_page_chosen_is_told_and_nothing_is_written(plan: TripPlan, tmp_path: Path) -> None:
    printer = PagePrinter(plan, tmp_path)
    printer.set_all(False)
    printer.write()
    assert "no page is chosen" in printer.told.value
    assert list(tmp_path.iterdir()) == []


def test_unknown_page_is_refused_before_anything_is_planned(demo: Path, tmp_path: Path) -> None:
    with pytest.raises(Exception, match="did you mean 'cover'"):
        print_folder(demo / "no_such_trip.toml", tmp_path, pages=["covr"])
