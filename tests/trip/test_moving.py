"""Moving a trip file to new dates."""

import datetime as dt
import tomllib
from pathlib import Path

from planner_kit.trip import Trip, moved_trip_text
from planner_kit.trip.moving import moved_trip

TEXT = """# our summer
schema = 1
id = "summer"
name = "Summer"
start = 2026-07-25  # the first Saturday of the holidays
[files]
region = "region"
[[stays]]
site = "s01"  # the one with the pond
nights = 7
[stays.booking]
state = "paid"
reference = "ABC123"
price = 210.0
paid = 210.0
[actuals]
tow_km = 71.0
[[actuals.never_again]]
osm_way_id = 42
why = "met a tractor"
"""


def test_moved_text_keeps_comments_and_leaves_bookings_behind(tmp_path: Path) -> None:
    path = tmp_path / "trip.toml"
    path.write_text(TEXT)
    text = moved_trip_text(path, dt.date(2027, 7, 24))
    trip = Trip.model_validate(tomllib.loads(text))
    assert trip.start == dt.date(2027, 7, 24)
    assert trip.stays[0].booking.state == "not asked"
    assert trip.actuals is None
    assert "ABC123" not in text
    assert "# our summer" in text
    assert "# the one with the pond" in text


def test_never_again_roads_are_avoided_from_then_on(tmp_path: Path) -> None:
    path = tmp_path / "trip.toml"
    path.write_text(TEXT)
    trip = Trip.model_validate(tomllib.loads(moved_trip_text(path, dt.date(2027, 7, 24))))
    assert [road.osm_way_id for road in trip.tow.avoid] == [42]


def test_pinned_outings_stay_on_their_day_of_the_trip(tmp_path: Path) -> None:
    path = tmp_path / "trip.toml"
    path.write_text(f'{TEXT}\n[outings]\npinned = {{ "Gull Castle" = 2026-07-27 }}\n')
    moved = Trip.model_validate(tomllib.loads(moved_trip_text(path, dt.date(2027, 7, 24))))
    assert moved.outings.pinned == {"Gull Castle": dt.date(2027, 7, 26)}
    trip = Trip.model_validate(tomllib.loads(path.read_text()))
    assert moved_trip(trip, dt.date(2027, 7, 24)).outings == moved.outings
