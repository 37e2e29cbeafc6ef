"""Tables of money, as a record and the notebooks show them."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.costs import earlier_trips
from planner_kit.trip import display
from planner_kit.views import look

if TYPE_CHECKING:
    from planner_kit.costs.report import TripCost
    from planner_kit.trip.household import Units
    from planner_kit.trip_files import TripFiles

_SPENT = {
    "kind": "Kind", "planned": "Planned", "spent": "Spent", "difference": "Difference",
    "outcome": "Outcome",
}  # fmt: skip
_ALIKE = "A trip that was made is compared in the kinds of spending that were noted then."
_NOTED = "The total compares only the kinds of which something was noted as spent."


def in_money(
    table: pd.DataFrame, columns: tuple[str, ...], currency: str, units: Units
) -> pd.DataFrame:
    """A table with amounts as the household writes them; what is not known stays so."""
    return table.assign(
        **{name: [display.money(one, currency, units) for one in table[name]] for name in columns}
    )


def history_html(files: TripFiles, cost: TripCost) -> str:
    """What the trip costs beside what earlier ones came to; nothing where there are none."""
    units = files.inputs.household.units
    history = earlier_trips(cost, files.inputs.trip, files.others, units.currency)
    if len(history) < 2:
        return ""
    gap = ["" if pd.isna(one) else f"{one:+.0f} %" for one in history["against_this_pct"]]
    return look.table(
        in_money(history, ("total", "per_night"), cost.currency, units).assign(
            gap=gap, start=[display.day(day, units) for day in history["start"]]
        ),
        {"trip": "Trip", "start": "From", "nights": "Nights", "what": "What", "total": "In all",
         "per_night": "A night", "gap": "This trip against it, a night"},
        caption="Beside earlier trips",
        figures=("total", "per_night", "gap"),
        blank=("gap",),
    ) + look.paragraphs([_ALIKE])  # fmt: skip


def spent_html(spent: pd.DataFrame, currency: str, units: Units) -> str:
    """What was planned and spent of each kind; see `planner_kit.costs.plan_against_spent`."""
    figures = ("planned", "spent", "difference")
    shown = in_money(spent, figures, currency, units)
    return look.table(shown, _SPENT, caption="Planned and spent", figures=figures) + (
        look.paragraphs([_NOTED])
    )


def months_html(cost: TripCost, units: Units) -> str:
    """When the money goes out, month by month."""
    table = in_money(cost.by_month, ("amount",), cost.currency, units).assign(
        month=[month_words(str(one), units) for one in cost.by_month["month"]]
    )
    return look.table(
        table.rename(columns={"state": "stands"}),
        {"month": "Month", "amount": "Goes out", "stands": "Stands"},
        caption="Money by month",
        figures=("amount",),
    )


def month_words(month: str, units: Units) -> str:
    """``2027-07`` as ``July 2027``; anything else as it is."""
    try:
        return display.month(dt.date.fromisoformat(f"{month}-01"), units)
    except ValueError:
        return month
