import gpxpy
import numpy as np
import pytest

from planner_kit.errors import PlannerKitError
from planner_kit.outings import find_rides, ride_gpx
from planner_kit.outings.ride_effort import difficulty_for_children
from planner_kit.region import nearest_road


def middle(region):
    """A node near the middle of the mapped nodes, on a way that may be ridden."""
    lat, lon = (float(region.nodes[name].median()) for name in ("lat", "lon"))
    near = nearest_road(region, lat, lon, "bike")
    return near.lat, near.lon


def check_ride(region, ride, length_km):
    """Every way meets the next, in a direction that may be ridden, and the ride is closed."""
    roads = region.roads.iloc[ride.road_ids]
    begin = np.where(ride.forward, roads["from_node"], roads["to_node"])
    end = np.where(ride.forward, roads["to_node"], roads["from_node"])
    assert (begin[1:] == end[:-1]).all()
    assert begin[0] == end[-1]
    allowed = np.where(ride.forward, roads["bike_forward"], roads["bike_backward"])
    assert allowed.all() or ride.mode == "foot"
    assert roads["length_m"].sum() / 1000 == pytest.approx(ride.length_km)
    assert abs(ride.length_km - length_km) <= length_km / 3
    assert ride.geometry.coords[0] == ride.geometry.coords[-1]
    assert ride.shares["busy"] == 0
    kinds = ("traffic_free", "quiet", "some_traffic", "busy")
    assert sum(ride.shares[kind] for kind in kinds) == pytest.approx(1)


def test_loops_on_a_real_extract_are_real_loops(open_data_regions, open_data_name):
    region = open_data_regions(open_data_name)
    rides = find_rides(region, middle(region), length_km=15)
    assert rides
    for ride in rides:
        check_ride(region, ride, 15)
        _, times = np.unique(ride.road_ids, return_counts=True)
        assert times.max() <= 2
        assert ride.shares["again"] <= 0.25
        assert (ride.escapes["back_km"] < ride.length_km - ride.escapes["km"]).all()


def test_there_and_back_goes_home_the_same_way(open_data_regions, open_data_name):
    region = open_data_regions(open_data_name)
    for ride in find_rides(region, middle(region), length_km=6, mode="foot", loop=False):
        check_ride(region, ride, 6)
        half = len(ride.road_ids) // 2
        assert list(ride.road_ids[:half]) == list(ride.road_ids[half:][::-1])


def test_a_wish_for_little_climb_is_heard(open_data_regions):
    region = open_data_regions("liechtenstein")
    start = middle(region)
    flat = find_rides(region, start, length_km=20, climb_m=20, most=1)
    any_climb = find_rides(region, start, length_km=20, most=8)
    assert flat[0].climb_m <= min(ride.climb_m for ride in any_climb) + 40


def test_gpx_of_a_ride_reads_back(open_data_regions):
    region = open_data_regions("liechtenstein")
    ride = find_rides(region, middle(region), length_km=10)[0]
    read = gpxpy.parse(ride_gpx(ride, "Round <&> about"))
    assert read.tracks[0].name == "Round <&> about"
    assert read.length_2d() / 1000 == pytest.approx(ride.length_km, rel=0.01)
    assert len(read.waypoints) == len(ride.escapes)
    assert read.has_elevations()


@pytest.mark.parametrize("length", [0, -3, float("nan"), 900])
def test_length_that_will_not_do_is_refused(open_data_regions, length):
    with pytest.raises(PlannerKitError, match="will not do"):
        find_rides(open_data_regions("liechtenstein"), (47.1, 9.5), length_km=length)


def test_unknown_climb_is_never_easy():
    assert difficulty_for_children(3, float("nan"), 0, 0, "bike")[0] == "unknown"
    assert difficulty_for_children(3, 10, 0, 0, "bike")[0] == "easy"
    assert difficulty_for_children(30, float("nan"), 0, 0, "bike")[0] == "hard"
    assert difficulty_for_children(3, 10, 0.5, 0, "foot") == ("hard", "for traffic")
