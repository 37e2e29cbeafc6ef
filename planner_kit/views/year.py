"""A year across all trips of a folder on one page, to look at and to print."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as widgets

from planner_kit.errors import PlannerKitError
from planner_kit.pack import write_year, year_chart
from planner_kit.sites import read_year
from planner_kit.sites.year import money_by_month
from planner_kit.trip import display
from planner_kit.views import look
from planner_kit.views.access import View
from planner_kit.views.dates import day_of
from planner_kit.views.money_tables import month_words

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

    from planner_kit.trip.household import Units


def show_year(folder: Path, *, year: int = 0, planned_on: str = "") -> YearPage:
    """The nights away, what is due and the money of a year.

    Parameters
    ----------
    folder : Path
        The planning folder.
    year : int
        0 for the year of the next trip.
    planned_on : str
        The day of planning, ISO 8601; empty for today.

    Returns
    -------
    page : YearPage

    Raises
    ------
    PlannerKitError
        If no trip file of the folder can be used.
    """
    return YearPage(folder, year, planned_on)


class YearPage(View):
    """The drawing, a table of what is still due, and a button that writes the page as a PDF."""

    def __init__(self, folder: Path, year: int, planned_on: str) -> None:
        self.folder = folder
        self.year = read_year(folder, day_of(planned_on), year or None)
        self.print = widgets.Button(
            description="Print this page", tooltip="Writes year.pdf into the planning folder"
        )
        self.said = widgets.HTML()
        self.print.on_click(self._print)
        super().__init__([widgets.HTML(self._html()), self.print, self.said])

    def _html(self) -> str:
        due, units = self.year.deadlines, self.year.household.units
        due = due[due["state"] != "done"]
        money = money_by_month(self.year.money)
        return look.page(
            f"<div style='overflow-x: auto'>{year_chart(self.year)}</div>",
            look.table(
                due.assign(on=[display.day(day, units, "short") for day in due["on"]]),
                {"on": "By", "what": "What", "trip": "Trip", "state": "State", "why": "Why"},
                caption="What is still due",
            ),
            look.table(
                money.assign(
                    month=[month_words(str(one), units) for one in money["month"]],
                    paid=_in_own(money, "paid", units),
                    to_pay=_in_own(money, "to_pay", units),
                ),
                {"month": "Month", "paid": "Paid", "to_pay": "Still to pay"},
                caption="What the bookings cost, by month",
                figures=("paid", "to_pay"),
            ),
            look.bullets(self.year.faults),
            units=units,
        )

    def _print(self, _button: Any) -> None:
        try:
            path = write_year(self.year, self.folder / "year.pdf")
        except PlannerKitError as error:
            self.said.value = look.page(look.cautions([str(error)]))
            return
        self.said.value = look.page(look.paragraphs([f"Written: {path}"]))


def _in_own(money: pd.DataFrame, column: str, units: Units) -> list[str]:
    """Amounts, each in its own currency."""
    pairs = zip(money[column], money["currency"], strict=True)
    return [display.money(amount, str(currency), units) for amount, currency in pairs]
