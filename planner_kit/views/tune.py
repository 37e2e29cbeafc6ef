"""Tuning the ranking of attractions: a slider for each weight; table, parts and map follow."""

from __future__ import annotations

import html
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipyleaflet as maps
import ipywidgets as widgets
import plotly.graph_objects as go

from planner_kit.errors import PlanFileError
from planner_kit.outings import CRITERIA, outing_weights, rank_attractions, stay_criteria
from planner_kit.plan import read_files
from planner_kit.region import LABELS
from planner_kit.trip import display
from planner_kit.views import look
from planner_kit.views.access import View
from planner_kit.views.map_names import numbered_marks
from planner_kit.views.region_map import RegionMap

if TYPE_CHECKING:
    import pandas as pd

    from planner_kit.plan import TripFiles
    from planner_kit.trip.household import Units
    from planner_kit.views.map_layers import Bounds

SHOWN = 12
_LONGEST = 30
_PART_COLOURS = (
    "blue", "orange", "green", "purple", "sky", "vermilion", "yellow", "grey", "blue", "orange",
    "green",
)  # fmt: skip
_PART_MARKS = ("", "/", ".", "x", "\\", "-", "+", "|", "x", ".", "")
_WORDS = {
    "rating": "What others think",
    "drive": "A short way",
    "cost": "Costs little",
    "age": "Fits our ages",
    "wet_day": "Good in rain",
    "open": "Open on our days",
    "time": "Time there, not on the way",
    "likes": "What we like",
    "novelty": "Not seen before",
    "dogs": "The dog may come",
    "step_free": "Without steps",
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
        If the trip or one of its files cannot be used, or it has no such stay.
    """
    files = read_files(folder / trip)
    plan = files.inputs.trip
    if not 1 <= stay <= len(plan.stays):
        raise PlanFileError(
            f"the trip has no stay {stay}", "the parameter stay", f"use 1 to {len(plan.stays)}"
        )
    number = stay - 1
    table = stay_criteria(
        files.inputs,
        files.region,
        _site_of(files, number),
        *plan.stay_dates()[number],
        attractions=files.attractions,
    )
    return AttractionTuner(files, table, number)


class AttractionTuner(View):
    """Sliders on the left; the best places, the parts of their scores and a map on the right."""

    def __init__(self, files: TripFiles, table: pd.DataFrame, number: int) -> None:
        self.files, self.criteria = files, table
        site = _site_of(files, number)
        self.here = float(site["lat"]), float(site["lon"])
        self.usual = outing_weights(files.inputs.household)
        self.sliders = {
            name: widgets.FloatSlider(
                value=self.usual[name],
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
        self.ranking = rank_attractions(table, self.usual)
        self.best, self.to_keep = widgets.HTML(), widgets.HTML()
        self.chart = go.FigureWidget(layout=_chart_layout())
        self.chart._config = {"displayModeBar": False, "responsive": True}
        for name, colour, mark in zip(CRITERIA, _PART_COLOURS, _PART_MARKS, strict=True):
            self.chart.add_bar(
                orientation="h",
                name=_WORDS[name],
                marker={"color": look.PALETTE[colour], "pattern": {"shape": mark}},
                hovertemplate="%{x:.2f} of the score",
            )
        self.map = RegionMap(files.region, center=self._middle(), zoom=10, height="420px")
        self.marks = maps.ImageOverlay(
            url=self.map.names.url, bounds=self.map.names.bounds, pane="pk-names"
        )
        self.map.add(self.marks)
        self.back = widgets.Button(
            description="Back to the household's weights", layout=widgets.Layout(width="auto")
        )
        super().__init__([self._row(), self.best])
        self._follow(None)
        self.map.when_drawn(self._draw_marks)
        self.map.draw()
        for slider in self.sliders.values():
            slider.observe(self._follow, names="value")
        self.back.on_click(self._go_back)

    def _row(self) -> widgets.HBox:
        left = widgets.VBox(
            [
                widgets.HTML(look.page("<strong>How much does each matter?</strong>")),
                *self.sliders.values(),
                self.back,
                self.to_keep,
            ],
            layout=widgets.Layout(flex="1 1 290px", max_width="420px", min_width="0"),
        )
        right = widgets.VBox(
            [self.chart, self.map], layout=widgets.Layout(flex="2 1 470px", min_width="0")
        )
        return widgets.HBox([left, right], layout=widgets.Layout(flex_flow="row wrap"))

    def _middle(self) -> tuple[float, float]:
        """The middle of the site and the best places."""
        top = self.ranking.head(SHOWN)[["lat", "lon"]].astype(float).dropna()
        every = [self.here, *top.itertuples(index=False, name=None)]
        lat, lon = zip(*every, strict=True)
        return (min(lat) + max(lat)) / 2, (min(lon) + max(lon)) / 2

    def weights(self) -> dict[str, float]:
        """What the sliders say."""
        return {name: slider.value for name, slider in self.sliders.items()}

    def _go_back(self, _button: Any) -> None:
        for name, slider in self.sliders.items():
            slider.value = self.usual[name]

    def _follow(self, _change: Any) -> None:
        self.ranking = rank_attractions(self.criteria, self.weights())
        top = self.ranking.head(SHOWN)
        names = [f"{place}. {_short(name)}" for place, name in enumerate(top["name"], start=1)]
        with self.chart.batch_update():
            for bar, name in zip(self.chart.data, CRITERIA, strict=True):
                bar.x, bar.y = top[f"part_{name}"].tolist(), names
        self._draw_marks(*self.map.view())
        self.best.value = _best_html(top, self.files.inputs.household.units)
        self.to_keep.value = _to_keep_html(self.weights())

    def _draw_marks(self, bounds: Bounds, zoom: float) -> None:
        top = self.ranking.head(SHOWN)
        points = zip(top["lat"].astype(float), top["lon"].astype(float), strict=True)
        west, south, east, north = bounds
        with self.marks.hold_sync():
            self.marks.bounds = ((south, west), (north, east))
            self.marks.url = numbered_marks(points, self.here, bounds, zoom)


def _site_of(files: TripFiles, number: int) -> pd.Series:
    site: pd.Series = files.sites.loc[files.inputs.trip.stays[number].site]  # type: ignore[assignment]
    return site


def _short(name: str) -> str:
    """A name for the chart: cut to the room there is, and no markup of it is obeyed."""
    cut = name if len(name) <= _LONGEST else name[: _LONGEST - 1] + "…"
    return html.escape(cut, quote=False)


def _chart_layout() -> dict[str, Any]:
    return {
        "barmode": "stack",
        "height": 520,
        "autosize": True,
        "margin": {"l": 10, "r": 10, "t": 100, "b": 50},
        "yaxis": {"autorange": "reversed", "automargin": True},
        "xaxis": {
            "title": {"text": "Score: the sum of its parts; 1 is the best there could be"},
            "range": [0, 1],
            "gridcolor": "#E3E3E3",
        },
        "legend": {
            "orientation": "h", "x": 0, "y": 1.02, "yanchor": "bottom", "traceorder": "normal"
        },
        "font": {"family": "system-ui, sans-serif", "size": 13, "color": look.PALETTE["ink"]},
        "plot_bgcolor": "white",
        "bargap": 0.3,
    }  # fmt: skip


def _best_html(top: pd.DataFrame, units: Units) -> str:
    shown = top.assign(
        place=range(1, len(top) + 1),
        kind=[LABELS.get(str(kind), str(kind)) for kind in top["kind"]],
        drive=[display.duration(minutes) for minutes in top["drive_min"]],
        price=[
            display.money(cost, currency, units)
            for cost, currency in zip(top["cost"], top["currency"], strict=True)
        ],
        score=[display.number(score, units, 2) for score in top["score"]],
        not_known=[words or "nothing" for words in top["not_known"]],
    )
    columns = {
        "place": "", "name": "Attraction", "kind": "Kind", "drive": "Drive", "price": "For all",
        "opening_hours": "Opening hours", "score": "Score", "not_known": "Not known",
    }  # fmt: skip
    return look.page(
        look.table(
            shown,
            columns,
            caption="The best places with these weights; the numbers are those on the map",
            figures=("drive", "price", "score"),
        )
    )


def _to_keep_html(weights: dict[str, float]) -> str:
    lines = "\n".join(f"{name} = {weight:g}" for name, weight in weights.items())
    return look.page(
        "<details><summary>Keep these weights</summary>"
        "<p>Put these lines into household.toml:</p>"
        f"<pre>[preferences.attractions]\n{lines}</pre></details>"
    )
