"""From tags as people write them to a route: what could not be read is never "no limit"."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

import osmium
import pytest

from planner_kit.errors import NoRouteError
from planner_kit.region import build_region, region_sentences
from planner_kit.tow import find_route, road_suitability
from planner_kit.trip.household import TowWeights

from .conftest import make_outfit

if TYPE_CHECKING:
    from pathlib import Path

DAY = dt.date(2027, 7, 24)
START, END = (52.0, -0.0045), (52.0, 0.0245)
SPOTS = {1: (0.0, 52.0), 2: (0.01, 52.0), 3: (0.02, 52.0), 4: (0.01, 52.02), 5: (-0.01, 52.0),
         6: (0.03, 52.0), 7: (1.0, 52.5), 8: (1.01, 52.5)}  # fmt: skip
WAYS = {10: [5, 1], 11: [1, 2, 3], 12: [1, 4, 3], 13: [3, 6], 14: [7, 8]}
SHORT, LONG = 11, 12


def region_with(tmp_path: Path, tags: dict[str, str], **more: Any) -> Any:
    """A short way with tags and a long way round; a road of its own lies far away."""
    path = tmp_path / "made.osm.pbf"
    with osmium.SimpleWriter(str(path), overwrite=True) as out:
        for ref, place in SPOTS.items():
            out.add_node(osmium.osm.mutable.Node(id=ref, location=place))
        for ref, nodes in WAYS.items():
            said = {"highway": "primary", "lanes": "2", **(tags if ref == SHORT else {})}
            said |= more.get(f"way{ref}", {})
            out.add_way(osmium.osm.mutable.Way(id=ref, nodes=nodes, tags=said))
    return build_region(path, [], tmp_path / "region", country="GB", progress=False)


def ways_driven(region: Any, start=START, end=END, **outfit: Any) -> tuple[set[int], Any]:
    route = find_route(region, make_outfit(**outfit), start, end, weights=TowWeights(), on=DAY)
    ways = region.roads["osm_way_id"].to_numpy()[route.road_id]
    return set(ways.tolist()), route


@pytest.mark.parametrize(
    "tags",
    [
        {"maxheight": "2.5"}, {"maxheight": "8'2\""}, {"maxheight": "8 ft 2 in"},
        {"maxwidth": "2 m"}, {"maxwidth": "6'6\""}, {"width": "2 m"}, {"maxweight": "3 t"},
        {"maxweight": "3000 kg"}, {"maxweight": "3.5 st"}, {"maxlength": "10"},
        {"maxheight": "4", "maxheight:physical": "2.5"},
    ],
    ids=str,
)  # fmt: skip
def test_limit_in_any_unit_that_the_outfit_breaks_is_not_driven(tmp_path, tags):
    ways, _ = ways_driven(region_with(tmp_path, tags))
    assert SHORT not in ways
    assert LONG in ways


@pytest.mark.parametrize(
    "tags",
    [{"maxheight": "3"}, {"maxheight": "12'"}, {"maxwidth": "3 m"}, {"maxweight": "7.5 st"},
     {"maxweight": "none"}, {"maxheight": "none"}, {"width": "7 m"}],
    ids=str,
)  # fmt: skip
def test_limit_that_the_outfit_keeps_is_driven(tmp_path, tags):
    region = region_with(tmp_path, tags)
    assert ways_driven(region)[0] == {10, SHORT, 13}
    assert region.manifest["unread"] == {}


@pytest.mark.parametrize(
    "tags",
    [
        {"maxheight": "default"}, {"maxheight": "below_default"}, {"maxheight": "-3"},
        {"maxwidth": "-2"}, {"maxwidth": "narrow"}, {"maxweight": "3500"}, {"maxheight": "2,5"},
        {"maxheight": "2.5;4"}, {"maxlength": "long"},
    ],
    ids=str,
)  # fmt: skip
def test_limit_that_cannot_be_read_is_counted_told_and_gone_round(tmp_path, tags):
    region = region_with(tmp_path, tags)
    ((tag, value),) = tags.items()
    assert region.manifest["unread"] == {tag: 1}
    assert any(tag in sentence for sentence in region_sentences(region))
    ways, _ = ways_driven(region)
    assert SHORT not in ways
    rows = region.roads["osm_way_id"].to_numpy() == SHORT
    states = road_suitability(region, make_outfit(), TowWeights(), on=DAY).loc[rows]
    assert set(states["state"]) == {"unknown"}
    # Where it is the only way, it is driven and said.
    only = region_with(tmp_path, tags, **{f"way{LONG}": {"access": "no"}})
    ways, route = ways_driven(only)
    assert SHORT in ways
    assert any(f"way {SHORT}" in told and value in told for told in route.unknowns)


@pytest.mark.parametrize("width", ["-2", "narrow", "0"])
def test_width_that_cannot_be_read_is_guessed_and_said_to_be(tmp_path, width):
    region = region_with(tmp_path, {"width": width})
    assert region.manifest["unread"] == {"width": 1}
    row = region.roads[region.roads["osm_way_id"] == SHORT].iloc[0]
    assert row["width_source"] != "tagged"


@pytest.mark.parametrize("what", ["start", "end"])
def test_place_far_from_any_road_is_told_with_its_distance(tmp_path, what):
    region = region_with(tmp_path, {})
    ends = {"start": START, "end": END, what: (52.3, 0.0)}
    with pytest.raises(NoRouteError, match=rf"the {what} at 52\.3\d*, .* km from the nearest road"):
        ways_driven(region, **ends)


def test_island_without_a_way_to_it_is_told(tmp_path):
    region = region_with(tmp_path, {})
    with pytest.raises(NoRouteError, match="no way from the start to the end on the roads"):
        ways_driven(region, end=(52.5, 1.005))


def test_limits_that_contradict_each_other_leave_no_way_and_are_named(tmp_path):
    low = {"maxheight": "2.0", "maxheight:physical": "4.5"}
    region = region_with(tmp_path, low, **{f"way{LONG}": {"maxweight": "1"}})
    with pytest.raises(NoRouteError, match=r"maxheight|maxweight"):
        ways_driven(region)
