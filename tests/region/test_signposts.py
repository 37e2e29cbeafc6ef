from __future__ import annotations

import pytest

from planner_kit.errors import PlanFileError
from planner_kit.region import build_region, open_region

# A crossroads at node 5: way 1 comes from the west, 2 goes on east, 3 north, 4 south.
NODES = {1: (10.5, 50.5), 2: (10.52, 50.5), 3: (10.51, 50.51), 4: (10.51, 50.49), 5: (10.51, 50.5)}
WAYS = {n: ([n, 5] if n == 1 else [5, n], {"highway": "primary"}) for n in (1, 2, 3, 4)}
SIGN = {"type": "destination_sign", "destination": "Oldmill; Quay", "destination:ref": "A30"}
MEMBERS = [("w", 1, "from"), ("n", 5, "intersection"), ("w", 3, "to")]


@pytest.fixture
def signposts(make_extract, tmp_path):
    """The signposts of the crossroads with some relations, and what was not placed."""

    def build(*relations, ways=WAYS):
        made = {10 + n: relation for n, relation in enumerate(relations)}
        extract = make_extract(NODES, ways, made)
        region = build_region(extract, [], tmp_path / "r", progress=False)
        return region, region.signposts.to_dict("records"), region.manifest["unread"]

    return build


def _way(region, row) -> int:
    return int(region.roads["osm_way_id"].iloc[row["to_road"]])


@pytest.mark.published(
    source="OpenStreetMap Wiki, Relation:destination_sign (stored copy, read 2026-11-29): members "
    "from, to, intersection and sign; what is signed may differ by where one comes from"
)
def test_a_sign_stands_at_its_junction_for_those_who_come_from_its_way(signposts) -> None:
    region, rows, unread = signposts((MEMBERS, SIGN))
    assert [(r["from_way"], r["signs"], r["exit_ref"]) for r in rows] == [
        (1, "A30; Oldmill; Quay", "")
    ]
    assert _way(region, rows[0]) == 3
    assert region.nodes["osm_node_id"].iloc[rows[0]["via_node"]] == 5
    assert not unread


def test_a_sign_without_a_from_holds_for_all_who_come(signposts) -> None:
    _, rows, _ = signposts((MEMBERS[1:], SIGN))
    assert [r["from_way"] for r in rows] == [0]


def test_a_sign_without_its_junction_stands_where_its_ways_meet(signposts) -> None:
    region, rows, _ = signposts(([MEMBERS[0], MEMBERS[2]], SIGN))
    assert region.nodes["osm_node_id"].iloc[rows[0]["via_node"]] == 5


@pytest.mark.parametrize(
    ("members", "tags"),
    [
        ([*MEMBERS[:2], ("w", 99, "to")], SIGN),
        ([("w", 1, "from"), ("n", 2, "intersection"), ("w", 3, "to")], SIGN),
        (MEMBERS[:2], SIGN),
        ([*MEMBERS[:2], ("n", 3, "to")], SIGN),
        (MEMBERS, {"type": "destination_sign"}),
    ],
)
def test_a_sign_that_fits_no_road_or_says_nothing_is_counted(signposts, members, tags) -> None:
    _, rows, unread = signposts((members, tags))
    assert rows == []
    assert unread == {"destination_sign (not placed)": 1}


def test_nobody_is_sent_into_a_one_way_road_by_its_wrong_end(signposts) -> None:
    ways = WAYS | {3: ([5, 3], {"highway": "primary", "oneway": "-1"})}
    _, rows, unread = signposts((MEMBERS, SIGN), ways=ways)
    assert rows == []
    assert unread == {"destination_sign (not placed)": 1}


@pytest.mark.published(
    source="OpenStreetMap Wiki, Proposed features/junction details (stored copy, read 2026-11-29): "
    "junction:ref on the way directly behind the node where it leaves"
)
@pytest.mark.parametrize(("oneway", "nodes"), [("yes", [5, 3]), ("-1", [3, 5])])
def test_the_number_of_an_exit_stands_where_its_slip_road_begins(signposts, oneway, nodes) -> None:
    tags = {"highway": "primary_link", "oneway": oneway, "junction:ref": "12a"}
    region, rows, _ = signposts(ways=WAYS | {3: (nodes, tags)})
    assert [(r["signs"], r["exit_ref"]) for r in rows] == [("", "12a")]
    assert region.nodes["osm_node_id"].iloc[rows[0]["via_node"]] == 5
    assert _way(region, rows[0]) == 3


@pytest.mark.parametrize("tags", [{"highway": "primary_link"}, {"highway": "primary"}])
def test_a_number_is_left_out_where_its_begin_is_not_plain(signposts, tags) -> None:
    _, rows, _ = signposts(ways=WAYS | {3: ([5, 3], tags | {"junction:ref": "12"})})
    assert rows == []


def test_a_region_without_signposts_is_said_to_be_of_an_older_edition(signposts, tmp_path) -> None:
    signposts((MEMBERS, SIGN))
    path = tmp_path / "r" / "manifest.json"
    path.write_text(path.read_text().replace('"format": 3', '"format": 2'))
    with pytest.raises(PlanFileError, match=r"built in format 2 .* build the region again"):
        open_region(tmp_path / "r")
