from __future__ import annotations

import datetime as dt
from pathlib import Path

import gpxpy
import pandas as pd
import pytest

from planner_kit.errors import NoRouteError
from planner_kit.states import State
from planner_kit.tow import plan_tow, road_suitability, route_card, tow_gpx, write_tow_gpx
from planner_kit.tow.charges import crossings, toll_lines
from planner_kit.trip.household import Car, Caravan, Home, Household, Person, TowWeights, Units
from planner_kit.trip.prices import PRICE_COLUMNS, TOLL_COLUMNS
from planner_kit.trip.reading import TripInputs
from planner_kit.trip.trip import Files, Stay, TowPlan, Trip

from .conftest import make_outfit, make_region

POINTS = [(52.0, 0.2 * n) for n in range(6)]
TOLLS = pd.DataFrame(
    [
        ["Long Bridge", "car", None, 2.0, "GBP", pd.NaT, "list"],
        ["Long Bridge", "car_and_caravan", 10.0, 5.0, "GBP", pd.NaT, "list"],
        ["Long Bridge", "car_and_caravan", 14.0, 8.0, "GBP", pd.NaT, "list"],
    ],
    columns=[column.name for column in TOLL_COLUMNS],
)
PRICES = pd.DataFrame(
    [["diesel_l", 1.5, 1.4, 1.6, "GBP", pd.NaT, "list"]],
    columns=[column.name for column in PRICE_COLUMNS],
)
SITES = pd.DataFrame(
    {
        "name": ["First", "Second"], "lat": [52.0, 52.0], "lon": [0.5, 0.9],
        "arrive_from": ["13:00", ""], "arrive_until": ["20:00", ""],
        "depart_by": ["11:00", "09:00"],
    },
    index=["s1", "s2"],
)  # fmt: skip


def region_with(**changes):
    bridge = {"toll": True, "toll_name": "Long Bridge", **changes}
    edges = [(n, n + 1, bridge if n == 1 else {"ref": f"A{n}"}) for n in range(5)]
    return make_region(POINTS, edges)


def inputs(*stays, **tow):
    trip = Trip(
        schema=1, id="t", name="t", start=dt.date(2027, 7, 24), files=Files(region="r"),
        stays=tuple(Stay(site=site, nights=2) for site in stays), tow=TowPlan(**tow),
    )  # fmt: skip
    household = Household(
        schema=1, name="h", home=Home(lat=52.0, lon=0.1), people=(Person(name="A"),),
        car=Car(name="c", fuel="diesel", tank_l=60, towing_l_per_100km=11.0),
        caravan=Caravan(name="v"),
    )  # fmt: skip
    return TripInputs(trip, household, Path("trip.toml"), Path("household.toml"))


def plan(*stays, region=None, outfit=None, **tow):
    return plan_tow(
        inputs(*stays, **tow), region or region_with(), outfit or make_outfit(), SITES,
        tolls=TOLLS, prices=PRICES,
    )  # fmt: skip


def by_subject(leg, start):
    return next(check for check in leg.checks if check.subject.startswith(start))


def test_legs_run_out_on_and_home_on_the_days_of_the_stays():
    report = plan("s1", "s2")
    assert [leg.kind for leg in report.legs] == ["out", "move", "home"]
    assert [leg.day.day for leg in report.legs] == [24, 26, 28]
    assert [(leg.from_name, leg.to_name) for leg in report.legs] == [
        ("home", "First"), ("First", "Second"), ("Second", "home"),
    ]  # fmt: skip
    for leg in report.legs:
        assert leg.depart.utcoffset() == dt.timedelta(hours=1)
        taken = (leg.arrive - leg.depart).total_seconds() / 60
        assert taken == pytest.approx(leg.route.time_min + leg.rests["minutes"].sum(), abs=1)
    assert report.cautions


def test_early_arrival_gives_the_hour_to_leave_and_that_hour_is_right():
    leg = plan("s1").legs[0]
    check = by_subject(leg, "arrival")
    assert check.state is State.LOOK
    hour = check.sentence.split("leave at ")[1][:5]
    later = plan("s1", depart=dt.time.fromisoformat(hour)).legs[0]
    assert by_subject(later, "arrival").state is State.FINE


def test_late_arrival_is_not_fine_and_unknown_hours_are_unknown():
    late = plan("s1", depart=dt.time(20, 30)).legs[0]
    assert by_subject(late, "arrival").state is State.NOT_FINE
    moved = plan("s1", "s2").legs[1]
    assert by_subject(moved, "arrival").state is State.UNKNOWN


