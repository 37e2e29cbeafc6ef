"""What memberships are worth, and the light of the days out, as blocks of a sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.pack import blocks
from planner_kit.trip import display

if TYPE_CHECKING:
    from planner_kit.outings.report import OutingsReport
    from planner_kit.pack.blocks import Block
    from planner_kit.trip.household import Units


def membership_blocks(report: OutingsReport, units: Units) -> list[Block | None]:
    """The break-even of each membership by who comes; nothing where there is none.

    Parameters
    ----------
    report : OutingsReport
        Of the trip's first stay, which holds the memberships of the whole trip.
    units : Units
    """
    if report.memberships.empty:
        return []
    rows = [
        (
            str(row["name"]),
            str(row["who"]),
            display.money(row["saved"], units.currency, units),
            display.money(row["fee_per_year"], units.currency, units),
            _needed(row["visits_needed"]),
        )
        for row in report.by_composition.to_dict("records")
    ]
    columns = [
        ("membership", "1fr"), ("for", "auto"), ("saves", "auto right"),
        ("fee a year", "auto right"), ("earned by", "auto right"),
    ]  # fmt: skip
    return [
        blocks.heading("Are the memberships worth it?"),
        *(blocks.text(str(sentence)) for sentence in report.memberships["sentence"]),
        blocks.table(columns, rows),
    ]


def _needed(visits: float | None) -> str:
    if display.is_missing(visits):
        return "not known"
    return f"{visits:.0f} {'visit' if visits == 1 else 'visits'}"


def light_block(report: OutingsReport, units: Units) -> list[Block | None]:
    """Sunrise, sunset and the end of twilight on the days out; nothing where they are not told."""
    if report.light.empty:
        return []
    rows = [
        (
            display.day(row["day"], units, "short"),
            *(
                "does not happen"
                if display.is_missing(row[name])
                else display.clock(row[name], units)
                for name in ("sunrise", "sunset", "dusk")
            ),
        )
        for row in report.light.to_dict("records")
    ]
    columns = [("day", "auto"), ("sunrise", "auto"), ("sunset", "auto"), ("dark from", "1fr")]
    return [blocks.heading("Daylight"), blocks.table(columns, rows)]
