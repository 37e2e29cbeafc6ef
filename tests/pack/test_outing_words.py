import numpy as np
import pytest

from planner_kit.pack.outing_words import list_prices_sentence, price_words
from planner_kit.trip.household import Units
from planner_kit.trip.learnt import Estimate, Learnt

UNITS = Units(currency="GBP", locale="en-GB")


def words(cost: float, parking: float, free_with: str = "") -> str:
    place = {"cost": cost, "parking_cost": parking, "currency": "GBP", "free_with": free_with}
    return price_words(place, UNITS)


@pytest.mark.parametrize(
    ("place", "said"),
    [
        ((0.0, 0.0), "free"),
        ((34.0, 0.0), "£34.00"),
        ((36.5, 2.5), "entry £34.00, parking £2.50"),
        ((4.0, 4.0), "entry free, parking £4.00"),
        ((0.0, 0.0, "Keepers"), "free for members"),
        ((4.0, 4.0, "Keepers"), "entry free for members, parking £4.00"),
        ((14.0, 4.0, "Keepers"), "entry £10.00 for members, parking £4.00"),
        ((np.nan, 0.0), "not known"),
        ((np.nan, 2.5), "entry not known, parking £2.50"),
        ((0.0, np.nan), "entry free, parking not known"),
        ((np.nan, np.nan), "entry not known, parking not known"),
    ],
)
def test_entry_and_parking_are_told_apart(place: tuple[float, float], said: str) -> None:
    assert words(*place) == said


def test_list_prices_are_told_only_where_money_reckons_otherwise() -> None:
    taught = Estimate(0.75, 0.1, 1.0, 2, 0.5)
    said = list_prices_sentence(Learnt(trips=2, spending={"outing": taught}))
    assert "0.75 times as much, as 2 earlier trips" in said
    assert list_prices_sentence(Learnt(trips=2, spending={"fuel": taught})) == ""
    assert list_prices_sentence(None) == ""
