import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.errors import PlanFileError
from planner_kit.outings import find_rides, plan_rides, rides_gpx
from planner_kit.outings.found_ride import escape_points
from planner_kit.outings.ride_effort import ride_energy_kj, ride_value
from planner_kit.outings.ride_track import climb_of, read_tracks, smooth_slope
from planner_kit.outings.ride_ways import ways_along
from planner_kit.trip.household import Units
from planner_kit.trip.trip import RideWish
from tests.outings.test_ride_search import middle
from tests.outings.test_rides import HEAD, track, write

LOOP = [(49.5, -14.5), (49.51, -14.5), (49.51, -14.48), (49.5, -14.48), (49.5, -14.5)]


def at(points, height=None):
    return track(*((lat, lon, height) for lat, lon in points))


def test_loop_there_and_back_and_one_way_are_told_apart(tmp_path):
    out = [(49.5, -14.5), (49.51, -14.5), (49.52, -14.5), (49.53, -14.49)]
    for points, kind in (
        (LOOP, "loop"), (out + out[-2::-1], "there and back"), (out, "one way"),
    ):  # fmt: skip
        (found,) = read_tracks([write(tmp_path, at(points))])
        assert found.kind == kind


def test_type_of_the_file_says_that_it_is_walked(tmp_path):
    text = at(LOOP).replace("<trkseg>", "<type>hiking</type><trkseg>")
    assert read_tracks([write(tmp_path, text)])[0].mode == "foot"
    assert read_tracks([write(tmp_path, at(LOOP))])[0].mode == "bike"


def test_track_that_stays_in_one_place_is_refused(tmp_path):
    with pytest.raises(PlanFileError, match="one place"):
        read_tracks([write(tmp_path, at([LOOP[0]] * 3))])


def test_small_rises_are_noise_and_long_ones_are_climbed():
    assert climb_of(np.array([0.0, 3, 0, 3, 0, 3])) == 0
    assert climb_of(np.array([0.0, 20, 18, 40, 0, 30])) == 70
    assert np.isnan(climb_of(np.array([0.0, np.nan, 10])))


@settings(max_examples=50, deadline=None)
@given(st.lists(st.floats(0, 500), min_size=2, max_size=40))
def test_climb_is_between_the_highest_rise_and_all_rises(heights):
    whole = np.array(heights)
    rises = np.diff(whole)
    climb = climb_of(whole)
    assert climb <= rises[rises > 0].sum() + 1e-6
    assert climb >= whole[-1] - whole[0] - ride_value("climb_noise_m") - 1e-6


def test_even_slope_is_the_slope_everywhere():
    km = np.linspace(0, 2, 41)
    np.testing.assert_allclose(smooth_slope(km, 50 * km), 0.05)


def test_work_is_power_times_time():
    watts = ride_value("adult_power_w")
    assert ride_energy_kj(60, "bike", child=False) == pytest.approx(watts * 3.6)  # an hour in kJ
    assert np.isnan(ride_energy_kj(60, "foot", child=False))


def test_ways_home_are_told_only_where_they_save():
    along = np.linspace(0, 10_000, 101)
    square = np.minimum(along, 10_000 - along)  # a ring: the way back is the way on, or out
    lat = np.full(101, 49.5)
    assert escape_points(along, np.where(along < 5000, square, 10_000 - along), lat, lat).empty
    short = np.where(np.abs(along - 4000) < 60, 500.0, np.inf)
    found = escape_points(along, short, lat, lat)
    assert found["back_km"].tolist() == [0.5]
    assert found["km"].iloc[0] == pytest.approx(4, abs=0.1)


