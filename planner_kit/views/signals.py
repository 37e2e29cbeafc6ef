"""Signals at a place: click the map, and the forecast and the way of the signal follow."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets
import numpy as np
import plotly.graph_objects as go

from planner_kit.errors import PlanFileError, nearest_name
from planner_kit.pack.signal_chart import has_chart, note_chart
from planner_kit.pitch.cover import cover_of
from planner_kit.pitch.coverage_map import coverage_map
from planner_kit.pitch.masts import masts_from, region_masts
from planner_kit.pitch.stay_signals import absent_phones, stay_signals
from planner_kit.trip_files import read_files
from planner_kit.views import look
from planner_kit.views.access import View
from planner_kit.views.point_picker import PointPicker
from planner_kit.views.stays import files_of_stay, site_of

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from planner_kit.region.terrain import Terrain
    from planner_kit.trip_files import TripFiles

# Height of the map of a mast on the screen.
_MAP_PX = 380


def explore_signals(folder: Path, *, trip: str, stay: int = 1) -> SignalExplorer:
    """The forecast for any place that is clicked, from a stay of a trip on.

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
    return SignalExplorer(*files_of_stay(folder, trip, stay))


class SignalExplorer(View):
    """A map to click, two boxes for a position, the forecast and the way of each signal."""

    def __init__(self, files: TripFiles, number: int) -> None:
        self.files = files
        trip = files.inputs.trip
        self.day: dt.date = trip.stay_dates()[number][0]
        site: Any = site_of(files, number)
        self.site: Any = site.copy()
        style = {"description_width": "5em"}
        self.lat = widgets.FloatText(
            value=float(self.site["lat"]), step=0.001, description="Latitude", style=style
        )
        self.lon = widgets.FloatText(
            value=float(self.site["lon"]), step=0.001, description="Longitude", style=style
        )
        self.words, self.drawing = widgets.HTML(), widgets.HTML()
        self.service = widgets.Dropdown(
            options=[], description="Drawing of", layout={"width": "28rem"}
        )
        self.picker = PointPicker(files.region, self.show, at=(self.lat.value, self.lon.value))
        self.lat.observe(self._follow, names="value")
        self.lon.observe(self._follow, names="value")
        self.service.observe(self._draw, names="value")
        boxes = widgets.HBox([self.lat, self.lon])
        super().__init__([boxes, self.picker, self.service, self.drawing, self.words])
        self._follow(None)

    def show(self, lat: float, lon: float) -> None:
        """Look at another place; the position is in degrees."""
        for box, value in ((self.lat, lat), (self.lon, lon)):
            box.unobserve(self._follow, names="value")
            box.value = value
            box.observe(self._follow, names="value")
        self._follow(None)

    def _follow(self, _change: Any) -> None:
        self.site["lat"], self.site["lon"] = self.lat.value, self.lon.value
        self.picker.mark_at(self.lat.value, self.lon.value)
        heard = stay_signals(
            self.files.inputs.household, self.files.region, self.site, self.day, self.files.masts
        )
        self.heard = heard
        self.words.value = look.page(
            look.checks_table(
                (*absent_phones(self.files.inputs.household), *heard.checks),
                caption="Signals at the place",
            ),
            look.words_table(f"{one.sentence} {one.unit}" for one in heard.checks),
        )
        drawn = [note.subject for note in heard.notes if has_chart(heard, note)]
        if tuple(drawn) != tuple(self.service.options):
            kept = self.service.value
            self.service.options = drawn
            self.service.value = kept if kept in drawn else next(iter(drawn), None)
        self._draw(None)

    def _draw(self, _change: Any) -> None:
        """The way of one signal; the others are drawn when asked for, so that a click is quick."""
        shown = [note for note in self.heard.notes if note.subject == self.service.value]
        drawing = (
            note_chart(self.heard, shown[0], units=self.files.inputs.household.units)
            if shown
            else None
        )
        self.drawing.value = look.page(drawing or look.paragraphs(["There is nothing to draw."]))


