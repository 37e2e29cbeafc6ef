"""Exploring a region: roads by how well they tow, places by kind, and what is under a click."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipyleaflet as maps
import ipywidgets as widgets
import pandas as pd

from planner_kit.outfit import outfit_of
from planner_kit.region import GROUP_OF, LABELS, Region, nearest_road, open_region
from planner_kit.states import State
from planner_kit.tow import road_suitability
from planner_kit.trip import display, read_household
from planner_kit.views import look
from planner_kit.views.map_layers import (
    GROUP_LOOK,
    STATE_LINES,
    area_shapes,
    nearest_place,
    place_shapes,
    road_shapes,
)

if TYPE_CHECKING:
    from planner_kit.trip.household import Household

_LOCATED = "Click a road or a place on the map to read what is known about it."


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
        If the region or the household cannot be used.
    """
    opened = open_region(folder / region)
    people = read_household(folder / household)
    outfit = outfit_of(people, on=dt.date.fromisoformat(on))
    suits = road_suitability(opened, outfit, people.preferences.tow)
    return RegionExplorer(opened, people, suits)


class RegionExplorer(widgets.VBox):  # type: ignore[misc]
    """A map that draws what is in view, with a panel about what was clicked."""

    def __init__(self, region: Region, household: Household, suits: pd.DataFrame) -> None:
        self.region, self.household, self.suits = region, household, suits
        west, south, east, north = region.bounds
        self.map = maps.Map(
            center=((south + north) / 2, (west + east) / 2),
            zoom=10,
            min_zoom=7,
            max_zoom=18,
            layers=(),
            attribution_control=False,
            scroll_wheel_zoom=True,
            prefer_canvas=True,
            layout=widgets.Layout(height="560px", width="100%"),
        )
        self.areas, self.roads, self.places = (maps.GeoJSON(data=_EMPTY) for _ in range(3))
        self.mark = maps.GeoJSON(data=_EMPTY)
        for layer in (self.areas, self.roads, self.places, self.mark):
            self.map.add(layer)
        self.map.add(maps.ScaleControl(position="bottomleft"))
        self.groups = widgets.SelectMultiple(
            options=[(_group_word(group), group) for group in GROUP_LOOK],
            value=("stay", "fuel", "rest", "sight"),
            rows=9,
            description="Places",
            layout=widgets.Layout(width="100%"),
        )
        self.panel = widgets.HTML(look.page(look.paragraphs([_LOCATED])))
        self.count = widgets.HTML()
        side = widgets.VBox(
            [widgets.HTML(_legend()), self.groups, self.count, self.panel],
            layout=widgets.Layout(width="340px", min_width="300px", overflow="auto"),
        )
        credit = widgets.HTML(look.page(look.paragraphs([" · ".join(region.attribution)])))
        row = widgets.HBox(
            [widgets.Box([self.map], layout=widgets.Layout(flex="1 1 420px")), side],
            layout=widgets.Layout(flex_flow="row wrap"),
        )
        super().__init__([row, credit])
        self.map.observe(self._redraw, names=["bounds", "zoom"])
        self.groups.observe(self._redraw, names="value")
        self.map.on_interaction(self._on_interaction)
        self._redraw(None)

    def _view(self) -> tuple[tuple[float, float, float, float], float]:
        bounds, zoom = self.map.bounds, float(self.map.zoom)
        if not bounds:
            return self.region.bounds, zoom
        (south, west), (north, east) = bounds
        more_lon, more_lat = 0.25 * (east - west), 0.25 * (north - south)
        return (west - more_lon, south - more_lat, east + more_lon, north + more_lat), zoom

    def _redraw(self, _change: Any) -> None:
        bounds, zoom = self._view()
        region = self.region
        self.areas.data = area_shapes(region.areas, bounds, zoom)
        self.roads.data = road_shapes(region.roads, self.suits["state"], bounds, zoom)
        drawn = place_shapes(region.places, self.groups.value, bounds, zoom)
        self.places.data = drawn.shapes
        self.count.value = look.page(look.paragraphs([_count_words(drawn.shown, drawn.in_view)]))

    def _on_interaction(self, **event: Any) -> None:
        if event.get("type") == "click":
            lat, lon = event["coordinates"]
            self.show_point(lat, lon)

    def show_point(self, lat: float, lon: float) -> None:
        """Tell what is known of the place or the road nearest to a point."""
        place = nearest_place(self.region, lat, lon, self.groups.value, float(self.map.zoom))
        if place is not None:
            self.panel.value = _place_html(place)
            self.mark.data = _EMPTY
            return
        found = nearest_road(self.region, lat, lon, "any")
        road = self.region.roads.iloc[found.road_id]
        self.panel.value = _road_html(road, self.suits.iloc[found.road_id], self.household)
        self.mark.data = {
            "type": "Feature",
            "geometry": road.geometry.__geo_interface__,
            "properties": {"style": {"color": "#1B1B1B", "weight": 9, "opacity": 0.35}},
        }


