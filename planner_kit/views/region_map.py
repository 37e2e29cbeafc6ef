"""A region's own map as a widget: it draws what is in view and asks nothing of a network."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipyleaflet as maps
import ipywidgets as widgets

from planner_kit.views import look
from planner_kit.views.map_layers import area_shapes, drawn_roads, river_shapes, road_shapes
from planner_kit.views.map_names import names_and_spots

if TYPE_CHECKING:
    from collections.abc import Callable

    import numpy as np
    import pandas as pd
    from numpy.typing import NDArray

    from planner_kit.region import Region
    from planner_kit.views.map_layers import Bounds

EMPTY: dict[str, Any] = {"type": "FeatureCollection", "features": []}
# Lower lies below. Shapes take no clicks of their own: the map does, and asks the tables.
_PANES = ("areas", "rivers", "roads", "mark", "places", "names")
ONLINE_TILES = "https://tile.openstreetmap.org/{z}/{x}/{y}.png"
ONLINE_CREDIT = "Online tiles © OpenStreetMap contributors"
_BEYOND = look.page('<div class="pk-beyond">Hatched: beyond this map</div>')
_NOTHING = "data:image/gif;base64,R0lGODlhAQABAIAAAAAAAP///yH5BAEAAAAALAAAAAABAAEAAAIBRAA7"


class RegionMap(maps.Map):  # type: ignore[misc]
    """Land, water, roads and names of a region for the part in view.

    Parameters
    ----------
    region : Region
    states : Series of str, aligned with the region's roads, optional
        How well each road suits the outfit; all roads are drawn alike without it.
    center : tuple of float, optional
        (lat, lon) of the middle; the region's middle if not given. [deg]
    zoom : int
        Web map zoom.
    height : str
        CSS height.

    Notes
    -----
    No tile layer is there until `show_online` adds one, so nothing is fetched. Each layer has a
    pane of its own, so that their order holds when one of them is drawn anew.
    """

    def __init__(
        self,
        region: Region,
        *,
        states: pd.Series | None = None,
        center: tuple[float, float] | None = None,
        zoom: int = 10,
        height: str = "560px",
    ) -> None:
        self._region, self._roads = region, drawn_roads(region.roads, states)
        self._drawn_for: Any = None
        # Where names stand on the picture of the view: marks leave them free.
        self.name_spots: NDArray[np.float64] | None = None
        self._seen = False
        self._tiles: maps.TileLayer | None = None
        self._followers: list[Callable[[Bounds, float], None]] = []
        west, south, east, north = region.bounds
        super().__init__(
            center=center or ((south + north) / 2, (west + east) / 2),
            zoom=zoom,
            min_zoom=7,
            max_zoom=18,
            layers=(),
            attribution_control=False,
            scroll_wheel_zoom=True,
            prefer_canvas=True,
            panes={
                f"pk-{name}": {"zIndex": 401 + place, "pointerEvents": "none"}
                for place, name in enumerate(_PANES)
            },
            layout=widgets.Layout(height=height, width="calc(100% - 4px)", min_width="0"),
        )
        self.add_class("pk-map")
        self.shapes = {
            name: maps.GeoJSON(data=EMPTY, pane=f"pk-{name}") for name in _PANES if name != "names"
        }
        self.names = maps.ImageOverlay(
            url=_NOTHING, bounds=((south, west), (north, east)), pane="pk-names"
        )
        for layer in (*self.shapes.values(), self.names):
            self.add(layer)
        self.add(maps.ScaleControl(position="bottomleft"))
        self.beyond = widgets.HTML()
        self.add(
            maps.WidgetControl(widget=self.beyond, position="bottomright", transparent_bg=True)
        )
        self.observe(self._follow_view, names=["bounds", "zoom"])

    def when_drawn(self, follow: Callable[[Bounds, float], None]) -> None:
        """Call a function with the view's bounds and zoom now and whenever it is drawn anew."""
        self._followers.append(follow)
        follow(*self.view())

    def show_online(self, shown: bool) -> None:
        """Put online tiles under the roads, or take them away; only then is a network asked."""
        if shown and self._tiles is None:
            self._tiles = maps.TileLayer(url=ONLINE_TILES, attribution=ONLINE_CREDIT, max_zoom=19)
            self.add(self._tiles)
        elif not shown and self._tiles is not None:
            self.remove(self._tiles)
            self._tiles = None
        self.draw()

    def view(self) -> tuple[Bounds, float]:
        """West, south, east, north of the view with a margin [deg], and its zoom."""
        zoom = float(self.zoom)
        if not self.bounds:
            return self._region.bounds, zoom
        (south, west), (north, east) = self.bounds
        more_lon, more_lat = 0.25 * (east - west), 0.25 * (north - south)
        return (west - more_lon, south - more_lat, east + more_lon, north + more_lat), zoom

    def draw(self) -> None:
        """Draw what is in view."""
        bounds, zoom = self.view()
        self._drawn_for = bounds, zoom
        region = self._region
        own = self._tiles is None
        areas = EMPTY
        if own:
            areas = area_shapes(region.areas, bounds, zoom, ground=region.bounds)
        rivers = river_shapes(region.lines, bounds, zoom) if own else EMPTY
        self.shapes["areas"].data, self.shapes["rivers"].data = areas, rivers
        self.beyond.value = _BEYOND if own and self._looks_beyond() else ""
        self.shapes["roads"].data = road_shapes(self._roads, bounds, zoom)
        drawing, self.name_spots = names_and_spots(region.places, bounds, zoom)
        west, south, east, north = bounds
        with self.names.hold_sync():
            self.names.bounds = ((south, west), (north, east))
            self.names.url = drawing
        for follow in self._followers:
            follow(bounds, zoom)
        if self.bounds and not self._seen:
            self._seen = True
            self._lift()

    def _lift(self) -> None:
        """Send what others drew once more, when the browser first tells what it shows.

        What is sent before the browser has made the panes lies below the land, and is not seen.
        """
        for name in ("mark", "places"):
            shown = self.shapes[name]
            if shown.data["features"]:
                shown.data = {**shown.data, "seen": True}

    def _looks_beyond(self) -> bool:
        """Whether a part of the view is no part of the region."""
        if not self.bounds:
            return False
        (south, west), (north, east) = self.bounds
        first = self._region.bounds
        over: bool = west < first[0] or south < first[1] or east > first[2] or north > first[3]
        return over

    def _follow_view(self, _change: Any) -> None:
        if self.view() != self._drawn_for:
            self.draw()
