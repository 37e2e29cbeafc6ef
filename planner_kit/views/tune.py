"""Tuning the ranking of attractions: a slider for each weight; table, parts and map follow."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipyleaflet as maps
import ipywidgets as widgets

from planner_kit.diary import places_visited
from planner_kit.outings import (
    CRITERIA,
    criteria_that_apply,
    diverse_top,
    outing_weights,
    rank_attractions,
    stay_criteria,
)
from planner_kit.views import look
from planner_kit.views.access import View
from planner_kit.views.bars import StackedBars
from planner_kit.views.day_plan import DayPlanner
from planner_kit.views.map_names import numbered_marks
from planner_kit.views.presets import PresetBox
from planner_kit.views.region_map import RegionMap
from planner_kit.views.stays import files_of_stay, site_of
from planner_kit.views.tune_tables import (
    WORDS,
    best_html,
    facts_html,
    sensitivity_html,
    to_keep_html,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from planner_kit.trip_files import TripFiles
    from planner_kit.views.map_layers import Bounds

SHOWN = 12
_PART_COLOURS = (
    "blue", "orange", "green", "purple", "sky", "vermilion", "yellow", "grey", "blue", "orange",
    "green",
)  # fmt: skip
_PART_MARKS = ("", "/", ".", "x", "\\", "-", "+", "|", "x", ".", "")


def tune_attractions(folder: Path, *, trip: str, stay: int = 1) -> AttractionTuner:
    """Sliders for the weights of a trip's attractions.

    Parameters
    ----------
    folder : Path
        The planning folder.
    trip : str
        The trip file in it.
    stay : int
        Which stay of the trip, from 1.

    Returns
    -------
    tuner : AttractionTuner
        Show it as the last value of a cell.

    Raises
    ------
    PlannerKitError
        If the trip or one of its files cannot be used, or it has no such stay.
    """
    files, number = files_of_stay(folder, trip, stay)
    plan = files.inputs.trip
    table = stay_criteria(
        files.inputs,
        files.region,
        site_of(files, number),
        *plan.stay_dates()[number],
        attractions=files.attractions,
        visited=places_visited(folder / "records", plan.start),
    )
    return AttractionTuner(files, table, number)


class AttractionTuner(View):
    """Sliders on the left; parts, map on the right; the places, their facts and the days below."""

    def __init__(self, files: TripFiles, table: pd.DataFrame, number: int) -> None:
        self.files, self.criteria = files, table
        site = site_of(files, number)
        household = files.inputs.household
        self.here = float(site["lat"]), float(site["lon"])
        self.names = criteria_that_apply(household)
        self.usual = {name: outing_weights(household)[name] for name in self.names}
        self.sliders = {name: _slider(name, self.usual[name]) for name in self.names}
        self.ranking = rank_attractions(table, self.usual)
        # One widget for all words that follow a slider: the page is laid out anew for each.
        self.best, self.facts = widgets.HTML(), widgets.HTML()
        self.choice = widgets.ToggleButtons(
            options=["Best by score", "A varied ten"],
            description="Show",
            style={"description_width": "3.5em"},
        )
        self.place = widgets.Dropdown(description="Facts of", layout=widgets.Layout(width="26em"))
        looks = dict(zip(CRITERIA, zip(_PART_COLOURS, _PART_MARKS, strict=True), strict=True))
        self.chart = StackedBars(
            {WORDS[name]: looks[name] for name in self.names},
            axis="Score: the sum of its parts; 1 is the best there could be",
            most=1.0,
        )
        self.map = RegionMap(files.region, center=self._middle(), zoom=10, height="420px")
        self.marks = maps.ImageOverlay(
            url=self.map.names.url, bounds=self.map.names.bounds, pane="pk-names"
        )
        self.map.add(self.marks)
        self.presets = PresetBox(
            files.inputs.household_path, household, self.weights, self._put_weights
        )
        self.back = widgets.Button(
            description="Back to the household's weights", layout=widgets.Layout(width="auto")
        )
        self.planner = DayPlanner(files, self.ranking, number)
        super().__init__(
            [self._row(), self.choice, self.best, self.place, self.facts, self.planner]
        )
        self.place.observe(self._show_facts, names="value")
        self._show()
        self.map.when_drawn(self._draw_marks)
        self.map.draw()
        self.ready.observe(lambda _: self.planner.later.work_beside(), names="seen")
        for slider in self.sliders.values():
            slider.observe(self._follow, names="value")
        self.back.on_click(self._go_back)
        self.choice.observe(lambda _: self._show(), names="value")
        self._show_facts(None)

    def _row(self) -> widgets.HBox:
        left = widgets.VBox(
            [
                widgets.HTML(look.page("<strong>How much does each matter?</strong>")),
                *self.sliders.values(),
                self.back,
                self.presets,
            ],
            layout=widgets.Layout(flex="1 1 290px", max_width="420px", min_width="0"),
        )
        right = widgets.VBox(
            [self.chart, self.map], layout=widgets.Layout(flex="2 1 470px", min_width="0")
        )
        return widgets.HBox([left, right], layout=widgets.Layout(flex_flow="row wrap"))

    def _middle(self) -> tuple[float, float]:
        """The middle of the site and the best places."""
        top = self.ranking.head(SHOWN)[["lat", "lon"]].astype(float).dropna()
        every = [self.here, *top.itertuples(index=False, name=None)]
        lat, lon = zip(*every, strict=True)
        return (min(lat) + max(lat)) / 2, (min(lon) + max(lon)) / 2

    def weights(self) -> dict[str, float]:
        """What the sliders say."""
        return {name: slider.value for name, slider in self.sliders.items()}

    def settle(self) -> None:
        """Plan the days now, if they wait for the sliders to rest."""
        self.planner.settle()

    def _go_back(self, _button: Any) -> None:
        self._put_weights(self.usual)

    def _put_weights(self, weights: Mapping[str, float]) -> None:
        """Set all sliders, and follow once."""
        for slider in self.sliders.values():
            slider.unobserve(self._follow, names="value")
        for name, slider in self.sliders.items():
            slider.value = weights.get(name, 0.0)
        for slider in self.sliders.values():
            slider.observe(self._follow, names="value")
        self._follow(None)

    def _follow(self, _change: Any) -> None:
        self.ranking = rank_attractions(self.criteria, self.weights())
        self._show()
        self.planner.follow(self.ranking)

    @property
    def top(self) -> pd.DataFrame:
        """The places that are shown, in their order."""
        if self.choice.index == 1:
            return diverse_top(self.ranking, top=10)
        return self.ranking.head(SHOWN)

    def _show(self) -> None:
        self.shown = self.top
        units, weights = self.files.inputs.household.units, self.weights()
        varied = self.choice.index == 1
        # All is worked out before any of it is sent, so that the page is drawn once.
        said = (
            best_html(self.shown, units, varied=varied, learnt=self.files.inputs.learnt),
            sensitivity_html(self.ranking, weights, units),
            to_keep_html(weights),
        )
        names = [f"{place}. {name}" for place, name in enumerate(self.shown["name"], 1)]
        parts = [f"part_{name}" for name in self.names]
        self.chart.show(names, self.shown[parts].to_numpy(dtype=float))
        self._draw_marks(*self.map.view())
        self.best.value = "".join(said)
        before = self.place.value
        keys = list(self.shown["attraction_id"])
        # A list that is filled anew chooses its first for a moment: nobody need read its facts.
        self.place.unobserve(self._show_facts, names="value")
        with self.place.hold_sync():
            self.place.options = list(zip(names, keys, strict=True))
            self.place.value = before if before in keys else keys[0] if keys else None
        self.place.observe(self._show_facts, names="value")
        if self.place.value != before:
            self._show_facts(None)

    def _show_facts(self, _change: Any) -> None:
        rows = self.ranking[self.ranking["attraction_id"] == self.place.value]
        self.facts.value = (
            facts_html(rows.iloc[0].to_dict(), self.files.inputs.household.units)
            if len(rows)
            else ""
        )

    def _draw_marks(self, bounds: Bounds, zoom: float) -> None:
        points = zip(self.shown["lat"].astype(float), self.shown["lon"].astype(float), strict=True)
        west, south, east, north = bounds
        with self.marks.hold_sync():
            self.marks.bounds = ((south, west), (north, east))
            self.marks.url = numbered_marks(
                points, self.here, bounds, zoom, clear_of=self.map.name_spots
            )


def _slider(name: str, value: float) -> widgets.FloatSlider:
    return widgets.FloatSlider(
        value=value,
        min=0,
        max=10,
        step=0.5,
        description=WORDS[name],
        continuous_update=True,
        readout_format=".1f",
        style={"description_width": "11.5em"},
        layout=widgets.Layout(width="100%"),
    )
