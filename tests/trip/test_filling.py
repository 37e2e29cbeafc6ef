from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest

from planner_kit.errors import PlanFileError
from planner_kit.trip.filling import fill_household, fill_trip

FIRST: dict[Any, Any] = {
    ("name",): "The Reed family",
    ("home", "name"): "home",
    ("home", "lat"): 49.5,
    ("home", "lon"): -14.2,
    ("people",): [{"name": "Ada", "drives": True}, {"name": "Ben"}],
    ("car", "name"): "estate",
    ("car", "fuel"): "petrol",
    ("car", "kerb_kg"): 1500.0,
    ("caravan", "name"): "caravan",
}


def test_household_is_made_with_the_comments_of_the_starter(tmp_path: Path) -> None:
    path = tmp_path / "household.toml"
    household = fill_household(path, FIRST)
    assert household.car.kerb_kg == 1500
    assert [person.name for person in household.people] == ["Ada", "Ben"]
    text = path.read_text()
    assert "# And these on the caravan's plate" in text
    assert text.index('name = "The Reed family"') < text.index("# Where each tow starts.")
    blocks = text.split("\n\n")
    assert [block.splitlines()[1] for block in blocks if "# How you read" in block] == ["[units]"]
    assert [block.splitlines()[1] for block in blocks if "# The figures below" in block] == [
        "[car]"
    ]
    home = next(block for block in blocks if "[home]" in block)
    assert home.splitlines()[1:] == ["[home]", 'name = "home"', "lat = 49.5", "lon = -14.2"]


@pytest.mark.parametrize(
    ("written", "wanted"),
    [
        ("[car]\nname = 'a'\n\n# The caravan's plate.\n[caravan]\nname = 'b'\n",
         "[car]\nname = 'a'\nfuel = \"petrol\"\nkerb_kg = 1500.0\n\n"
         "# The caravan's plate.\n[caravan]\n"),
        ("[car]\nname = 'a'\n# Sold in spring.\n\n[caravan]\nname = 'b'\n",
         "[car]\nname = 'a'\n# Sold in spring.\nfuel = \"petrol\"\nkerb_kg = 1500.0\n\n"
         "[caravan]\n"),
        ("[car]\nname = 'a'\n\n# Its tyres.\n[caravan]\nname = 'b'\n\n# Of the caravan.\n"
         "[caravan.tyre]\nload_index = 90\n",
         "[car]\nname = 'a'\nfuel = \"petrol\"\nkerb_kg = 1500.0\n\n# Its tyres.\n[caravan]\n"),
    ],
)  # fmt: skip
def test_added_key_leaves_the_comment_on_the_next_table_where_it_is(
    tmp_path: Path, written: str, wanted: str
) -> None:
    path = tmp_path / "household.toml"
    path.write_text(
        "schema = 1\nname = 'x'\n\n# Where we live.\n[home]\nlat = 1\nlon = 2\n\n"
        "[[people]]\nname = 'Ada'\n\n# Our car.\n" + written
    )
    values = {**FIRST, ("caravan", "mtplm_kg"): 1500.0}
    fill_household(path, {key: one for key, one in values.items() if key[-1] != "name"})
    text = path.read_text()
    assert wanted in text
    assert "# Our car.\n[car]\n" in text
    assert "# Where we live.\n[home]\n" in text
    assert ("# Of the caravan.\n[caravan.tyre]" in text) == ("# Of the caravan." in written)


def test_key_added_at_the_top_stands_with_those_of_the_top(tmp_path: Path) -> None:
    path = tmp_path / "trip.toml"
    path.write_text(
        "# Our trip.\nid = 'a'\nname = 'A'\nstart = 2027-07-24  # a Saturday\n\n"
        "# Lists beside this file.\n[files]\nregion = 'r'\nsites = 'sites.csv'\n\n"
        "# By the sea.\n[[stays]]\nsite = 'w12'\nnights = 3\n"
    )
    fill_trip(path, {("party",): ["Ada"], ("files", "masts"): "masts.csv"})
    assert path.read_text() == (
        "# Our trip.\nid = 'a'\nname = 'A'\nstart = 2027-07-24  # a Saturday\n"
        'party = ["Ada"]\n\n'
        "# Lists beside this file.\n[files]\nregion = 'r'\nsites = 'sites.csv'\n"
        'masts = "masts.csv"\n\n'
        "# By the sea.\n[[stays]]\nsite = 'w12'\nnights = 3\n"
    )


