"""What earlier trips did not need, on loading lists made by hand."""

from pathlib import Path

import pandas as pd
import pytest

from planner_kit.outfit import (
    freed_kg,
    freed_sentences,
    item_names,
    not_needed_lines,
    not_needed_note,
    read_items,
    with_not_needed,
)
from planner_kit.outfit.not_needed import KEEP_LISTED, KEEP_SAFE, LEAVE, THINK
from planner_kit.trip.household import Units
from planner_kit.trip.learnt import Learnt, NotNeeded

LIST = """item,mass_kg,quantity,place,x_m,person,needed
television,4,1,caravan rear,-1.8,,
Folding  chairs,3.5,4,caravan over axle,0.2,,
clothes,9,1,caravan front,1.4,Ann,
clothes,8,1,caravan rear,-2,Bob,
fire extinguisher,2,1,caravan front,1.5,,
jackets,3,2,car boot,,,
dish,,1,car boot,,,
kettle,1,1,caravan kitchen,-0.5,,yes
"""


@pytest.fixture
def items(tmp_path: Path) -> pd.DataFrame:
    path = tmp_path / "items.csv"
    path.write_text(LIST, encoding="utf-8")
    return read_items(path)


def learnt(*said: tuple[str, int], trips: int = 2) -> Learnt:
    return Learnt(
        trips=trips,
        not_needed=tuple(NotNeeded(item, n, trips, "Summer, 2026-07-25") for item, n in said),
    )


def test_a_thing_is_found_whatever_its_case_and_frees_all_its_pieces(items: pd.DataFrame) -> None:
    lines = not_needed_lines(items, learnt(("TELEVISION", 2), ("folding chairs", 1)))
    assert lines["line"].tolist() == [0, 1]
    assert lines["total_kg"].tolist() == [4.0, 14.0]
    assert lines["do"].tolist() == [LEAVE, LEAVE]
    assert freed_kg(lines, "caravan") == 18.0
    assert freed_kg(lines, "car") == 0.0
    assert "1 of 2 trips said so" in lines["told"][1]
    assert freed_sentences(lines, Units()) == [
        "Earlier trips did not need: television, Folding  chairs.",
        "Left at home, that frees 18 kg in the caravan.",
    ]
    assert not_needed_note(lines.iloc[0].to_dict(), Units()).endswith("(4 kg less)")


def test_whose_it_is_counts_where_several_people_have_one(items: pd.DataFrame) -> None:
    assert item_names(items)[2:4] == ["clothes (Ann)", "clothes (Bob)"]
    assert not_needed_lines(items, learnt(("clothes (Bob)", 1)))["line"].tolist() == [3]
    assert not_needed_lines(items, learnt(("clothes", 1)))["line"].tolist() == [2, 3]


def test_what_is_for_safety_or_listed_as_needed_is_kept_and_jackets_are_no_jack(
    items: pd.DataFrame,
) -> None:
    said = learnt(("fire extinguisher", 2), ("kettle", 2), ("jackets", 2))
    lines = not_needed_lines(items, said)
    assert lines["do"].tolist() == [KEEP_SAFE, LEAVE, KEEP_LISTED]
    marked = with_not_needed(items, said)["needed"]
    assert marked[[4, 5, 7]].isna().tolist() == [True, False, False]
    assert marked[[5, 7]].tolist() == [False, True]


def test_a_thing_that_most_trips_needed_is_only_thought_about(items: pd.DataFrame) -> None:
    said = learnt(("television", 1), trips=3)
    lines = not_needed_lines(items, said)
    assert lines["do"].tolist() == [THINK]
    assert freed_sentences(lines, Units()) == []
    assert with_not_needed(items, said)["needed"].equals(items["needed"])


def test_mass_that_is_not_known_frees_nothing_known(items: pd.DataFrame) -> None:
    lines = not_needed_lines(items, learnt(("dish", 1), ("jackets", 1)))
    assert freed_kg(lines) == 6.0
    assert freed_sentences(lines, Units())[-1] == "Not weighed, so not counted: dish."


def test_nothing_learnt_and_nothing_listed_leave_the_list_as_it_is(items: pd.DataFrame) -> None:
    assert not_needed_lines(items, None).empty
    assert not_needed_lines(items, learnt(("piano", 1))).empty
    assert with_not_needed(items, None) is items
