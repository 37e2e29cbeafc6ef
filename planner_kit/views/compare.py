"""Comparing trips: recorded trips side by side, and which one wins when hours and doubts weigh."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets
import numpy as np
import pandas as pd

from planner_kit.diary import read_index
from planner_kit.diary.side_by_side import side_by_side, with_worth
from planner_kit.trip import display, read_household
from planner_kit.views import look
from planner_kit.views.access import View
from planner_kit.views.bars import StackedBars

if TYPE_CHECKING:
    from planner_kit.trip.household import Units

_AT_FIRST = 4
_PARTS = {
    "felt_money": ("money", "blue", ""),
    "felt_time": ("hours on the road", "orange", "/"),
    "felt_doubt": ("doubts", "grey", "."),
}
_NONE = "There is no record yet. Make one with the button in start_here, or on the command line."


def compare_trips(
    folder: Path, *, records: str = "records", household: str = "household.toml"
) -> TripComparer:
    """The recorded trips of a planning folder side by side.

    Parameters
    ----------
    folder : Path
        The planning folder.
    records : str
        The folder in it that holds the records.
    household : str
        The household file in it.

    Returns
    -------
    comparer : TripComparer
        Show it as the last value of a cell.

    Raises
    ------
    PlanFileError
        If the household or a record cannot be used.
    """
    units = read_household(folder / household).units
    index = read_index(folder / records)
    return TripComparer(index[index["state"] == "whole"], units)


class TripComparer(View):
    """A box for each record; a table of those chosen, and a chart of what they feel like."""

    def __init__(self, index: pd.DataFrame, units: Units) -> None:
        self.units = units
        if index.empty:
            super().__init__([widgets.HTML(look.page(look.paragraphs([_NONE])))])
            return
        self.boxes = {
            str(row["folder"]): widgets.Checkbox(
                value=number < _AT_FIRST,
                description=f"{row['name']}, {_day(row['start'], units)}  ({row['record']})",
                indent=False,
                layout=widgets.Layout(width="auto"),
            )
            for number, row in enumerate(index.to_dict("records"))
        }
        currency = display.currency_sign(str(index["currency"].iloc[0]), units)
        self.hour = _slider(f"An hour of towing feels like, {currency}", 60, 10)
        self.doubt = _slider(f"Each doubt feels like, {currency}", 60, 2)
        self.table, self.told = widgets.HTML(), widgets.HTML()
        self.chart = StackedBars(
            {word: (colour, mark) for word, colour, mark in _PARTS.values()},
            axis=f"What the trip feels like, {currency}",
            say=lambda amount: display.number(amount, units),
        )
        hint = (
            "A doubt is a check that is not fine or not known. The sliders only weigh: they change "
            "no plan."
        )
        super().__init__(
            [
                widgets.HTML(look.page("<strong>Which trips?</strong>")),
                *self.boxes.values(),
                widgets.HTML(look.page(look.paragraphs([hint]))),
                self.hour,
                self.doubt,
                self.told,
                self.chart,
                self.table,
            ]
        )
        for box in self.boxes.values():
            box.observe(self._choose, names="value")
        for slider in (self.hour, self.doubt):
            slider.observe(self._weigh, names="value")
        self._choose(None)

    def _choose(self, _change: Any) -> None:
        chosen = [folder for folder, box in self.boxes.items() if box.value]
        self.trips = side_by_side(chosen) if chosen else None
        self._weigh(None)

    def _weigh(self, _change: Any) -> None:
        if self.trips is None:
            self.told.value = _said("Choose a trip.")
            self.table.value = ""
            self.chart.show([], np.empty((0, len(_PARTS))))
            return
        weighed = with_worth(self.trips, hour=self.hour.value, unknown=self.doubt.value)
        names = [
            f"{place}. {row['name']}, {_day(row['start'], self.units)}"
            for place, row in enumerate(weighed.to_dict("records"), start=1)
        ]
        self.chart.show(names, weighed[list(_PARTS)].to_numpy(dtype=float))
        self.told.value = _said(_winner(weighed, self.units))
        self.table.value = _table(weighed, self.units)


def _slider(word: str, most: float, value: float) -> widgets.FloatSlider:
    return widgets.FloatSlider(
        value=value, min=0, max=most, step=1, description=word, readout_format=".0f",
        style={"description_width": "min(18em, 55%)"},
        layout=widgets.Layout(width="100%", max_width="640px"),
    )  # fmt: skip


def _said(sentence: str) -> str:
    return look.part(f'<div role="status">{look.paragraphs([sentence])}</div>')


def _day(start: object, units: Units) -> str:
    return display.day(dt.date.fromisoformat(str(start)), units)


def _short(name: str) -> str:
    return name if len(name) <= 26 else name[:25] + "…"


def _winner(weighed: pd.DataFrame, units: Units) -> str:
    best = weighed.iloc[0]
    if pd.isna(best["felt"]):
        return "Cost or time of these trips is not known, so none can be put first."
    felt = display.money(best["felt"], str(best["currency"]), units, whole=True)
    day = _day(best["start"], units)
    return f"{best['name']} ({day}) comes first: money, hours and doubts feel like {felt}."


def _table(weighed: pd.DataFrame, units: Units) -> str:
    """Measures as rows, trips as columns."""
    trips: list[dict[str, Any]] = weighed.to_dict("records")  # type: ignore[assignment]
    kinds = sorted(
        column for column in map(str, weighed) if column.startswith("cost_")
        and column not in ("cost_low", "cost_likely", "cost_high", "cost_per_night")
    )  # fmt: skip

    def money(amount: float, trip: dict[str, Any]) -> str:
        return display.money(amount, str(trip["currency"]), units)

    rows: list[tuple[str, list[str]]] = [
        ("From", [_day(t["start"], units) for t in trips]),
        ("Nights", [str(t["nights"]) for t in trips]),
        ("Sites", [str(t["sites"]) for t in trips]),
        ("Towed in all", [display.distance(t["tow_km"], units) for t in trips]),
        ("Driving", [display.duration(t["tow_drive_min"]) for t in trips]),
        ("Door to door", [display.duration(t["tow_door_min"]) for t in trips]),
        ("Breaks", [display.number(t["breaks"], units) for t in trips]),
        ("Cost, likely", [money(t["cost_likely"], t) for t in trips]),
        *((f"of which {kind.removeprefix('cost_')}", [money(t[kind], t) for t in trips])
          for kind in kinds),
        ("Cost, between", [
            display.money_range(t["cost_low"], t["cost_high"], str(t["currency"]), units)
            for t in trips
        ]),
        ("Cost, a night", [money(t["cost_per_night"], t) for t in trips]),
        ("Checks not fine", [str(t["not_fine"]) for t in trips]),
        ("Checks to look at", [str(t["look_at"]) for t in trips]),
        ("Checks not known", [str(t["unknown"]) for t in trips]),
        ("Folder", [str(t["record"]) for t in trips]),
    ]  # fmt: skip
    columns = {"what": "", **{f"trip_{n}": _short(t["name"]) for n, t in enumerate(trips)}}
    frame = pd.DataFrame([[word, *cells] for word, cells in rows], columns=list(columns))
    return look.part(
        look.table(
            frame,
            columns,
            caption="Side by side, the first one left",
            figures=[name for name in columns if name != "what"],
        )
    )
