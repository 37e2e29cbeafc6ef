from __future__ import annotations

import datetime as dt

import numpy as np
import pandas as pd
import pytest

from planner_kit.states import Check, State
from planner_kit.tow import compare_routes, find_alternatives, route_corners
from planner_kit.tow.comparing import worst_places
from planner_kit.trip.household import Household, TowWeights
from planner_kit.trip.learnt import Estimate, Learnt

from .conftest import make_outfit, make_region

DAY = dt.date(2027, 7, 24)
HOUSEHOLD = Household.model_validate(
    {
        "schema": 1,
        "name": "F",
        "home": {"lat": 52.0, "lon": 0.0},
        "people": [{"name": "A"}],
        "car": {"name": "C", "fuel": "diesel"},
        "caravan": {"name": "V"},
    }
)
TOLLS = pd.DataFrame(
    columns=["toll_name", "vehicle", "max_length_m", "price", "currency", "source", "as_of"]
)
PRICES = pd.DataFrame(
    columns=["item", "low", "likely", "high", "currency", "unit", "source", "as_of"]
)
# Two ways of nearly the same length round a lake, with a common road at either end.
POINTS = [(52.0, -0.01), (52.0, 0.0), (52.02, 0.01), (52.02, 0.05), (51.981, 0.01),
          (51.981, 0.05), (52.0, 0.06), (52.0, 0.07)]  # fmt: skip


def lake(**south):
    edges = [(0, 1, {}), (1, 2, {}), (2, 3, {}), (3, 6, {}), (1, 4, south), (4, 5, south),
             (5, 6, south), (6, 7, {})]  # fmt: skip
    return make_region(POINTS, edges)


def ways_round(region, **more):
    return find_alternatives(
        region, make_outfit(), (52.0, -0.009), (52.0, 0.069), weights=TowWeights(), on=DAY, **more
    )


def compared(region, choices):
    return compare_routes(
        choices, region, make_outfit(), HOUSEHOLD, prices=PRICES, tolls=TOLLS, on=DAY
    )


def test_main_roads_tell_the_ways_apart_in_driving_order():
    region = lake(ref="B9")
    region.roads.loc[[1, 2, 3], "ref"] = "A7"
    region.roads.loc[[0, 7], "name"] = "Shore Lane"
    choices = ways_round(region)
    ways = compared(region, choices)["by"].tolist()
    assert sorted(ways) == ["Shore Lane, A7", "Shore Lane, B9"]


def test_corners_that_take_the_whole_road_are_counted_unless_left_out():
    region = lake(width_m=5.0)
    choices = ways_round(region)
    table = compared(region, choices)
    for choice, count in zip(choices, table["whole_road"], strict=True):
        found = route_corners(choice.route, region.roads, make_outfit(), keeps_left=True)
        assert count == (found.table["beyond_own_half_m"] > 0).sum()
    assert table["whole_road"].max() > 0
    quick = compare_routes(
        choices, region, make_outfit(), HOUSEHOLD, prices=PRICES, tolls=TOLLS, on=DAY,
        corners=False,
    )  # fmt: skip
    assert quick["whole_road"].isna().all()


def test_corners_are_not_known_without_the_lengths_of_the_outfit():
    region = lake()
    unknown = make_outfit(car_wheelbase_m=None)
    table = compare_routes(
        ways_round(region), region, unknown, HOUSEHOLD, prices=PRICES, tolls=TOLLS, on=DAY
    )
    assert table["whole_road"].isna().all()


def test_hours_are_those_that_earlier_tows_taught():
    region = lake()
    choices = ways_round(region)
    taught = Learnt(trips=1, pace={"primary": Estimate(1.2, 0.1, 1.0, 1, 0.5)})
    table = compare_routes(
        choices, region, make_outfit(), HOUSEHOLD, prices=PRICES, tolls=TOLLS, on=DAY,
        learnt=taught,
    )  # fmt: skip
    assert table["time_min"].iloc[0] == pytest.approx(1.2 * choices[0].route.time_min)


def test_both_ways_round_are_found_and_the_best_comes_first():
    region = lake()
    choices = ways_round(region)
    assert [choice.kind for choice in choices] == ["best", "alternative"]
    assert {tuple(choice.route.road_id.tolist()) for choice in choices} == {
        (0, 1, 2, 3, 7),
        (0, 4, 5, 6, 7),
    }
    costs = [choice.route.time_min + choice.route.stress_min for choice in choices]
    assert costs[1] / costs[0] - 1 == pytest.approx(choices[1].longer_frac, abs=0.01)
    assert 0 < choices[1].shared_frac < 0.2


@pytest.mark.parametrize(
    "south",
    [{"surface": "mud"}, {"maxheight_m": 2.0}, {"maxspeed_forward_kmh": 20.0}],
    ids=["much dearer", "too low", "much slower"],
)
def test_way_that_is_far_worse_is_no_alternative(south):
    assert [choice.kind for choice in ways_round(lake(**south))] == ["best"]


def test_none_is_looked_for_where_none_is_asked_for():
    assert len(ways_round(lake(), most=0)) == 1


def test_point_on_the_way_keeps_the_alternatives_of_the_dearest_stage():
    choices = ways_round(lake(), via=[(52.0, 0.065)])
    assert len(choices) == 2
    for choice in choices:
        assert choice.route.road_id[-1] == 7
        assert choice.route.steps["note"].str.contains("turn round").sum() == 0


def test_table_has_hours_stress_and_what_has_no_price():
    region = lake(width_m=4.0, toll=True, toll_name="Lake Road")
    choices = ways_round(region)
    table = compared(region, choices)
    assert table["label"].tolist() == [str(n) for n in range(1, len(choices) + 1)]
    for choice, row in zip(choices, table.to_dict("records"), strict=True):
        assert row["time_min"] == choice.route.time_min
        assert row["stress_min"] == choice.route.stress_min
        assert np.isnan(row["money_likely"])
        assert "fuel" in row["money_unknown"]
        south = 4 in choice.route.road_id
        assert ("Lake Road" in row["money_unknown"]) == south
        assert (row["narrow_km"] > 3) == south


def check(state, margin, limit=10.0):
    return Check(
        subject="s", state=state, sentence=f"{state.value} {margin}", margin=margin, limit=limit
    )


def test_worst_places_come_by_state_and_then_by_room():
    near, far = check(State.LOOK, 0.1), check(State.LOOK, 5.0)
    shut, dark = check(State.NOT_FINE, 9.0), check(State.UNKNOWN, 9.0)
    fine = check(State.FINE, 0.0)
    assert worst_places([far, fine, near, dark, shut], 3) == (shut, dark, near)
    assert worst_places([fine]) == ()
