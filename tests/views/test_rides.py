from __future__ import annotations

import shutil
from pathlib import Path

import gpxpy
import pytest

from planner_kit.errors import PlannerKitError
from planner_kit.views.rides import RideFinder, find_rides_near


@pytest.fixture(scope="module")
def finder(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> RideFinder:
    folder = tmp_path_factory.mktemp("rides") / "island"
    shutil.copytree(demo, folder)
    found = find_rides_near(folder, trip="trip_2027.toml")
    found.loop.value, found.busy.value = False, True
    return found


def test_rides_found_come_before_the_households_own(finder: RideFinder) -> None:
    assert finder.rides[0].file == ""
    assert {"coast-ride.gpx", "family-loop.gpx"} <= {ride.file for ride in finder.rides}
    assert finder.choice.value == 1


def test_map_heights_and_words_follow_the_choice(finder: RideFinder) -> None:
    before = finder.line.data, finder.heights.value, finder.words.value
    finder.choice.value = len(finder.rides)
    try:
        assert finder.line.data != before[0]
        assert finder.heights.value != before[1]
        assert finder.words.value != before[2]
    finally:
        finder.choice.value = 1


def test_length_is_in_the_households_miles(finder: RideFinder) -> None:
    assert "miles" in finder.length.description
    finder.length.value = 6
    ride = finder.shown
    assert ride is not None
    assert abs(ride.length_km / 1.609344 - 6) <= 2
    assert "miles from the start" in finder.heights.value


def test_wish_that_nothing_meets_gives_the_nearest_and_says_what_was_given_up(
    finder: RideFinder,
) -> None:
    finder.loop.value, finder.busy.value = True, False
    try:
        assert finder.rides[0].kind == "loop" or "Quiet ways hold no loop" in finder.said.value
        assert finder.rides[0].file == ""
    finally:
        finder.loop.value, finder.busy.value = False, True


def test_ride_is_written_beside_the_trip_and_reads_back(finder: RideFinder) -> None:
    finder.write.click()
    name = finder.said.value.split("Written as ")[1].split()[0]
    path = finder.files.inputs.trip_path.parent / name
    read = gpxpy.parse(path.read_text(encoding="utf-8"))
    assert finder.shown is not None
    assert read.length_2d() / 1000 == pytest.approx(finder.shown.length_km, rel=0.02)


def test_stay_that_the_trip_has_not_is_told(demo: Path) -> None:
    with pytest.raises(PlannerKitError, match="not a stay 3"):
        find_rides_near(demo, trip="trip_2027.toml", stay=3)


def test_line_is_sent_again_once_the_map_is_shown(finder: RideFinder) -> None:
    sent = []
    finder.line.observe(lambda change: sent.append(len(change["new"]["features"])), "data")
    finder.map.set_trait("bounds", ((49.4, -14.9), (49.6, -14.6)))
    assert sent == [0, 1]
    finder.map.set_trait("bounds", ((49.41, -14.9), (49.61, -14.6)))
    assert sent == [0, 1]
    assert finder.line.data["features"]


def test_map_moves_only_to_a_ride_that_is_not_well_in_view(finder: RideFinder) -> None:
    ride = finder.shown
    assert ride is not None
    west, south, east, north = ride.geometry.bounds
    lat, lon = finder.here
    south, north = min(south, lat) - 0.01, max(north, lat) + 0.01
    west, east = min(west, lon) - 0.01, max(east, lon) + 0.01
    seen = finder.map.bounds
    try:
        finder.map.set_trait("bounds", ((south, west), (north, east)))
        finder.map.center = (49.0, -14.0)
        finder._show(None)
        assert tuple(finder.map.center) == (49.0, -14.0)
        finder.map.set_trait("bounds", ((south, west), ((south + north) / 2, east)))
        finder._show(None)
        assert finder.map.center[0] == pytest.approx((south + north) / 2, abs=0.02)
        finder.map.center = (49.0, -14.0)
        finder.map.set_trait("bounds", ((south - 2, west - 2), (north + 2, east + 2)))
        finder._show(None)
        assert finder.map.center[0] == pytest.approx((south + north) / 2, abs=0.02)
    finally:
        finder.map.set_trait("bounds", seen)


def test_work_at_the_pedals_is_explained(finder: RideFinder) -> None:
    assert "Work at the pedals is the power" in finder.table.value


def test_what_lies_beyond_the_map_is_told_only_where_it_is_seen(finder: RideFinder) -> None:
    west, south, east, north = finder.files.region.bounds
    finder.map.set_trait("bounds", ((south + 0.1, west + 0.1), (north - 0.1, east - 0.1)))
    assert finder.map.beyond.value == ""
    finder.map.set_trait("bounds", ((south, west - 0.1), (north, east)))
    assert "beyond this map" in finder.map.beyond.value
    ground = finder.map.shapes["areas"].data["features"][0]["geometry"]["coordinates"][0]
    assert {round(x, 3) for x, _ in ground} == {round(west, 3), round(east, 3)}
