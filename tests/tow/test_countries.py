from types import SimpleNamespace

import numpy as np
import pandas as pd

from planner_kit.tow import countries_crossed


def _tow(*legs: list[int]) -> SimpleNamespace:
    made = [SimpleNamespace(route=SimpleNamespace(road_id=np.array(leg, np.int32))) for leg in legs]
    return SimpleNamespace(legs=made)


def _region(*codes: str) -> SimpleNamespace:
    roads = pd.DataFrame({"country": pd.Categorical(codes)})
    return SimpleNamespace(roads=roads, countries=("FR", "BE", "DE"))


REGION = _region("FR", "FR", "unknown", "BE", "DE", "unknown")


def test_only_the_countries_on_the_way_count_in_the_order_of_the_drive() -> None:
    assert countries_crossed(_tow([3, 0]), REGION) == ("BE", "FR")


def test_a_road_cut_at_the_border_between_two_known_countries_adds_nothing() -> None:
    assert countries_crossed(_tow([1, 2, 3]), REGION) == ("FR", "BE")


def test_a_tow_that_begins_where_no_country_is_known_says_unknown() -> None:
    assert countries_crossed(_tow([5, 0]), REGION) == ("FR", "unknown")


def test_every_leg_counts_and_each_country_once() -> None:
    assert countries_crossed(_tow([0, 1], [1, 4], [4, 0]), REGION) == ("FR", "DE")


def test_a_trip_without_a_tow_is_held_to_all_countries_of_the_region() -> None:
    assert countries_crossed(_tow(), REGION) == ("FR", "BE", "DE")
