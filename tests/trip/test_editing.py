"""Changes to a trip file keep its comments, and are whole or not at all."""

import pytest

from planner_kit.errors import PlanFileError
from planner_kit.trip.editing import choose_site, set_booking, set_stays

TEXT = """# our summer
schema = 1
id = "t"
name = "T"
start = 2027-07-24  # first Saturday
[files]
region = "region"
[[stays]]
site = "S01"  # by the sea
nights = 7
[stays.booking]
state = "asked"
"""


@pytest.fixture
def path(tmp_path):
    path = tmp_path / "trip.toml"
    path.write_text(TEXT, encoding="utf-8")
    return path


def test_choice_is_written_and_comments_stay(path):
    trip = choose_site(path, 1, "S08")
    text = path.read_text(encoding="utf-8")
    assert trip.stays[0].site == "S08"
    assert trip.stays[0].booking.state == "not asked"
    assert "# our summer" in text
    assert "# first Saturday" in text


def test_a_booked_stay_is_not_lost(path):
    set_booking(path, 1, {"state": "booked", "price": 259.0})
    before = path.read_text(encoding="utf-8")
    for change in (lambda: choose_site(path, 1, "S08"), lambda: set_stays(path, [("S08", 3)])):
        with pytest.raises(PlanFileError, match="call that booking off"):
            change()
    assert path.read_text(encoding="utf-8") == before


def test_a_value_that_spoils_the_file_leaves_it_as_it_was(path):
    with pytest.raises(PlanFileError, match="would spoil it"):
        set_booking(path, 1, {"price": -1.0})
    assert path.read_text(encoding="utf-8") == TEXT


def test_a_tour_is_written_stay_by_stay(path):
    trip = set_stays(path, [("S08", 1), ("S01", 7)])
    assert [(stay.site, stay.nights) for stay in trip.stays] == [("S08", 1), ("S01", 7)]
    assert trip.stays[1].booking.state == "asked"
