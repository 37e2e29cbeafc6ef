from __future__ import annotations

import numpy as np
import pytest

from planner_kit.region import build_region, nearest_road
from planner_kit.region.access import read_access

LINE = {i: (10.5 + i / 1000, 50.5) for i in range(1, 12)}


@pytest.fixture
def road(make_extract, tmp_path):
    """The one road that a way with the tags given becomes."""

    def build(tags: dict[str, str]):
        extract = make_extract(LINE, {1: ([1, 2, 3], tags)})
        return build_region(extract, [], tmp_path / "r", progress=False).roads.iloc[0]

    return build


@pytest.mark.parametrize(
    ("tags", "motor", "forward", "backward"),
    [
        ({"highway": "residential"}, "yes", True, True),
        ({"highway": "residential", "oneway": "yes"}, "yes", True, False),
        ({"highway": "residential", "oneway": "-1"}, "yes", False, True),
        ({"highway": "motorway"}, "yes", True, False),
        ({"highway": "motorway", "oneway": "no"}, "yes", True, True),
        ({"highway": "tertiary", "junction": "roundabout"}, "yes", True, False),
        ({"highway": "residential", "oneway": "yes", "oneway:motorcar": "no"}, "yes", True, True),
        ({"highway": "service", "access": "private"}, "private", False, False),
        ({"highway": "service", "access": "no", "motorcar": "yes"}, "yes", True, True),
        ({"highway": "service", "vehicle": "no", "access": "yes"}, "no", False, False),
        ({"highway": "service", "access": "customers"}, "destination", True, True),
        ({"highway": "footway"}, "no", False, False),
        ({"highway": "footway", "motor_vehicle": "yes"}, "yes", True, True),
        ({"highway": "track"}, "unknown", True, True),
        ({"highway": "track", "motor_vehicle": "agricultural;forestry"}, "no", False, False),
        ({"route": "ferry"}, "unknown", False, False),
        ({"route": "ferry", "motor_vehicle": "yes"}, "yes", True, True),
        ({"highway": "service", "access": "gibberish"}, "unknown", True, True),
    ],
)
def test_car_access_follows_the_hierarchy(road, tags, motor, forward, backward) -> None:
    row = road(tags)
    assert (row["motor_access"], row["car_forward"], row["car_backward"]) == (
        motor,
        forward,
        backward,
    )


@pytest.mark.parametrize(
    ("tags", "forward", "backward", "foot"),
    [
        ({"highway": "residential", "oneway": "yes"}, True, False, True),
        ({"highway": "residential", "oneway": "yes", "oneway:bicycle": "no"}, True, True, True),
        ({"highway": "residential", "oneway": "yes", "cycleway": "opposite"}, True, True, True),
        ({"highway": "motorway"}, False, False, False),
        ({"highway": "trunk", "motorroad": "yes"}, False, False, False),
        ({"highway": "footway"}, False, False, True),
        ({"highway": "footway", "bicycle": "yes"}, True, True, True),
        ({"highway": "cycleway"}, True, True, True),
        ({"highway": "path", "bicycle": "dismount"}, False, False, True),
    ],
)
def test_bicycle_and_foot_access(road, tags, forward, backward, foot) -> None:
    row = road(tags)
    assert (row["bike_forward"], row["bike_backward"], row["foot"]) == (forward, backward, foot)


def test_reversible_lane_is_told_as_unread(road) -> None:
    assert road({"highway": "primary", "oneway": "reversible"})["unread_limits"] == (
        "oneway=reversible"
    )


def test_conditional_limit_is_kept_as_text_and_not_applied(road) -> None:
    row = road({"highway": "primary", "maxweight:conditional": "3.5 @ (22:00-06:00)"})
    assert np.isnan(row["maxweight_t"])
    assert row["unread_limits"] == "maxweight:conditional=3.5 @ (22:00-06:00)"


def test_lowest_of_several_limits_holds(road) -> None:
    tags = {"highway": "primary", "maxheight": "4.2", "maxheight:physical": "3.9 m"}
    assert road(tags)["maxheight_m"] == pytest.approx(3.9)


def test_speed_by_direction(road) -> None:
    row = road({"highway": "primary", "maxspeed": "80", "maxspeed:backward": "50"})
    assert (row["maxspeed_forward_kmh"], row["maxspeed_backward_kmh"]) == (80, 50)


def test_speed_that_names_a_rule_is_kept_as_text(road) -> None:
    row = road({"highway": "primary", "maxspeed": "GB:nsl_single"})
    assert np.isnan(row["maxspeed_forward_kmh"])
    assert row["unread_limits"] == "maxspeed=GB:nsl_single"


def test_trailer_ban(road) -> None:
    assert road({"highway": "tertiary", "trailer": "no"})["trailer_access"] == "no"
    assert road({"highway": "tertiary", "caravan": "no"})["trailer_access"] == "no"
    assert road({"highway": "tertiary"})["trailer_access"] == "unknown"


def test_ferry_has_its_time_name_and_no_width(road) -> None:
    row = road({"route": "ferry", "name": "Sound Ferry", "duration": "00:25", "motorcar": "yes"})
    assert (row["road_class"], row["ferry_min"], row["toll_name"]) == ("ferry", 25, "Sound Ferry")
    assert np.isnan(row["width_m"])


def test_access_list_takes_the_most_open_value() -> None:
    assert read_access("private;destination") == ("destination", False)
    assert read_access("ask at the farm") == ("unknown", True)


