"""What a person is told first."""

import datetime as dt
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pandas as pd

from planner_kit.states import Check, State
from planner_kit.summary import _leg_sentence, odd_in_files, things_to_look_at
from planner_kit.trip.household import Units
from planner_kit.trip.trip import Actuals


def _files(actuals: Actuals | None = None, **lists: pd.DataFrame) -> Any:
    """The lists of a trip, and what was driven on it."""
    none = dict.fromkeys(("items", "sites", "attractions", "masts", "prices", "tolls"))
    return SimpleNamespace(
        inputs=SimpleNamespace(
            trip=SimpleNamespace(actuals=actuals), trip_path=Path("trip_2027.toml")
        ),
        paths={name: Path(f"{name}.csv") for name in lists},
        **(none | lists),
    )


def _plan(outfit: tuple[Check, ...], tow: tuple[Check, ...] = ()) -> Any:
    """A plan with the checks of two stages, and none of the others."""
    nothing = SimpleNamespace(checks=())
    return SimpleNamespace(
        files=_files(),
        outfit=SimpleNamespace(checks=outfit),
        tow=SimpleNamespace(checks=tow),
        sites=nothing,
        cost=nothing,
        pitches=(),
        outings=(),
    )


OVER = Check("caravan", State.NOT_FINE, "13 kg too heavy.", 1513, 1500, "kg", -13)
SAME = Check("payload", State.NOT_FINE, "13 kg too heavy.", 182, 169, "kg", -13)
NEAR = Check("ball", State.LOOK, "Only 2 kg left.", 98, 100, "kg", 2)
REMINDER = Check("mirrors", State.LOOK, "Fit towing mirrors.")
UNKNOWN_MASS = Check("gross mass", State.UNKNOWN, "The plate is not given.")
UNKNOWN_ROAD = Check("width", State.UNKNOWN, "No width is mapped.")


def test_what_is_not_fine_comes_first_and_is_said_once() -> None:
    plan = _plan((REMINDER, NEAR, OVER, SAME))
    assert things_to_look_at(plan) == (OVER, NEAR, REMINDER)


def test_missing_plates_come_before_reminders() -> None:
    plan = _plan((REMINDER, UNKNOWN_MASS), (UNKNOWN_ROAD,))
    assert things_to_look_at(plan) == (UNKNOWN_MASS, UNKNOWN_ROAD, REMINDER)


def test_fine_is_never_listed() -> None:
    assert things_to_look_at(_plan((Check("ball", State.FINE, "It fits."),))) == ()


def test_odd_cell_of_a_list_is_named_by_file_row_and_column() -> None:
    sites = pd.DataFrame(
        {"price_low": [24.0, 2400.0], "hookup_a": [16.0, 63.0], "currency": ["GBP", "GBP"]},
        index=pd.Index(["S01", "S02"], name="site_id"),
    )
    price, hookup = sorted(c.sentence for c in odd_in_files(_files(sites=sites)))[::-1]
    assert price.startswith("sites.csv, 'S02', column price_low is 2,400")
    assert hookup.startswith("sites.csv, 'S02', column hookup_a is 63 A")
    assert {c.state for c in odd_in_files(_files(sites=sites))} == {State.LOOK}


def test_money_in_another_currency_is_not_judged() -> None:
    tolls = pd.DataFrame({"toll_name": ["bridge"], "price": [3400.0], "currency": ["ISK"]})
    assert odd_in_files(_files(tolls=tolls)) == ()


def test_consumption_that_no_car_has_shows_a_slip_in_what_was_driven() -> None:
    actuals = Actuals(tow_km=30, tow_fuel_l=40, tow_hours=5)
    (fuel, speed) = odd_in_files(_files(actuals))
    assert "towing_l_per_100km is 133" in fuel.sentence
    assert "towing_kmh is 6" in speed.sentence
    assert odd_in_files(_files(Actuals(tow_km=300, tow_fuel_l=32, tow_hours=5))) == ()


def test_tow_home_is_not_told_to_go_from_home_to_home() -> None:
    route = SimpleNamespace(length_km=50.0, time_min=60.0)
    at = dt.datetime(2027, 6, 7, 10, 0)
    leg: Any = SimpleNamespace(
        kind="home", to_name="home", route=route, car_route=route, rests=[], depart=at, arrive=at
    )
    assert _leg_sentence(leg, Units()).startswith("Tow home: 31 miles")
    leg.to_name = "12 Orchard Row"
    assert _leg_sentence(leg, Units()).startswith("Tow home to 12 Orchard Row: 31 miles")
