"""The sheets of the days out from each stay."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import numpy as np

from planner_kit.pack import blocks
from planner_kit.pack.membership_blocks import light_block, membership_blocks
from planner_kit.pack.outing_words import list_prices_sentence, price_words
from planner_kit.pack.print_map import print_map
from planner_kit.pack.ride_sheets import ride_sheets
from planner_kit.trip import display

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from planner_kit.outings.report import OutingsReport
    from planner_kit.pack.blocks import Block
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


def outings_sheets(plan: TripPlan, width_mm: float) -> list[Block]:
    """The days out of each stay, and its rides and walks."""
    found: list[Block] = []
    for report in plan.outings:
        found.append(_outings_sheet(plan, report, width_mm))
        found += ride_sheets(plan, report, site_name(plan, report.site_id), width_mm)
    return found


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
            _way(row),
            price_words(row, units),
            opening_words(str(row["opening_hours"])),
        )
        for row in shown.to_dict("records")
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
                    ("", "auto right"), ("place", "1fr"), ("one way", "auto right"),
                    ("for all", "1fr"), ("open", "1fr"),
                ],
                places,
                empty="No places are known near the site.",
            ),
            blocks.text(list_prices_sentence(plan.files.inputs.learnt)),
            _outings_map(plan, report, shown, number, width_mm),
            *light_block(report, units),
            *membership_blocks(report, units),
            blocks.heading("What was checked about the days out") if report.checks else None,
            # What memberships save stands above.
            blocks.checks(c for c in report.checks if not c.subject.startswith("membership ")),
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


def _way(row: Mapping[Any, Any]) -> str:
    """How long one way takes, and how it is gone where not by car."""
    how = {"foot": " on foot", "bike": " by bicycle"}.get(str(row.get("by", "car")), "")
    return f"{display.duration(row.get('travel_min', row['drive_min']))}{how}"


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
