"""What filled-in trips teach, on facts made by hand."""

import datetime as dt
import json
import re
from pathlib import Path
from typing import Any

import pytest

from planner_kit.diary.learning import learnt_from_facts, learnt_from_records, learnt_sentences
from planner_kit.trip.household import Household
from planner_kit.trip.reading import read_household


@pytest.fixture(scope="module")
def household() -> Household:
    return read_household(Path(__file__).parents[2] / "data" / "demo" / "household.toml")


def _facts(number: int, **actuals: Any) -> dict[str, Any]:
    return {
        "schema": 2,
        "trip": {"id": f"trip-{number}", "name": "t", "start": f"20{20 + number}-07-01",
                 "end": f"20{20 + number}-07-08", "sites": ["S01"], "nights": 7},
        "figures": [],
        "checks": [],
        "learning": {
            "legs": 2, "tow_km": 200.0, "tow_min": {"primary": 180.0, "secondary": 60.0},
            "breaks": 2, "stint_min": 60.0, "spending": {"outing": 100.0, "site": 200.0},
            "signals": [{"site": "S01", "operator": "Ternfone", "level_dbm": -90.0}],
        },
        "actuals": actuals or None,
    }  # fmt: skip


def test_trips_move_the_households_own_figure_towards_what_was_used(household: Household) -> None:
    own = household.car.towing_l_per_100km
    assert own is not None
    told = [_facts(n, tow_km=200.0, tow_fuel_l=26.0) for n in range(1, 6)]
    one, five = (learnt_from_facts(told[:n], household).towing_l_per_100km for n in (1, 5))
    assert one is not None
    assert five is not None
    assert own < one.value < five.value < 13.0
    assert five.sd < one.sd
    assert five.trips == 5


def test_slow_tows_slow_the_roads_they_used_and_a_fast_one_does_not_speed_a_plan(
    household: Household,
) -> None:
    slow = learnt_from_facts([_facts(1, tow_km=200.0, tow_hours=5.0)], household)
    assert slow.pace["primary"].value > slow.pace["secondary"].value > 1.0
    fast = learnt_from_facts([_facts(1, tow_km=200.0, tow_hours=3.0)], household)
    assert fast.pace["primary"].value < 1.0
    assert fast.pace_of("primary") == 1.0
    told = next(one for one in learnt_sentences(slow) if "kind of road" in one)
    assert "main road" in told
    assert "through road" in told


def test_more_breaks_than_planned_mean_shorter_stints(household: Household) -> None:
    stint = learnt_from_facts([_facts(1, breaks=6)], household).stint_min
    assert stint is not None
    # planned 2 breaks in 2 tows are 4 stints of 60 min; 8 stints are 30 min; half way is 45
    assert stint.value == pytest.approx(45.0)


def test_spending_and_signals_are_learnt_by_kind_and_operator(household: Household) -> None:
    learnt = learnt_from_facts(
        [
            _facts(
                1,
                spent=[{"kind": "outing", "amount": 160.0}, {"kind": "site", "amount": 200.0}],
                signals=[{"operator": "Ternfone", "level_dbm": -100.0, "site": "S01"}],
            )
        ],
        household,
    )
    assert learnt.spending["outing"].value == pytest.approx(1.3)
    assert learnt.scales("outing")
    assert not learnt.scales("site")
    assert -10.0 < learnt.signal_db["Ternfone"].value < 0.0
    assert all("1 trip" in sentence for sentence in learnt_sentences(learnt))


def test_a_trip_recorded_twice_counts_once(household: Household) -> None:
    told = [_facts(1, tow_km=200.0, tow_fuel_l=26.0)] * 3
    found = learnt_from_facts(told, household)
    assert found.trips == 1


def test_trips_that_were_not_filled_in_teach_nothing(household: Household) -> None:
    found = learnt_from_facts([_facts(1)], household)
    assert found.trips == 0
    assert learnt_sentences(found) == []


def test_only_trips_before_the_day_count_and_damaged_records_are_passed_over(
    household: Household, tmp_path: Path
) -> None:
    for number in (1, 2):
        folder = tmp_path / f"r{number}"
        folder.mkdir()
        text = json.dumps(_facts(number, tow_km=200.0, tow_fuel_l=26.0))
        (folder / "facts.json").write_text(text)
    (tmp_path / "r3").mkdir()
    (tmp_path / "r3" / "facts.json").write_text("{")
    assert learnt_from_records(tmp_path, household).trips == 2
    assert learnt_from_records(tmp_path, household, before=dt.date(2022, 1, 1)).trips == 1
    assert learnt_from_records("", household).trips == 0


def test_things_not_needed_are_counted_over_all_trips_and_the_last_one_is_named(
    household: Household,
) -> None:
    told = [
        _facts(1, not_needed=["Television", "dish"], breaks=1),
        _facts(2, not_needed=["television", "television "], breaks=1),
        _facts(3, breaks=1),
    ]
    first, second = learnt_from_facts(told, household).not_needed
    assert (first.item, first.said, first.trips, first.last) == (
        "television", 2, 3, "t, 2022-07-01",
    )  # fmt: skip
    assert first.mostly
    assert (second.item, second.said, second.mostly) == ("dish", 1, False)
    sentences = learnt_sentences(learnt_from_facts(told, household))
    assert "television: not needed on t, 2022-07-01 (2 of 3 trips said so)." in sentences


def test_consumption_is_told_as_the_household_compares_it(household: Household) -> None:
    learnt = learnt_from_facts([_facts(1, tow_km=200.0, tow_fuel_l=26.0)], household)
    assert learnt.towing_l_per_100km is not None
    (told,) = learnt_sentences(learnt, household.units)
    assert "l/100 km" not in told
    shown, low, high, before = (float(x) for x in re.findall(r"([\d.]+) mpg", told))
    # 282.48 is 100 km in miles times an imperial gallon in litres.
    assert shown == pytest.approx(282.48 / learnt.towing_l_per_100km.value, abs=0.1)
    assert before == pytest.approx(282.48 / 10.4, abs=0.1)
    assert low < shown < high
    metric = household.units.model_copy(update={"fuel": "l_per_100km"})
    (told,) = learnt_sentences(learnt, metric)
    low, high = (float(x) for x in re.findall(r"([\d.]+) l/100 km", told)[1:3])
    assert low < learnt.towing_l_per_100km.value < high
