import datetime as dt
import itertools
import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.outfit import floor_picture, outfit_of
from planner_kit.outfit.floor_room import room_for

DAY = dt.date(2027, 7, 24)
WIDTH_M = 2.3


def listed(masses, places, sides=None) -> pd.DataFrame:
    frame = pd.DataFrame({"total_kg": masses, "x_m": places})
    frame["y_m"] = np.nan if sides is None else sides
    return frame.sort_values("total_kg", ascending=False, kind="stable")


def overlaps(spots) -> list[tuple]:
    return [
        (one, other)
        for one, other in itertools.combinations(spots, 2)
        if math.hypot(one.x_m - other.x_m, one.y_m - other.y_m) < one.radius_m + other.radius_m
    ]


things = st.lists(
    st.tuples(st.floats(0.1, 80), st.floats(-3, 3), st.none() | st.floats(-1, 1)),
    min_size=1,
    max_size=25,
)


@settings(max_examples=60, deadline=None)
@given(things=things)
def test_no_disc_covers_another_or_leaves_the_floor(things) -> None:
    masses, places, sides = zip(*things, strict=True)
    items = listed(masses, places, [math.nan if y is None else y for y in sides])
    spots = room_for(items, width_m=WIDTH_M)
    assert 1 <= len(spots) <= len(items)
    assert not overlaps(spots)
    for spot, (_, row) in zip(spots, items.iterrows(), strict=False):
        assert abs(spot.y_m) + spot.radius_m <= WIDTH_M / 2
        assert spot.x_m - spot.aside_m == pytest.approx(row["x_m"])
        assert abs(spot.aside_m) <= 0.4 + 1e-9
    # The order is that of the masses, so the heavier of two discs is never the smaller one.
    radii = [spot.radius_m for spot in spots]
    assert radii == sorted(radii, reverse=True)


def test_single_thing_stands_where_it_lies() -> None:
    (alone,) = room_for(listed([20], [1.4]), width_m=WIDTH_M)
    assert (alone.x_m, alone.y_m) == (1.4, pytest.approx(0, abs=0.03))
    (aside,) = room_for(listed([20], [1.4], [-0.6]), width_m=WIDTH_M)
    assert (aside.x_m, aside.y_m) == (1.4, pytest.approx(-0.6, abs=0.03))


def test_twenty_things_at_one_place_are_all_drawn_beside_each_other() -> None:
    spots = room_for(listed([12.0] * 20, [0.0] * 20), width_m=WIDTH_M)
    assert len(spots) == 20
    assert not overlaps(spots)


def test_what_finds_no_room_is_counted_in_words(make_household, make_items) -> None:
    house = make_household()
    rows = [(f"thing {n}", 30 - n / 10, 1, "caravan floor", 0.0) for n in range(90)]
    items = make_items(*rows, ("book", None, 1, "caravan floor", 0.0))
    svg = floor_picture(house.caravan, outfit_of(house, items=items, on=DAY), items)
    drawn = svg.count("<circle") - 1
    assert 20 <= drawn <= 40
    assert f"{90 - drawn} lighter things" in svg
    assert "1 more on the list without a mass" in svg


def test_thing_off_the_caravan_is_said_and_not_drawn(make_household, make_items) -> None:
    house = make_household()
    items = make_items(("canoe", 20, 1, "caravan rear", -6.0), ("pan", 4, 1, "caravan", 0.0))
    svg = floor_picture(house.caravan, outfit_of(house, items=items, on=DAY), items)
    assert svg.count("<circle") - 1 == 1
    assert "1 more on the list without a mass or a place on the caravan" in svg


def test_picture_says_whose_a_thing_is_where_several_have_one(make_household, make_items) -> None:
    house = make_household()
    items = make_items(
        ("clothes", 9, 1, "caravan front", 1.4), ("clothes", 8, 1, "caravan rear", -2.0)
    ).assign(person=["Ann", "Bob"])
    svg = floor_picture(house.caravan, outfit_of(house, items=items, on=DAY), items)
    assert "clothes (Ann), 9 kg" in svg
    assert "clothes (Bob), 8 kg" in svg
