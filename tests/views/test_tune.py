from __future__ import annotations

import asyncio
import base64
import shutil
from pathlib import Path

import numpy as np
import pytest

from planner_kit.errors import PlannerKitError
from planner_kit.outings import overtaking_weights, rank_attractions
from planner_kit.trip.reading import read_household, read_trip
from planner_kit.views import beside
from planner_kit.views.presets import USUAL
from planner_kit.views.tune import SHOWN, AttractionTuner, tune_attractions
from planner_kit.views.tune_tables import WORDS, _missing_words
from tests.views.apart import run_apart


@pytest.fixture(scope="module")
def shared(demo: Path) -> AttractionTuner:
    return tune_attractions(demo, trip="trip_2027.toml")


@pytest.fixture
def tuner(shared: AttractionTuner) -> AttractionTuner:
    shared.back.click()
    return shared


def only(tuner: AttractionTuner, name: str) -> None:
    for slider in tuner.sliders.values():
        slider.value = 0
    tuner.sliders[name].value = 10


def test_liking_that_is_not_known_is_no_fault_of_the_kind() -> None:
    assert _missing_words("likes, age") == "what you like, for which ages"


def test_slider_puts_the_shortest_drive_first(tuner: AttractionTuner) -> None:
    only(tuner, "drive")
    minutes = tuner.ranking["travel_min"].head(SHOWN).to_numpy(dtype=float)
    assert (np.diff(minutes) >= 0).all()
    assert minutes[0] == np.nanmin(tuner.criteria["travel_min"])


def test_table_chart_and_map_follow_a_slider(tuner: AttractionTuner) -> None:
    before = tuner.best.value, tuner.chart.bars.value, tuner.marks.url
    only(tuner, "drive")
    first = tuner.ranking["name"].iloc[0]
    assert f"1. {first}" == tuner.chart.names[0]
    assert tuner.best.value != before[0]
    assert tuner.chart.bars.value != before[1]
    assert tuner.marks.url != before[2]


def test_parts_in_the_chart_add_up_to_the_score(tuner: AttractionTuner) -> None:
    tuner.sliders["age"].value = 9
    total = tuner.chart.lengths.sum(axis=1)
    assert total == pytest.approx(tuner.ranking["score"].head(SHOWN).to_numpy())


def test_parts_are_told_by_pattern_as_well_as_colour(tuner: AttractionTuner) -> None:
    assert len(set(tuner.chart.looks)) == len(tuner.names)


def test_weight_of_nought_leaves_no_part(tuner: AttractionTuner) -> None:
    tuner.sliders["rating"].value = 0
    assert set(tuner.chart.lengths[:, tuner.names.index("rating")]) == {0.0}
    assert f"{WORDS['rating']}: " not in tuner.chart.bars.value


def test_button_goes_back_to_the_households_weights(tuner: AttractionTuner) -> None:
    before = tuner.best.value
    only(tuner, "novelty")
    tuner.back.click()
    assert tuner.weights() == tuner.usual
    assert tuner.best.value == before


def test_weights_to_keep_are_those_of_the_sliders(tuner: AttractionTuner) -> None:
    tuner.sliders["wet_day"].value = 7.5
    assert "[preferences.attractions]" in tuner.best.value
    assert "wet_day = 7.5" in tuner.best.value


def test_all_weights_at_nought_still_show_a_table(tuner: AttractionTuner) -> None:
    for slider in tuner.sliders.values():
        slider.value = 0
    assert (tuner.ranking["score"] == 0).all()
    assert "The best places" in tuner.best.value


def test_stay_that_the_trip_has_not_is_told(demo: Path) -> None:
    with pytest.raises(PlannerKitError, match="not a stay 4"):
        tune_attractions(demo, trip="trip_2027.toml", stay=4)


def test_hostile_name_is_escaped_in_table_chart_and_map(hostile_demo: Path) -> None:
    tuner = tune_attractions(hostile_demo, trip="trip_2027.toml")
    svg = base64.b64decode(tuner.marks.url.partition(",")[2]).decode()
    shown = [tuner.best.value, svg, tuner.chart.bars.value]
    assert any("&lt;script&gt;" in text for text in shown)
    for text in shown:
        assert "<script" not in text
        assert "<img" not in text


def test_varied_ten_repeats_fewer_kinds(tuner: AttractionTuner) -> None:
    only(tuner, "likes")
    best = tuner.ranking.head(10)["kind"].nunique()
    tuner.choice.index = 1
    try:
        assert len(tuner.shown) == 10
        assert tuner.shown["kind"].nunique() > best
        assert "A varied choice" in tuner.best.value
    finally:
        tuner.choice.index = 0


def test_sentence_of_what_overtakes_the_winner_is_true(tuner: AttractionTuner) -> None:
    changes = overtaking_weights(tuner.ranking, tuner.weights())
    row = changes[changes["new_weight"].between(0, 9.4)].iloc[0]
    assert str(row["name"]) in tuner.best.value
    moved = row["new_weight"] + (0.5 if row["change"] > 0 else -0.5)
    weights = {**tuner.weights(), row["criterion"]: max(moved, 0.0)}
    again = rank_attractions(tuner.criteria, weights)
    assert again["attraction_id"].iloc[0] != tuner.ranking["attraction_id"].iloc[0]


