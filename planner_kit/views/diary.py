"""The diary: the records so far, and any two side by side."""

from __future__ import annotations

import datetime as dt
import numbers
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets
import pandas as pd

from planner_kit.diary import compare_records, read_index
from planner_kit.trip import display, read_household
from planner_kit.views import look
from planner_kit.views.access import View

if TYPE_CHECKING:
    from planner_kit.trip.household import Units

_COLUMNS = {
    "name": "Trip",
    "when": "When",
    "site_names": "Sites",
    "tow": "Planned tow",
    "planned": "Planned to cost",
    "spent": "Really spent",
    "record": "Folder",
}
_CHANGES = {
    "what": "What",
    "before": "Earlier",
    "after": "Later",
    "change": "Change",
    "cause": "Because of",
    "why": "What changed in that",
}
_SHORT = 30  # letters; longer reasons are not said twice in a row
_NONE_YET = "There is no record yet. Make one with:  planner-kit record TRIP.toml"


def show_diary(
    folder: Path, *, records: str = "records", household: str = "household.toml"
) -> Diary:
    """The records in a folder.

    Parameters
    ----------
    folder : Path
        The planning folder.
    records : str
        The folder in it that records are written to; it may be empty.
    household : str
        The household file in it, which says how dates, money and distances are read.

    Returns
    -------
    diary : Diary
        Show it as the last value of a cell.

    Raises
    ------
    PlanFileError
        If the household cannot be used.
    """
    return Diary(folder / records, read_household(folder / household).units)


class Diary(View):
    """A table of all records, and what changed between two of them."""

    def __init__(self, records: Path, units: Units) -> None:
        self.index, self.units = read_index(records), units
        whole = self.index[self.index["state"] == "whole"]
        starts, names = whole["start"].astype(str), whole["name"].astype(str)
        folders = whole["folder"].astype(str).tolist()
        words = _told_apart(starts + "  " + names, whole["record"].astype(str))
        options = list(zip(words, folders, strict=True))
        self.older = _choice("Earlier", options, folders[1:2] or folders[:1])
        self.newer = _choice("Later", options, folders[:1])
        self.changes = widgets.HTML()
        super().__init__(
            [
                widgets.HTML(_index_html(self.index, units)),
                widgets.HBox(
                    [self.older, self.newer] if options else [],
                    layout=widgets.Layout(flex_flow="row wrap"),
                ),
                self.changes,
            ]
        )
        for choice in (self.older, self.newer):
            choice.observe(self._show_changes, names="value")
        self._show_changes(None)

    def _show_changes(self, _change: Any) -> None:
        older, newer = self.older.value, self.newer.value
        if older is None or newer is None:
            self.changes.value = ""
        elif older == newer:
            self.changes.value = _note("Choose two records to see what changed between them.")
        else:
            changes = compare_records(Path(older), Path(newer))
            if changes.empty:
                self.changes.value = _note("Nothing changed from one to the other.")
            else:
                self.changes.value = look.page(
                    f'<div role="status">{changes_html(changes)}</div>', units=self.units
                )


def _note(sentence: str) -> str:
    return look.page(f'<div role="status">{look.paragraphs([sentence])}</div>')


def _index_html(index: pd.DataFrame, units: Units) -> str:
    if index.empty:
        return _note(_NONE_YET)
    whole = index[index["state"] == "whole"]
    shown = pd.DataFrame(
        {
            "name": whole["name"],
            "when": [
                f"{_day(day, units)}, {nights:g} {'night' if nights == 1 else 'nights'}"
                for day, nights in zip(whole["start"], whole["nights"], strict=True)
            ],
            "site_names": whole["site_names"],
            "tow": [
                f"{display.distance(km, units)}, {display.duration(minutes)}"
                for km, minutes in zip(whole["tow_km"], whole["tow_drive_min"], strict=True)
            ],
            "planned": _moneys(whole["cost_likely"], whole["currency"], units),
            "spent": _moneys(whole["spent"], whole["currency"], units),
            "record": whole["record"],
        }
    )
    figures = ("planned", "spent")
    table = look.table(shown, _COLUMNS, caption="Records so far", figures=figures)
    broken = index.loc[index["state"] != "whole", "state"].astype(str)
    return look.page(table, look.bullets(broken) if len(broken) else "")


def changes_html(
    changes: pd.DataFrame, caption: str = "What changed from the earlier to the later record"
) -> str:
    """What changed between two records as a table; see `compare_records`."""
    told = changes["cause"].astype(str) + changes["why"].astype(str)
    again = (told == told.shift()) & (changes["why"].str.len() > _SHORT)
    shown = changes.assign(
        why=changes["why"].where(~again, "as above"),
        **{
            name: [
                _with_unit(value, str(unit), signed=name == "change")
                for value, unit in zip(changes[name], changes["unit"], strict=True)
            ]
            for name in ("before", "after", "change")
        },
    )
    return look.table(
        shown,
        _CHANGES,
        caption=caption,
        figures=("before", "after", "change"),
        blank=("change", "cause"),
    )


def _with_unit(value: object, unit: str, *, signed: bool) -> str:
    """A figure beside its unit, money as GBP 12.00; words stay as they are."""
    if not isinstance(value, numbers.Real) or isinstance(value, bool):
        return "" if value is None else str(value)
    amount = float(value)
    if display.is_missing(amount):
        return ""
    sign = "-" if amount < 0 else "+" if signed else ""
    if unit == "min":
        return f"{sign}{display.duration(abs(amount))}"
    if unit == "dBm" and signed:  # two levels differ by decibels
        unit = "dB"
    if len(unit) == 3 and unit.isupper():
        return f"{sign}{unit} {abs(amount):,.2f}"
    size = f"{abs(amount):,.{0 if abs(amount) >= 1000 else 2}f}"
    return f"{sign}{size.rstrip('0').rstrip('.') if '.' in size else size} {unit}".strip()


def _day(day: object, units: Units) -> str:
    return display.day(dt.date.fromisoformat(str(day)), units)


def _moneys(amounts: pd.Series, currencies: pd.Series, units: Units) -> list[str]:
    return [
        display.money(amount, str(currency), units)
        for amount, currency in zip(amounts, currencies, strict=True)
    ]


def _told_apart(words: pd.Series, records: pd.Series) -> list[str]:
    """The words of a choice; records of the same words are told apart by their folder."""
    return words.where(~words.duplicated(keep=False), words + "  (" + records + ")").tolist()


def _choice(word: str, options: list[tuple[str, str]], value: list[str]) -> widgets.Dropdown:
    return widgets.Dropdown(
        options=options,
        value=value[0] if value else None,
        description=word,
        layout=widgets.Layout(width="30rem", max_width="100%"),
    )
