"""The year across all trips as one printed page."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

from planner_kit.files import write_whole
from planner_kit.pack import blocks
from planner_kit.pack.folder import WIDTH_MM, page_document, typeset
from planner_kit.pack.year_chart import year_chart
from planner_kit.sites.year import money_by_month
from planner_kit.trip import display
from planner_kit.trip.page_look import PAGE_LOOK, page_look_files

if TYPE_CHECKING:
    from pathlib import Path

    from planner_kit.pack.blocks import Block
    from planner_kit.sites.year import Year
    from planner_kit.trip.household import Units

# So many deadlines fit under the drawing on one page; the drawing has them all.
_MOST = 16


def write_year(year: Year, path: Path) -> Path:
    """Write a year as a PDF of one page.

    Parameters
    ----------
    year : Year
        See `planner_kit.sites.year.read_year`.
    path : Path
        The file; it is written whole or not at all.

    Returns
    -------
    path : Path

    Raises
    ------
    PlanFileError
        If the place cannot be written to, or the household's own template cannot be typeset.
    """
    units = year.household.units
    title = f"{year.year}: the year of our trips"
    document = page_document(
        title, year.household, year.planned_on, [year_sheet(year)], units.paper
    )
    look = page_look_files(year.household, year.household_path).get(PAGE_LOOK)
    write_whole(path, typeset(document, year.planned_on, template=look))
    return path


def _month_words(row: dict[Any, Any], units: Units) -> str:
    """Such as ``June 2027: £285.30 to pay``."""
    month = display.month(dt.date.fromisoformat(f"{row['month']}-01"), units)
    told = [
        f"{display.money(row[what], row['currency'], units)} {words}"
        for what, words in (("paid", "paid"), ("to_pay", "to pay"))
        if row[what]
    ]
    return f"{month}: {', '.join(told)}"


def year_sheet(year: Year) -> Block:
    """The drawing, the trips, what is still due, and the money by month."""
    units = year.household.units
    trips = "; ".join(
        f"{row['trip']}: {row['site']}, {display.day(row['arrive'], units, 'short')} to "
        f"{display.day(row['leave'], units, 'short')} ({row['booking']})"
        for row in year.stays.to_dict("records")
    )
    open_ones = year.deadlines[year.deadlines["state"] != "done"]
    rows = [
        (row["state"], display.day(row["on"], units, "short"), row["what"], row["trip"])
        for row in open_ones.head(_MOST).to_dict("records")
    ]
    left = len(open_ones) - len(rows)
    money = "; ".join(
        _month_words(row, units) for row in money_by_month(year.money).to_dict("records")
    )
    return blocks.sheet(
        "year",
        f"{year.year}: the year of our trips",
        [
            blocks.figure(
                year_chart(year),
                "A row for each month with the nights away and what is due on each day.",
                "",
                width_mm=WIDTH_MM[units.paper],
            ),
            blocks.text(trips or "No trip has a night in this year.", small=True),
            blocks.table(
                [("", "auto"), ("by", "auto"), ("what", "1fr"), ("trip", "auto")],
                rows,
                empty="Nothing is due any more.",
            ),
            blocks.text(f"{left} more are in the drawing." if left > 0 else "", small=True),
            blocks.text(f"Bookings. {money}." if money else "", small=True),
        ],
    )
