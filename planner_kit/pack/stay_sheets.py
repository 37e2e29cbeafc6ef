"""The sheets of each stay: the pitch and its signals, and the days out."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import numpy as np

from planner_kit.pack import blocks
from planner_kit.pack.checklists import checklist
from planner_kit.pack.print_map import print_map
from planner_kit.pack.signal_chart import note_chart
from planner_kit.trip import display

if TYPE_CHECKING:
    import pandas as pd

    from planner_kit.outings.report import OutingsReport
    from planner_kit.pack.blocks import Block
    from planner_kit.pitch.report import PitchReport
    from planner_kit.plan import TripPlan
    from planner_kit.trip.household import Units

_PLACES_SHOWN = 12
_DAYS = {"Mo": "Mon", "Tu": "Tue", "We": "Wed", "Th": "Thu", "Fr": "Fri", "Sa": "Sat", "Su": "Sun"}
_DAY = re.compile(rf"\b({'|'.join(_DAYS)})\b")


def site_name(plan: TripPlan, site_id: str) -> str:
    """What the household calls a site; its id where no list names it."""
    sites = plan.files.sites
    if site_id in sites.index:
        return str(sites.loc[site_id, "name"])
    return site_id


def pitch_sheets(plan: TripPlan) -> list[Block]:
    """One sheet for each stay whose pitch was looked at."""
    return [_pitch_sheet(plan, report) for report in plan.pitches]


def _pitch_sheet(plan: TripPlan, report: PitchReport) -> Block:
    household = plan.files.inputs.household
    stays = [s for s in plan.files.inputs.trip.stays if s.site == report.site_id]
    stay = stays[0] if stays else None
    units = household.units
    signals = [
        (
            blocks.state_cell(row["state"]),
            " ".join(part for part in (str(row["service"]), str(row["for_whom"])) if part),
            _mast(row),
            _way_to(row, units),
            str(row["line_of_sight"]),
        )
        for _, row in report.signals.iterrows()
    ]
    return blocks.sheet(
        "pitch",
        f"The pitch: {site_name(plan, report.site_id)}",
        [
            blocks.heading("Arriving"),
            blocks.ticks(checklist("arrival", household, stay)),
            blocks.heading("Power, water, waste and gas"),
            blocks.checks(report.checks)
            or blocks.text("Nothing is known about power, water and waste on this pitch."),
            blocks.heading("Signals"),
            blocks.table(
                [
                    ("state", "auto"), ("for", "auto"), ("from", "1fr"), ("where to point", "auto"),
                    ("in sight", "auto"),
                ],
                signals,
                empty="Nothing is known about signals on this pitch.",
            ),
            *_signal_notes(report),
            blocks.cautions(report.cautions),
        ],
        intro=f"Pitch: {stay.pitch}." if stay is not None and stay.pitch else "",
    )  # fmt: skip


def _signal_notes(report: PitchReport) -> list[Block | None]:
    """A paragraph for each service, with the way of its signal where it can be drawn."""
    heard = report.stay_signals
    if heard is None:
        return []
    notes: list[Block | None] = []
    for note in heard.notes:
        notes.append(blocks.text(f"{note.subject[:1].upper()}{note.subject[1:]}: {note.paragraph}"))
        svg = note_chart(heard, note)
        if svg is not None:
            what = "Hills" if note.sky is not None else "Ground and ray"
            notes.append(blocks.figure(svg, f"{what}: {note.subject}.", "", width_mm=170.0))
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


def outings_sheets(plan: TripPlan, width_mm: float) -> list[Block]:
    """One sheet for each stay that has days out."""
    return [_outings_sheet(plan, report, width_mm) for report in plan.outings]


def _outings_sheet(plan: TripPlan, report: OutingsReport, width_mm: float) -> Block:
    units = plan.files.inputs.household.units
    days = report.days
    dry = days[days["what"] != "wet-day plan"] if len(days) else days
    wet = days[days["what"] == "wet-day plan"] if len(days) else days
    planned = report.ranking["attraction_id"].isin(days["attraction_id"]) if len(days) else False
    best = np.arange(len(report.ranking)) < _PLACES_SHOWN
    shown = report.ranking[best | planned]
    hours = dict(zip(report.ranking["attraction_id"], report.ranking["opening_hours"], strict=True))
    number = {place: n for n, place in enumerate(shown["attraction_id"], start=1)}
    columns = [
        ("day", "auto"), ("time", "auto"), ("where", "1fr"), ("open", "1fr"), ("why", "1.5fr"),
    ]  # fmt: skip

    def rows(part: pd.DataFrame) -> list[tuple[str, ...]]:
        return [
            (
                display.day(row["day"], units, "short"),
                _span(row, units),
                _numbered(str(row["name"]) or str(row["what"]), number.get(row["attraction_id"])),
                ""
                if not row["attraction_id"]
                else opening_words(str(hours.get(row["attraction_id"], ""))),
                str(row["why"]),
            )
            for _, row in part.iterrows()
        ]

    places = [
        (
            str(number[row["attraction_id"]]),
            f"{row['name']} ({str(row['kind']).replace('_', ' ')})",
            display.duration(row["drive_min"]),
            _price(row, units),
            opening_words(str(row["opening_hours"])),
        )
        for _, row in shown.iterrows()
    ]
    return blocks.sheet(
        "outings",
        f"Days out from {site_name(plan, report.site_id)}",
        [
            blocks.table(columns, rows(dry), empty="No days out are planned."),
            blocks.heading("If it rains"),
            blocks.table(columns, rows(wet), empty="No wet-day plan was found near the site."),
            blocks.heading("The places, best first"),
            blocks.table(
                [
                    ("", "auto right"), ("place", "1fr"), ("drive", "auto right"),
                    ("for all", "auto right"), ("open", "1fr"),
                ],
                places,
                empty="No places are known near the site.",
            ),
            _outings_map(plan, report, shown, number, width_mm),
            blocks.checks(report.checks),
        ],
    )  # fmt: skip


def _outings_map(
    plan: TripPlan,
    report: OutingsReport,
    shown: pd.DataFrame,
    number: dict[str, int],
    width_mm: float,
) -> Block | None:
    points: Any = shown[["lat", "lon"]].copy()
    points["label"] = ""
    points["mark"] = [str(number[place]) for place in shown["attraction_id"]]
    points["kind"] = "outing"
    sites = plan.files.sites
    if report.site_id in sites.index:
        site: Any = sites.loc[report.site_id]
        points.loc[len(points) + 1_000_000] = [
            float(site["lat"]), float(site["lon"]), str(site["name"]), "S", "site",
        ]  # fmt: skip
    if points.empty:
        return None
    svg = print_map(
        plan.files.region,
        points=points,
        size_mm=(width_mm, 86.0),
        units=plan.files.inputs.household.units,
    )
    return blocks.figure(
        svg,
        "Map of the places around the site.",
        "S the site; numbers as in the list of places.",
        width_mm=width_mm,
    )


def _span(row: pd.Series, units: Units) -> str:
    if display.is_missing(row["start"]):
        return ""
    return f"{display.clock(row['start'], units)} to {display.clock(row['end'], units)}"


def _numbered(name: str, number: int | None) -> str:
    return name if number is None else f"{name} [{number}]"


def _price(row: pd.Series, units: Units) -> str:
    if row["free_with"]:
        return "free, member"
    if not display.is_missing(row["cost"]) and float(row["cost"]) == 0:
        return "free"
    return display.money(row["cost"], str(row["currency"]), units)


def opening_words(opening_hours: str) -> str:
    """Opening hours as the map or list writes them, in a form that people read.

    Parameters
    ----------
    opening_hours : str
        The value of an OpenStreetMap ``opening_hours`` tag.

    Returns
    -------
    words : str
        ``Mo-Sa 10:00-17:00`` becomes ``Mon to Sat 10:00 to 17:00``; ``not known`` if it is empty.
    """
    if not opening_hours or opening_hours == "nan":
        return "not known"
    if opening_hours == "24/7":
        return "always"
    words = _DAY.sub(lambda day: _DAYS[day.group()], opening_hours)
    words = words.replace("PH off", "closed on public holidays").replace("PH", "public holidays")
    return " ".join(
        words.replace("-", " to ").replace(" off", " closed").replace(",", ", ").split()
    )
