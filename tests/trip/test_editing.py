"""Changes to a trip file keep its comments, and are whole or not at all."""

import pytest

from planner_kit.errors import PlanFileError
from planner_kit.trip.editing import (
    avoid_road,
    choose_site,
    set_booking,
    set_stays,
    set_value,
    set_via,
    unavoid_road,
)
from planner_kit.trip.household import AvoidRoad
from planner_kit.trip.trip import Via

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


HOUSEHOLD = """# the family
schema = 1
name = "F"
[home]
name = "Home"  # the old house
lat = 52.0
lon = 0.0
[[people]]
name = "A"
[car]
name = "C"
fuel = "diesel"
[caravan]
name = "V"
"""
LANE = AvoidRoad(name="Mill Lane", osm_way_id=1234, why="met a lorry", since="2026-08-01")
POINT = AvoidRoad(lat=52.1, lon=0.2)


@pytest.fixture
def household(tmp_path):
    path = tmp_path / "household.toml"
    path.write_text(HOUSEHOLD, encoding="utf-8")
    return path


@pytest.mark.parametrize(
    "listed",
    ["", 'avoid_roads = [\n  {osm_way_id = 9, why = "ford"},  # wet\n]\n',
     '[[avoid_roads]]\nosm_way_id = 9  # wet\n'],
    ids=["none yet", "in one value", "as tables"],
)  # fmt: skip
def test_a_road_is_avoided_and_taken_off_again(household, listed):
    if listed.startswith("avoid"):
        household.write_text(HOUSEHOLD.replace("[home]", listed + "[home]"), encoding="utf-8")
    else:
        household.write_text(HOUSEHOLD + listed, encoding="utf-8")
    before = len(household.read_text(encoding="utf-8"))
    avoid_road(household, POINT)
    there = avoid_road(household, LANE).avoid_roads
    assert there[-2:] == (POINT, LANE)
    again = avoid_road(household, AvoidRoad(osm_way_id=1234, why="still narrow")).avoid_roads
    assert [road.why for road in again if road.osm_way_id == 1234] == ["still narrow"]
    text = household.read_text(encoding="utf-8")
    assert "# the old house" in text
    assert ("# wet" in text) == bool(listed)
    unavoid_road(household, LANE)
    left = unavoid_road(household, POINT).avoid_roads
    assert len(left) == (1 if listed else 0)
    assert len(household.read_text(encoding="utf-8")) <= before + 2
    with pytest.raises(PlanFileError, match="not on the list"):
        unavoid_road(household, LANE)


def test_points_on_the_way_are_written_and_taken_away(path):
    points = [Via(name="Bridge", lat=52.1, lon=-1.2), Via(lat=52.2, lon=-1.3)]
    assert set_via(path, points).tow.via == tuple(points)
    assert set_via(path, points[:1]).tow.via == tuple(points[:1])
    assert set_via(path, []).tow.via == ()
    text = path.read_text(encoding="utf-8")
    assert "# our summer" in text
    assert "via" not in text


def test_comment_on_the_next_table_stays_as_stays_are_added_and_taken_out(path):
    path.write_text(TEXT + "\n# What we wish.\n[tow]\n", encoding="utf-8")
    for stays in ([("S01", 7), ("S08", 2)], [("S08", 2)], [("S01", 3)]):
        trip = set_stays(path, stays)
        assert [(stay.site, stay.nights) for stay in trip.stays] == stays
        assert "# What we wish.\n[tow]\n" in path.read_text(encoding="utf-8")


def test_comment_on_the_next_table_stays_as_roads_are_listed(tmp_path):
    path = tmp_path / "household.toml"
    path.write_text(
        "name = 'x'\n[home]\nname = 'h'\nlat = 49.5\nlon = -14.2\n[[people]]\nname = 'Ada'\n\n"
        "[[avoid_roads]]\nosm_way_id = 7\nwhy = 'narrow'\n\n# Our car.\n"
        "[car]\nname = 'a'\nfuel = 'petrol'\n[caravan]\nname = 'b'\n"
    )
    roads = [AvoidRoad(osm_way_id=number, why="steep") for number in (8, 7)]
    for act in (avoid_road, unavoid_road):
        for road in roads:
            act(path, road)
            assert "# Our car.\n[car]\n" in path.read_text()
    assert "avoid_roads" not in path.read_text()


def test_value_that_is_set_leaves_the_comment_on_the_next_table(tmp_path):
    path = tmp_path / "household.toml"
    path.write_text(
        "name = 'x'\n[home]\nname = 'h'\nlat = 49.5\nlon = -14.2\n[[people]]\nname = 'Ada'\n"
        "[car]\nname = 'a'\nfuel = 'petrol'\n\n# Our caravan.\n[caravan]\nname = 'b'\n"
    )
    set_value(path, ("car", "kerb_kg"), 1500.0)
    assert "fuel = 'petrol'\nkerb_kg = 1500.0\n\n# Our caravan.\n[caravan]\n" in path.read_text()
