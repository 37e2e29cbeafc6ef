"""Finding rides and walks near a pitch: wishes on the left; map, heights and table follow."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipyleaflet as maps
import ipywidgets as widgets
import numpy as np
import shapely

from planner_kit.errors import PlannerKitError
from planner_kit.outings import find_rides, from_found, plan_rides, write_ride
from planner_kit.outings.entry import party_of
from planner_kit.outings.stay_rides import wished_ride
from planner_kit.outings.stay_table import with_child
from planner_kit.pack.profile_chart import heights_chart
from planner_kit.trip import display
from planner_kit.trip.trip import RideWish
from planner_kit.views import look
from planner_kit.views.access import View
from planner_kit.views.map_names import numbered_marks
from planner_kit.views.outing_tables import ride_words_html, rides_table
from planner_kit.views.region_map import EMPTY, RegionMap
from planner_kit.views.stays import files_of_stay, site_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.outings import StayRide
    from planner_kit.trip.household import Units
    from planner_kit.trip_files import TripFiles
    from planner_kit.views.map_layers import Bounds

_KM_PER_MILE = 1.609344
_FEW = 3
_HEIGHTS_MM = (135.0, 42.0)
_LEAST_PART = 0.25  # of the view that a ride must fill, or the map moves to it
_WORLD_DEG = 500.0  # degrees of latitude in a view of this height at zoom 0, near enough


def find_rides_near(folder: Path, *, trip: str, stay: int = 1) -> RideFinder:
    """The rides and walks near a stay's pitch.

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
    finder : RideFinder
        Show it as the last value of a cell.

    Raises
    ------
    PlannerKitError
        If the trip or one of its files cannot be used, or it has no such stay.
    """
    return RideFinder(*files_of_stay(folder, trip, stay))


class RideFinder(View):
    """Wishes on the left; map, heights and the rides found on the right and below."""

    def __init__(self, files: TripFiles, number: int) -> None:
        self.files = files
        site = site_of(files, number)
        self.here = float(site["lat"]), float(site["lon"])
        household, trip = files.inputs.household, files.inputs.trip
        self.child = with_child(party_of(household, trip.party), trip.stay_dates()[number][0])
        self.rides: tuple[StayRide, ...] = ()
        self._in_its_pane = False
        miles = household.units.distance == "miles"
        self._km = _KM_PER_MILE if miles else 1.0
        unit = display.distance_unit(household.units)
        label = {"description_width": "8em"}
        wide = widgets.Layout(width="100%")
        self.mode = widgets.ToggleButtons(options=[("By bicycle", "bike"), ("On foot", "foot")])
        self.length = widgets.FloatSlider(
            value=8 if miles else 12, min=1, max=40 if miles else 60, step=0.5,
            description=f"Length, {unit}", style=label, layout=wide, continuous_update=False,
        )  # fmt: skip
        self.climb = widgets.IntSlider(
            value=300, min=20, max=1000, step=20, description="Climb up to, m", style=label,
            layout=wide, continuous_update=False,
        )  # fmt: skip
        self.loop = widgets.Checkbox(value=True, description="A loop", indent=False)
        self.smooth = widgets.Checkbox(value=True, description="Smooth surface", indent=False)
        self.busy = widgets.Checkbox(
            value=False, description="Busy roads too, if need be", indent=False
        )
        self.choice = widgets.Dropdown(description="Show", layout=wide, style=label)
        self.write = widgets.Button(
            description="Write as GPX", tooltip="Writes the ride shown into the planning folder",
            layout=widgets.Layout(width="auto"),
        )  # fmt: skip
        self.table, self.words, self.said = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self.map = RegionMap(files.region, center=self.here, zoom=12, height="420px")
        self.line = maps.GeoJSON(
            data=EMPTY,
            style={"color": look.PALETTE["vermilion"], "weight": 5, "opacity": 0.9},
            pane="pk-mark",
        )
        self.marks = maps.ImageOverlay(
            url=self.map.names.url, bounds=self.map.names.bounds, pane="pk-names"
        )
        self.map.add(self.line)
        self.map.add(self.marks)
        self.heights = widgets.HTML()
        super().__init__([self._row(), self.table, self.words])
        self.map.when_drawn(self._draw_marks)
        self.map.draw()
        for wish in (self.mode, self.length, self.climb, self.loop, self.smooth, self.busy):
            wish.observe(self._find, names="value")
        self.choice.observe(self._show, names="value")
        self.write.on_click(self._write)
        self.own, _ = plan_rides(files.region, self.here, files=files.rides, child=self.child)
        self.own = tuple(ride for ride in self.own if ride.file)
        self._find(None)

    def _row(self) -> widgets.HBox:
        left = widgets.VBox(
            [
                widgets.HTML(look.page("<strong>What kind of ride or walk?</strong>")),
                self.mode, self.length, self.climb, self.loop, self.smooth, self.busy,
                self.choice, self.write, self.said,
            ],
            layout=widgets.Layout(flex="1 1 290px", max_width="420px", min_width="0"),
        )  # fmt: skip
        right = widgets.VBox(
            [self.map, self.heights], layout=widgets.Layout(flex="2 1 470px", min_width="0")
        )
        return widgets.HBox([left, right], layout=widgets.Layout(flex_flow="row wrap"))

    def _find(self, _change: Any) -> None:
        self.said.value = ""
        try:
            found = find_rides(
                self.files.region, self.here, length_km=self.length.value * self._km,
                mode=self.mode.value, climb_m=float(self.climb.value), loop=self.loop.value,
                smooth=self.smooth.value, busy=self.busy.value, child=self.child, most=_FEW,
            )  # fmt: skip
        except PlannerKitError as error:
            found = ()
            self.said.value = look.part(look.paragraphs([str(error)]))
        made = [from_found(self.files.region, one, self.here, self.child) for one in found]
        if not made and not self.said.value:
            wish = RideWish(
                mode=self.mode.value, length_km=self.length.value * self._km,
                climb_m=float(self.climb.value), loop=self.loop.value, smooth=self.smooth.value,
            )  # fmt: skip
            ride, told = wished_ride(self.files.region, self.here, wish, self.child)
            if ride is not None:
                made = [from_found(self.files.region, ride, self.here, self.child)]
            self.said.value = look.part(look.paragraphs([told]))
        self.rides = (*made, *self.own)
        self.table.value = (
            look.part(rides_table(self.rides, self.files.inputs.household.units))
            if self.rides
            else ""
        )
        self.choice.options = [(f"{n}. {one.name}", n) for n, one in enumerate(self.rides, 1)]
        self.choice.value = 1 if self.rides else None
        self._show(None)

    @property
    def shown(self) -> StayRide | None:
        """The ride on the map."""
        return self.rides[self.choice.value - 1] if self.choice.value else None

    def _show(self, _change: Any) -> None:
        ride, units = self.shown, self.files.inputs.household.units
        features = []
        if ride is not None:
            shape = shapely.geometry.mapping(ride.geometry.simplify(0.00003))
            features = [{"type": "Feature", "properties": {}, "geometry": shape}]
        self.line.data = {"type": "FeatureCollection", "features": features}
        self.words.value = (
            look.part(ride_words_html(ride, units, chart=False)) if ride is not None else ""
        )
        self.heights.value = look.part(_heights(ride, units)) if ride is not None else ""
        self._look_at(ride)
        self._draw_marks(*self.map.view())

    def _look_at(self, ride: StayRide | None) -> None:
        """Move the map so that the pitch and the whole ride are in view, unless they are."""
        if ride is None:
            return
        west, south, east, north = ride.geometry.bounds
        lats, lons = (south, north, self.here[0]), (west, east, self.here[1])
        if self.map.bounds and _well_within(self.map.bounds, lats, lons):
            return
        scale = np.cos(np.radians(self.here[0]))
        span = max(max(lats) - min(lats), (max(lons) - min(lons)) * scale / 1.4, 1e-4)
        self.map.center = (min(lats) + max(lats)) / 2, (min(lons) + max(lons)) / 2
        self.map.zoom = float(np.clip(np.floor(np.log2(_WORLD_DEG * scale / span)), 9, 15))

    def _draw_marks(self, bounds: Bounds, zoom: float) -> None:
        if self.map.bounds and not self._in_its_pane:
            # What a layer holds when the map is first shown is drawn below the land: send it again.
            self._in_its_pane, line = True, self.line.data
            self.line.data = EMPTY
            self.line.data = line
        ride = self.shown
        points = [] if ride is None else [
            (row["lat"], row["lon"]) for row in ride.escapes.to_dict("records")
        ]  # fmt: skip
        west, south, east, north = bounds
        with self.marks.hold_sync():
            self.marks.bounds = ((south, west), (north, east))
            self.marks.url = numbered_marks(points, self.here, bounds, zoom)

    def _write(self, _button: Any) -> None:
        ride = self.shown
        if ride is None:
            return
        name = "-".join(ride.name.casefold().split()) + ".gpx"
        path = self.files.inputs.trip_path.parent / name
        try:
            write_ride(path, ride, ride.name, self.files.inputs.household.units)
            said = f"Written as {path.name} beside the trip file."
        except PlannerKitError as error:
            said = str(error)
        self.said.value = look.part(look.paragraphs([said]))


def _well_within(
    view: tuple[tuple[float, float], tuple[float, float]],
    lats: Sequence[float],
    lons: Sequence[float],
) -> bool:
    """Whether places are all in a view and not crowded in a small part of it."""
    (south, west), (north, east) = view
    inside = south <= min(lats) and max(lats) <= north and west <= min(lons) and max(lons) <= east
    filled = max((max(lats) - min(lats)) / (north - south), (max(lons) - min(lons)) / (east - west))
    return inside and filled >= _LEAST_PART


def _heights(ride: StayRide, units: Units) -> str:
    """The heights along a ride; nothing where none is known."""
    height_m = ride.profile["height_m"].to_numpy(dtype=float)
    if len(height_m) < 2 or not np.isfinite(height_m).any():
        return ""
    along = display.distance_in_units(1.0, units) * ride.profile["km"].to_numpy(dtype=float)
    drawn = heights_chart(along, height_m, units, size_mm=_HEIGHTS_MM)
    return f'<div class="pk-wide">{drawn}</div>'
