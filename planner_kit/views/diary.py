"""The diary: the records so far, and any two side by side."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import ipywidgets as widgets

from planner_kit.diary import compare_records, read_index
from planner_kit.views import look

_COLUMNS = {
    "name": "Trip",
    "start": "From",
    "end": "To",
    "nights": "Nights",
    "sites": "Sites",
    "tow_km": "Towed, km",
    "tow_drive_min": "Towing, minutes",
    "cost_likely": "Planned cost",
    "spent": "Spent",
    "currency": "",
    "record": "Folder",
}


def show_diary(folder: Path, *, records: str = "records") -> Diary:
    """The records in a folder.

    Parameters
    ----------
    folder : Path
        The planning folder.
    records : str
        The folder in it that records are written to; it may be empty.

    Returns
    -------
    diary : Diary
        Show it as the last value of a cell.
    """
    return Diary(folder / records)


class Diary(widgets.VBox):  # type: ignore[misc]
    """A table of all records, and what changed between two of them."""

    def __init__(self, records: Path) -> None:
        self.index = read_index(records)
        whole = self.index[self.index["state"] == "whole"]
        options = [(f"{row.start}  {row.name_}", row.folder)
                   for row in whole.rename(columns={"name": "name_"}).itertuples()]  # fmt: skip
        newest_first = [folder for _, folder in options]
        self.older = _choice("Earlier", options, newest_first[1:2] or newest_first[:1])
        self.newer = _choice("Later", options, newest_first[:1])
        self.changes = widgets.HTML()
        super().__init__(
            [
                widgets.HTML(look.page(look.table(self.index, _COLUMNS, caption="Records so far"))),
                widgets.HBox([self.older, self.newer], layout=widgets.Layout(flex_flow="row wrap")),
                self.changes,
            ]
        )
        for choice in (self.older, self.newer):
            choice.observe(self._compare, names="value")
        self._compare(None)

    def _compare(self, _change: Any) -> None:
        if self.older.value is None or self.newer.value is None:
            words = ["There is no record yet: make one with  planner-kit record TRIP.toml"]
            self.changes.value = look.page(look.paragraphs(words))
            return
        changes = compare_records(Path(self.older.value), Path(self.newer.value))
        columns = {"what": "What", "before": "Earlier", "after": "Later", "change": "Change",
                   "unit": "Unit", "why": "Why"}  # fmt: skip
        self.changes.value = look.page(
            look.table(changes, columns, caption="What changed from one to the other")
        )


def _choice(word: str, options: list[tuple[str, str]], value: list[str]) -> widgets.Dropdown:
    return widgets.Dropdown(
        options=options,
        value=value[0] if value else None,
        description=word,
        layout=widgets.Layout(width="24rem", max_width="100%"),
    )
