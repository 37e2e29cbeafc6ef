"""Routes on random graphs against a plain search that remembers every turn."""

from __future__ import annotations

import datetime as dt
import heapq

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.errors import NoRouteError
from planner_kit.tow.costing import road_system
from planner_kit.tow.find import car_route, find_route
from planner_kit.tow.one_to_many import drive_times
from planner_kit.trip.household import TowWeights

from .conftest import make_outfit, make_region

DAY = dt.date(2027, 7, 24)
WEIGHTS = TowWeights()
OUTFIT = make_outfit()


POINTS = [(52.0 + 0.004 * (n // 3), 0.006 * (n % 3)) for n in range(9)]
PAIRS = [(n, n + 1) for n in range(9) if n % 3 < 2] + [(n, n + 3) for n in range(6)]
KINDS = [{}, {}, {}, {}, {"oneway": 1}, {"maxheight_m": 2.5}, {"maxwidth_m": 2.0}]


def with_bans_on_its_way(data, edges, begin, end):
    """A region whose best routes have been banned in part, up to three times over."""
    bans = []
    region = make_region(POINTS, edges)
    for _ in range(data.draw(st.integers(0, 3))):
        route = try_route(region, begin, end)
        if route is None or len(route.road_id) < 2:
            break
        roads = route.road_id.tolist()
        size = data.draw(st.integers(2, min(4, len(roads))))
        first = data.draw(st.integers(0, len(roads) - size))
        chain = roads[first : first + size]
        via = chain[1:-1]
        ends = road_system(region).network.ends
        node = -1 if via else int(ends[2 * chain[0] + (not route.forward[first])])
        kind, to = data.draw(st.sampled_from(["no", "no", "only"])), chain[-1]
        if kind == "only":
            last = int(ends[2 * chain[-2] + (not route.forward[first + size - 2])])
            others = [
                r for r, e in enumerate(edges) if last in e[:2] and r not in (chain[-1], chain[-2])
            ]
            if not others:
                continue
            to = data.draw(st.sampled_from(others))
        bans.append(
            {
                "from_road": chain[0], "via_node": node, "via_roads": via, "to_road": to,
                "kind": kind, "osm_relation_id": 1,
            }
        )  # fmt: skip
        region = make_region(POINTS, edges, bans=bans)
    return region


def middle(region, road):
    point = region.roads.geometry.iloc[road].interpolate(0.5, normalized=True)
    return point.y, point.x


def try_route(region, begin, end):
    try:
        return find_route(
            region, OUTFIT, middle(region, begin), middle(region, end), weights=WEIGHTS, on=DAY
        )
    except NoRouteError:
        return None


def banned_paths(region):
    """Bans as (roads in order, last road, only) read straight from the table."""
    return [
        ((int(r.from_road), *r.via_roads), int(r.to_road), r.kind == "only", int(r.via_node))
        for r in region.restrictions.itertuples()
    ]


def breaks_ban(region, directed, ends):
    """Whether a sequence of directed roads breaks a ban at its last turn."""
    starts = ends.reshape(-1, 2)[:, ::-1].ravel()
    roads = [d // 2 for d in directed]
    for chain, to, only, node in banned_paths(region):
        size = len(chain)
        if len(roads) <= size or tuple(roads[-size - 1 : -1]) != chain:
            continue
        if node >= 0 and ends[directed[-2]] != node:
            continue
        if not only and roads[-1] == to:
            return True
        if only and roads[-1] != to:
            row = region.roads.iloc[to]
            forward = starts[2 * to] == ends[directed[-2]] and row["car_forward"]
            backward = starts[2 * to + 1] == ends[directed[-2]] and row["car_backward"]
            if forward or backward:
                return True
    return False


def brute_force_s(region, costing, begin, end):
    """The least cost between the middles of two roads, remembering the last four roads driven."""
    system = road_system(region)
    network, cost = system.network, costing.road_cost_s
    ends, starts = network.ends, network.starts
    shut = costing.limits.roads_shut
    turn = {}
    for arc in range(len(network.tail)):
        key = (
            int(network.directed_of[network.tail[arc]]),
            int(network.directed_of[network.head[arc]]),
        )
        turn[key] = float(costing.turns.time_s[arc] + costing.turns.stress_s[arc])
    drivable = [
        d
        for d in range(2 * len(region.roads))
        if region.roads["car_backward" if d % 2 else "car_forward"].iat[d // 2]
    ]
    queue = [(cost[d] / 2, (d,)) for d in drivable if d // 2 == begin and not shut[begin]]
    heapq.heapify(queue)
    seen = {}
    best = np.inf
    while queue:
        at, path = heapq.heappop(queue)
        if at >= best:
            break
        state = path[-5:]
        if state in seen:
            continue
        seen[state] = at
        for d in drivable:
            if starts[d] != ends[path[-1]] or d == (path[-1] ^ 1) or shut[d // 2]:
                continue
            longer = (*path[-5:], d)
            if breaks_ban(region, longer, ends):
                continue
            on = at + turn[(path[-1], d)]
            if d // 2 == end:
                best = min(best, on + cost[d] / 2)
            heapq.heappush(queue, (on + cost[d], longer))
    return best


@given(
    kinds=st.lists(st.sampled_from(KINDS), min_size=12, max_size=12),
    ends=st.tuples(st.integers(0, 11), st.integers(0, 11)).filter(lambda pair: pair[0] != pair[1]),
    data=st.data(),
)
@settings(max_examples=40, deadline=None)
def test_route_is_as_cheap_as_a_plain_search_and_breaks_no_limit_or_ban(kinds, ends, data):
    edges = [(a, b, kind) for (a, b), kind in zip(PAIRS, kinds, strict=True)]
    begin, end = ends
    region = with_bans_on_its_way(data, edges, begin, end)
    system = road_system(region)
    costing = system.towing(OUTFIT, WEIGHTS, on=DAY)
    best = brute_force_s(region, costing, begin, end)
    route = try_route(region, begin, end)
    if route is None:
        assert best == np.inf
        return
    assert not costing.limits.roads_shut[route.road_id].any()
    directed = (2 * route.road_id + ~route.forward).tolist()
    for size in range(2, len(directed) + 1):
        assert not breaks_ban(region, directed[:size], system.network.ends)
    total = (route.time_min + route.stress_min) * 60
    assert total == pytest.approx(best, abs=0.2)


def test_ban_over_a_road_in_between_holds_only_for_those_who_came_that_way(make_region):
    # Roads: 0 west arm, 1 middle, 2 north-east arm, 3 south-west arm, 4 and 5 the way round.
    points = [
        (52.0, 0.0), (52.0, 0.01), (52.0, 0.02), (52.01, 0.02), (51.99, 0.01), (52.0, 0.03),
    ]  # fmt: skip
    edges = [(0, 1, {}), (1, 2, {}), (2, 3, {}), (4, 1, {}), (2, 5, {}), (5, 3, {})]
    ban = {
        "from_road": 0, "via_node": -1, "via_roads": [1], "to_road": 2, "kind": "no",
        "osm_relation_id": 9,
    }  # fmt: skip
    region = make_region(points, edges, bans=[ban])
    goal = (52.005, 0.02)
    barred = car_route(region, (52.0, 0.005), goal, on=DAY)
    free = car_route(region, (51.995, 0.01), goal, on=DAY)
    assert barred.road_id.tolist() == [0, 1, 4, 5, 2]
    assert free.road_id.tolist() == [3, 1, 2]


def test_only_restriction_leaves_one_way_out(make_region):
    points = [(52.0, 0.0), (52.0, 0.01), (52.0, 0.02), (52.01, 0.01), (52.01, 0.02)]
    edges = [(0, 1, {}), (1, 2, {}), (1, 3, {}), (3, 4, {}), (4, 2, {})]
    ban = {
        "from_road": 0, "via_node": 1, "via_roads": [], "to_road": 2, "kind": "only",
        "osm_relation_id": 9,
    }  # fmt: skip
    region = make_region(points, edges, bans=[ban])
    route = car_route(region, (52.0, 0.005), (52.0, 0.015), on=DAY)
    assert route.road_id.tolist() == [0, 2, 3, 4, 1]


def test_outfit_does_not_turn_round_at_a_dead_end_but_a_car_may(make_region):
    points = [(52.0, 0.0), (52.0, 0.01)]
    region = make_region(points, [(0, 1, {"oneway": 0})])
    there = car_route(region, (52.0, 0.004), (52.0, 0.008), on=DAY)
    assert there.road_id.tolist() == [0]
    assert there.length_km == pytest.approx(0.2745, abs=0.002)


def test_end_behind_on_a_one_way_street_is_reached_round_the_block(make_region):
    points = [(52.0, 0.0), (52.0, 0.01), (52.01, 0.01), (52.01, 0.0)]
    edges = [(a, (a + 1) % 4, {"oneway": 1}) for a in range(4)]
    region = make_region(points, edges)
    route = car_route(region, (52.0, 0.006), (52.0, 0.004), on=DAY)
    assert route.road_id.tolist() == [0, 1, 2, 3, 0]
    whole = region.roads["length_m"].sum() / 1000
    assert route.length_km == pytest.approx(whole - 0.2 * region.roads["length_m"].iat[0] / 1000)


def test_via_point_is_passed_in_the_direction_of_travel(detour):
    region = detour()
    route = find_route(
        region, make_outfit(), (52.0, -0.005), (52.0, 0.025),
        weights=WEIGHTS, via=[(52.01, 0.005)], on=DAY,
    )  # fmt: skip
    assert route.road_id.tolist() == [4, 2, 3, 5]
    assert route.steps["note"].str.contains("turn round").sum() == 0


def test_steps_add_up_to_the_route(detour):
    route = find_route(
        detour(), make_outfit(), (52.0, -0.005), (52.0, 0.025), weights=WEIGHTS, on=DAY
    )
    assert route.steps["length_m"].sum() / 1000 == pytest.approx(route.length_km)
    assert route.steps["time_s"].sum() / 60 == pytest.approx(route.time_min)
    ends = route.steps["start_km"] + route.steps["length_m"] / 1000
    assert ends.iloc[:-1].to_numpy() == pytest.approx(route.steps["start_km"].iloc[1:].to_numpy())


def test_drive_times_agree_with_routes_and_leave_unreached_places_empty(detour):
    region = detour()
    targets = pd.DataFrame(
        {"lat": [52.0, 52.01, 53.0], "lon": [0.025, 0.015, 0.0]}, index=["a", "b", "far"]
    )
    times = drive_times(region, (52.0, -0.005), targets, on=DAY)
    for name in ("a", "b"):
        route = car_route(region, (52.0, -0.005), (targets.lat[name], targets.lon[name]), on=DAY)
        assert times.loc[name, "minutes"] == pytest.approx(route.time_min, abs=0.001)
        assert times.loc[name, "km"] == pytest.approx(route.length_km, abs=0.01)
    assert times.loc["far"].isna().all()


def test_changed_weights_change_the_way_without_a_new_network(detour):
    region = detour(surface="cobblestone")
    system = road_system(region)
    ends = {"start": (52.0, -0.005), "end": (52.0, 0.025)}
    mild = find_route(region, make_outfit(), **ends, weights=TowWeights(rough=0), on=DAY)
    hard = find_route(region, make_outfit(), **ends, weights=TowWeights(rough=3600), on=DAY)
    again = find_route(region, make_outfit(), **ends, weights=TowWeights(rough=0), on=DAY)
    assert mild.road_id.tolist() == again.road_id.tolist() == [4, 0, 1, 5]
    assert hard.road_id.tolist() == [4, 2, 3, 5]
    assert road_system(region) is system


def test_map_without_a_road_is_one_sentence(make_region, make_outfit) -> None:
    region = make_region([(52.0, 0.0), (52.0, 0.1)], [(0, 1, {})])
    region.roads = region.roads.iloc[:0]
    with pytest.raises(NoRouteError, match="no road that a car may drive"):
        find_route(region, make_outfit(), (52.0, 0.0), (52.0, 0.1), weights=TowWeights())
