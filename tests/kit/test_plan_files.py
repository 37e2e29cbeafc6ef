"""Every file that a trip is planned from is among its inputs, its confirmations too."""

import shutil
from pathlib import Path

import pytest

from planner_kit.diary.facts import inputs_of
from planner_kit.errors import PlanFileError
from planner_kit.trip.editing import set_booking
from planner_kit.trip_files import read_files


@pytest.fixture
def folder(demo: Path, tmp_path: Path) -> Path:
    shutil.copytree(demo, tmp_path / "island", ignore=shutil.ignore_patterns("records"))
    return tmp_path / "island"


def test_confirmation_is_an_input_and_a_change_of_it_is_seen(folder: Path) -> None:
    trip, paper = folder / "trip_2027.toml", folder / "confirmation.pdf"
    paper.write_bytes(b"%PDF-1.4 first")
    set_booking(trip, 1, {"confirmation": "confirmation.pdf"})
    first = inputs_of(read_files(trip))
    paper.write_bytes(b"%PDF-1.4 second")
    second = inputs_of(read_files(trip))
    assert [what for what in first if first[what] != second[what]] == ["confirmation of stay 1"]


@pytest.mark.parametrize("name", ["none.pdf", "../secret.pdf"])
def test_confirmation_that_is_missing_or_elsewhere_stops_no_plan(folder: Path, name: str) -> None:
    (folder.parent / "secret.pdf").write_bytes(b"%PDF-1.4")
    set_booking(folder / "trip_2027.toml", 1, {"confirmation": name})
    assert "confirmation of stay 1" not in read_files(folder / "trip_2027.toml").paths


def test_every_list_named_in_the_trip_is_an_input(folder: Path) -> None:
    files = read_files(folder / "trip_2027.toml")
    named = files.inputs.trip.files.model_dump(exclude_none=True)
    lists = {key for key, value in named.items() if isinstance(value, str)}
    assert lists - {"region"} <= set(inputs_of(files))


def test_a_look_of_the_pages_is_an_input_with_all_its_files(folder: Path) -> None:
    household = folder / "household.toml"
    words = household.read_text(encoding="utf-8")
    household.write_text(words.replace("[units]\n", '[units]\npage_look = "look"\n'), "utf-8")
    (folder / "look").mkdir()
    with pytest.raises(
        PlanFileError, match=r"household\.toml, units > page_look.*no pack\.typ and no"
    ):
        read_files(folder / "trip_2027.toml")
    (folder / "look" / "pack.typ").write_text("= Ours\n", encoding="utf-8")
    (folder / "look" / "sign.svg").write_text("<svg/>", encoding="utf-8")
    inputs = inputs_of(read_files(folder / "trip_2027.toml"))
    assert {"page look", "page look sign.svg"} <= set(inputs)


def test_a_look_may_be_for_the_phone_alone_and_its_fault_is_said_early(folder: Path) -> None:
    household = folder / "household.toml"
    words = household.read_text(encoding="utf-8")
    household.write_text(words.replace("[units]\n", '[units]\npage_look = "look"\n'), "utf-8")
    (folder / "look").mkdir()
    style = folder / "look" / "style.css"
    style.write_text("body{color:#222}\n", encoding="utf-8")
    inputs = inputs_of(read_files(folder / "trip_2027.toml"))
    assert "page look style.css" in inputs
    assert "page look" not in inputs
    style.write_text("body{color:#222}\n@import 'more.css';\n", encoding="utf-8")
    with pytest.raises(PlanFileError, match=r"style\.css, line 2: @import has no place in it"):
        read_files(folder / "trip_2027.toml")
