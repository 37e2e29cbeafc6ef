"""Plan against actual: how far, how long, how much fuel, which breaks and which signals."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from planner_kit.plan import TripPlan

AGAINST_COLUMNS = ("what", "planned", "actual", "difference", "difference_pct", "unit")


def plan_against_actual(plan: TripPlan) -> pd.DataFrame:
    """What was planned beside what happened, for all that the trip file notes.

    Parameters
    ----------
    plan : TripPlan

    Returns
    -------
    table : DataFrame
        what, planned, actual, difference (actual less planned), difference_pct, unit; NaN where a
        side is not known. Empty before the trip. Money is apart: see
        `planner_kit.costs.actuals.plan_against_spent`.

    Notes
    -----
    The hours are those under way without the breaks, as the trip file's ``tow_hours`` are.
    """
    actuals = plan.files.inputs.trip.actuals
    if actuals is None:
        return pd.DataFrame(columns=list(AGAINST_COLUMNS))
    legs = plan.tow.legs
    towed_km, alone_km = actuals.driven_km()
    km = sum(leg.route.length_km for leg in legs)
    litres = [leg.fuel.likely for leg in legs if leg.fuel is not None and leg.fuel.unit == "l"]
    fuel_l = sum(litres) if len(litres) == len(legs) else None
    rows = [
        ("towed", km, towed_km, "km"),
        ("under way with the caravan", sum(leg.route.time_min for leg in legs) / 60,
         actuals.tow_hours, "h"),
        ("breaks", sum(len(leg.rests) for leg in legs), actuals.breaks, "breaks"),
        ("fuel for the tow", fuel_l, actuals.tow_fuel_l, "l"),
        ("use under tow", _per_100km(fuel_l, km), _per_100km(actuals.tow_fuel_l, towed_km),
         "l/100 km"),
        ("driven with the car alone", None, alone_km, "km"),
        ("use of the car alone", plan.files.inputs.household.car.solo_l_per_100km,
         _per_100km(actuals.solo_fuel_l, alone_km), "l/100 km"),
        *_signals(plan),
    ]  # fmt: skip
    told = [row for row in rows if row[2] is not None]
    return pd.DataFrame([_row(*row) for row in told], columns=list(AGAINST_COLUMNS))


def _per_100km(litres: float | None, km: float | None) -> float | None:
    return 100 * litres / km if litres is not None and km else None


def _signals(plan: TripPlan) -> list[tuple[str, float | None, float | None, str]]:
    trip = plan.files.inputs.trip
    if trip.actuals is None:
        return []
    forecast: dict[tuple[str, str], float] = {}
    for report in plan.pitches:
        table = report.signals
        if "level" not in table.columns:
            continue
        phones = table[(table["service"] == "phone") & table["level"].notna()]
        for operator, level in phones.groupby("operator", sort=True)["level"].max().items():
            forecast[report.site_id, str(operator).casefold()] = float(level)
    rows: list[tuple[str, float | None, float | None, str]] = []
    for reading in trip.actuals.signals:
        site = reading.site or trip.stays[0].site
        name = plan.files.sites["name"].get(site, site)
        what = f"signal of {reading.operator} at {name}"
        planned = forecast.get((site, reading.operator.casefold()))
        rows.append((what, planned, reading.level_dbm, "dBm"))
    return rows


def _row(what: str, planned: float | None, actual: float | None, unit: str) -> dict[str, object]:
    known = planned is not None and actual is not None
    gap = actual - planned if planned is not None and actual is not None else None
    share = 100 * gap / planned if gap is not None and planned and unit != "dBm" else None
    return {
        "what": what,
        "planned": None if planned is None else round(planned, 2),
        "actual": None if actual is None else round(actual, 2),
        "difference": round(gap, 2) if known and gap is not None else None,
        "difference_pct": None if share is None else round(share, 1),
        "unit": unit,
    }
