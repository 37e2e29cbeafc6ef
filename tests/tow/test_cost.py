from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.tow.cost import CAUSES, DISLIKES, car_costs, towing_costs
from planner_kit.trip.household import TowWeights

from .conftest import make_outfit, make_region

DAY = dt.date(2027, 7, 24)


def one_road(**changes):
    return make_region([(52.0, 0.0), (52.0, 0.05)], [(0, 1, changes)]).roads


def cost_of(outfit=None, weights=None, **changes):
    roads = one_road(**changes)
    return towing_costs(roads, outfit or make_outfit(), weights or TowWeights(), on=DAY)


@pytest.mark.parametrize(
    ("changes", "cause"),
    [
        ({}, "law"),
        ({"maxspeed_forward_kmh": 32.0, "maxspeed_backward_kmh": 32.0}, "sign"),
        ({"maxspeed_trailer_kmh": 40.0}, "sign"),
        ({"surface": "gravel"}, "surface"),
        ({"smoothness": "very_bad"}, "surface"),
        ({"width_m": 3.0}, "width"),
        ({"road_class": "ferry", "ferry_min": 25.0}, "ferry"),
    ],
)
def test_lowest_speed_decides_and_is_named(changes, cause):
    costs = cost_of(**changes)
    assert CAUSES[costs.limited_by[0, 0]] == cause


def test_short_tight_bend_limits_and_a_long_road_with_one_bend_hardly():
    short = make_region([(52.0, 0.0), (52.0, 0.001)], [(0, 1, {"bend_radius_m": 15.0})]).roads
    bent = towing_costs(short, make_outfit(), TowWeights(), on=DAY)
    assert CAUSES[bent.limited_by[0, 0]] == "bends"
    # 1.5 m/s2 on a radius of 15 m is the square root of 22.5, 4.74 m/s or 17.1 km/h.
    assert bent.speed_kmh[0, 0] == pytest.approx(17.1, abs=0.1)
    assert cost_of(bend_radius_m=15.0).speed_kmh[0, 0] > 60


def test_steep_climb_is_slow_up_and_a_steep_descent_slow_down():
    costs = cost_of(
        outfit=make_outfit(power_kw=60.0),
        gradient_pct=14.0, steepest_up_pct=14.0, steepest_down_pct=0.0,
    )  # fmt: skip
    flat = cost_of(outfit=make_outfit(power_kw=60.0))
    assert CAUSES[costs.limited_by[0, 0]] == CAUSES[costs.limited_by[0, 1]] == "climb"
    assert (costs.time_s > flat.time_s).all()


def test_ferry_takes_the_time_that_is_mapped():
    assert cost_of(road_class="ferry", ferry_min=25.0).time_s[0, 0] == pytest.approx(1500)


def test_unknown_law_and_sign_are_told():
    costs = cost_of(country="unknown")
    assert costs.speed_assumed.all()
    assert not cost_of(country="unknown", maxspeed_forward_kmh=50.0,
                       maxspeed_backward_kmh=50.0).speed_assumed.any()  # fmt: skip


def test_parts_of_the_stress_add_up_and_vanish_without_weights():
    changes = {"width_m": 3.2, "surface": "gravel", "built_up": True, "steepest_up_pct": 13.0}
    costs = cost_of(**changes)
    assert set(costs.parts_s) == set(DISLIKES)
    assert sum(costs.parts_s.values()) == pytest.approx(costs.road_stress_s)
    none = TowWeights(**dict.fromkeys([*DISLIKES, "money_per_hour"], 0))
    assert cost_of(weights=none, **changes).stress_s.max() == 0


def test_passing_places_ease_a_narrow_road():
    weights = TowWeights()
    bare = cost_of(weights=weights, width_m=3.2).parts_s["narrow"][0]
    eased = cost_of(weights=weights, width_m=3.2, passing_places=20).parts_s["narrow"][0]
    assert 0 < eased < bare


