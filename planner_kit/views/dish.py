"""A satellite dish on a pitch: where to point it, and how far to move from what is in the way."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as widgets

from planner_kit.pack.signal_chart import dish_chart, sky_chart
from planner_kit.pitch.dish import check_dish, dish_path, tree_words
from planner_kit.pitch.skyline import check_open_sky, skyline
from planner_kit.trip.household import Satellite
from planner_kit.views import look
from planner_kit.views.stays import files_of_stay, site_of

if TYPE_CHECKING:
    from pathlib import Path

    from planner_kit.trip_files import TripFiles

_WIDE = {"description_width": "13rem"}


def aim_dish(folder: Path, *, trip: str, stay: int = 1) -> DishPanel:
    """Where a dish looks from a stay's site, with boxes for what may be otherwise on the day.

    Parameters
    ----------
    folder : Path
        The planning folder.
    trip : str
        The trip file in it.
    stay : int
        Which stay of the trip, from 1.

    Raises
    ------
    PlannerKitError
        If the trip or one of its files cannot be used, or has no such stay.
    """
    return DishPanel(*files_of_stay(folder, trip, stay))


class DishPanel(widgets.VBox):  # type: ignore[misc]
    """Boxes for the satellite and for a tree; below, the aim, the ray and the hills all round."""

    def __init__(self, files: TripFiles, number: int) -> None:
        trip = files.inputs.trip
        self.terrain, self.day = files.region.terrain, trip.stay_dates()[number][0]
        site: Any = site_of(files, number)
        self.units, known = files.inputs.household.units, files.inputs.household.satellites
        self.lat, self.lon = float(site["lat"]), float(site["lon"])
        self.name = known[0].name if known else "satellite"
        self.orbit = widgets.BoundedFloatText(
            value=known[0].orbit_deg if known else 0.0, min=-180, max=180, step=0.1,
            description="Orbit, ° east (west is −)", style=_WIDE,
        )  # fmt: skip
        self.tree = widgets.BoundedFloatText(
            value=12, min=0, max=80, step=1, description="Tree or house, height (m)", style=_WIDE
        )
        self.away = widgets.BoundedFloatText(
            value=15, min=0, max=500, step=1, description="It stands away (m)", style=_WIDE
        )
        self.words = widgets.HTML()
        ground = skyline(self.terrain, self.lat, self.lon)
        hills = None if ground is None else sky_chart(ground)
        self.around = widgets.HTML(
            look.page(look.checks_table([check_open_sky(ground)], caption="The sky"), hills or "")
        )
        boxes = [self.orbit, self.tree, self.away]
        grid = {"grid_template_columns": "repeat(auto-fit, minmax(22rem, 1fr))"}
        super().__init__(
            [
                widgets.HTML(look.page(f"<h3>{look.text(site['name'])}</h3>")),
                widgets.GridBox(boxes, layout=grid),
                self.words,
                self.around,
            ]
        )
        for box in boxes:
            box.layout.width = "auto"
            box.observe(self._changed, names="value")
        self._changed(None)

    def _changed(self, _: object) -> None:
        satellite = Satellite(name=self.name, orbit_deg=self.orbit.value)
        check, angles = check_dish(self.lat, self.lon, satellite, self.day, self.terrain)
        way = None if self.terrain is None else dish_path(self.terrain, self.lat, self.lon, angles)
        self.words.value = look.page(
            look.checks_table([check], caption="The dish"),
            look.paragraphs([tree_words(self.tree.value, self.away.value, angles)]),
            "" if way is None else dish_chart(way, units=self.units),
        )
