"""Plan against actual as tables in the household's units."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from planner_kit.costs.actuals import plan_against_spent
from planner_kit.diary.against import plan_against_actual
from planner_kit.trip import display
from planner_kit.views import look
from planner_kit.views.money_tables import spent_html

if TYPE_CHECKING:
    from planner_kit.plan import TripPlan
    from planner_kit.trip.household import Units

_HAPPENED = {
    "what": "What", "planned": "Planned", "actual": "Happened", "difference": "Difference",
}  # fmt: skip


def against_html(plan: TripPlan) -> str:
    """What was planned beside what happened and was spent; says so before the trip."""
    units = plan.files.inputs.household.units
    happened = plan_against_actual(plan)
    spent = plan_against_spent(plan.cost, plan.files.inputs.trip)
    if happened.empty and spent.empty:
        return look.paragraphs(["Nothing is noted yet of what happened on this trip."])
    parts = []
    if len(happened):
        shown = pd.DataFrame([_row(row, units) for row in happened.to_dict("records")])
        figures = ("planned", "actual", "difference")
        parts.append(look.table(shown, _HAPPENED, caption="Plan against actual", figures=figures))
    if len(spent):
        parts.append(spent_html(spent, plan.cost.currency, units))
    return "".join(parts)


def _row(row: dict[Any, Any], units: Units) -> dict[str, str]:
    unit, share = str(row["unit"]), row["difference_pct"]
    shown = {side: display.measured(row[side], unit, units) for side in ("planned", "actual")}
    # Miles to the gallon have no difference of their own: the share of the fuel says it.
    gap = (
        display.measured_gap(row["planned"], row["actual"], unit, units)
        if unit != "l/100 km"
        else _more_fuel(share, units)
    )
    return {"what": str(row["what"]), **shown, "difference": gap}


def _more_fuel(share_pct: float | None, units: Units) -> str:
    if share_pct is None or display.is_missing(share_pct):
        return display.measured(None, "%", units)
    words = "more" if share_pct > 0 else "less"
    return f"{display.number(abs(share_pct), units)} % {words} fuel"
