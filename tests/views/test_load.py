from pathlib import Path

import pytest

from planner_kit.errors import PlanFileError
from planner_kit.outfit import read_items, write_items
from planner_kit.reference import shipped_folder
from planner_kit.views.load import load_caravan

DEMO = shipped_folder("data") / "demo"


@pytest.fixture
def planner(tmp_path: Path):
    for name in ("household.toml", "trip_2027.toml", "items.csv"):
        (tmp_path / name).write_bytes((DEMO / name).read_bytes())
    return load_caravan(tmp_path, trip="trip_2027.toml")


def line_of(planner, item: str):
    return planner.lines[list(planner.items["item"]).index(item)]


def test_mass_that_is_written_moves_plates_and_picture(planner) -> None:
    before = planner.report.masses.caravan_kg
    picture = planner.picture.value
    line_of(planner, "awning and poles")["mass"].value = "34"
    assert planner.report.masses.caravan_kg == pytest.approx(before + 10)
    assert planner.picture.value != picture
    assert "awning and poles, 34 kg" in planner.picture.value


def test_mass_in_pounds_counts_in_kilograms(planner) -> None:
    before = planner.report.masses.caravan_kg
    line_of(planner, "awning and poles")["mass"].value = "10 lb"
    assert planner.report.masses.caravan_kg == pytest.approx(before - 24 + 4.5359237)


def test_words_that_are_no_mass_are_told_and_change_nothing(planner) -> None:
    before = planner.report.masses.caravan_kg
    line_of(planner, "awning and poles")["mass"].value = "heavy"
    assert "no mass yet" in planner.said.value
    assert planner.report.masses.caravan_kg == before


def test_emptied_mass_makes_the_caravan_unknown(planner) -> None:
    line_of(planner, "awning and poles")["mass"].value = ""
    assert planner.report.masses.caravan_kg is None
    assert "unknown" in planner.figures.value


def test_thing_moved_forward_adds_to_the_measured_noseweight(planner) -> None:
    before = planner.report.noseweight.kg
    line_of(planner, "awning and poles")["spot"].value = 1.1
    assert planner.report.noseweight.kg == pytest.approx(before + 24 * 1.0 / 4.28)


def test_thing_left_at_home_leaves_the_caravan(planner) -> None:
    before = planner.report.masses.caravan_kg
    line_of(planner, "folding chairs")["place"].value = "stays at home"
    assert planner.report.masses.caravan_kg == pytest.approx(before - 13.6)
    assert "folding chairs" not in planner.picture.value


def test_advice_that_is_followed_keeps_every_plate_of_the_caravan(planner) -> None:
    planner.show_advice()
    assert "One thing to change" in planner.advice.value
    planner.apply_advice()
    assert planner.report.masses.caravan_kg <= 1500
    planner.show_advice()
    assert "Nothing has to be moved" in planner.advice.value


def test_narrow_band_asks_for_a_move(planner) -> None:
    planner.band.value = (6.0, 6.5)
    planner.show_advice()
    assert "a light nose" in planner.advice.value


def test_saved_list_reads_back(planner) -> None:
    line_of(planner, "folding chairs")["place"].value = "stays at home"
    planner.save_list()
    saved = read_items(planner.folder / "items_planned.csv")
    assert "folding chairs" not in set(saved["item"])
    assert len(saved) == len(planner.items) - 1


def test_household_without_a_list_starts_from_the_kits_own(tmp_path: Path) -> None:
    household = (DEMO / "household.toml").read_text().replace('items = "items.csv"\n', "")
    (tmp_path / "household.toml").write_text(household)
    (tmp_path / "trip_2027.toml").write_bytes((DEMO / "trip_2027.toml").read_bytes())
    planner = load_caravan(tmp_path, trip="trip_2027.toml")
    assert "bicycles" in set(planner.items["item"])


def test_list_that_is_missing_is_one_sentence(tmp_path: Path) -> None:
    for name in ("household.toml", "trip_2027.toml"):
        (tmp_path / name).write_bytes((DEMO / name).read_bytes())
    with pytest.raises(PlanFileError, match="no such file"):
        load_caravan(tmp_path, trip="trip_2027.toml", items="absent.csv")


def test_every_widget_has_a_description(planner) -> None:
    for line in planner.lines:
        assert all(widget.description for widget in line.values())


def test_advice_that_splits_a_line_makes_two_and_saves_two(tmp_path: Path) -> None:
    for name in ("household.toml", "trip_2027.toml", "items.csv"):
        (tmp_path / name).write_bytes((DEMO / name).read_bytes())
    items = read_items(tmp_path / "items.csv").assign(needed=True)
    chairs = items["item"] == "folding chairs"
    items.loc[~chairs, "fixed"] = True
    items.loc[chairs, ["quantity", "mass_kg"]] = [8, 5.0]
    write_items(items[items["item"] != "bedding"], tmp_path / "items.csv")
    planner = load_caravan(tmp_path, trip="trip_2027.toml")
    lines, before = len(planner.lines), planner.report.masses.caravan_kg
    planner.show_advice()
    (move,) = planner.report.plan.advice.moves
    assert move.splits
    assert f"{move.pieces} of the 8 pieces of folding chairs" in planner.advice.value
    planner.apply_advice()
    assert len(planner.lines) == lines + 1 == len(planner.left.children) - 1
    assert planner.report.masses.caravan_kg == pytest.approx(before - 5 * move.pieces)
    planner.show_advice()
    assert "Nothing has to be moved" in planner.advice.value
    planner.save_list()
    saved = read_items(tmp_path / planner.name.value)
    split = saved[saved["item"] == "folding chairs"]
    assert split["quantity"].tolist() == [8 - move.pieces, move.pieces]
    assert split["place"].tolist() == ["caravan over axle", "car boot"]
