"""The pitch of a stay as tables and drawings: dangers first, then utilities and signals."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.pack import note_chart
from planner_kit.pack.around_chart import around_chart
from planner_kit.pitch.solar import yield_words
from planner_kit.states import State
from planner_kit.trip import display
from planner_kit.trip.money import cost_frame
from planner_kit.views import look
from planner_kit.views.money_tables import in_money

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd

    from planner_kit.pitch.report import PitchReport
    from planner_kit.pitch.stay_signals import StaySignals
    from planner_kit.pitch.utilities import UtilitiesReport
    from planner_kit.trip.household import Units
    from planner_kit.trip.money import CostLine


def pitch_html(report: PitchReport) -> str:
    """Everything of one stay's pitch; dangers stand before all else."""
    utilities, heard = report.utilities, report.stay_signals
    return "".join(
        [
            f"<h3>{look.text(report.site_name or report.site_id)}</h3>",
            warnings_html(report.warnings),
            look.checks_table(report.other_checks, caption="On the pitch"),
            "" if utilities is None else utilities_html(utilities, report.units),
            look.table(
                report.signals,
                {"service": "Service", "for_whom": "For", "mast": "Mast", "state": "State",
                 "sentence": "What it means"},
                caption="Masts in reach",
                blank=("for_whom",),
            ) if len(report.signals) else "",
            "" if heard is None else notes_html(heard, report.units),
            look.bullets(report.unknowns),
            look.cautions(report.cautions),
        ]
    )  # fmt: skip


def warnings_html(warnings: Iterable[str]) -> str:
    """What is dangerous or will not work, set apart, before anything else."""
    told = tuple(warnings)
    if told:
        return f"<p><strong>{State.NOT_FINE.mark} Before you go</strong></p>" + look.cautions(told)
    return look.cautions(["Nothing here is known to be dangerous; what is not known is below."])


def notes_html(heard: StaySignals, units: Units | None = None) -> str:
    """For each service a paragraph, and the way of its signal where it can be drawn."""
    parts = []
    for note in heard.notes:
        subject = f"{note.subject[:1].upper()}{note.subject[1:]}"
        told = look.text(f"{subject}: {note.paragraph}")
        parts.append(f"<p>{look.state_html(note.state)} {told}</p>")
        parts.append(note_chart(heard, note, units=units) or "")
        parts.append(around_chart(note.around) or "")
    return "".join(parts)


def costs_html(lines: Iterable[CostLine], units: Units) -> str:
    """What is used up on the pitch in money, with its range and where that comes from."""
    told = cost_frame(lines)
    if told.empty:
        return ""
    currency = str(told["currency"].iloc[0])
    return look.table(
        in_money(told, ("low", "likely", "high"), currency, units),
        {"what": "What", "low": "Low", "likely": "Likely", "high": "High"},
        caption="What it costs: these lines go into the trip's cost",
        figures=("low", "likely", "high"),
        below={"what": "source"},
    )


def utilities_html(report: UtilitiesReport, units: Units | None = None) -> str:
    """What to bring, the order of switching, what panels bring and where the sun stands."""
    currency = next((line.currency for line in report.cost_lines), "")
    return "".join(
        [
            look.table(
                report.to_bring.assign(
                    buy=["yes" if bought else "" for bought in report.to_bring["buy"]],
                    cost=[
                        display.money(cost, currency, units)
                        if units is not None and not display.is_missing(cost)
                        else cost
                        for cost in report.to_bring["cost_likely"]
                    ],
                ),
                {"what": "Bring", "how_much": "How much", "why": "Why", "buy": "To buy",
                 "cost": "Cost"},
                caption="What to bring, and what of it is bought",
                blank=("buy", "cost"),
                figures=("cost",),
            ),
            look.table(
                report.hours.loc[report.hours["breaker"] != "holds"],
                {"hour": "Hour", "amperes": "A", "breaker": "The post", "heaviest": "Most of it"},
                caption="Hours that may trip the post",
            ) if (report.hours["breaker"] != "holds").any() else "",
            look.table(
                report.steps,
                {"step": "", "switch_on": "Switch on", "first_off": "Switch off first",
                 "watts": "Then W", "spare_w": "W to spare", "why": "Why"},
                caption="Switch on in this order",
                blank=("first_off",),
            ) if len(report.steps) else "",
            look.table(
                yield_words(report.yields),
                {"day": "Day", "low_kwh": "Overcast, kWh", "likely_kwh": "Likely, kWh",
                 "high_kwh": "Cloudless, kWh", "hidden": "Hidden by hills"},
                caption="What the panels bring",
                figures=("low_kwh", "likely_kwh", "high_kwh", "hidden"),
            ) if len(report.yields) else "",
            look.table(
                _sun_words(report.sun, units),
                {"day": "Day", "when": "At", "clock": "Time", "bearing": "Bearing",
                 "height": "Height", "hills": "Hills", "sun": "Sun"},
                caption="The sun over the hills",
                figures=("height", "hills"),
            ) if len(report.sun) else "",
        ]
    )  # fmt: skip


def _sun_words(sun: pd.DataFrame, units: Units | None) -> pd.DataFrame:
    """The sun's places as people read them: a clock, a point of the compass, whole degrees."""
    return sun.assign(
        clock=[f"{at:%H:%M}" if units is None else display.clock(at, units) for at in sun["time"]],
        bearing=[display.bearing(each) for each in sun["azimuth_deg"]],
        height=[f"{each:.0f}°" for each in sun["elevation_deg"]],
        hills=[
            display.UNKNOWN if display.is_missing(each) else f"{each:.0f}°"
            for each in sun["skyline_deg"]
        ],
    )