def test_comments_and_keys_of_a_hand_written_file_stay(tmp_path: Path) -> None:
    path = tmp_path / "household.toml"
    fill_household(path, FIRST)
    text = path.read_text().replace("kerb_kg = 1500.0", "kerb_kg = 1500.0  # weighed in May")
    text = text.replace('name = "Ada"', 'name = "Ada"  # the eldest\nlikes = ["castle"]')
    path.write_text(text)
    people = [{"name": "Ada", "drives": False}]
    household = fill_household(path, {("car", "kerb_kg"): 1520.0, ("people",): people})
    kept = path.read_text()
    assert "kerb_kg = 1520.0  # weighed in May" in kept
    assert 'name = "Ada"  # the eldest' in kept
    assert household.people[0].likes == ("castle",)
    assert len(household.people) == 1


def test_file_that_is_told_what_it_says_is_not_touched(tmp_path: Path) -> None:
    path = tmp_path / "household.toml"
    fill_household(path, FIRST)
    before = path.read_bytes()
    fill_household(path, FIRST)
    assert path.read_bytes() == before


def test_none_takes_a_key_out(tmp_path: Path) -> None:
    path = tmp_path / "household.toml"
    fill_household(path, FIRST)
    assert fill_household(path, {("car", "kerb_kg"): None}).car.kerb_kg is None
    assert "kerb_kg" not in path.read_text()


def test_value_that_will_not_do_leaves_no_file(tmp_path: Path) -> None:
    path = tmp_path / "household.toml"
    with pytest.raises(PlanFileError, match="car > kerb_kg"):
        fill_household(path, {**FIRST, ("car", "kerb_kg"): -5.0})
    assert not path.exists()


def test_damaged_file_is_named_and_left(tmp_path: Path) -> None:
    path = tmp_path / "household.toml"
    path.write_text("name = ")
    with pytest.raises(PlanFileError, match="not valid TOML"):
        fill_household(path, FIRST)
    assert path.read_text() == "name = "


def test_trip_is_made_and_its_stays_change(tmp_path: Path) -> None:
    path = tmp_path / "trip.toml"
    values: dict[Any, Any] = {
        ("id",): "first-trip",
        ("name",): "First trip",
        ("start",): dt.date(2027, 7, 24),
        ("files", "sites"): "sites.csv",
        ("stays",): [{"site": "w12", "nights": 3}],
    }
    assert fill_trip(path, values).nights == 3
    path.write_text(path.read_text().replace("nights = 3", "nights = 3  # a long weekend"))
    trip = fill_trip(path, {("stays",): [{"site": "w12", "nights": 4}]})
    assert trip.nights == 4
    assert "nights = 4  # a long weekend" in path.read_text()


@pytest.mark.parametrize("dogs", [[], [{"name": "Bo"}], [{"name": "Bo"}, {"name": "Cy"}], None])
def test_comment_on_the_table_behind_a_list_stays_as_the_list_changes(
    tmp_path: Path, dogs: list[dict[str, str]] | None
) -> None:
    path = tmp_path / "household.toml"
    path.write_text(
        "schema = 1\nname = 'x'\n\n[home]\nname = 'home'\nlat = 49.5\nlon = -14.2\n\n"
        "[[people]]\nname = 'Ada'\n\n[[dogs]]\nname = 'Bo'\n# A good dog.\n\n"
        "[[dogs]]\nname = 'Al'\n\n# Our car, bought in 2024.\n[car]\n"
        "name = 'a'\nfuel = 'petrol'\n\n"
        "[caravan]\nname = 'b'\n"
    )
    household = fill_household(path, {("dogs",): dogs})
    assert [dog.name for dog in household.dogs] == [dog["name"] for dog in dogs or []]
    text = path.read_text()
    assert "# Our car, bought in 2024.\n[car]\n" in text
    assert ("# A good dog.\n" in text) == bool(dogs)