_EMPTY: dict[str, Any] = {"type": "FeatureCollection", "features": []}


def _group_word(group: str) -> str:
    words = {
        "stay": "sites and other places to stay",
        "fuel": "fuel and charging",
        "rest": "places to rest on a tow",
        "sight": "sights",
        "play": "play",
        "water": "beaches and swimming",
        "ride": "cycling and walking",
        "shop": "shops",
        "eat": "food and drink",
        "health": "health",
        "service": "services for caravans",
        "mast": "masts",
        "travel": "stations and ferries",
        "settlement": "towns and villages",
    }
    return f"{words[group]} ({GROUP_LOOK[group][0]})"


def _legend() -> str:
    rows = []
    for state, (colour, _, dash) in STATE_LINES.items():
        line = (
            f'<svg width="46" height="10" role="img" aria-label="{state.value}">'
            f'<line x1="2" y1="5" x2="44" y2="5" stroke="{colour}" stroke-width="4" '
            f'stroke-dasharray="{dash}"/></svg>'
        )
        rows.append(f"<div>{line} {look.state_html(state)}</div>")
    return look.page("<strong>Roads for this outfit</strong>", *rows)


def _count_words(shown: int, in_view: int) -> str:
    if shown < in_view:
        return f"{shown} of {in_view} places in view are drawn; zoom in to see all."
    return f"{in_view} places in view."


def _place_html(place: Any) -> str:
    tags = json.loads(place["tags"])
    facts = pd.DataFrame(sorted(tags.items()), columns=["tag", "value"])
    kind = str(place["kind"])
    head = f"<h3>{look.text(place['name'] or LABELS.get(kind, kind))}</h3>"
    group = GROUP_OF.get(kind, "")
    words = [f"{LABELS.get(kind, kind)} ({group}). Open: {place['opening_hours'] or 'not known'}."]
    table = look.table(facts, {"tag": "Map tag", "value": "Value"})
    return look.page(head, look.paragraphs(words), table)


def _road_html(road: Any, suits: Any, household: Household) -> str:
    units = household.units
    width = (
        "not known"
        if pd.isna(road["width_m"])
        else f"{road['width_m']:.1f} m ({_WIDTH_WORDS.get(str(road['width_source']), 'not known')})"
    )
    rows = [
        ("Class", str(road["road_class"]).replace("_", " ")),
        ("Width", width),
        ("Steepest", _steepest(road, units)),
        ("Tightest bend", _bend(road["bend_radius_m"])),
        ("Surface", str(road["surface"])),
        ("Signed limit", display.speed(road["maxspeed_forward_kmh"], units)),
        ("Height limit", display.dimension(road["maxheight_m"], units, "limit")),
        ("Width limit", display.dimension(road["maxwidth_m"], units, "limit")),
        ("Weight limit", _tonnes(road["maxweight_t"])),
        ("Could not be read", road["unread_limits"] or "nothing"),
    ]  # fmt: skip
    name = road["name"] or road["ref"] or "Road without a name"
    return look.page(
        f"<h3>{look.text(name)}</h3>",
        f"<p>{look.state_html(State(suits['state']))}: {look.text(suits['why'])}</p>",
        look.table(pd.DataFrame(rows, columns=["a", "b"]), {"a": "", "b": ""}),
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


def _bend(radius_m: float) -> str:
    return "straight" if radius_m > 5000 else f"{radius_m:.0f} m radius"


def _tonnes(mass_t: float) -> str:
    return "none on the map" if pd.isna(mass_t) else f"{mass_t:g} t"
