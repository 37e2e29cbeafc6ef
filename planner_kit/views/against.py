"""Plan against actual as tables in the household's units."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.costs.actuals import plan_against_spent
from planner_kit.diary.against import plan_against_actual
from planner_kit.trip import display
from planner_kit.views import look

if TYPE_CHECKING:
    import pandas as pd

    from planner_kit.plan import TripPlan
    from planner_kit.trip.household import Units

_HAPPENED = {
    "what": "What", "planned": "Planned", "actual": "Happened", "difference": "Difference",
}  # fmt: skip
_SPENT = {
    "kind": "Kind", "planned": "Planned", "spent": "Spent", "difference": "Difference",
    "outcome": "Outcome",
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
        shown = happened.assign(
            **{
                name: [
                    _figure(value, str(unit), units)
                    for value, unit in zip(happened[name], happened["unit"], strict=True)
                ]
                for name in ("planned", "actual", "difference")
            }
        )
        figures = ("planned", "actual", "difference")
        parts.append(look.table(shown, _HAPPENED, caption="Plan against actual", figures=figures))
    if len(spent):
        parts.append(look.table(_with_money(spent, plan.cost.currency, units), _SPENT,
                                caption="Planned and spent",
                                figures=("planned", "spent", "difference")))  # fmt: skip
    return "".join(parts)


def _with_money(spent: pd.DataFrame, currency: str, units: Units) -> pd.DataFrame:
    names = ("planned", "spent", "difference")
    return spent.assign(
        **{name: [display.money(one, currency, units) for one in spent[name]] for name in names}
    )


def _figure(value: float | None, unit: str, units: Units) -> str:
    if value is None or display.is_missing(value):
        return display.UNKNOWN
    if unit == "km":
        return display.distance(value, units)
    if unit == "h":
        return display.duration(60 * value)
    return f"{display.number(value, units, 0 if unit in ('breaks', 'dBm') else 1)} {unit}"
