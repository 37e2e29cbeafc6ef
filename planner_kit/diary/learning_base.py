"""What a plan reckoned before anything learnt was applied: what the next trips are held against."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from planner_kit.trip.learnt import Learnt

if TYPE_CHECKING:
    from planner_kit.plan import TripPlan


def learning_base(plan: TripPlan) -> dict[str, Any]:
    """The base of a plan as plain values.

    Parameters
    ----------
    plan : TripPlan

    Returns
    -------
    base : dict
        legs (count), tow_km, tow_min (by road class), breaks, stint_min, signals (site, operator,
        level_dbm of the strongest mast), spending (by kind). Factors that earlier trips taught
        are taken out again, so that nothing is learnt twice.
    """
    inputs = plan.files.inputs
    learnt = inputs.learnt or Learnt()
    legs = plan.tow.legs
    minutes: dict[str, float] = {}
    for leg in legs:
        by_class = leg.route.steps.groupby("road_class", sort=True)["time_s"].sum() / 60
        for name, spent in by_class.items():
            if name != "ferry":
                minutes[str(name)] = minutes.get(str(name), 0.0) + float(spent)
    stint = inputs.household.preferences.drive_stint_min
    return {
        "legs": len(legs),
        "tow_km": round(sum(leg.route.length_km for leg in legs), 2),
        "tow_min": {
            name: round(spent / learnt.pace_of(name), 3) for name, spent in sorted(minutes.items())
        },
        "breaks": sum(len(leg.rests) for leg in legs),
        "stint_min": stint if learnt.stint_min is None else min(stint, learnt.stint_min.value),
        "signals": _signals(plan),
        "spending": _spending(plan, learnt),
    }


def _signals(plan: TripPlan) -> list[dict[str, Any]]:
    """Level of the strongest mast by site and operator, without what readings added to it."""
    found = []
    for report in plan.pitches:
        table = report.signals
        if "level" not in table.columns:
            continue
        phones = table[(table["service"] == "phone") & table["level"].notna()]
        for operator, rows in phones.groupby("operator", sort=True):
            level = float((rows["level"] - rows["bias_db"]).max())
            found.append(
                {"site": report.site_id, "operator": str(operator), "level_dbm": round(level, 1)}
            )
    return found


def _spending(plan: TripPlan, learnt: Learnt) -> dict[str, float]:
    known = plan.cost.lines.dropna(subset=["likely"])
    sums: dict[str, float] = {}
    for line in known.to_dict("records"):
        kind = str(line["kind"])
        scaled = learnt.scales(kind) and line["state"] == "expected"
        base = float(line["likely"]) / (learnt.spending[kind].value if scaled else 1.0)
        sums[kind] = sums.get(kind, 0.0) + base
    return {kind: round(amount, 2) for kind, amount in sorted(sums.items()) if pd.notna(amount)}
