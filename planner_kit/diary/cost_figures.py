"""The figures of a trip's money, as a record keeps them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.costs import earlier_trips
from planner_kit.diary.reasons import (
    AGES,
    PART,
    SOURCE,
    fuel_reasons,
    money,
    people_reasons,
    price_reasons,
    site_reasons,
    spending_reasons,
    weather_reasons,
)

if TYPE_CHECKING:
    from planner_kit.plan import TripPlan

# key, label, value, unit and what the value depends on.
CostFigure = tuple[str, str, float | None, str, dict[str, str]]


def cost_figures(plan: TripPlan) -> list[CostFigure]:
    """The whole trip, a night, a person, and each kind of cost.

    Parameters
    ----------
    plan : TripPlan

    Returns
    -------
    figures : list of tuple
        None where a value is not known; keys begin with ``cost``.
    """
    cost = plan.cost
    known = cost.lines.dropna(subset=["likely"])
    by_kind = {
        str(kind): float(amount)
        for kind, amount in known.groupby("kind", sort=True)["likely"].sum().items()
    }
    parts = {f"{PART}{kind}": money(amount, cost.currency) for kind, amount in by_kind.items()}
    figures: list[CostFigure] = [
        (f"cost.{key}", label, _pence(value), cost.currency, parts)
        for key, label, value in (
            ("likely", "whole trip, likely", cost.likely),
            ("low", "whole trip, low", cost.low),
            ("high", "whole trip, high", cost.high),
            ("per_night", "a night", cost.per_night),
            ("per_person", "a person", cost.per_person),
        )
    ]
    figures += _history(plan)
    figures += [
        (f"cost.{kind}", f"{kind} in all", _pence(amount), cost.currency,
         {**_kind_reasons(plan, kind), **_lines(plan, kind)})
        for kind, amount in by_kind.items()
    ]  # fmt: skip
    return figures


def _pence(amount: float | None) -> float | None:
    return None if amount is None or amount != amount else round(float(amount), 2)


def _history(plan: TripPlan) -> list[CostFigure]:
    """What the trip costs a night beside the last one of which spending was noted."""
    trip, files = plan.files.inputs.trip, plan.files
    currency = files.inputs.household.units.currency
    earlier = earlier_trips(plan.cost, trip, files.others, currency).iloc[1:2]
    return [
        ("cost.against_last_pct", "a night against the last trip",
         None if gap != gap else round(float(gap), 1), "%",
         {"trip file: last trip": f"{name}, {start}",
          f"{PART}a night": money(plan.cost.per_night, plan.cost.currency)})
        for name, start, gap in zip(
            earlier["trip"], earlier["start"], earlier["against_this_pct"].astype(float),
            strict=True,
        )
    ]  # fmt: skip


def _kind_reasons(plan: TripPlan, kind: str) -> dict[str, str]:
    """What a kind of cost depends on, apart from its lines."""
    trip = plan.files.inputs.trip
    found = {**price_reasons(plan, kind), **spending_reasons(plan, kind)}
    if kind == "fuel":
        for towing in (True, False):
            found |= fuel_reasons(plan, towing=towing)
    if kind in ("outing", "food"):
        people = people_reasons(plan)
        found |= people if kind == "outing" else {k: v for k, v in people.items() if k != AGES}
    if kind in ("food", "gas", "electricity"):
        found["trip file: nights"] = str(trip.nights)
    if kind in ("gas", "electricity"):
        stays = {report.site_name or report.site_id: report for report in plan.pitches}
        for name, report in stays.items():
            beside = f" ({name})" if len(stays) > 1 else ""
            found |= {f"{key}{beside}": why for key, why in weather_reasons(report).items()}
    if kind == "site":
        for number, stay in enumerate(plan.sites.stays.to_dict("records")):
            beside = f" ({stay['name']})" if len(plan.sites.stays) > 1 else ""
            found |= {f"{name}{beside}": why for name, why in site_reasons(plan, number).items()}
    return found


def _lines(plan: TripPlan, kind: str) -> dict[str, str]:
    """The lines of a kind of cost, before anything learnt of it, each with where it comes from."""
    learnt, lines = plan.files.inputs.learnt, plan.cost.lines.dropna(subset=["likely"])
    found = {}
    for line in lines[lines["kind"] == kind].to_dict("records"):
        amount, source = float(line["likely"]), str(line["source"])
        if learnt is not None and learnt.scales(kind) and line["state"] == "expected":
            share = learnt.spending[kind].value
            amount, source = (amount / share if share else amount), source.split("; times ")[0]
        state = "" if line["state"] == "expected" else f" ({line['state']})"
        paid = money(amount, str(line["currency"] or plan.cost.currency))
        found[f"{PART}{line['what']}"] = f"{paid}{state}{SOURCE}{source}"
    return found
