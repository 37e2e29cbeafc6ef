"""The figures of each stay's pitch, as a record keeps them."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Any

import numpy as np

from planner_kit.diary.reasons import weather_reasons
from planner_kit.pitch.battery import daily_kwh
from planner_kit.pitch.service_points import walk_of
from planner_kit.pitch.water import cassette_days, water_l_per_day

if TYPE_CHECKING:
    from planner_kit.pitch.report import PitchReport
    from planner_kit.plan import TripPlan

# key, label, value, unit and what the value depends on.
PitchFigure = tuple[str, str, float | str | None, str, dict[str, str]]


def pitch_figures(plan: TripPlan) -> list[PitchFigure]:
    """Gas, electricity, water, what the post and the panels bear, and signals of each stay.

    Parameters
    ----------
    plan : TripPlan

    Returns
    -------
    figures : list of tuple
        None where a value is not known; keys begin with ``pitch`` and the number of the stay.
    """
    found = []
    for number, report in enumerate(plan.pitches, start=1):
        found += _utility_figures(plan, report, number)
        found += _signal_figures(report, number)
    return found


def _utility_figures(plan: TripPlan, report: PitchReport, number: int) -> list[PitchFigure]:
    utilities, inputs = report.utilities, plan.files.inputs
    if utilities is None:
        return []
    where = report.site_name or report.site_id
    stay = inputs.trip.stays[number - 1]
    people = len(inputs.trip.party) or len(inputs.household.people)
    why = {"trip file: site": where, "trip file: nights": str(stay.nights),
           "trip file: people": str(people)}  # fmt: skip
    warm = {**why, **weather_reasons(report)}
    electricity = utilities.electricity.total
    peak = utilities.hours["amperes"].max() if len(utilities.hours) else math.nan
    days = cassette_days(inputs.household.caravan, people)
    rows: list[tuple[str, str, float | None, str, dict[str, str]]] = [
        ("gas_kg", "gas", utilities.gas.total.likely, "kg", warm),
        ("kwh", "electricity", None if electricity is None else electricity.likely, "kWh", warm),
        ("peak_a", "most drawn from the post", float(peak), "A", why),
        ("water_l", "water in all", water_l_per_day(people).likely * stay.nights, "L", why),
        ("cassette_days", "days until the cassette is full",
         None if days is None else days.likely, "days", why),
        ("dangers", "dangers of the pitch", float(len(report.warnings)), "warnings", why),
        ("walk_m", "walk to the furthest service point", walk_of(utilities.points), "m", why),
    ]  # fmt: skip
    if len(utilities.yields):
        sun = float(utilities.yields["likely_kwh"].sum())
        arrive, leave = inputs.trip.stay_dates()[number - 1]
        sunny = {**warm, "dates: stay": f"{arrive.isoformat()} to {leave.isoformat()}"}
        rows.append(("sun_kwh", "what the panels bring", sun, "kWh", sunny))
        need = daily_kwh(inputs.household.appliances) * stay.nights
        rows.append(("low_volt_kwh", "what the 12 V side draws", need, "kWh", why))
    return [
        (f"pitch.{number}.{key}", f"{where}: {what}", _told(value), unit, reasons)
        for key, what, value, unit, reasons in rows
    ]


def _signal_figures(report: PitchReport, number: int) -> list[PitchFigure]:
    where, heard = report.site_name or report.site_id, report.stay_signals
    if heard is None:
        return []
    found: list[PitchFigure] = []
    for check in heard.checks:
        if check.unit not in ("dBm", "dBuV/m", "deg"):
            continue
        what = check.subject
        why = {"trip file: site": where, "learnt: correction by readings": _corrected(report, what)}
        key = f"pitch.{number}.signal.{re.sub(r'[^a-z0-9]+', '_', what.casefold()).strip('_')}"
        found.append((key, f"{where}: {what}", _told(check.figure), check.unit, why))
    return found


def _corrected(report: PitchReport, subject: str) -> str:
    """By how much earlier readings moved the forecast of a phone."""
    table = report.signals
    if "bias_db" not in table.columns:
        return "none"
    of_phone = [
        subject == f"phone of {who} ({operator})"
        for who, operator in zip(table["for_whom"], table["operator"], strict=True)
    ]
    read = table[np.array(of_phone) & (table["readings"] > 0).to_numpy()]
    if read.empty:
        return "none"
    best: dict[Any, Any] = read.sort_values("level", ascending=False).iloc[0].to_dict()
    count = int(best["readings"])
    return f"{best['bias_db']:+.1f} dB from {count} reading" + ("" if count == 1 else "s")


def _told(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else round(value, 1)