# Restrictions: a T of ways 1 (nodes 1-3), 2 (3-5) and 3 (3, 6, 7); 4 leaves node 7.
T = {
    1: ([1, 2, 3], {"highway": "primary"}),
    2: ([3, 4, 5], {"highway": "primary"}),
    3: ([3, 6, 7], {"highway": "secondary"}),
    4: ([7, 8, 9], {"highway": "secondary"}),
}


def _turns(make_extract, tmp_path, members, tags):
    extract = make_extract(LINE, T, {50: (members, {"type": "restriction"} | tags)})
    region = build_region(extract, [], tmp_path / "t", progress=False)
    way = region.roads["osm_way_id"].to_numpy()
    rows = [
        (way[r.from_road], list(way[list(r.via_roads)]), way[r.to_road], r.kind)
        for r in region.restrictions.itertuples()
    ]
    return region, rows


NODE_TURN = [("w", 1, "from"), ("n", 3, "via"), ("w", 3, "to")]


def test_restriction_at_a_node(make_extract, tmp_path) -> None:
    region, rows = _turns(make_extract, tmp_path, NODE_TURN, {"restriction": "no_left_turn"})
    assert rows == [(1, [], 3, "no")]
    via = region.restrictions["via_node"].iloc[0]
    assert region.nodes["osm_node_id"].iloc[via] == 3


def test_restriction_through_a_way(make_extract, tmp_path) -> None:
    members = [("w", 1, "from"), ("w", 3, "via"), ("w", 4, "to")]
    region, rows = _turns(make_extract, tmp_path, members, {"restriction": "only_straight_on"})
    assert rows == [(1, [3], 4, "only")]
    assert region.restrictions["via_node"].iloc[0] == -1


@pytest.mark.parametrize(
    ("tags", "count"),
    [
        ({"restriction": "no_left_turn", "except": "bicycle;psv"}, 1),
        ({"restriction": "no_left_turn", "except": "motorcar"}, 0),
        ({"restriction:caravan": "no_left_turn"}, 1),
        ({"restriction:trailer": "no_left_turn"}, 1),
        ({"restriction:hgv": "no_left_turn"}, 0),
        ({"restriction:conditional": "no_left_turn @ (07:00-09:00)"}, 0),
        ({"restriction": "mind_the_step"}, 0),
    ],
)
def test_restriction_holds_for_a_car_with_caravan(make_extract, tmp_path, tags, count) -> None:
    region, rows = _turns(make_extract, tmp_path, NODE_TURN, tags)
    assert len(rows) == count
    if "mind_the_step" in tags.values() or "restriction:conditional" in tags:
        assert sum(region.manifest["unread"].values()) == 1


def test_ban_on_turning_round_joins_a_road_to_itself(make_extract, tmp_path) -> None:
    members = [("w", 1, "from"), ("n", 3, "via"), ("w", 1, "to")]
    region, _ = _turns(make_extract, tmp_path, members, {"restriction": "no_u_turn"})
    row = region.restrictions.iloc[0]
    assert row["from_road"] == row["to_road"]


def test_restriction_that_fits_no_road_is_counted(make_extract, tmp_path) -> None:
    members = [("w", 1, "from"), ("n", 9, "via"), ("w", 3, "to")]
    region, rows = _turns(make_extract, tmp_path, members, {"restriction": "no_left_turn"})
    assert rows == []
    assert region.manifest["unread"] == {"restriction (not placed)": 1}


def test_nearest_road_is_found_for_the_mode(make_extract, tmp_path) -> None:
    nodes = {1: (10.5, 50.5), 2: (10.51, 50.5), 3: (10.5, 50.501), 4: (10.51, 50.501)}
    ways = {1: ([1, 2], {"highway": "primary"}), 2: ([3, 4], {"highway": "footway"})}
    extract = make_extract(nodes, ways)
    region = build_region(extract, [], tmp_path / "r", progress=False)
    drive = nearest_road(region, 50.501, 10.5025, "car")
    walk = nearest_road(region, 50.501, 10.5025, "foot")
    assert region.roads["osm_way_id"].iloc[drive.road_id] == 1
    assert region.roads["osm_way_id"].iloc[walk.road_id] == 2
    assert drive.fraction_frac == pytest.approx(0.25, abs=1e-3)
    assert drive.distance_m == pytest.approx(111.2, abs=0.5)
    assert (drive.lat, drive.lon) == pytest.approx((50.5, 10.5025), abs=1e-5)
    assert walk.distance_m < 1
    with pytest.raises(ValueError, match="use one of"):
        nearest_road(region, 50.5, 10.5, "boat")


def test_signposts_hold_for_their_direction(road) -> None:
    row = road(
        {
            "highway": "primary",
            "destination:forward": "Oldmill;Quay",
            "destination:ref:forward": "A30",
            "destination:backward": "Ness",
        }
    )
    assert (row["signs_forward"], row["signs_backward"]) == ("A30; Oldmill; Quay", "Ness")


@pytest.mark.parametrize(
    ("oneway", "signs"), [("yes", ("Ness", "")), ("-1", ("", "Ness")), ("no", ("", ""))]
)
def test_signposts_without_a_direction_hold_on_one_way_roads_only(road, oneway, signs) -> None:
    row = road({"highway": "primary", "oneway": oneway, "destination": "Ness"})
    assert (row["signs_forward"], row["signs_backward"]) == signs
