"""Exploring a region: roads by how well they tow, places by kind, and what is under a click."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets
import pandas as pd

from planner_kit.errors import PlanFileError
from planner_kit.outfit import outfit_of
from planner_kit.region import LABELS, Region, nearest_road, open_region
from planner_kit.states import State
from planner_kit.tow import road_suitability
from planner_kit.trip import display, read_household
from planner_kit.trip.wording import with_feet
from planner_kit.views import look
from planner_kit.views.access import View
from planner_kit.views.map_layers import STATE_LINES, nearest_place, place_shapes, symbol_svg
from planner_kit.views.region_map import EMPTY, ONLINE_CREDIT, RegionMap

if TYPE_CHECKING:
    from planner_kit.trip.household import Household, Units
    from planner_kit.views.map_layers import Bounds

_AT_START = "Click a road or a place on the map to read what is known about it."


def explore_region(
    folder: Path, *, region: str = "region", household: str = "household.toml", on: str
) -> RegionExplorer:
    """A map of a region for a household's outfit.

    Parameters
    ----------
    folder : Path
        The planning folder.
    region, household : str
        The region folder and the household file in it.
    on : str
        The day of the tow as ISO 8601, for ages and law.

    Returns
    -------
    explorer : RegionExplorer
        Show it as the last value of a cell.

    Raises
    ------
    PlanFileError
        If the region or the household cannot be used, or `on` is no date.
    """
    opened = open_region(folder / region)
    people = read_household(folder / household)
    day = _day_of(on)
    outfit = outfit_of(people, on=day)
    suits = road_suitability(opened, outfit, people.preferences.tow, on=day)
    return RegionExplorer(opened, people, suits)


def _day_of(on: str) -> dt.date:
    try:
        return dt.date.fromisoformat(on)
    except ValueError:
        raise PlanFileError(
            f"'{on}' is not a date", "the parameter day", "write it as 2027-07-24"
        ) from None


class RegionExplorer(View):
    """A map that draws what is in view, with a panel about what was clicked."""

    def __init__(self, region: Region, household: Household, suits: pd.DataFrame) -> None:
        self.region, self.household, self.suits = region, household, suits
        self.map = RegionMap(region, states=suits["state"])
        self.boxes = {
            group: widgets.Checkbox(
                value=group in _AT_FIRST,
                description=word,
                indent=False,
                layout=widgets.Layout(width="auto", margin="0"),
            )
            for group, word in _GROUP_WORDS.items()
        }
        self.panel = widgets.HTML(_about(look.paragraphs([_AT_START])))
        self.count = widgets.HTML()
        self.middle = widgets.Button(
            description="Read the middle of the map",
            tooltip="For the keyboard: move the map with the arrow keys, then press this",
            layout=widgets.Layout(width="auto", align_self="flex-start"),
        )
        self.online = widgets.Checkbox(
            value=False,
            description="Online map behind (asks the network)",
            indent=False,
            layout=widgets.Layout(width="auto"),
        )
        keys = [
            widgets.HBox([widgets.HTML(symbol_svg(group)), box], layout=widgets.Layout(gap="4px"))
            for group, box in self.boxes.items()
        ]
        side = widgets.VBox(
            [
                widgets.HTML(_legend()),
                widgets.HTML(look.page("<strong>Places</strong>")),
                widgets.GridBox(
                    keys,
                    layout=widgets.Layout(
                        grid_template_columns="repeat(auto-fill, minmax(150px, 1fr))",
                        overflow="hidden",
                    ),
                ),
                self.count,
                self.online,
                self.middle,
                self.panel,
            ],
            layout=widgets.Layout(flex="1 1 330px", min_width="0", padding="0 0 0 12px"),
        )
        self.credit = widgets.HTML(_credit(region, online=False))
        left = widgets.VBox([self.map, self.credit], layout=widgets.Layout(flex="2 1 480px"))
        row = widgets.HBox([left, side], layout=widgets.Layout(flex_flow="row wrap"))
        super().__init__([row])
        self.map.when_drawn(self._draw_places)
        self.map.draw()
        for box in self.boxes.values():
            box.observe(lambda _change: self._draw_places(*self.map.view()), names="value")
        self.map.on_interaction(self._on_interaction)
        self.online.observe(self._show_online, names="value")
        self.middle.on_click(lambda _button: self.show_point(*self.map.center))

    def groups(self) -> tuple[str, ...]:
        """The groups of places that are drawn."""
        return tuple(group for group, box in self.boxes.items() if box.value)

    def _show_online(self, change: Any) -> None:
        self.map.show_online(bool(change["new"]))
        self.credit.value = _credit(self.region, online=bool(change["new"]))

    def _draw_places(self, bounds: Bounds, zoom: float) -> None:
        drawn = place_shapes(self.region.places, self.groups(), bounds, zoom)
        self.map.shapes["places"].data = drawn.shapes
        self.count.value = look.page(look.paragraphs([_count_words(drawn.shown, drawn.in_view)]))

    def _on_interaction(self, **event: Any) -> None:
        if event.get("type") == "click":
            lat, lon = event["coordinates"]
            self.show_point(lat, lon)

    def show_point(self, lat: float, lon: float) -> None:
        """Tell what is known of the place or the road nearest to a point."""
        place = nearest_place(self.region.places, lat, lon, self.groups(), float(self.map.zoom))
        if place is not None:
            self.panel.value = _about(_place_html(place))
            self.map.shapes["mark"].data = EMPTY
            return
        found = nearest_road(self.region, lat, lon, "any")
        road = self.region.roads.iloc[found.road_id]
        self.panel.value = _about(
            road_html(road, self.suits.iloc[found.road_id], self.household, found.distance_m)
        )
        self.map.shapes["mark"].data = {
            "type": "Feature",
            "geometry": road.geometry.__geo_interface__,
            "properties": {"style": {"color": "#1B1B1B", "weight": 12, "opacity": 0.35}},
        }


_AT_FIRST = ("stay", "fuel", "rest", "sight")
_GROUP_WORDS = {
    "stay": "places to stay",
    "fuel": "fuel, charging",
    "rest": "rest on a tow",
    "sight": "sights",
    "play": "play",
    "water": "beaches, pools",
    "ride": "cycling",
    "shop": "shops",
    "eat": "food and drink",
    "health": "health",
    "service": "caravan services",
    "mast": "masts",
    "travel": "stations, ferries",
    "settlement": "towns, villages",
}


def _credit(region: Region, *, online: bool) -> str:
    every = (*region.attribution, *((ONLINE_CREDIT,) if online else ()))
    return look.page(look.paragraphs([" · ".join(every)]))


def _about(*parts: str) -> str:
    """What was clicked, read aloud by a screen reader when it changes."""
    return look.page(f'<div class="pk-narrow" role="status">{"".join(parts)}</div>')


def _legend() -> str:
    rows = []
    for state in State:
        colour, _, dash = STATE_LINES[state]
        line = (
            f'<svg width="46" height="10" aria-hidden="true">'
            f'<line x1="2" y1="5" x2="44" y2="5" stroke="{colour}" stroke-width="4" '
            f'stroke-dasharray="{dash}"/></svg>'
        )
        rows.append(f"<div>{line} {look.state_html(state)}</div>")
    return look.page("<strong>Roads for this outfit</strong>", *rows)


def _count_words(shown: int, in_view: int) -> str:
    if shown < in_view:
        return f"{shown} of {in_view} places around here are drawn; zoom in to see all."
    return f"{in_view} places around here."


def _place_html(place: Any) -> str:
    tags = json.loads(place["tags"])
    left_out = ("name", "opening_hours")
    facts = pd.DataFrame(
        sorted((key, value) for key, value in tags.items() if key not in left_out),
        columns=["tag", "value"],
    )
    label = LABELS.get(str(place["kind"]), str(place["kind"]))
    name = place["name"] or f"{label.capitalize()} without a name"
    words = [f"{label.capitalize()}. Open: {place['opening_hours'] or 'not known'}."]
    return "".join(
        [
            f"<h3>{look.text(name)}</h3>",
            look.paragraphs(words),
            look.table(facts, {"tag": "On the map", "value": "Says"}),
        ]
    )


def road_html(road: Any, suits: Any, household: Household, away_m: float) -> str:
    """What is known of a road and how well it suits the outfit."""
    units = household.units
    width = (
        "not known"
        if pd.isna(road["width_m"])
        else f"{display.dimension(road['width_m'], units, 'limit')}, "
        f"{_WIDTH_WORDS.get(str(road['width_source']), 'not known')}"
    )
    rows = [
        ("Class", str(road["road_class"]).replace("_", " ")),
        ("Width", width),
        ("Steepest", _steepest(road, units)),
        ("Tightest bend", _bend(road["bend_radius_m"], units)),
        ("Surface", str(road["surface"])),
        ("Signed limit", display.speed(road["maxspeed_forward_kmh"], units)),
        ("Height limit", display.dimension(road["maxheight_m"], units, "limit")),
        ("Width limit", display.dimension(road["maxwidth_m"], units, "limit")),
        ("Weight limit", _tonnes(road["maxweight_t"])),
        ("From the click", f"{display.distance(away_m / 1000, units)} away"),
        ("Could not be read", road["unread_limits"] or "nothing"),
    ]  # fmt: skip
    name = road["name"] or road["ref"] or "Road without a name"
    why = f": {look.text(with_feet(suits['why'], units))}" if suits["why"] else ""
    return "".join(
        [
            f"<h3>{look.text(name)}</h3>",
            f"<p>{look.state_html(State(suits['state']))}{why}</p>",
            look.table(pd.DataFrame(rows, columns=["a", "b"]), {"a": "Road", "b": "Known"}),
        ]
    )


_WIDTH_WORDS = {
    "tagged": "on the map",
    "lanes": "from its lanes",
    "class": "guessed from its class",
}


def _steepest(road: Any, units: Any) -> str:
    steepest = max(
        (value for value in (road["steepest_up_pct"], road["steepest_down_pct"]) if value == value),
        default=None,
    )
    return display.gradient(steepest, units)


def _bend(radius_m: float, units: Units) -> str:
    return "straight" if radius_m > 5000 else f"{display.metres(radius_m, units)} radius"


def _tonnes(mass_t: float) -> str:
    return "none on the map" if pd.isna(mass_t) else f"{mass_t:g} t"
