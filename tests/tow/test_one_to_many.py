from __future__ import annotations

import datetime as dt
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pandas as pd
import pytest

from planner_kit.errors import NoRouteError
from planner_kit.tow import car_route, drive_times

DAY = dt.date(2027, 7, 24)


def by_routes(region, start, targets):
    """Minutes and km as a route to each place tells them; NaN where there is no way."""
    rows = []
    for lat, lon in zip(targets["lat"], targets["lon"], strict=True):
        try:
            route = car_route(region, start, (lat, lon), on=DAY)
        except NoRouteError:
            rows.append((np.nan, np.nan))
        else:
            rows.append((route.time_min, route.length_km))
    return pd.DataFrame(rows, columns=["minutes", "km"], index=targets.index)


def assert_same(times, routes):
    assert times["minutes"].to_numpy() == pytest.approx(
        routes["minutes"].to_numpy(), abs=0.01, nan_ok=True
    )
    assert times["km"].to_numpy() == pytest.approx(routes["km"].to_numpy(), abs=0.1, nan_ok=True)


def test_minutes_and_km_are_those_of_the_routes(open_data_regions, open_data_name):
    region = open_data_regions(open_data_name)
    rng = np.random.default_rng(5)
    drivable = (region.roads["car_forward"] | region.roads["car_backward"]).to_numpy(bool)
    rows = rng.choice(np.flatnonzero(drivable), 151)
    spots = [line.interpolate(0.4, normalized=True) for line in region.roads.geometry.iloc[rows]]
    start = spots[0].y, spots[0].x
    targets = pd.DataFrame({"lat": [p.y for p in spots[1:]], "lon": [p.x for p in spots[1:]]})
    times = drive_times(region, start, targets, on=DAY)
    assert times["km"].notna().sum() > 100
    assert_same(times, by_routes(region, start, targets))


def test_crossing_of_more_than_a_day_is_told_too(detour):
    region = detour(road_class="ferry", ferry_min=1800.0)
    region.roads.loc[2, ["car_forward", "car_backward"]] = False
    targets = pd.DataFrame({"lat": [52.0], "lon": [0.025]})
    times = drive_times(region, (52.0, -0.005), targets, on=DAY)
    assert times.loc[0, "minutes"] > 1800
    assert_same(times, by_routes(region, (52.0, -0.005), targets))


def test_unwillingness_to_enter_a_road_is_not_driven(detour):
    region = detour()
    region.roads.loc[5, "motor_access"] = "destination"
    targets = pd.DataFrame({"lat": [52.0], "lon": [0.025]})
    times = drive_times(region, (52.0, -0.005), targets, on=DAY)
    assert times.loc[0, "minutes"] < 5
    assert_same(times, by_routes(region, (52.0, -0.005), targets))


def test_long_ban_is_kept(make_region):
    points = [(52.0, 0.0), (52.0, 0.01), (52.0, 0.02), (52.0, 0.03), (52.01, 0.015)]
    edges = [(0, 1, {}), (1, 2, {}), (2, 3, {}), (1, 4, {}), (4, 2, {})]
    ban = {
        "from_road": 0, "via_node": -1, "via_roads": [1], "to_road": 2, "kind": "no",
        "osm_relation_id": 1,
    }  # fmt: skip
    targets = pd.DataFrame({"lat": [52.0, 52.0], "lon": [0.025, 0.015]})
    km = []
    for bans in ([], [ban]):
        region = make_region(points, edges, bans=bans)
        times = drive_times(region, (52.0, 0.005), targets, on=DAY)
        assert_same(times, by_routes(region, (52.0, 0.005), targets))
        km.append(times["km"].tolist())
    assert km[1][0] > km[0][0] + 0.5
    assert km[1][1] == km[0][1]


def test_place_and_start_beside_roads_that_lead_nowhere_are_joined_by_another(make_region):
    near, far = 0.00005, 0.0004
    points = [
        (52.0, 0.0), (52.0, 0.02),
        *((52.0 + far + step * near, lon) for step in range(3) for lon in (0.0, 0.002)),
    ]  # fmt: skip
    region = make_region(points, [(0, 1, {}), (2, 3, {}), (4, 5, {}), (6, 7, {})])
    inside = (52.0 + far + near / 2, 0.001)
    there = pd.DataFrame({"lat": [inside[0], 52.0], "lon": [inside[1], 0.01]})
    from_far = drive_times(region, (52.0, 0.015), there, on=DAY)
    assert from_far["km"].tolist() == pytest.approx([0.96, 0.34], abs=0.02)
    from_inside = drive_times(region, inside, there.iloc[1:], on=DAY)
    assert from_inside["km"].notna().all()


def test_places_without_a_position_stay_empty(detour):
    targets = pd.DataFrame({"lat": [np.nan, 52.0], "lon": [0.025, 0.025]}, index=["?", "a"])
    times = drive_times(detour(), (52.0, -0.005), targets, on=DAY)
    assert times.index.tolist() == ["?", "a"]
    assert times.loc["?"].isna().all()
    assert times.loc["a"].notna().all()
    assert drive_times(detour(), (52.0, -0.005), targets.iloc[:0], on=DAY).empty


def test_times_are_the_same_from_any_thread(open_data_regions, open_data_name):
    region = open_data_regions(open_data_name)
    spots = [line.interpolate(0.4, normalized=True) for line in region.roads.geometry.iloc[:40]]
    start = spots[0].y, spots[0].x
    targets = pd.DataFrame({"lat": [p.y for p in spots[1:]], "lon": [p.x for p in spots[1:]]})
    here = drive_times(region, start, targets, on=DAY)
    with ThreadPoolExecutor(2) as pool:
        asked = [pool.submit(drive_times, region, start, targets, on=DAY) for _ in range(4)]
        for each in asked:
            pd.testing.assert_frame_equal(each.result(), here)
    pd.testing.assert_frame_equal(drive_times(region, start, targets, on=DAY), here)
