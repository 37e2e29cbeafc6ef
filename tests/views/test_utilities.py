from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from planner_kit.errors import PlannerKitError
from planner_kit.plan import pitch_stage
from planner_kit.trip_files import read_files
from planner_kit.views.pitch import pitch_html, warnings_html
from planner_kit.views.utilities import PitchUtilities, show_utilities


@pytest.fixture(scope="module")
def files(demo: Path):
    return read_files(demo / "trip_2027.toml")


@pytest.fixture
def panel(files) -> PitchUtilities:
    return PitchUtilities(files, 0)


def test_nothing_dangerous_is_said_as_that_and_unknowns_stay_below(panel: PitchUtilities) -> None:
    assert "Nothing here is known to be dangerous" in panel.warnings.value
    assert "walk to water and waste" in panel.text.value


def test_weaker_post_warns_above_everything_and_its_hour_is_crossed(panel: PitchUtilities) -> None:
    panel.controls["amperes"].value = 4.0
    assert "Before you go" in panel.warnings.value
    assert "Hook-up load" in panel.warnings.value
    assert {"the post holds", "trips"} <= set(panel.chart.kinds)
    assert "the post&#x27;s rating: 4 A" in panel.chart.bars.value
    panel.controls["amperes"].value = -1.0
    assert "Before you go" not in panel.warnings.value


def test_thin_lead_and_full_drum_are_warned_of(panel: PitchUtilities) -> None:
    panel.controls["lead_mm2"].value = 1.0
    assert "too thin a lead" in panel.warnings.value
    panel.controls["lead_mm2"].value = 2.5
    panel.controls["layers"].value = 4
    assert "unroll all of it" in panel.warnings.value


def test_butane_in_frost_is_warned_of(panel: PitchUtilities) -> None:
    panel.controls["gas"].value = "butane"
    panel.controls["temperatures"].value = (-5, 3)
    assert "take propane" in panel.warnings.value
    assert "for frost" in panel.text.value


def test_more_people_and_nights_bring_more_gas(panel: PitchUtilities) -> None:
    assert panel.report is not None
    before = panel.report.gas.total.likely
    panel.controls["people"].value += 2
    panel.controls["nights"].value += 3
    assert panel.report.gas.total.likely > before


def test_without_the_post_the_battery_is_looked_at_and_no_bar_stands(panel: PitchUtilities) -> None:
    panel.controls["hookup"].value = False
    assert "leisure battery" in panel.text.value
    assert panel.chart.kinds == []
    assert "No mains to draw from" in panel.chart.bars.value


def test_why_no_bar_stands_is_said(files) -> None:
    inputs = files.inputs
    bare = inputs.household.model_copy(update={"appliances": []})
    panel = PitchUtilities(replace(files, inputs=replace(inputs, household=bare)), 0)
    assert panel.chart.kinds == []
    assert "No appliance for the mains is listed" in panel.chart.bars.value
    panel.controls["amperes"].value = 0.0
    assert "No mains to draw from" in panel.chart.bars.value
    panel.offer = replace(panel.offer, hookup_a=None)
    panel.controls["amperes"].value = -1.0
    assert "How many amperes the post gives is not known" in panel.chart.bars.value


def test_weather_that_is_not_known_is_not_reckoned_with(panel: PitchUtilities) -> None:
    panel.controls["weather"].value = False
    assert "names no temperatures" in panel.text.value


def test_every_control_says_what_it_is(panel: PitchUtilities) -> None:
    assert all(control.description for control in panel.controls.values())


def test_stay_that_the_trip_does_not_have_is_told(demo: Path) -> None:
    with pytest.raises(PlannerKitError, match="not a stay 4"):
        show_utilities(demo, trip="trip_2027.toml", stay=4)


def test_text_from_files_cannot_become_markup() -> None:
    told = warnings_html(["<script>alert(1)</script>"])
    assert "<script>" not in told
    assert "&lt;script&gt;" in told


def test_record_of_a_pitch_begins_with_its_dangers(files) -> None:
    (report,) = pitch_stage(files)
    shown = pitch_html(replace(report, warnings=("Hook-up lead: too thin.",)))
    assert shown.index("too thin") < shown.index("On the pitch")
    for caption in ("What to bring", "Switch on in this order", "What the panels bring",
                    "The sun over the hills"):  # fmt: skip
        assert caption in shown
