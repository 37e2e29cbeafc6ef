from __future__ import annotations

import datetime as dt

import pytest

from planner_kit.tow import find_alternatives
from planner_kit.trip.household import TowWeights

from .conftest import make_outfit, make_region

DAY = dt.date(2027, 7, 24)


def approach_and_lake(*lons: float):
    """A road with junctions at `lons`, then two ways of nearly the same length round a lake."""
    approach = [(52.0, lon) for lon in lons]
    lake = [(52.0, 0.0), (52.02, 0.01), (52.02, 0.05), (51.981, 0.01), (51.981, 0.05),
            (52.0, 0.06), (52.0, 0.07)]  # fmt: skip
    first = len(approach)
    edges = [(at, at + 1, {}) for at in range(first)]
    edges += [
        (first + a, first + b, {})
        for a, b in [(0, 1), (1, 2), (2, 5), (0, 3), (3, 4), (4, 5), (5, 6)]
    ]
    return make_region([*approach, *lake], edges)


def others(region, start_lon: float):
    choices = find_alternatives(
        region, make_outfit(), (52.0, start_lon), (52.0, 0.069), weights=TowWeights(), on=DAY
    )
    return choices[0].route, choices[1:]


@pytest.mark.parametrize("lons", [(-0.05,), (-0.05, -0.03)], ids=["first turn", "second turn"])
def test_road_to_the_parting_of_two_ways_is_shared_by_both(lons):
    best, found = others(approach_and_lake(*lons), lons[0] + 0.001)
    (other,) = found
    common = set(best.road_id.tolist()) & set(other.route.road_id.tolist())
    assert len(common) == len(lons) + 1
    steps = best.steps
    cost = steps["time_s"] + steps["stress_s"]
    on_common = steps["road_id"].isin(common)
    # A step counts the turn before it, which is not shared where the ways meet again.
    assert other.shared_frac == pytest.approx(cost[on_common].sum() / cost.sum(), abs=0.05)


def test_way_that_parts_only_at_the_end_of_a_long_first_road_is_no_alternative():
    _, near = others(approach_and_lake(-0.05), -0.04)
    _, far = others(approach_and_lake(-0.75), -0.74)
    assert len(near) == 1
    assert far == ()
