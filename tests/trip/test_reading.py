"""Household and trip files: what is read, and what is said of a fault."""

from pathlib import Path

import pytest

from planner_kit.errors import PlanFileError
from planner_kit.trip import read_household, read_inputs, read_trip
from planner_kit.trip.reading import resolve_region

HOUSEHOLD = """
schema = 1
name = "The Wrens"
[home]
lat = 49.45
lon = -14.2
[[people]]
name = "Ada"
born = 1983-02-11
[car]
name = "estate"
fuel = "diesel"
[caravan]
name = "four berth"
mtplm_kg = 1500
"""
TRIP = """
schema = 1
id = "summer"
name = "Summer"
start = 2027-07-24
[files]
region = "region"
[[stays]]
site = "s01"
nights = 7
"""


def _written(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_trip_and_household_are_read_together(tmp_path: Path) -> None:
    _written(tmp_path, "household.toml", HOUSEHOLD)
    inputs = read_inputs(_written(tmp_path, "trip.toml", TRIP))
    assert inputs.trip.end.isoformat() == "2027-07-31"
    assert inputs.household.caravan.mtplm_kg == 1500


def test_plates_that_are_not_given_stay_missing(tmp_path: Path) -> None:
    household = read_household(_written(tmp_path, "household.toml", HOUSEHOLD))
    assert household.car.gross_train_kg is None
    assert household.caravan.noseweight_limit_kg is None


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("mtplm_kg = 1500", "mtplm = 1500", "did you mean 'mtplm_kg'?"),
        ("mtplm_kg = 1500", "mtplm_kg = 1.5", "1.5 will not do: it must be at least 300"),
        ("mtplm_kg = 1500", "mtplm_kg = 1e99", "1e+99 will not do: it must be at most 3500"),
        ("mtplm_kg = 1500", 'mtplm_kg = "1500 kg"', "'1500 kg' is not a number; write 1500, which"),
        ("mtplm_kg = 1500", 'mtplm_kg = "3307 lb"', "'3307 lb' is not a number; write 1500, which"),
        ("mtplm_kg = 1500", 'mtplm_kg = "much"', "'much' is not a number; write a plain number"),
        ('fuel = "diesel"', 'fuel = "coal"', "'coal' is not one of"),
        ("lat = 49.45", "", "home > lat: 'lat' is missing"),
        ('name = "The Wrens"', 'name = "The Wrens', "not valid TOML"),
    ],
)
def test_fault_in_household_is_one_sentence_with_file_and_key(
    tmp_path: Path, old: str, new: str, expected: str
) -> None:
    path = _written(tmp_path, "household.toml", HOUSEHOLD.replace(old, new))
    with pytest.raises(PlanFileError) as caught:
        read_household(path)
    sentence = str(caught.value)
    assert sentence.startswith(str(path))
    assert expected in sentence
    assert sentence.count("\n") == 0


def test_misspelt_key_in_a_stay_names_the_nearest(tmp_path: Path) -> None:
    path = _written(tmp_path, "trip.toml", TRIP.replace("nights = 7", "nigths = 7"))
    with pytest.raises(PlanFileError, match=r"stays > 1 > nigths.*did you mean 'nights'\?"):
        read_trip(path)


def test_cancellation_after_the_end_is_refused(tmp_path: Path) -> None:
    text = TRIP + "[stays.booking]\nfree_cancellation_until = 2027-08-20\n"
    with pytest.raises(PlanFileError, match="is after the trip's end 2027-07-31"):
        read_trip(_written(tmp_path, "trip.toml", text))


def test_payment_with_a_date_before_the_deadline_window_is_accepted(tmp_path: Path) -> None:
    text = TRIP + "[stays.booking]\ndue_on = 2027-06-01\npaid = 40.0\n"
    assert read_trip(_written(tmp_path, "trip.toml", text)).stays[0].booking.paid == 40


def test_somebody_who_is_not_in_the_household_is_named(tmp_path: Path) -> None:
    _written(tmp_path, "household.toml", HOUSEHOLD)
    text = TRIP.replace("[files]", 'party = ["Adda"]\n[files]')
    with pytest.raises(PlanFileError, match="did you mean 'Ada'"):
        read_inputs(_written(tmp_path, "trip.toml", text))


@pytest.mark.parametrize("name", ["/etc/passwd", "../secret.csv", "~/x.csv"])
def test_path_that_leaves_the_trip_folder_is_refused(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "a" / "b"
    folder.mkdir(parents=True)
    _written(folder, "household.toml", HOUSEHOLD)
    inputs = read_inputs(_written(folder, "trip.toml", TRIP))
    with pytest.raises(PlanFileError, match="leads out of the trip's folder"):
        inputs.path_of(name)


def test_region_may_lie_beside_the_trip_folder_and_no_further(tmp_path: Path) -> None:
    folder = tmp_path / "a" / "b"
    folder.mkdir(parents=True)
    assert (
        resolve_region("../region", folder / "trip.toml") == (tmp_path / "a" / "region").resolve()
    )
    with pytest.raises(PlanFileError, match="leads out"):
        resolve_region("../../region", folder / "trip.toml")
    with pytest.raises(PlanFileError, match="is no path"):
        resolve_region("a\0b", folder / "trip.toml")


def test_link_that_leaves_the_trip_folder_is_refused(tmp_path: Path) -> None:
    folder = tmp_path / "a" / "b"
    folder.mkdir(parents=True)
    (tmp_path / "secret.csv").write_text("x")
    (folder / "sites.csv").symlink_to(tmp_path / "secret.csv")
    _written(folder, "household.toml", HOUSEHOLD)
    inputs = read_inputs(_written(folder, "trip.toml", TRIP))
    with pytest.raises(PlanFileError, match="leads out"):
        inputs.path_of("sites.csv")


def test_missing_file_and_binary_file_are_said(tmp_path: Path) -> None:
    with pytest.raises(PlanFileError, match="there is no such file"):
        read_trip(tmp_path / "none.toml")
    path = tmp_path / "trip.toml"
    path.write_bytes(b"name = \xff\xfe")
    with pytest.raises(PlanFileError, match="byte 7 is not UTF-8"):
        read_trip(path)
