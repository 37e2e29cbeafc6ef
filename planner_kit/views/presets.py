"""Weights kept under names in the household file: choosing one, and saving what the sliders say."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as widgets

from planner_kit.errors import PlannerKitError
from planner_kit.outings import outing_weights
from planner_kit.trip.editing import save_preset
from planner_kit.views import look

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from pathlib import Path

    from planner_kit.trip.household import Household

USUAL = "The household's own"


class PresetBox(widgets.VBox):  # type: ignore[misc]
    """A list of saved weights, a name, and a button that saves.

    Parameters
    ----------
    path : Path
        The household.toml that is written to.
    household : Household
    weights : callable
        Gives the weights as the sliders stand.
    put : callable
        Takes weights to set the sliders to.
    """

    def __init__(
        self,
        path: Path,
        household: Household,
        weights: Callable[[], Mapping[str, float]],
        put: Callable[[Mapping[str, float]], None],
    ) -> None:
        self.path, self.household, self._weights, self._put = path, household, weights, put
        wide = widgets.Layout(width="auto", min_width="0")
        label = {"description_width": "9.5em"}
        self.choice = widgets.Dropdown(description="Saved weights", layout=wide, style=label)
        self.name = widgets.Text(
            description="Save these as", placeholder="such as rainy week", layout=wide, style=label
        )
        self.save = widgets.Button(
            description="Save into the household file",
            tooltip="Writes these weights under that name; the file's comments stay",
            layout=widgets.Layout(width="auto"),
        )
        self.said = widgets.HTML()
        self._list(USUAL)
        self.choice.observe(self._choose, names="value")
        self.save.on_click(self._save)
        super().__init__([self.choice, self.name, self.save, self.said])

    def _list(self, chosen: str) -> None:
        self.choice.options = [USUAL, *sorted(self.household.preferences.attraction_presets)]
        self.choice.value = chosen

    def _choose(self, _change: Any) -> None:
        name = self.choice.value
        try:
            own = self.household.preferences.attraction_presets.get(name, {})
            self._put(outing_weights(self.household, weights=own))
            self.said.value = ""
        except PlannerKitError as error:
            self.said.value = look.page(look.paragraphs([str(error)]))

    def _save(self, _button: Any) -> None:
        name = self.name.value.strip()
        try:
            if name == USUAL:
                raise PlannerKitError(f"'{name}' is taken; choose another name.")
            self.household = save_preset(self.path, name, self._weights())
        except PlannerKitError as error:
            self.said.value = look.page(look.paragraphs([str(error)]))
            return
        self.choice.unobserve(self._choose, names="value")
        self._list(name)
        self.choice.observe(self._choose, names="value")
        self.said.value = look.page(look.paragraphs([f"Saved as {name} in {self.path.name}."]))
