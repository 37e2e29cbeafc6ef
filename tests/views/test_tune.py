from __future__ import annotations

import base64
from pathlib import Path

import numpy as np
import pytest

from planner_kit.errors import PlanFileError
from planner_kit.outings import CRITERIA
from planner_kit.views.tune import SHOWN, AttractionTuner, tune_attractions


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


def test_slider_puts_the_shortest_drive_first(tuner: AttractionTuner) -> None:
    only(tuner, "drive")
    minutes = tuner.ranking["travel_min"].head(SHOWN).to_numpy(dtype=float)
    assert (np.diff(minutes) >= 0).all()
    assert minutes[0] == np.nanmin(tuner.criteria["travel_min"])


def test_table_chart_and_map_follow_a_slider(tuner: AttractionTuner) -> None:
    before = tuner.best.value, tuner.chart.data[0].y, tuner.marks.url
    only(tuner, "drive")
    first = tuner.ranking["name"].iloc[0]
    assert f"1. {first}" == tuner.chart.data[0].y[0].replace("&amp;", "&")
    assert tuner.best.value != before[0]
    assert tuner.chart.data[0].y != before[1]
    assert tuner.marks.url != before[2]


def test_parts_in_the_chart_add_up_to_the_score(tuner: AttractionTuner) -> None:
    tuner.sliders["age"].value = 9
    total = np.sum([bar.x for bar in tuner.chart.data], axis=0)
    assert total == pytest.approx(tuner.ranking["score"].head(SHOWN).to_numpy())


def test_parts_are_told_by_pattern_as_well_as_colour(tuner: AttractionTuner) -> None:
    marks = {(bar.marker.color, bar.marker.pattern.shape) for bar in tuner.chart.data}
    assert len(marks) == len(tuner.chart.data)


def test_weight_of_nought_leaves_no_part(tuner: AttractionTuner) -> None:
    tuner.sliders["rating"].value = 0
    assert set(tuner.chart.data[CRITERIA.index("rating")].x) == {0.0}


def test_button_goes_back_to_the_households_weights(tuner: AttractionTuner) -> None:
    before = tuner.best.value
    only(tuner, "novelty")
    tuner.back.click()
    assert tuner.weights() == tuner.usual
    assert tuner.best.value == before


def test_weights_to_keep_are_those_of_the_sliders(tuner: AttractionTuner) -> None:
    tuner.sliders["wet_day"].value = 7.5
    assert "[preferences.attractions]" in tuner.to_keep.value
    assert "wet_day = 7.5" in tuner.to_keep.value


def test_all_weights_at_nought_still_show_a_table(tuner: AttractionTuner) -> None:
    for slider in tuner.sliders.values():
        slider.value = 0
    assert (tuner.ranking["score"] == 0).all()
    assert "The best places" in tuner.best.value


def test_stay_that_the_trip_has_not_is_told(demo: Path) -> None:
    with pytest.raises(PlanFileError, match="the trip has no stay 4"):
        tune_attractions(demo, trip="trip_2027.toml", stay=4)


def test_hostile_name_is_escaped_in_table_chart_and_map(hostile_demo: Path) -> None:
    tuner = tune_attractions(hostile_demo, trip="trip_2027.toml")
    svg = base64.b64decode(tuner.marks.url.partition(",")[2]).decode()
    shown = [tuner.best.value, svg, *tuner.chart.data[0].y]
    assert any("&lt;script&gt;" in text for text in shown)
    for text in shown:
        assert "<script" not in text
        assert "<img" not in text
