"""A region's map on which a person picks a point or a site, with a way to do it by keyboard."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipyleaflet as maps
import ipywidgets as widgets

from planner_kit.pack.map_layers import named_places
from planner_kit.views import look
from planner_kit.views.map_layers import place_shapes
from planner_kit.views.map_names import numbered_marks
from planner_kit.views.region_map import RegionMap

if TYPE_CHECKING:
    from collections.abc import Callable

    import geopandas as gpd

    from planner_kit.region import Region
    from planner_kit.views.map_layers import Bounds


_SETTLEMENTS = ("city", "town", "village", "suburb", "hamlet")


class PointPicker(widgets.VBox):  # type: ignore[misc]
    """A map whose click, or whose middle by a button, is told as latitude and longitude.

    Parameters
    ----------
    region : Region
    picked : callable
        Called with lat and lon. [deg]
    at : tuple of float, optional
        (lat, lon) that is marked by a house to begin with. [deg]
    places : GeoDataFrame, optional
        Places that are drawn, with the columns of a region's places.
    word : str
        What the button says.
    find : bool
        Whether a town or village can be found by its name, which is taken too.
    """

    def __init__(
        self,
        region: Region,
        picked: Callable[[float, float], None],
        *,
        at: tuple[float, float] | None = None,
        places: gpd.GeoDataFrame | None = None,
        word: str = "Take the middle of the map",
        find: bool = False,
    ) -> None:
        self.region, self.at, self._places = region, at, places
        self._picked = picked
        self.map = RegionMap(region, center=at, zoom=12 if at else 10, height="380px")
        self.mark = maps.ImageOverlay(
            url=self.map.names.url, bounds=self.map.names.bounds, pane="pk-names"
        )
        self.map.add(self.mark)
        self.middle = widgets.Button(
            description=word,
            tooltip="For the keyboard: move the map with the arrow keys, then press this",
            layout=widgets.Layout(width="auto", align_self="flex-start"),
        )
        credit = widgets.HTML(look.page(look.paragraphs([" · ".join(region.attribution)])))
        named = named_places(region.places, _SETTLEMENTS)
        self._towns = {
            str(name): (float(lat), float(lon))
            for name, lat, lon in zip(named.names, named.lat, named.lon, strict=True)
        }
        self.town = widgets.Combobox(
            description="Town or village", options=sorted(self._towns), ensure_option=True,
            placeholder="type its name and choose it", continuous_update=False,
            style={"description_width": "13em"},
            layout=widgets.Layout(width="calc(100% - 4px)", max_width="640px", min_width="0"),
        )  # fmt: skip
        self.town.observe(self._go_to, names="value")
        super().__init__([*([self.town] if find else []), self.map, self.middle, credit])
        self.map.when_drawn(self._draw)
        self.map.draw()
        self.map.on_interaction(self._on_interaction)
        self.middle.on_click(lambda _: self.pick(*self.map.center))

    def pick(self, lat: float, lon: float) -> None:
        """Take a point as a click on it would."""
        self.mark_at(lat, lon)
        self._picked(lat, lon)

    def _go_to(self, change: Any) -> None:
        at = self._towns.get(str(change["new"]))
        if at is not None:
            self.map.center, self.map.zoom = at, max(self.map.zoom, 13)
            self.pick(*at)

    def mark_at(self, lat: float, lon: float) -> None:
        """Set the house on a point."""
        self.at = (lat, lon)
        self._draw(*self.map.view())

    def _on_interaction(self, **event: Any) -> None:
        if event.get("type") == "click":
            self.pick(*event["coordinates"])

    def _draw(self, bounds: Bounds, zoom: float) -> None:
        if self._places is not None:
            drawn = place_shapes(self._places, ("stay",), bounds, zoom)
            self.map.shapes["places"].data = drawn.shapes
        if self.at is not None:
            west, south, east, north = bounds
            with self.mark.hold_sync():
                self.mark.bounds = ((south, west), (north, east))
                self.mark.url = numbered_marks((), self.at, bounds, zoom)
