from __future__ import annotations

import numpy as np
import pytest
import shapely

from planner_kit.region.landscape import sea_and_land
from planner_kit.region.places import GROUP_OF, GROUPS, KINDS, kind_of, kinds_of_group
from planner_kit.region.width import road_width_m

BOX = (0.0, 0.0, 10.0, 10.0)


def _line(*points):
    return shapely.LineString(points)


def test_island_of_two_coast_ways_lies_in_the_sea() -> None:
    # Land on the left: counter-clockwise.
    coast = np.array([_line((2, 2), (6, 2), (6, 6)), _line((6, 6), (2, 6), (2, 2))])
    sea, land = sea_and_land(coast, BOX)
    assert sea.area == pytest.approx(100 - 16)
    assert [part.area for part in land] == [16]
    assert not sea.contains(shapely.Point(4, 4))


def test_islands_with_unlike_numbers_of_points_are_all_land() -> None:
    square = _line((1, 1), (3, 1), (3, 3), (1, 3), (1, 1))
    triangle = _line((5, 5), (7, 5), (7, 7), (5, 5))
    sea, land = sea_and_land(np.array([square, triangle]), BOX)
    assert sorted(part.area for part in land) == [2, 4]
    assert sea.area == pytest.approx(100 - 6)


def test_coast_that_is_cut_off_leaves_the_sea_unknown() -> None:
    assert sea_and_land(np.array([_line((0, 3), (5, 5), (10, 3))]), BOX) == (None, [])


def test_lagoon_inside_an_island_is_sea() -> None:
    island = _line((1, 1), (9, 1), (9, 9), (1, 9), (1, 1))
    lagoon = _line((4, 4), (4, 5), (5, 5), (5, 4), (4, 4))
    sea, _ = sea_and_land(np.array([island, lagoon]), BOX)
    assert sea.contains(shapely.Point(4.5, 4.5))
    assert sea.area == pytest.approx(100 - 64 + 1)


def test_no_coast_is_no_sea() -> None:
    assert sea_and_land(np.zeros(0, dtype=object), BOX) == (None, [])


def test_every_kind_has_a_group_and_finds_itself() -> None:
    for kind in KINDS:
        assert kind.group in GROUPS
        assert kind.label
        found = kind_of(dict(kind.tags))
        assert GROUP_OF[found] in GROUPS
    assert {kind_of(dict(k.tags)) for k in KINDS} == {k.kind for k in KINDS}


def test_first_kind_of_the_table_wins() -> None:
    assert kind_of({"amenity": "fuel", "tourism": "caravan_site"}) == "caravan_site"
    assert kind_of({"amenity": "parking", "parking": "layby"}) == "lay_by"
    assert kind_of({"amenity": "parking"}) == "parking"
    assert kind_of({"amenity": "bench"}) is None
    assert "fuel" in kinds_of_group("fuel")


def test_width_says_how_it_is_known() -> None:
    width, source = road_width_m(
        np.array(["tertiary", "tertiary", "tertiary", "path", "trunk_link"]),
        np.array([3.1, np.nan, np.nan, np.nan, np.nan]),
        np.array([2.0, 2.0, np.nan, 2.0, np.nan]),
        np.array([False, False, False, False, True]),
    )
    assert source.tolist() == ["tagged", "lanes", "class", "unknown", "class"]
    assert width[0] == 3.1
    assert width[1] == pytest.approx(2 * 2.9)
    assert np.isnan(width[3])
    assert width[4] == 3.65
