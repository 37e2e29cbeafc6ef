"""Choosing the way to tow: dislikes as sliders, ways side by side, points on it, roads avoided."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import uuid4

import ipyleaflet as maps
import ipywidgets as widgets

from planner_kit.diary import files_with_lessons
from planner_kit.errors import PlanFileError
from planner_kit.region import nearest_road
from planner_kit.tow import road_suitability
from planner_kit.tow.cost import DISLIKES
from planner_kit.tow.drive import leg_plans
from planner_kit.trip import display
from planner_kit.trip.editing import avoid_road, set_value, set_via, unavoid_road
from planner_kit.trip.household import AvoidRoad, TowWeights
from planner_kit.trip.trip import Via
from planner_kit.views import look
from planner_kit.views.access import View
from planner_kit.views.explore import road_html
from planner_kit.views.map_names import numbered_marks
from planner_kit.views.region_map import EMPTY, RegionMap
from planner_kit.views.resting import WhenAtRest
from planner_kit.views.tow_parts import (
    WRAP,
    dislike_slider,
    dislikes_title,
    numbered_pin,
    press_button,
    show_buttons,
    told_aloud,
    weights_told,
)
from planner_kit.views.tow_plan import check_leg
from planner_kit.views.tow_search import WayWish, find_ways, find_ways_for, open_tow
from planner_kit.views.tow_shapes import way_shapes, way_spots

if TYPE_CHECKING:
    from planner_kit.tow.leg import Choice
    from planner_kit.trip_files import TripFiles
    from planner_kit.views.map_layers import Bounds
    from planner_kit.views.tow_search import WaysFound

_AT_START = "Click a road to read what is known of it, to go that way or never to tow on it."
_LOST = (
    "The process that looked for other ways beside the sliders has ended: they are looked for in "
    "the notebook's own now, and a slider may wait for them."
)
_REST_S = 0.25


def tune_tow(folder: Path, *, trip: str, leg: int = 1) -> TowTuner:
    """The ways to tow of one leg of a trip, to choose among.

    Parameters
    ----------
    folder : Path
        The planning folder.
    trip : str
        The trip file in it.
    leg : int
        Which tow of the trip, from 1.

    Returns
    -------
    tuner : TowTuner
        Show it as the last value of a cell.

    Raises
    ------
    PlanFileError
        If the trip or one of its files cannot be used, or it has no such leg.
    """
    files = files_with_lessons(folder / trip)
    legs = leg_plans(files.inputs, files.sites)
    check_leg(leg, len(legs))
    return TowTuner(files, folder / trip, leg - 1)


class TowTuner(View):
    """Sliders and buttons on the left, the map on the right, ways side by side below.

    The best way follows a slider at once. The others come when it rests; where somebody looks at
    the page they are found in a process beside the kernel, so that the next key need not wait.

    Attributes
    ----------
    choices : tuple of Choice
        The ways found last; empty where there is none.
    via : list of (float, float)
        Points on the way, in order: lat, lon. [deg]
    """

    def __init__(self, files: TripFiles, trip_path: Path, number: int) -> None:
        self.files, self.trip_path = files, trip_path
        self.household_path = files.paths["household"]
        self.number, self._opened = number, uuid4().hex
        self.tow = open_tow(files, number, self._opened)
        self.plan, self.outfit = self.tow.plan, self.tow.outfit
        self.avoid = list(files.inputs.household.avoid_roads)
        self.usual = files.inputs.household.preferences.tow
        self.units = files.inputs.household.units
        self.via = [(lat, lon) for lat, lon in self.plan.via]
        self.choices: tuple[Choice, ...] = ()
        self.ends: tuple[str, ...] = ()
        self.clicked: int | None = None
        self._pins: list[maps.Marker] = []
        self.later = WhenAtRest(self._work, self._take, self._say_lost, after_s=_REST_S)
        self._build()
        self.ready.observe(lambda _: self.later.work_beside(), names="seen")
        self.map.when_drawn(self._draw_marks)
        self.map.draw()
        self._set_pins()
        self.follow()

    def _build(self) -> None:
        self.sliders = {name: dislike_slider(name, self.usual, self.units) for name in DISLIKES}
        self.table, self.said, self.panel = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self.end, self.lost = widgets.HTML(), widgets.HTML()
        self.table.add_class("pk-ways")
        self.panel.value = told_aloud(look.paragraphs([_AT_START]))
        self.back = press_button("Back to the household's weights", self._go_back)
        self.keep = press_button("Keep these weights in the household file", self._keep_weights)
        self.go_this_way = press_button("Go this way", self._go_this_way, shown=False)
        self.never = press_button("Never tow on this road", self._avoid_clicked, shown=False)
        self.middle = press_button("Read the middle of the map", self._read_middle)
        self.clear_via = press_button("Take the points away", self._clear_via, shown=False)
        self.keep_via = press_button(
            "Keep the points in the trip file", self._keep_via, shown=False
        )
        self.avoided = widgets.VBox()
        self.which = widgets.Dropdown(
            options=[("1", 0)], description="Last miles of way", style={"description_width": "9em"}
        )
        begin, end = self.plan.begin, self.plan.end
        middle = (begin.lat + end.lat) / 2, (begin.lon + end.lon) / 2
        self.map = RegionMap(self.files.region, center=middle, zoom=10, height="520px")
        self.ways = maps.GeoJSON(data=EMPTY, pane="pk-mark")
        self.marks = maps.ImageOverlay(
            url=self.map.names.url, bounds=self.map.names.bounds, pane="pk-names"
        )
        self.map.add(self.ways)
        self.map.add(self.marks)
        left = widgets.VBox(
            [
                widgets.HTML(look.page(f"<strong>{dislikes_title(self.units)}</strong>")),
                *self.sliders.values(),
                self.back,
                self.keep,
                self.said,
                widgets.HBox([self.go_this_way, self.never], layout=WRAP),
                self.panel,
                widgets.HBox([self.middle, self.clear_via, self.keep_via], layout=WRAP),
                self.avoided,
            ],
            layout=widgets.Layout(flex="1 1 300px", max_width="440px", min_width="0"),
        )  # fmt: skip
        credit = widgets.HTML(
            look.page(look.paragraphs([" · ".join(self.files.region.attribution)]))
        )
        right = widgets.VBox([self.map, credit], layout=widgets.Layout(flex="2 1 460px",
                                                                       min_width="0"))  # fmt: skip
        super().__init__(
            [widgets.HBox([left, right], layout=WRAP), self.lost, self.table, self.which, self.end]
        )
        self._list_avoided()
        for slider in self.sliders.values():
            slider.observe(lambda _change: self.slide(), names="value")
        self.which.observe(lambda _change: self.show_end(), names="value")
        self.map.on_interaction(self._on_interaction)

    def weights(self) -> TowWeights:
        """What the sliders say."""
        return weights_told(self.sliders, self.usual, self.units)

    def slide(self) -> None:
        """Show the best way at once, and the others when the slider rests."""
        found = find_ways(self.tow, self._wish(), others=False)
        self._draw(found)
        self.later.ask()

    def follow(self) -> None:
        """Find the ways anew and show them, here and now."""
        self.later.forget()
        self._take(find_ways(self.tow, self._wish()))

    def settle(self) -> None:
        """Find the other ways now, in the kernel, if they are still to follow."""
        self.later.settle()

    def _wish(self) -> WayWish:
        return WayWish(
            self._opened,
            self.trip_path,
            self.number,
            self.weights(),
            tuple(self.via),
            tuple(self.avoid),
        )

    def _work(self) -> partial[WaysFound]:
        return partial(find_ways_for, self._wish())

    def _say_lost(self) -> None:
        self.lost.value = look.part(look.paragraphs([_LOST]))

    def _draw(self, found: WaysFound) -> None:
        self.choices = found.choices
        self.table.value = found.table
        self.ways.data = way_shapes(found.choices)
        self._draw_marks(*self.map.view())

    def _take(self, found: WaysFound) -> None:
        self._draw(found)
        self.ends = found.ends
        options = [(str(number + 1), number) for number in range(len(found.choices))]
        if list(self.which.options) != options:
            self.which.options = options
        if options and self.which.value is None:
            self.which.value = 0
        self.show_end()

    def show_end(self) -> None:
        """The last miles of the chosen way, and the turns that are hard to get round."""
        at = self.which.value
        self.end.value = self.ends[at] if at is not None and at < len(self.ends) else ""

    def show_road(self, lat: float, lon: float) -> None:
        """Tell what is known of the road nearest to a point."""
        region = self.files.region
        found = nearest_road(region, lat, lon, "car")
        self.clicked = int(found.road_id)
        self._at = (lat, lon)
        road = region.roads.iloc[self.clicked]
        suits = road_suitability(
            region, self.outfit, self.weights(), avoid=self.avoid, on=self.plan.day
        ).iloc[self.clicked]
        self.panel.value = told_aloud(
            road_html(road, suits, self.files.inputs.household, found.distance_m)
        )
        self.map.shapes["mark"].data = {
            "type": "Feature",
            "geometry": road.geometry.__geo_interface__,
            "properties": {"style": {"color": "#1B1B1B", "weight": 12, "opacity": 0.35}},
        }
        show_buttons(self.go_this_way, self.never)

    def _on_interaction(self, **event: Any) -> None:
        if event.get("type") == "click":
            self.show_road(*event["coordinates"])

    def _read_middle(self, press_button: Any) -> None:
        self.show_road(*self.map.center)

    def _go_this_way(self, press_button: Any) -> None:
        self.via = [*self.via, self._on_a_road(*self._at)]
        self._set_pins()
        self.follow()

    def _clear_via(self, press_button: Any) -> None:
        self.via = []
        self._set_pins()
        self.follow()

    def _keep_via(self, press_button: Any) -> None:
        points = [Via(lat=round(lat, 6), lon=round(lon, 6)) for lat, lon in self.via]
        self._write(lambda: set_via(self.trip_path, points), "The points are in the trip file.")

    def _set_pins(self) -> None:
        """A pin for each point on the way; moving one is going another way."""
        for pin in self._pins:
            self.map.remove(pin)
        self._pins = []
        for number, at in enumerate(self.via):
            pin = numbered_pin(number, at)
            pin.observe(lambda change, place=number: self.move_point(place, change["new"]),
                        names="location")  # fmt: skip
            self._pins.append(pin)
            self.map.add(pin)
        shown = "" if self.via else "none"
        self.clear_via.layout.display = self.keep_via.layout.display = shown

    def move_point(self, number: int, at: tuple[float, float]) -> None:
        """Lead the way through another point, on the road nearest to it, instead of one."""
        spot = self._on_a_road(float(at[0]), float(at[1]))
        if spot == self.via[number]:
            return
        self.via = [*self.via[:number], spot, *self.via[number + 1 :]]
        self._pins[number].location = spot
        self.follow()

    def _on_a_road(self, lat: float, lon: float) -> tuple[float, float]:
        found = nearest_road(self.files.region, lat, lon, "tow")
        return round(found.lat, 6), round(found.lon, 6)

    def _avoid_clicked(self, press_button: Any) -> None:
        if self.clicked is None:
            return
        row = self.files.region.roads.iloc[self.clicked]
        road = AvoidRoad(
            name=str(row["name"] or row["ref"]),
            osm_way_id=int(row["osm_way_id"]),
            why="chosen on the map",
        )
        self._write(lambda: avoid_road(self.household_path, road), "The road is on your list.")
        self._read_avoided()

    def _allow(self, road: AvoidRoad, _button: Any) -> None:
        self._write(lambda: unavoid_road(self.household_path, road), "The road is off your list.")
        self._read_avoided()

    def _read_avoided(self) -> None:
        self._list_avoided()
        self.follow()

    def _list_avoided(self) -> None:
        rows: list[widgets.Widget] = []
        for road in self.avoid:
            name = road.name or (f"way {road.osm_way_id}" if road.osm_way_id else "a point")
            button = press_button("Allow again", partial(self._allow, road))
            button.tooltip = f"Allow {name} again"
            rows.append(widgets.HBox([widgets.HTML(look.page(look.text(name))), button]))
        head = [widgets.HTML(look.page("<strong>Never to tow on</strong>"))] if rows else []
        self.avoided.children = (*head, *rows)

    def _write(self, change: Any, done: str) -> None:
        """Change a file; what went wrong is said where the person looks."""
        try:
            changed = change()
        except PlanFileError as error:
            self.said.value = told_aloud(look.cautions([str(error)]))
            return
        self.said.value = told_aloud(look.paragraphs([done]))
        if hasattr(changed, "avoid_roads"):
            self.avoid = list(changed.avoid_roads)

    def _keep_weights(self, press_button: Any) -> None:
        weights = self.weights()

        def change() -> Any:
            told: Any = None
            for name in DISLIKES:
                value = getattr(weights, name)
                told = set_value(self.household_path, ("preferences", "tow", name), value)
            return told

        self._write(change, "The weights are in the household file.")

    def _go_back(self, press_button: Any) -> None:
        for name, slider in self.sliders.items():
            usual = display.per_distance(getattr(self.usual, name), self.units)
            slider.value = min(usual, slider.max)

    def _draw_marks(self, bounds: Bounds, zoom: float) -> None:
        west, south, east, north = bounds
        home = self.plan.end.lat, self.plan.end.lon
        with self.marks.hold_sync():
            self.marks.bounds = ((south, west), (north, east))
            self.marks.url = numbered_marks(way_spots(self.choices), home, bounds, zoom)