def test_a_caravan_never_makes_a_road_quicker():
    for changes in ({}, {"built_up": True}, {"road_class": "motorway", "dual": True}):
        roads = one_road(**changes)
        alone = car_costs(roads, on=DAY)
        towed = towing_costs(roads, make_outfit(), TowWeights(), on=DAY)
        assert (towed.time_s >= alone.time_s - 1e-9).all()


missing = st.one_of(st.just(np.nan), st.floats(0.5, 30))


@given(
    changes=st.fixed_dictionaries(
        {
            "road_class": st.sampled_from(["motorway", "primary", "residential", "track", "ferry"]),
            "width_m": missing,
            "gradient_pct": st.one_of(st.just(np.nan), st.floats(-40, 40)),
            "steepest_up_pct": st.one_of(st.just(np.nan), st.floats(0, 50)),
            "steepest_down_pct": st.one_of(st.just(np.nan), st.floats(0, 50)),
            "bend_radius_m": st.one_of(st.just(np.inf), st.floats(0.1, 500)),
            "maxspeed_forward_kmh": st.one_of(st.just(np.nan), st.just(np.inf), st.floats(3, 130)),
            "surface": st.sampled_from(["asphalt", "mud", "never heard of", "unknown"]),
            "country": st.sampled_from(["GB", "unknown"]),
            "oneway": st.sampled_from([0, 1]),
            "ferry_min": missing,
        }
    ),
    power=st.one_of(st.none(), st.floats(11, 400)),
)
@settings(max_examples=50, deadline=None)
def test_costs_are_finite_and_never_negative(changes, power):
    costs = cost_of(outfit=make_outfit(power_kw=power), **changes)
    for values in (costs.time_s, costs.stress_s, costs.speed_kmh):
        assert np.isfinite(values).all()
        assert (values >= 0).all()
    sign = changes["maxspeed_forward_kmh"]
    if np.isfinite(sign) and changes["road_class"] != "ferry":
        assert costs.speed_kmh[0, 0] <= max(sign, 1.0) + 1e-6


def test_gradient_that_may_be_noise_counts_half_and_one_from_a_tag_in_full():
    hill = {"gradient_pct": 12.0, "steepest_up_pct": 12.0, "length_m": 1000.0}

    def steep(**changes):
        return cost_of(**{**hill, **changes}).disliked_km["steep"][0]

    sure = steep(gradient_error_pct=3.0, gradient_source="tag")
    assert sure == pytest.approx(1.0)
    # Twice the error of 1.5 points is taken off half way: 10.5 % is 0.75 of the way from 6 to 12.
    unsure = steep(gradient_error_pct=1.5, gradient_source="terrain")
    assert unsure == pytest.approx(0.75**4)
    assert steep(gradient_error_pct=6.0, gradient_source="terrain") == 0


def test_new_weights_leave_time_and_what_is_disliked_alone():
    costs = cost_of(surface="gravel")
    other = costs.weighted(TowWeights(rough=600))
    assert other.time_s is costs.time_s
    assert other.road_stress_s[0] > costs.road_stress_s[0]
    assert np.array_equal(other.disliked_km["rough"], costs.disliked_km["rough"])


def test_costs_of_many_roads_are_those_of_each_alone():
    kinds = [{}, {"width_m": 3.0}, {"gradient_pct": 9.0}, {"surface": "gravel"}, {"oneway": 1}]
    count = 40_000
    one = [cost_of(**kind) for kind in kinds]
    many = make_region([(52.0, 0.0), (52.0, 0.05)], [(0, 1, kind) for kind in kinds]).roads
    many = many.iloc[np.arange(count) % len(kinds)].reset_index(drop=True)
    costs = towing_costs(many, make_outfit(), TowWeights(), on=DAY)
    for number, alone in enumerate(one):
        rows = np.arange(number, count, len(kinds))
        assert (costs.time_s[rows] == alone.time_s[0]).all()
        assert (costs.road_stress_s[rows] == alone.road_stress_s[0]).all()
        assert (costs.total_s().reshape(-1, 2)[rows] == alone.total_s()).all()
