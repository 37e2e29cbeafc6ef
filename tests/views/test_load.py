import datetime as dt
from pathlib import Path

import pandas as pd
import pytest

from planner_kit.errors import PlanFileError
from planner_kit.outfit import read_items, write_items
from planner_kit.reference import shipped_folder
from planner_kit.states import State
from planner_kit.trip.household import Units
from planner_kit.views.load import _mass_kg, load_caravan

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


def test_mass_is_read_as_the_household_writes_numbers() -> None:
    german, british = Units(locale="de-DE"), Units()
    assert _mass_kg("12,5", german) == 12.5
    assert _mass_kg("1,735", british) == 1735
    assert _mass_kg("12.5", german) == _mass_kg("12.5", british) == 12.5
    assert _mass_kg("12,5", british) is None
    assert _mass_kg("-5", german) is None


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


def state_of(planner, subject: str) -> State:
    (check,) = [check for check in planner.report.checks if check.subject == subject]
    return check.state


def test_slider_that_a_browser_sends_back_unmoved_keeps_the_noseweight_measured(planner) -> None:
    assert state_of(planner, "noseweight on the tow ball") is State.FINE
    for line, lies in zip(planner.lines, planner.items["x_m"], strict=True):
        line["spot"].value = (0.0 if pd.isna(lies) else lies) + 6e-16
    assert planner.report.noseweight.measured
    assert state_of(planner, "noseweight on the tow ball") is State.FINE
    assert planner.items.equals(planner.measured_with)


@pytest.mark.parametrize("x_m", [0.15, -2.037, 2.6, 0.0])
def test_marks_of_a_slider_go_through_the_place_on_the_list(planner, x_m: float) -> None:
    planner._put(0, x_m)
    spot = line_of(planner, "awning and poles")["spot"]
    assert spot.value == x_m
    steps = (x_m - spot.min) / spot.step
    assert steps == pytest.approx(round(steps), abs=1e-9)
    assert planner.items["x_m"].iloc[0] == x_m


def test_thing_without_a_place_says_so_until_it_is_moved(planner) -> None:
    spot = line_of(planner, "books and games")["spot"]
    assert "not said" in spot.description
    spot.value = -2.1
    assert "not said" not in spot.description
    assert planner.items.set_index("item").loc["books and games", "x_m"] == -2.1


def test_bicycles_on_a_rear_rack_lift_the_ball_and_load_the_axle(planner) -> None:
    before = planner.report.noseweight.kg
    line_of(planner, "bicycles")["place"].value = "caravan rear rack"
    rack_m = planner.items.set_index("item").loc["bicycles", "x_m"]
    assert rack_m == pytest.approx(-(7.37 - 4.28) - 0.3)
    assert planner.report.noseweight.kg == pytest.approx(before + 26 * rack_m / 4.28)
    assert state_of(planner, "noseweight as a share of the laden caravan") is State.LOOK


@pytest.mark.parametrize("name", ["household.toml", "trip_2027.toml", "notes", ".."])
def test_list_is_not_saved_over_another_kind_of_file(planner, name: str) -> None:
    before = {path.name: path.read_bytes() for path in planner.folder.iterdir()}
    planner.name.value = name
    planner.save_list()
    assert "end in .csv" in planner.saved.value
    assert {path.name: path.read_bytes() for path in planner.folder.iterdir()} == before


def test_list_is_not_saved_over_another_kind_of_list(planner) -> None:
    (planner.folder / "sites.csv").write_text("id,name\nheron,Heron Field\n")
    planner.name.value = "sites.csv"
    planner.save_list()
    assert "no loading list" in planner.saved.value
    assert (planner.folder / "sites.csv").read_text().startswith("id,name")


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


def test_saved_list_asks_for_the_noseweight_to_be_measured_again(planner) -> None:
    planner.save_list()
    assert "measure" not in planner.saved.value
    line_of(planner, "awning and poles")["spot"].value = 1.1
    planner.save_list()
    assert "measure it again" in planner.saved.value
    assert "noseweight_measured_with = &quot;items.csv&quot;" in planner.saved.value


def test_planned_list_opened_again_is_not_taken_for_the_one_that_was_measured(planner) -> None:
    line_of(planner, "awning and poles")["spot"].value = 1.1
    shown = planner.report.noseweight.kg
    planner.save_list()
    again = load_caravan(planner.folder, trip="trip_2027.toml", items="items_planned.csv")
    assert again.report.noseweight.kg == pytest.approx(shown)
    assert not again.report.noseweight.measured


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


def hand_over(planner, name: str, text: str) -> None:
    """As the browser does when a person chooses a file."""
    content = text.encode()
    planner.more.upload.value = (
        {"name": name, "type": "text/csv", "size": len(content), "content": content,
         "last_modified": dt.datetime(2027, 5, 1, tzinfo=dt.UTC)},
    )  # fmt: skip


def test_line_says_whose_a_thing_is(planner) -> None:
    told = [line["mass"].description for line in planner.lines]
    assert {"clothes (Maren)", "clothes (Fenn)", "groundsheet"} < set(told)


def test_thing_that_is_added_counts_once_it_has_mass_and_place(planner) -> None:
    before = planner.report.masses.caravan_kg
    planner.more.name.value = "inflatable boat"
    planner.more.button.click()
    assert planner.report.masses.caravan_kg == before
    assert "inflatable boat" not in set(planner.taken["item"])
    line = line_of(planner, "inflatable boat")
    assert line["mass"].description == "inflatable boat"
    line["place"].value = "caravan over axle"
    assert planner.report.masses.caravan_kg is None
    line["mass"].value = "18"
    assert planner.report.masses.caravan_kg == pytest.approx(before + 18)
    planner.save_list()
    saved = read_items(planner.folder / "items_planned.csv")
    assert saved.set_index("item").loc["inflatable boat", "mass_kg"] == 18


def test_thing_without_a_name_is_not_added(planner) -> None:
    many = len(planner.lines)
    planner.more.name.value = "  "
    planner.more.button.click()
    assert "what it is" in planner.said.value
    assert len(planner.lines) == many


def test_list_that_is_brought_in_takes_the_place_of_the_other(planner) -> None:
    hand_over(
        planner,
        "ours.csv",
        "item,mass_kg,quantity,place,x_m\nawning,20,1,caravan floor,0.1\ntent,9,1,car boot,\n",
    )
    assert planner.items["item"].tolist() == ["awning", "tent"]
    assert planner.report.masses.caravan_kg == pytest.approx(1331 + 20)
    assert len(planner.left.children) == 3
    assert "ours.csv is brought in" in planner.said.value
    # The gauge's figure was read with another load.
    assert not planner.report.noseweight.measured
    line_of(planner, "awning")["mass"].value = "30"
    assert planner.report.masses.caravan_kg == pytest.approx(1331 + 30)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("item,mass_kg,place\nawning,20,shed\n", "<p>ours.csv, row 2, column place"),
        ("\x00\x01", "<p>ours.csv"),
        ("item,place\n" + "peg,caravan\n" * 301, "301 lines"),
    ],
)
def test_list_that_cannot_be_used_leaves_the_other_and_says_why(planner, text, sentence) -> None:
    before = planner.items.copy()
    hand_over(planner, "ours.csv", text)
    assert sentence in planner.said.value
    assert planner.items.equals(before)
    assert len(planner.lines) == len(before)
