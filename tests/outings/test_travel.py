import datetime as dt
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest

from planner_kit.outings import DayLimits, opening_of, plan_days, stay_criteria
from planner_kit.outings.attractions import empty_attractions
from planner_kit.outings.travel import ways_to
from tests.outings.conftest import make_inputs

LONDON = ZoneInfo("Europe/London")


def around(region, count=60):
    """Places at junctions around the middle, with a drive of 10 min each."""
    lat, lon = region.nodes["lat"].median(), region.nodes["lon"].median()
    away = np.hypot(region.nodes["lat"] - lat, 0.65 * (region.nodes["lon"] - lon))
    rows = region.nodes.iloc[np.argsort(away.to_numpy())[: count * 8 : 8]]
    places = pd.DataFrame(
        {"lat": rows["lat"].to_numpy(), "lon": rows["lon"].to_numpy(), "drive_min": 10.0,
         "drive_km": 5.0, "walk_min": 0.0}
    )  # fmt: skip
    return places, (float(lat), float(lon))


def ways(region, **reach):
    places, near = around(region)
    whole = {"walk_reach_km": 0.0, "cycle_reach_km": 0.0, **reach}
    return ways_to(places, region, near, child=False, **whole), places


def test_near_places_are_walked_to_and_far_ones_driven(open_data_regions, open_data_name):
    found, _ = ways(open_data_regions(open_data_name), walk_reach_km=1.0)
    on_foot = found[found["by"] == "foot"]
    assert len(on_foot) > 0
    assert (on_foot["travel_km"] <= 1.0).all()
    assert on_foot["travel_min"].between(0, 40).all()
    driven = found[found["by"] == "car"]
    assert (driven["travel_min"] == 10).all()
    # a way on foot is never shorter than the straight line, 4 to 6 km/h at the most
    assert (on_foot["travel_km"] / (on_foot["travel_min"] / 60) < 6.1).all()


def test_bicycle_reaches_farther_and_walking_goes_first(open_data_regions, open_data_name):
    region = open_data_regions(open_data_name)
    walk, _ = ways(region, walk_reach_km=0.8)
    both, _ = ways(region, walk_reach_km=0.8, cycle_reach_km=4.0)
    assert ((walk["by"] == "foot") == (both["by"] == "foot")).all()
    assert (both["by"] == "bike").any()
    assert (both.loc[both["by"] == "bike", "travel_km"] <= 4.0).all()


def test_without_a_wish_all_go_by_car(open_data_regions, open_data_name):
    found, places = ways(open_data_regions(open_data_name))
    assert set(found["by"]) == {"car"}
    assert (found["travel_min"] == places["drive_min"]).all()


def test_children_walk_more_slowly(open_data_regions, open_data_name):
    region = open_data_regions(open_data_name)
    places, near = around(region)
    adult, child = (
        ways_to(places, region, near, walk_reach_km=1, cycle_reach_km=0, child=one)
        for one in (False, True)
    )
    on_foot = adult["by"] == "foot"
    assert (child.loc[on_foot, "travel_min"] >= adult.loc[on_foot, "travel_min"] - 1e-9).all()


def test_walk_needs_no_wheel_and_no_fuel_and_comes_back_to_the_pitch():
    days = [dt.date(2027, 7, 26)]
    frame = pd.DataFrame(
        {
            "attraction_id": ["a", "b"], "name": ["Quay", "Castle"], "indoor": "no",
            "drive_min": [5.0, 20.0], "drive_km": [2.0, 15.0], "walk_min": 0.0,
            "by": ["foot", "car"], "travel_min": [25.0, 20.0], "travel_km": [1.2, 15.0],
            "time_needed_min": 60.0, "cost": 0.0, "currency": "GBP",
        }
    )  # fmt: skip
    hours = {key: opening_of("Mo-Su 10:00-17:00", days, zone=LONDON) for key in "ab"}
    plan = plan_days(frame, hours, days, DayLimits(dt.time(18), 120), zone=LONDON).days
    rows = plan.set_index("attraction_id")
    assert rows["drive_min"].sum() == pytest.approx(2 * 20 * 1.15)
    assert rows["drive_km"].sum() == pytest.approx(30)
    assert "on foot, 25 min each way" in rows.loc["a", "why"]
    # from the one to the other by way of the pitch: 25 min on foot, 23 at the wheel
    first, second = (rows.iloc[n] for n in (0, 1))
    assert (second["arrive"] - first["leave"]) >= pd.Timedelta(minutes=48)


def test_nobody_pays_for_parking_where_one_walks_to(open_data_regions, open_data_name):
    region = open_data_regions(open_data_name)
    ground = region.places[region.places["kind"] == "playground"].iloc[0]
    site = pd.Series({"name": "Pitch", "lat": ground["lat"], "lon": ground["lon"]}, name="pitch")
    stay = dt.date(2027, 7, 24), dt.date(2027, 7, 28)
    table = stay_criteria(make_inputs(), region, site, *stay, attractions=empty_attractions())
    walked = table["by"] == "foot"
    assert walked.any()
    assert (table.loc[walked, "parking_cost"] == 0).all()
    assert table.loc[~walked, "parking_cost"].isna().all()  # the map prices no parking