def test_days_follow_once_the_sliders_rest(tuner: AttractionTuner) -> None:
    tuner.settle()
    before = tuner.planner.table.value
    only(tuner, "wet_day")
    assert tuner.planner.later.waiting
    assert "weights before" in tuner.planner.heading.value
    assert tuner.planner.table.value == before
    tuner.settle()
    assert not tuner.planner.later.waiting
    assert "with these weights" in tuner.planner.heading.value
    assert tuner.planner.table.value != before


def test_facts_of_a_place_say_where_they_come_from(tuner: AttractionTuner) -> None:
    keys = [key for _, key in tuner.place.options]
    own = tuner.ranking[tuner.ranking["own"] & tuner.ranking["attraction_id"].isin(keys)]
    tuner.place.value = own["attraction_id"].iloc[0]
    assert "own list: invented for the demo island" in tuner.facts.value
    assert "Opening hours" in tuner.facts.value


@pytest.fixture(scope="module")
def own_copy(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> AttractionTuner:
    folder = tmp_path_factory.mktemp("own") / "island"
    shutil.copytree(demo, folder)
    return tune_attractions(folder, trip="trip_2027.toml")


def test_weights_are_saved_under_a_name_and_chosen_again(own_copy: AttractionTuner) -> None:
    box, path = own_copy.presets, own_copy.files.inputs.household_path
    comment = "# The figures below stand on the car's plate"
    own_copy.sliders["wet_day"].value = 9.5
    box.name.value = "rainy week"
    box.save.click()
    kept = read_household(path).preferences.attraction_presets["rainy week"]
    assert kept == own_copy.weights()
    assert comment in path.read_text(encoding="utf-8")
    own_copy.back.click()
    assert own_copy.sliders["wet_day"].value != 9.5
    box.choice.value = USUAL
    box.choice.value = "rainy week"
    assert own_copy.sliders["wet_day"].value == 9.5
    box.name.value = " "
    box.save.click()
    assert "needs a name" in box.said.value
    box.name.value = USUAL
    box.save.click()
    assert "is taken" in box.said.value


def test_a_button_of_the_days_asks_for_a_choice_where_none_is_made(
    shared: AttractionTuner,
) -> None:
    planner = shared.planner
    planner.place.value = planner.day.value = planner.left.value = ""
    for act, asked in (
        (planner.pin, "a place and a day"), (planner.leave_out, "a place from"),
        (planner.ask, "a place from"),
    ):  # fmt: skip
        planner.said.value = ""
        act.click()
        assert asked in planner.said.value
    assert not planner.pinned
    assert not planner.nots


def test_edits_of_the_days_are_kept_in_the_trip_file(own_copy: AttractionTuner) -> None:
    planner = own_copy.planner
    out = planner.plan.days[planner.plan.days["what"] == "outing"]
    first, last = out.iloc[0], out.iloc[-1]
    planner.place.value, planner.day.value = first["attraction_id"], last["day"]
    planner.pin.click()
    days = planner.plan.days.set_index("attraction_id")["day"]
    assert days[first["attraction_id"]] == last["day"]
    planner.place.value = last["attraction_id"]
    planner.leave_out.click()
    assert last["attraction_id"] not in set(planner.plan.days["attraction_id"])
    planner.keep.click()
    trip = read_trip(own_copy.files.inputs.trip_path)
    assert trip.outings.pinned == {first["name"]: last["day"]}
    assert last["name"] in trip.outings.never
    planner.undo.click()
    assert not planner.pinned
    assert planner.edits.value == ""


def test_why_not_names_what_would_be_pushed_out(shared: AttractionTuner) -> None:
    planner = shared.planner
    full = planner.plan.left_out
    row = full[full["why"].str.startswith("the days are full")].iloc[0]
    planner.left.value = row["attraction_id"]
    planner.ask.click()
    assert str(row["name"]) in planner.said.value
    words = ("push out", "the days are full", "in the days now")
    assert any(word in planner.said.value for word in words)


def test_pins_that_one_day_cannot_hold_are_told(shared: AttractionTuner) -> None:
    planner = shared.planner
    long = planner.ranking[planner.ranking["time_needed_min"] >= 240].head(3)
    assert len(long) >= 2
    day = planner.day.options[1][1]
    try:
        for key in long["attraction_id"]:
            planner.place.value, planner.day.value = key, day
            planner.pin.click()
        assert "although it is pinned" in planner.said.value
    finally:
        planner.undo.click()


def test_days_are_planned_beside_the_kernel_and_by_it_when_that_process_has_died(
    own_copy: AttractionTuner,
) -> None:
    planner = own_copy.planner

    async def rested() -> None:
        while planner.later.waiting:
            await asyncio.sleep(0.02)

    def left_out_in_order() -> bool:
        place = {key: n for n, key in enumerate(own_copy.ranking["attraction_id"])}
        order = [place[key] for key in planner.plan.left_out["attraction_id"]]
        return order == sorted(order)

    async def moved() -> None:
        own_copy.ready.seen = True  # as the browser says
        before = planner.plan
        only(own_copy, "wet_day")
        assert "weights before" in planner.heading.value
        await asyncio.wait_for(rested(), 60)
        assert planner.plan is not before
        assert left_out_in_order()
        assert planner.lost.value == ""
        beside.shared().end()
        only(own_copy, "drive")
        await asyncio.wait_for(rested(), 60)
        assert "has ended" in planner.lost.value
        assert "with these weights" in planner.heading.value
        assert left_out_in_order()

    run_apart(moved())
    assert planner.later.beside is None
