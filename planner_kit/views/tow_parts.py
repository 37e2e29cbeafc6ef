"""The sliders, buttons and pins of choosing a tow."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipyleaflet as maps
import ipywidgets as widgets

from planner_kit.trip import display
from planner_kit.views import look

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from planner_kit.trip.household import TowWeights, Units

_WORDS = {
    "narrow": "Narrow roads",
    "steep": "Steep hills",
    "rough": "Rough surface",
    "town": "Towns",
    "bends": "Tight bends",
    "unlit": "Unlit roads",
    "ferry": "Ferries",
    "toll": "Toll roads",
}
_MOST_S = 600
WRAP = widgets.Layout(flex_flow="row wrap")
_PIN = (
    "width:26px;height:26px;border-radius:50% 50% 50% 0;background:#1B1B1B;color:#fff;"
    "font:700 13px/26px system-ui;text-align:center;border:2px solid #fff"
)


def told_aloud(*parts: str) -> str:
    """What a click or a button did, read aloud by a screen reader when it changes."""
    return look.page(f'<div class="pk-narrow" role="status">{"".join(parts)}</div>')


def dislikes_title(units: Units) -> str:
    """What the sliders of the dislikes count."""
    each = "mile" if units.distance == "miles" else "kilometre"
    return f"Seconds longer that you would drive to avoid one {each} of it"


def dislike_slider(name: str, weights: TowWeights, units: Units) -> widgets.FloatSlider:
    """A slider for one dislike, in seconds for each mile or kilometre."""
    weight = display.per_distance(getattr(weights, name), units)
    return widgets.FloatSlider(
        value=weight,
        min=0,
        max=max(_MOST_S, weight),
        step=10 if units.distance == "km" else 1,
        description=_WORDS[name],
        continuous_update=True,
        readout_format=".0f",
        style={"description_width": "7.5em"},
        layout=widgets.Layout(width="100%"),
    )


def weights_told(
    sliders: Mapping[str, widgets.FloatSlider], usual: TowWeights, units: Units
) -> TowWeights:
    """The household's weights with what the sliders say; one that was not moved stays exact."""
    told = {
        name: display.per_km_of(slider.value, units)
        for name, slider in sliders.items()
        if slider.value != display.per_distance(getattr(usual, name), units)
    }
    return usual.model_copy(update={name: round(weight, 1) for name, weight in told.items()})


def press_button(
    word: str, pressed: Callable[[widgets.Button], None], *, shown: bool = True
) -> widgets.Button:
    """A button as wide as its words, hidden until it is of use where `shown` is false."""
    button = widgets.Button(
        description=word,
        layout=widgets.Layout(
            width="auto", align_self="flex-start", display="" if shown else "none"
        ),
    )
    button.on_click(pressed)
    return button


def show_buttons(*buttons: widgets.Button) -> None:
    """Show buttons that were hidden."""
    for button in buttons:
        button.layout.display = ""


def numbered_pin(number: int, at: tuple[float, float]) -> maps.Marker:
    """A pin that can be dragged, numbered from 1."""
    return maps.Marker(
        location=at,
        draggable=True,
        keyboard=True,
        title=f"Point {number + 1} on the way; drag it to go another way",
        alt=f"Point {number + 1} on the way",
        icon=maps.DivIcon(
            html=f'<div style="{_PIN}">{number + 1}</div>',
            icon_size=(30, 30),
            icon_anchor=(15, 15),
            bg_pos=(0, 0),
        ),
    )