def show_coverage(folder: Path, *, trip: str, mast_id: str) -> go.Figure:
    """A map of the level of one mast over the region's terrain, its trees and its buildings.

    Parameters
    ----------
    folder : Path
    trip : str
    mast_id : str
        A row of the mast list whose height, power and frequency are known.

    Raises
    ------
    PlanFileError
        If there is no such mast, its figures are not known or the region has no terrain.
    """
    files = read_files(folder / trip)
    region, terrain = files.region, files.region.terrain
    listed = masts_from(region_masts(region, files.masts), *_middle(region.bounds))
    rows = listed[listed["mast_id"] == mast_id]
    if terrain is None:
        raise PlanFileError(
            "it has no terrain, so how far a mast is heard is not known",
            str(region.folder), "build the region again with terrain tiles",
        )  # fmt: skip
    if rows.empty:
        raise PlanFileError(
            f"there is no mast '{mast_id}' on the list or the map",
            "the parameter 'mast'", nearest_name(mast_id, listed["mast_id"].astype(str)),
        )  # fmt: skip
    mast: Any = rows.iloc[0]
    figures = (float(mast["height_m"]), float(mast["power_dbm"]), float(mast["frequency_mhz"]))
    if not np.isfinite(figures).all():
        raise PlanFileError(
            f"height, power or frequency of mast '{mast_id}' is not known",
            "the mast list", "fill them in, or choose another mast",
        )  # fmt: skip
    bar = widgets.FloatProgress(value=0, min=0, max=1, description="Computing")
    from IPython.display import display

    display(bar)
    level = coverage_map(
        float(mast["lat"]), float(mast["lon"]), *figures, terrain, cover=cover_of(region),
        polarisation="horizontal" if str(mast["polarisation"]) == "horizontal" else "vertical",
        progress=lambda share: setattr(bar, "value", share),
    )  # fmt: skip
    bar.close()
    name = str(mast["name"] or mast_id)
    return coverage_figure(level, terrain, (float(mast["lat"]), float(mast["lon"])), name)


def coverage_figure(
    level: NDArray[np.float64], terrain: Terrain, mast: tuple[float, float], name: str
) -> go.Figure:
    """A coverage over its terrain, with the mast at its latitude and longitude.

    Parameters
    ----------
    level : ndarray, shape of `terrain.grid`
        NaN where it is not known. [dBm]
    terrain : Terrain
    mast : tuple of float
        lat and lon. [deg]
    name : str
        What people call the mast.
    """
    every = max(level.shape[0] // 400, 1)
    rows_lat = terrain.north_deg - np.arange(level.shape[0]) * terrain.step_lat_deg
    columns_lon = terrain.west_deg + np.arange(level.shape[1]) * terrain.step_lon_deg
    figure = go.Figure(
        go.Heatmap(
            z=np.round(level[::every, ::every], 1),
            x=columns_lon[::every],
            y=rows_lat[::every],
            colorscale="Cividis",
            zmin=-130,
            zmax=-50,
            colorbar={"title": "dBm:<br>nearer 0<br>is stronger"},
            hovertemplate="%{y:.4f}, %{x:.4f}: %{z:.0f} dBm<extra></extra>",
        )
    )
    figure.add_scatter(
        x=[mast[1]], y=[mast[0]], mode="markers+text", text=["mast"],
        textposition="top center", marker={"symbol": "x", "size": 11, "color": "#1B1B1B"},
        hoverinfo="skip", showlegend=False,
    )  # fmt: skip
    title = f"{name}: level in a hand at half of all places;<br>white is not known"
    # As wide as the map wants to be, so that its scale stands beside it.
    share = np.cos(np.radians(mast[0])) * np.ptp(columns_lon) / max(np.ptp(rows_lat), 1e-9)
    figure.update_layout(
        height=_MAP_PX + 180, width=float(np.clip(share * _MAP_PX + 210, 460, 640)),
        plot_bgcolor="white", font=look.CHART_FONT, margin={"l": 70, "r": 140, "t": 90, "b": 90},
        title={"text": title, "font": {"size": 15}, "x": 0.02},
    )  # fmt: skip
    figure.update_xaxes(constrain="domain", title="degrees east")
    figure.update_yaxes(constrain="domain", title="degrees north", scaleanchor="x",
                        scaleratio=1 / np.cos(np.radians(mast[0])))  # fmt: skip
    return figure


def _middle(bounds: tuple[float, float, float, float]) -> tuple[float, float]:
    west, south, east, north = bounds
    return (south + north) / 2, (west + east) / 2