def test_leaving_after_the_pitch_must_be_free_is_not_fine():
    home = plan("s2").legs[1]
    assert by_subject(home, "departure").state is State.NOT_FINE


def test_toll_is_priced_by_length_and_fuel_by_the_price_list():
    leg = plan("s1").legs[0]
    fuel, toll = leg.cost_lines
    assert (toll.kind, toll.likely) == ("toll", 8.0)
    assert fuel.likely == pytest.approx(leg.fuel.likely * 1.5, abs=0.01)
    assert fuel.low < fuel.likely < fuel.high


def test_toll_of_unknown_price_or_length_is_said():
    region = region_with()
    steps = plan("s1", region=region).legs[0].route.steps
    met = crossings(steps, region.roads)
    options = {"vehicle": "car_and_caravan", "currency": "GBP", "on": dt.date(2027, 7, 24)}
    long = toll_lines(met, TOLLS, length_m=15.0, **options)[0]
    assert (long.state, long.likely) == ("unknown", None)
    unsure = toll_lines(met, TOLLS, length_m=None, **options)[0]
    assert (unsure.low, unsure.high) == (5.0, 8.0)
    assert "length is not known" in unsure.source


def test_toll_met_on_two_stretches_in_a_row_is_paid_once():
    bridge = {"toll": True, "toll_name": "Long Bridge"}
    edges = [(n, n + 1, bridge if n in (1, 2) else {}) for n in range(5)]
    region = make_region(POINTS, edges)
    steps = plan("s2", region=region).legs[0].route.steps
    assert len(crossings(steps, region.roads)) == 1


def test_no_way_names_the_leg():
    with pytest.raises(NoRouteError, match=r"home to First: no way is open .*maxheight"):
        plan("s1", region=region_with(maxheight_m=2.0))


def test_no_way_for_lack_of_a_figure_says_where_to_write_it():
    unknown = make_outfit(height_m=None)
    remedy = "height is not known; write what is missing of car and caravan into the household file"
    with pytest.raises(NoRouteError, match=remedy):
        plan("s1", region=region_with(maxheight_m=5.0), outfit=unknown)
    with pytest.raises(NoRouteError) as caught:
        plan("s1", region=region_with(maxheight_m=2.0))
    assert "write what is missing" not in str(caught.value)
    assert "; choose another place, or look at the outfit's figures again" in str(caught.value)


def test_missing_time_zone_is_said():
    region = region_with()
    region.time_zone = None
    assert any("time zone" in text for text in plan("s1", region=region).legs[0].unknowns)


def test_card_is_in_the_units_of_the_household_and_ends_with_the_arrival():
    route = plan("s2").legs[0].route
    miles = route_card(route, Units(distance="miles"))
    km = route_card(route, Units(distance="km"))
    assert miles["instruction"].tolist() == km["instruction"].tolist()
    assert miles["at"].iat[-1].endswith("miles")
    assert km["at"].iat[-1].endswith("km")
    assert miles["instruction"].iat[0] == "Set off east on A0"
    assert miles["instruction"].iat[-1] == "Arrive"
    assert km["then_km"].sum() == pytest.approx(route.length_km)


def test_gpx_holds_a_track_a_route_and_waypoints_for_each_leg(tmp_path):
    report = plan("s1", "s2")
    path = write_tow_gpx(report, tmp_path / "tow.gpx")
    read = gpxpy.parse(path.read_text(encoding="utf-8"))
    assert path.read_text(encoding="utf-8") == tow_gpx(report)
    assert len(read.tracks) == len(read.routes) == 3
    for track, leg in zip(read.tracks, report.legs, strict=True):
        assert track.length_2d() / 1000 == pytest.approx(leg.route.length_km, rel=0.01)
    assert {"home", "First", "Second"} <= {point.name for point in read.waypoints}


def test_suitability_gives_every_road_a_state_and_a_reason():
    edges = [
        (0, 1, {}), (1, 2, {"maxheight_m": 2.0}), (2, 3, {"unread_limits": "maxheight=low"}),
        (3, 4, {"width_m": 2.2, "width_source": "class"}), (4, 5, {"surface": "gravel"}),
    ]  # fmt: skip
    frame = road_suitability(
        make_region(POINTS, edges), make_outfit(), TowWeights(rough=600), on=dt.date(2027, 7, 24)
    )
    assert frame["state"].tolist() == ["fine", "not fine", "unknown", "unknown", "look at this"]
    assert (frame["why"].to_numpy()[1:] != "").all()
