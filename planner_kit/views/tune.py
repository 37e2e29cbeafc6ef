"""Tuning the ranking of attractions: a slider for each weight; table, parts and map follow."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipyleaflet as maps
import ipywidgets as widgets
import plotly.graph_objects as go

from planner_kit.outings import CRITERIA, outing_weights, rank_attractions, stay_criteria
from planner_kit.plan import read_files
from planner_kit.views import look
from planner_kit.views.map_layers import area_shapes, road_shapes

if TYPE_CHECKING:
    import pandas as pd

    from planner_kit.plan import TripFiles

SHOWN = 12
_PART_COLOURS = ("blue", "orange", "green", "purple", "sky", "vermilion", "yellow", "grey")
_PART_MARKS = ("", "/", ".", "x", "\\", "-", "+", "|")
_WORDS = {
    "rating": "What others think",
    "drive": "Short drive",
    "cost": "Costs little",
    "age": "Fits our ages",
    "wet_day": "Good in rain",
    "open": "Open on our days",
    "likes": "What we like",
    "novelty": "Not seen before",
}


def tune_attractions(folder: Path, *, trip: str, stay: int = 1) -> AttractionTuner:
    """Sliders for the weights of a trip's attractions.

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
    tuner : AttractionTuner
        Show it as the last value of a cell.

    Raises
    ------
    PlanFileError
        If the trip or one of its files cannot be used.
    """
    files = read_files(folder / trip)
    plan = files.inputs.trip
    number = stay - 1
    table = stay_criteria(
        files.inputs,
        files.region,
        files.sites.loc[plan.stays[number].site],
        *plan.stay_dates()[number],
        attractions=files.attractions,
    )
    return AttractionTuner(files, table, number)


class AttractionTuner(widgets.VBox):  # type: ignore[misc]
    """Sliders on the left; the best places, the parts of their scores and a map on the right."""

    def __init__(self, files: TripFiles, table: pd.DataFrame, number: int) -> None:
        self.files, self.table = files, table
        weights = outing_weights(files.inputs.household)
        self.sliders = {
            name: widgets.FloatSlider(
                value=weights[name],
                min=0,
                max=10,
                step=0.5,
                description=_WORDS[name],
                continuous_update=True,
                readout_format=".1f",
                style={"description_width": "9.5em"},
                layout=widgets.Layout(width="100%"),
            )
            for name in CRITERIA
        }
        self.ranking = rank_attractions(table, weights)
        self.best = widgets.HTML()
        self.chart = go.FigureWidget(layout=_chart_layout())
        for name, colour, mark in zip(CRITERIA, _PART_COLOURS, _PART_MARKS, strict=True):
            self.chart.add_bar(
                orientation="h",
                name=_WORDS[name],
                marker={"color": look.PALETTE[colour], "pattern": {"shape": mark}},
            )
        self.map = self._map(files.sites.loc[files.inputs.trip.stays[number].site])
        for slider in self.sliders.values():
            slider.observe(self._follow, names="value")
        left = widgets.VBox(
            [widgets.HTML(look.page("<strong>How much does each matter?</strong>")),
             *self.sliders.values()],
            layout=widgets.Layout(flex="1 1 300px", max_width="400px"),
        )  # fmt: skip
        right = widgets.VBox(
            [self.chart, self.map], layout=widgets.Layout(flex="1 1 480px", min_width="320px")
        )
        row = widgets.HBox([left, right], layout=widgets.Layout(flex_flow="row wrap"))
        super().__init__([row, self.best])
        self._follow(None)

    def _map(self, site: pd.Series) -> maps.Map:
        region = self.files.region
        self.points = maps.GeoJSON(data={"type": "FeatureCollection", "features": []})
        drawn = maps.Map(
            center=(float(site["lat"]), float(site["lon"])),
            zoom=10,
            layers=(),
            attribution_control=False,
            prefer_canvas=True,
            layout=widgets.Layout(height="360px"),
        )
        states = _plain_states(region.roads)
        drawn.add(maps.GeoJSON(data=area_shapes(region.areas, region.bounds, 10)))
        drawn.add(maps.GeoJSON(data=road_shapes(region.roads, states, region.bounds, 10)))
        drawn.add(self.points)
        return drawn

    def _follow(self, _change: Any) -> None:
        weights = {name: slider.value for name, slider in self.sliders.items()}
        self.ranking = rank_attractions(self.table, weights)
        top = self.ranking.head(SHOWN)
        names = [f"{place}. {name}" for place, name in enumerate(top["name"], start=1)]
        with self.chart.batch_update():
            for bar, name in zip(self.chart.data, CRITERIA, strict=True):
                bar.x, bar.y = top[f"part_{name}"].tolist(), names
        self.points.data = _points(top)
        self.best.value = _best_html(top)


def _plain_states(roads: pd.DataFrame) -> pd.Series:
    from planner_kit.states import State

    return roads["road_class"].astype(str).map(lambda _: State.UNKNOWN.value)


def _chart_layout() -> dict[str, Any]:
    return {
        "barmode": "stack",
        "height": 420,
        "margin": {"l": 10, "r": 10, "t": 40, "b": 30},
        "yaxis": {"autorange": "reversed", "automargin": True},
        "legend": {"orientation": "h", "y": 1.12},
        "plot_bgcolor": "white",
        "title": {"text": ""},
    }


def _points(top: pd.DataFrame) -> dict[str, Any]:
    features = [
        {
            "type": "Feature",
            "geometry": {"type": "Point", "coordinates": [row.lon, row.lat]},
            "properties": {
                "style": {
                    "color": "#1B1B1B",
                    "fillColor": look.PALETTE["orange"],
                    "fillOpacity": 0.95,
                    "weight": 1.5,
                    "radius": max(4, 12 - place * 0.7),
                }
            },
        }
        for place, row in enumerate(top.itertuples())
    ]
    return {"type": "FeatureCollection", "features": features}


def _best_html(top: pd.DataFrame) -> str:
    shown = top.assign(place=range(1, len(top) + 1))
    return look.page(
        look.table(
            shown,
            {"place": "", "name": "Attraction", "kind": "Kind", "drive_min": "Minutes by car",
             "cost": "Cost", "currency": "", "opening_hours": "Opening hours", "score": "Score"},
            caption="The best places with these weights",
        )
    )  # fmt: skip