def test_ride_found_on_the_map_and_read_again_lies_on_the_same_ways(
    open_data_regions, open_data_name, tmp_path
):
    region = open_data_regions(open_data_name)
    start = middle(region)
    ride = find_rides(region, start, length_km=15, most=1)[0]
    points = shapely.get_coordinates(ride.geometry)
    path = write(tmp_path, at([(lat, lon) for lon, lat in points]))
    wish = RideWish(mode="foot", length_km=4)
    rides, _ = plan_rides(region, start, files=[path], wishes=[wish], child=True)
    own = rides[0]
    assert own.length_km == pytest.approx(ride.length_km, rel=0.01)
    assert own.kind == "loop"
    assert own.shares["off_map"] < 0.02
    assert own.shares["traffic_free"] == pytest.approx(ride.shares["traffic_free"], abs=0.12)
    assert own.time_min == pytest.approx(ride.time_min, rel=0.25)
    told = " ".join(own.unknowns)
    assert "no times" in told
    if region.terrain is None:
        assert np.isnan(own.climb_m)
        assert own.heights_from == "unknown"
        assert "Neither the file nor the terrain" in told
        assert own.difficulty in ("unknown", "hard")
    else:
        assert own.heights_from == "terrain"
        assert own.climb_m > 0
    assert any(one.mode == "foot" and one.origin == "found on the map" for one in rides[1:])


def test_heights_of_the_file_serve_where_no_terrain_is(open_data_regions, tmp_path):
    region = open_data_regions("rutland")
    if region.terrain is not None:
        pytest.skip("this extract has terrain")
    lat, lon = middle(region)
    points = [(lat, lon, 100), (lat + 0.01, lon, 130), (lat, lon, 100)]
    rides, _ = plan_rides(region, (lat, lon), files=[write(tmp_path, track(*points))])
    assert rides[0].heights_from == "GPX file"
    assert rides[0].climb_m == pytest.approx(30, abs=2)


def test_line_away_from_all_ways_is_off_the_map(open_data_regions, open_data_name):
    region = open_data_regions(open_data_name)
    west, south, _, _ = region.bounds
    found = ways_along(region, np.array([south - 0.2]), np.array([west - 0.2]), "bike")
    assert found["traffic"].tolist() == [""]
    assert found["surface_unknown"].tolist() == [True]


def test_no_wish_and_no_way_near_is_said(open_data_regions, open_data_name):
    region = open_data_regions(open_data_name)
    rides, missing = plan_rides(region, (region.bounds[1] - 1, region.bounds[0] - 1))
    assert rides == ()
    assert len(missing) == 2
    assert all("in vain" in one for one in missing)


def test_gpx_of_several_rides_has_a_track_for_each_in_the_households_units(
    open_data_regions, open_data_name
):
    region = open_data_regions(open_data_name)
    rides, _ = plan_rides(region, middle(region))
    text = rides_gpx(rides, "All rides", Units(distance="miles"))
    assert text.count("<trk>") == len(rides)
    assert "km back" not in text
    assert HEAD[:4] in text


def timed(points, minutes):
    text = at(points)
    for minute in minutes:
        text = text.replace("</trkpt>", f"<time>2026-05-01T10:{minute:02d}:00Z</time></TRKPT>", 1)
    return text.replace("</TRKPT>", "</trkpt>")


def test_times_of_a_file_tell_motion_and_halts(tmp_path):
    points = [LOOP[0], LOOP[1], LOOP[1], LOOP[2]]
    (found,) = read_tracks([write(tmp_path, timed(points, (0, 5, 15, 20)))])
    assert (found.recorded_min, found.halts_min) == (10, 10)
    (back,) = read_tracks([write(tmp_path, timed(points, (20, 15, 5, 0)))])
    assert np.isnan(back.recorded_min)
    (none,) = read_tracks([write(tmp_path, at(points))])
    assert np.isnan(none.recorded_min)


def test_same_way_in_two_files_and_on_the_map_is_one_ride(
    open_data_regions, open_data_name, tmp_path
):
    region = open_data_regions(open_data_name)
    start = middle(region)
    wish = RideWish(mode="bike", length_km=15)
    (ride,) = find_rides(region, start, length_km=15, child=True, most=1)
    points = [(lat, lon) for lon, lat in shapely.get_coordinates(ride.geometry)]
    first = write(tmp_path, at(points))
    second = tmp_path / "back-round.gpx"
    second.write_text(at(points[::-1]))
    other = tmp_path / "other.gpx"
    other.write_text(at([(lat + 0.02, lon) for lat, lon in points]))
    rides, _ = plan_rides(region, start, files=[first, second, other], wishes=[wish], child=True)
    assert [one.file for one in rides if one.origin == "own GPX file"] == [first.name, "other.gpx"]
    assert rides[0].same_as == ("back-round.gpx",)
    assert all(one.file for one in rides)
