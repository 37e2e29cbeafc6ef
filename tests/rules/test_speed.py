import datetime as dt
import math

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.reference import read_table
from planner_kit.rules import car_speed_limits, towing_speed_limits

DAY = dt.date(2027, 7, 24)
MPH = 1.609344


def roads(**columns: object) -> pd.DataFrame:
    base = {
        "country": "GB",
        "road_class": "primary",
        "dual": False,
        "built_up": pd.NA,
        "lit": pd.NA,
    }
    size = max((len(v) for v in columns.values() if isinstance(v, list)), default=1)
    frame = pd.DataFrame(
        {k: v if isinstance(v, list) else [v] * size for k, v in {**base, **columns}.items()}
    )
    return frame.astype(
        {
            "built_up": "boolean",
            "lit": "boolean",
            "dual": bool,
            "country": "category",
            "road_class": "category",
        }
    )


def towing(frame: pd.DataFrame, caravan: float | None = 1500, train: float | None = 3800):
    return towing_speed_limits(frame, caravan_plate_kg=caravan, train_plate_kg=train, on=DAY)


def test_unknown_country_gives_nan_and_the_word_unknown() -> None:
    answer = towing(roads(country="unknown")).iloc[0]
    assert math.isnan(answer["limit_kmh"])
    assert answer["rule"] == "unknown"
    assert answer["basis"] == "unknown"


def test_lit_road_in_great_britain_is_built_up() -> None:
    assert towing(roads(lit=True))["limit_kmh"].iloc[0] == pytest.approx(30 * MPH)


def test_unlit_road_in_great_britain_is_not_built_up_even_among_houses() -> None:
    assert towing(roads(lit=False, built_up=True))["limit_kmh"].iloc[0] == pytest.approx(50 * MPH)


def test_lights_do_not_make_a_german_road_built_up() -> None:
    frame = roads(country="DE", lit=True, built_up=False)
    assert towing(frame)["limit_kmh"].iloc[0] == 80


def test_road_that_nobody_placed_says_what_was_assumed() -> None:
    answer = towing(roads()).iloc[0]
    assert answer["limit_kmh"] == pytest.approx(50 * MPH)
    assert answer["assumed"]
    assert "which the map does not say" in answer["rule"]


def test_residential_street_that_nobody_placed_is_taken_as_built_up() -> None:
    answer = towing(roads(road_class="residential")).iloc[0]
    assert answer["limit_kmh"] == pytest.approx(30 * MPH)
    assert answer["assumed"]


def test_signed_road_is_held_to_its_carriageway_not_to_the_street_lights() -> None:
    frame = roads(lit=True, dual=True).assign(
        maxspeed_forward_kmh=70 * MPH, maxspeed_backward_kmh=70 * MPH
    )
    assert towing(frame)["limit_kmh"].iloc[0] == pytest.approx(60 * MPH)


def test_sign_for_one_direction_only_does_not_lift_the_built_up_limit() -> None:
    frame = roads(lit=True).assign(maxspeed_forward_kmh=60 * MPH, maxspeed_backward_kmh=np.nan)
    assert towing(frame)["limit_kmh"].iloc[0] == pytest.approx(30 * MPH)


def test_one_way_residential_street_is_no_dual_carriageway() -> None:
    frame = roads(road_class="residential", dual=True, lit=False)
    assert towing(frame)["limit_kmh"].iloc[0] == pytest.approx(50 * MPH)


@pytest.mark.parametrize("road_class", ["ferry", "footway", "cycleway", "steps"])
def test_ways_without_cars_have_no_limit(road_class: str) -> None:
    assert math.isnan(towing(roads(road_class=road_class))["limit_kmh"].iloc[0])


def test_missing_train_mass_takes_the_lowest_limit_and_says_so() -> None:
    frame = roads(country="FR", road_class="motorway")
    answer = towing(frame, train=None).iloc[0]
    assert answer["limit_kmh"] == 90
    assert "plate that decides it is missing" in answer["rule"]


def test_swiss_motorway_limit_rose_in_2021() -> None:
    frame = roads(country="CH", road_class="motorway")
    before = towing_speed_limits(
        frame, caravan_plate_kg=1500, train_plate_kg=3500, on=dt.date(2020, 12, 31)
    )
    assert math.isnan(before["limit_kmh"].iloc[0])
    assert towing(frame)["limit_kmh"].iloc[0] == 100


def test_german_motorway_has_no_general_limit_for_a_car_alone() -> None:
    answer = car_speed_limits(roads(country="DE", road_class="motorway"), on=DAY).iloc[0]
    assert math.isinf(answer["limit_kmh"])
    assert "no general limit" in answer["rule"]


def test_empty_frame_gives_an_empty_answer() -> None:
    assert len(towing(roads().iloc[:0])) == 0


def test_frame_is_unchanged_and_answer_is_aligned_with_it() -> None:
    frame = roads(road_class=["motorway", "primary"]).set_index(pd.Index([7, 3]))
    before = frame.copy()
    answer = towing(frame)
    pd.testing.assert_frame_equal(frame, before)
    assert list(answer.index) == [7, 3]


COUNTRIES = sorted(read_table("towing_speeds")["country"].unique())


@settings(max_examples=50, deadline=None)
@given(
    country=st.sampled_from(COUNTRIES),
    road_class=st.sampled_from(["motorway", "trunk", "primary", "unclassified", "residential"]),
    dual=st.booleans(),
    built_up=st.sampled_from([True, False, pd.NA]),
    caravan=st.one_of(st.none(), st.floats(300, 3500)),
    train=st.one_of(st.none(), st.floats(1500, 7000)),
)
def test_towing_is_never_faster_than_the_car_alone(
    country: str, road_class: str, dual: bool, built_up: object, caravan: float, train: float
) -> None:
    frame = roads(country=country, road_class=road_class, dual=dual, built_up=built_up)
    with_caravan = towing(frame, caravan, train)["limit_kmh"].iloc[0]
    alone = car_speed_limits(frame, on=DAY)["limit_kmh"].iloc[0]
    assert not with_caravan > alone


@settings(max_examples=30, deadline=None)
@given(
    country=st.sampled_from(COUNTRIES),
    caravan=st.floats(300, 3500),
    train=st.floats(1500, 7000),
    hide=st.sampled_from(["caravan", "train", "both"]),
)
def test_hiding_a_plate_never_raises_the_limit(
    country: str, caravan: float, train: float, hide: str
) -> None:
    frame = roads(country=country, road_class=["motorway", "primary", "residential"])
    full = towing(frame, caravan, train)["limit_kmh"]
    less = towing(
        frame,
        None if hide in ("caravan", "both") else caravan,
        None if hide in ("train", "both") else train,
    )["limit_kmh"]
    assert not (less > full).any()
