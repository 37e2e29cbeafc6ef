from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

from planner_kit.errors import PlanFileError, PlannerKitError
from planner_kit.region.terrain import Terrain
from planner_kit.views.dish import DishPanel, aim_dish
from planner_kit.views.signals import (
    SignalExplorer,
    coverage_figure,
    explore_signals,
    show_coverage,
)


@pytest.fixture(scope="module")
def explorer(demo: Path) -> SignalExplorer:
    return explore_signals(demo, trip="trip_2027.toml")


@pytest.fixture
def panel(demo: Path) -> DishPanel:
    return aim_dish(demo, trip="trip_2027.toml")


def test_click_moves_boxes_marker_and_forecast(explorer: SignalExplorer) -> None:
    before = explorer.words.value
    explorer.picker._on_interaction(type="click", coordinates=[49.53, -14.21])
    assert (explorer.lat.value, explorer.lon.value) == (49.53, -14.21)
    assert tuple(explorer.picker.at) == (49.53, -14.21)
    assert explorer.words.value != before
    assert "phone of Maren" in explorer.words.value
    assert explorer.drawing.value.count("<svg") == 1


def test_other_service_is_drawn_when_it_is_chosen(explorer: SignalExplorer) -> None:
    explorer.show(49.53, -14.21)
    assert len(explorer.service.options) >= 4
    before = explorer.drawing.value
    explorer.service.value = explorer.service.options[-1]
    assert explorer.drawing.value != before
    assert "hills around" in explorer.drawing.value


def test_pointing_without_a_click_changes_nothing(explorer: SignalExplorer) -> None:
    before = explorer.words.value
    explorer.picker._on_interaction(type="mousemove", coordinates=[49.4, -14.5])
    assert explorer.words.value == before


def test_place_off_the_terrain_is_unknown_and_never_fine(explorer: SignalExplorer) -> None:
    explorer.show(48.0, -14.2)
    assert "unknown" in explorer.words.value
    assert "</span> fine" not in explorer.words.value
    assert "nothing to draw" in explorer.drawing.value
    explorer.show(49.53, -14.21)


def test_map_of_a_mast_thins_the_cells_and_names_mast_and_measure() -> None:
    level = np.linspace(-120, -60, 900 * 900).reshape(900, 900)
    level[:, :100] = np.nan
    terrain = Terrain(np.zeros((900, 900), np.int16), -14.9, 49.7, 1 / 1200, 1 / 1200)
    figure = coverage_figure(level, terrain, (49.5, -14.5), "Made Mast")
    heat, mark = figure.data
    assert np.shape(heat.z) == (450, 450)
    assert np.isnan(heat.z[:, :50]).all()
    assert heat.y[1] - heat.y[0] == pytest.approx(-2 / 1200)
    assert (mark.x[0], mark.y[0]) == (-14.5, 49.5)
    assert figure.layout.title.text.startswith("Made Mast: level in a hand")


def test_mast_that_nobody_listed_is_told(demo: Path) -> None:
    with pytest.raises(PlanFileError, match=r"the parameter 'mast': there is no mast 'nowhere'"):
        show_coverage(demo, trip="trip_2027.toml", mast_id="nowhere")


def test_household_without_a_phone_is_told_so(demo: Path, tmp_path: Path) -> None:
    island = tmp_path / "island"
    shutil.copytree(demo, island)
    path = island / "household.toml"
    words = path.read_text(encoding="utf-8").split("[[phones]]")
    path.write_text(words[0] + words[-1][words[-1].index("\n[") :], encoding="utf-8")
    explorer = explore_signals(island, trip="trip_2027.toml")
    assert "names no phone and operator" in explorer.words.value


def test_nearer_tree_wants_a_move(panel: DishPanel) -> None:
    panel.tree.value, panel.away.value = 12, 40
    assert "leaves the satellite free" in panel.words.value
    panel.away.value = 5
    assert "move the dish" in panel.words.value


def test_other_orbit_turns_the_dish(panel: DishPanel) -> None:
    before = panel.words.value
    panel.orbit.value = 40.0
    assert panel.words.value != before
    panel.orbit.value = 160.0
    assert "below the horizon" in panel.words.value


def test_stay_that_the_trip_does_not_have_is_told(demo: Path) -> None:
    for show in (aim_dish, explore_signals):
        with pytest.raises(PlannerKitError, match="not a stay 9"):
            show(demo, trip="trip_2027.toml", stay=9)
