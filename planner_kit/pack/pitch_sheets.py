"""The sheets of each stay's pitch: dangers first, then power, water, gas, sun and signals."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.pack import blocks
from planner_kit.pack.around_chart import around_chart
from planner_kit.pack.checklists import checklist
from planner_kit.pack.signal_chart import note_chart
from planner_kit.pack.stay_sheets import site_name
from planner_kit.pitch.solar import yield_words
from planner_kit.states import Check
from planner_kit.trip import display

if TYPE_CHECKING:
    import pandas as pd

    from planner_kit.pack.blocks import Block
    from planner_kit.pitch.report import PitchReport
    from planner_kit.pitch.utilities import UtilitiesReport
    from planner_kit.plan import TripPlan
    from planner_kit.trip.household import Units


def pitch_sheets(plan: TripPlan) -> list[Block]:
    """One sheet for each stay whose pitch was looked at."""
    return [_pitch_sheet(plan, report) for report in plan.pitches]


def _pitch_sheet(plan: TripPlan, report: PitchReport) -> Block:
    household = plan.files.inputs.household
    stays = [s for s in plan.files.inputs.trip.stays if s.site == report.site_id]
    stay = stays[0] if stays else None
    units = household.units
    return blocks.sheet(
        "pitch",
        f"The pitch: {site_name(plan, report.site_id)}",
        [
            blocks.heading("Before anything else") if report.warnings else None,
            blocks.cautions(report.warnings),
            blocks.heading("Arriving"),
            blocks.ticks(checklist("arrival", household, stay)),
            blocks.heading("Power, water, waste and gas"),
            blocks.checks(report.other_checks)
            or blocks.text("Nothing is known about power, water and waste on this pitch."),
            blocks.cautions(report.cautions),
            *([] if report.utilities is None else _utility_tables(report.utilities, units)),
            blocks.heading("Signals"),
            blocks.table(
                [
                    ("state", "auto"), ("for", "auto"), ("from", "1fr"), ("where to point", "auto"),
                    ("in sight", "auto"),
                ],
                [_signal_row(row, units) for _, row in report.signals.iterrows()],
                empty="Nothing is known about signals on this pitch.",
            ),
            *_signal_notes(report, units),
        ],
        intro=f"Pitch: {stay.pitch}." if stay is not None and stay.pitch else "",
    )  # fmt: skip


def _utility_tables(utilities: UtilitiesReport, units: Units) -> list[Block | None]:
    """The order of switching, what panels bring and where the sun stands; each if there is any."""
    found: list[Block | None] = []
    rows: list[tuple[blocks.Cell, ...]]
    if len(utilities.steps):
        columns = [
            ("", "auto"), ("switch on", "1fr"), ("switch off first", "1fr"),
            ("then W", "auto right"), ("to spare", "auto right"),
        ]  # fmt: skip
        rows = [
            (
                str(row["step"]),
                blocks.noted_cell(row["switch_on"], row["why"]),
                str(row["first_off"]),
                f"{row['watts']:.0f}",
                f"{row['spare_w']:.0f}",
            )
            for _, row in utilities.steps.iterrows()
        ]
        found += [blocks.heading("Switch on in this order"), blocks.table(columns, rows)]
    if len(utilities.yields):
        columns = [
            ("day", "1fr"), ("overcast, kWh", "auto right"), ("likely, kWh", "auto right"),
            ("cloudless, kWh", "auto right"), ("hidden by hills", "auto right"),
        ]  # fmt: skip
        names = ("low_kwh", "likely_kwh", "high_kwh", "hidden")
        rows = [
            (display.day(row["day"], units, "short"), *(str(row[name]) for name in names))
            for _, row in yield_words(utilities.yields).iterrows()
        ]
        found += [blocks.heading("What the panels bring"), blocks.table(columns, rows)]
    if len(utilities.sun):
        columns = [
            ("day", "1fr"), ("at", "auto"), ("time", "auto"), ("bearing", "auto"),
            ("height", "auto right"), ("hills", "auto right"), ("sun", "auto"),
        ]  # fmt: skip
        rows = [
            (
                display.day(row["day"], units, "short"),
                str(row["when"]),
                display.clock(row["time"], units),
                display.bearing(row["azimuth_deg"]),
                f"{row['elevation_deg']:.0f}°",
                display.UNKNOWN
                if display.is_missing(row["skyline_deg"])
                else f"{row['skyline_deg']:.0f}°",
                str(row["sun"]),
            )
            for _, row in utilities.sun.iterrows()
        ]
        found += [blocks.heading("The sun over the hills"), blocks.table(columns, rows)]
    return found


def _signal_row(row: pd.Series, units: Units) -> tuple[blocks.Cell, ...]:
    return (
        blocks.state_cell(row["state"]),
        " ".join(part for part in (str(row["service"]), str(row["for_whom"])) if part),
        _mast(row),
        _way_to(row, units),
        str(row["line_of_sight"]),
    )


def _signal_notes(report: PitchReport, units: Units) -> list[Block | None]:
    """A check for each service in full, with the way of its signal where it can be drawn."""
    heard = report.stay_signals
    if heard is None:
        return []
    notes: list[Block | None] = []
    for note in heard.notes:
        notes.append(blocks.checks([Check(note.subject, note.state, note.paragraph)]))
        svg = note_chart(heard, note, units=units)
        if svg is not None:
            what = "Hills" if note.sky is not None else "Ground and ray"
            notes.append(blocks.figure(svg, f"{what}: {note.subject}.", "", width_mm=170.0))
        near = around_chart(note.around)
        if near is not None:
            alt = f"Where near by it is better or worse: {note.subject}."
            caption = (
                f"{alt} A figure is how many dB more (+) or less arrive there than on the pitch; "
                "bold where walking there is worth it. North is up."
            )
            notes.append(blocks.figure(near, alt, caption, width_mm=92.0))
    return notes


def _mast(row: pd.Series) -> str:
    """Operator and mast; where there is no mast, the sentence that says why."""
    if not str(row["mast"]):
        return str(row["sentence"])
    return " ".join(part for part in (str(row["operator"]), str(row["mast"])) if part)


def _way_to(row: pd.Series, units: Units) -> str:
    if display.is_missing(row["distance_km"]):
        return "unknown"
    return f"{display.bearing(row['bearing_deg'])}, {display.distance(row['distance_km'], units)}"
