"""What a trip costs, and what would change: sliders and a choice; the difference line by line."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets
import pandas as pd
from IPython.display import HTML

from planner_kit.costs import (
    cost_trip,
    earlier_trips,
    plan_against_spent,
    what_if,
    with_lines,
    with_prices,
)
from planner_kit.plan import plan_trip, read_files
from planner_kit.sites.candidates import other_stay_lines
from planner_kit.trip import display
from planner_kit.views import look
from planner_kit.views.dates import day_of

if TYPE_CHECKING:
    from planner_kit.plan import TripPlan

_LINES = {
    "kind": "Kind", "what": "What", "low": "Low", "likely": "Likely", "high": "High",
    "paid": "Stands", "source": "Source",
}  # fmt: skip


def trip_cost(folder: Path, *, trip: str, planned_on: str = "") -> CostExplorer:
    """The cost of a trip with what-ifs.

    Parameters
    ----------
    folder : Path
        The planning folder.
    trip : str
        The trip file in it.
    planned_on : str
        The day of planning, ISO 8601; empty for today.

    Returns
    -------
    explorer : CostExplorer

    Raises
    ------
    PlannerKitError
        If the trip or one of its files cannot be used.
    """
    plan = plan_trip(read_files(folder / trip), planned_on=day_of(planned_on))
    return CostExplorer(plan)


class CostExplorer(widgets.VBox):  # type: ignore[misc]
    """What-ifs above; the difference, line by line, and the whole costing below."""

    def __init__(self, plan: TripPlan) -> None:
        self.plan = plan
        trip = plan.files.inputs.trip
        sites = plan.sites.shortlist
        self.fuel = widgets.IntSlider(
            value=0, min=-50, max=100, step=5, description="Fuel price, %",
            style={"description_width": "9.5em"}, layout=widgets.Layout(width="28em"),
        )  # fmt: skip
        self.nights = widgets.IntSlider(
            value=0, min=1 - trip.stays[0].nights, max=7, description="Nights more or fewer",
            style={"description_width": "9.5em"}, layout=widgets.Layout(width="28em"),
        )  # fmt: skip
        self.days = widgets.IntSlider(
            value=0, min=-21, max=21, description="Days later",
            style={"description_width": "9.5em"}, layout=widgets.Layout(width="28em"),
        )  # fmt: skip
        self.site = widgets.Dropdown(
            description="First site", value=trip.stays[0].site,
            options=[(r["name"], r["site_id"]) for _, r in sites.iterrows()],
            style={"description_width": "9.5em"}, layout=widgets.Layout(width="28em"),
        )  # fmt: skip
        self.difference, self.costing = widgets.HTML(), widgets.HTML()
        for control in (self.fuel, self.nights, self.days, self.site):
            control.observe(self._follow, names="value")
        self.costing.value = self._costing_html()
        super().__init__(
            [self.fuel, self.nights, self.days, self.site, self.difference, self.costing]
        )
        self._follow(None)

    def changed_lines(self) -> pd.DataFrame:
        """The cost lines as the controls stand."""
        files, before = self.plan.files, self.plan.cost.lines
        lines = before
        if self.nights.value or self.days.value or self.site.value != self.first_site:
            new = other_stay_lines(
                files.inputs, files.sites, files.seasons, site_id=self.site.value,
                more_nights=self.nights.value, days_later=self.days.value, rules=files.rules,
            )  # fmt: skip
            later = cost_trip(
                new.inputs, new.lines, planned_on=self.plan.planned_on, rates=files.rates
            )
            rest = before[~before["stage"].isin(("sites", "costs"))]
            lines = with_lines(later.lines, (), rest)
        return with_prices(lines, {"fuel": 1 + self.fuel.value / 100})

    @property
    def first_site(self) -> str:
        """The site of the trip's first stay."""
        return self.plan.files.inputs.trip.stays[0].site

    def _follow(self, _change: Any) -> None:
        cost, units = self.plan.cost, self.plan.files.inputs.household.units
        found = what_if("what if", cost.lines, self.changed_lines())
        gap = found.after[1] - found.before[1]
        words = "No line changes."
        if len(found.differences):
            words = (
                f"{display.money(found.after[1], cost.currency, units)} instead of "
                f"{display.money(found.before[1], cost.currency, units)}: "
                f"{display.money(abs(gap), cost.currency, units)} "
                f"{'more' if gap > 0 else 'less'}."
            )
        if self.site.value != self.first_site:
            words += " The tow, the days out and what is used on the pitch stay as they were."
        self.difference.value = look.page(
            look.paragraphs([words]),
            look.table(
                found.differences,
                {"what": "What", "before": "Before", "after": "After", "difference": "Difference",
                 "change": "Change"},
                caption="What would change, line by line",
            )
            if len(found.differences)
            else "",
        )  # fmt: skip

    def _costing_html(self) -> str:
        cost, files = self.plan.cost, self.plan.files
        units = files.inputs.household.units
        total = (
            f"In all about {display.money(cost.likely, cost.currency, units)}, "
            f"{display.money_range(cost.low, cost.high, cost.currency, units)}; "
            f"{display.money(cost.per_night, cost.currency, units)} a night, "
            f"{display.money(cost.per_person, cost.currency, units)} a person. {cost.range_method}"
        )
        history = earlier_trips(cost, files.inputs.trip, files.others, units.currency)
        return look.page(
            look.paragraphs([total]),
            look.table(
                cost.lines.rename(columns={"state": "paid"}), _LINES, caption="Every line"
            ),
            look.table(
                cost.by_month.rename(columns={"state": "paid"}),
                {"month": "Month", "amount": "Goes out", "paid": "Stands"},
                caption="Money by month",
            ),
            look.checks_table(cost.checks, caption="Budget and gaps"),
            look.table(
                history,
                {"trip": "Trip", "start": "From", "nights": "Nights", "what": "What",
                 "total": "In all", "per_night": "A night",
                 "against_this_pct": "This trip against it, %"},
                caption="Beside earlier trips",
            ),
        )  # fmt: skip


def show_spent(folder: Path, *, trip: str, planned_on: str = "") -> HTML:
    """After the trip: what was planned against what was spent."""
    plan = plan_trip(read_files(folder / trip), planned_on=day_of(planned_on))
    table = plan_against_spent(plan.cost, plan.files.inputs.trip)
    if table.empty:
        return HTML(look.page(look.paragraphs(["Nothing is noted as spent in the trip file yet."])))
    return HTML(
        look.page(
            look.table(
                table,
                {"kind": "Kind", "planned": "Planned", "spent": "Spent",
                 "difference": "Difference", "outcome": "Outcome"},
                caption="Planned and spent",
            )
        )
    )  # fmt: skip
