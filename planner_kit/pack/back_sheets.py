"""The last sheets: contacts and emergencies, and where everything came from."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import numpy as np
from pyproj import Geod

import planner_kit
from planner_kit.pack import blocks
from planner_kit.pack.sources import SOURCES_TITLE, numbered_sources
from planner_kit.pack.stay_sheets import site_name
from planner_kit.reference import read_table
from planner_kit.summary import all_checks
from planner_kit.trip import display

if TYPE_CHECKING:
    import pandas as pd

    from planner_kit.pack.blocks import Block
    from planner_kit.plan import TripPlan
    from planner_kit.trip.household import Units

_WGS84 = Geod(ellps="WGS84")
_HELP = {
    "hospital": "hospital", "doctors": "doctor", "pharmacy": "pharmacy", "veterinary": "vet",
    "police": "police", "caravan_shop": "caravan repairs", "car_repair": "garage",
    "tyres": "tyres", "fuel": "filling station", "lpg": "gas", "gas_shop": "bottled gas",
}  # fmt: skip


def contacts_sheet(plan: TripPlan) -> Block:
    """Whom to ring, where we are, and the nearest help on the map."""
    household = plan.files.inputs.household
    number, source = emergency_number(plan.files.region.country)
    found: list[Block | None] = [
        blocks.number("emergency number", number, source),
        blocks.text(
            "Say where you are, what happened, how many are hurt. Stay on the line. On the road: "
            "out of the outfit on the safe side, behind the barrier, away from the traffic."
        ),
    ]
    for place, stay in enumerate(plan.files.inputs.trip.stays):
        row = plan.sites.stays.iloc[place] if place < len(plan.sites.stays) else None
        found += _site_help(plan, stay.site, row)
    found += [
        blocks.heading("Our own numbers"),
        blocks.table(
            [("who", "1fr"), ("phone", "auto"), ("for what", "1fr")],
            [(c.name, c.phone, c.what_for) for c in household.contacts],
            empty="The household file names nobody.",
        ),
        blocks.table(
            [("membership", "1fr"), ("number", "auto"), ("valid until", "auto")],
            [
                (m.name, m.number or "not given", display.day(m.valid_until, household.units))
                for m in household.memberships
            ],
        ),
    ]
    found += [blocks.heading("Breakdown cover, insurer, doctor"), blocks.lines(4)]
    return blocks.sheet("contacts", "Contacts and emergencies", found)


def emergency_number(country: str) -> tuple[str, str]:
    """The emergency number of a country and its source; ``unknown`` where no source was read.

    Parameters
    ----------
    country : str
        ISO 3166-1 alpha-2.

    Returns
    -------
    number, source : str
    """
    table = read_table("emergency_numbers")
    rows = table[table["country"] == country]
    if rows.empty:
        return "unknown", "look it up before you leave and write it here"
    row = rows.iloc[0]
    return str(row["number"]), f"{row['source']}, {row['edition']} ({row['basis']})"


def _site_help(plan: TripPlan, site_id: str, row: pd.Series | None) -> list[Block | None]:
    units = plan.files.inputs.household.units
    sites = plan.files.sites
    if site_id not in sites.index:
        return [blocks.heading(site_id), blocks.text("Where this site lies is not known.")]
    site: Any = sites.loc[site_id]
    lat, lon = float(site["lat"]), float(site["lon"])
    phone = "" if row is None else row.get("phone", "")
    return [
        blocks.heading(site_name(plan, site_id)),
        blocks.facts(
            [
                ("position", f"{lat:.5f}, {lon:.5f} (latitude, longitude)"),
                ("phone", "unknown" if display.is_missing(phone) or not phone else phone),
            ],
            columns=2,
        ),
        blocks.table(
            [
                ("nearest", "auto"), ("name", "1fr"), ("as the crow flies", "auto right"),
                ("towards", "auto"), ("phone", "auto"),
            ],
            nearest_help(plan.files.region.places, lat, lon, units),
            empty="The map shows no hospital, pharmacy or garage around here.",
        ),
    ]  # fmt: skip


def nearest_help(
    places: pd.DataFrame, lat: float, lon: float, units: Units
) -> list[tuple[str, str, str, str, str]]:
    """The nearest place of each kind that helps, by straight line.

    Parameters
    ----------
    places : DataFrame
        The region's places: kind, name, lat, lon, tags.
    lat, lon : float
        From where. [deg]
    units : Units

    Returns
    -------
    rows : list of (kind, name, distance, direction, phone)
    """
    rows = []
    kinds = np.asarray(places["kind"].astype(str), dtype=object)
    for kind, words in _HELP.items():
        chosen = np.flatnonzero(kinds == kind)
        if not len(chosen):
            continue
        count = len(chosen)
        bearing_deg, _, distance_m = _WGS84.inv(
            np.full(count, lon), np.full(count, lat), places["lon"].to_numpy()[chosen],
            places["lat"].to_numpy()[chosen],
        )  # fmt: skip
        best = int(np.argmin(distance_m))
        row: Any = places.iloc[int(chosen[best])]
        rows.append(
            (
                words,
                str(row["name"]) or "no name on the map",
                display.distance(float(distance_m[best]) / 1000, units),
                display.bearing(float(bearing_deg[best])),
                _phone_in(str(row.get("tags", ""))),
            )
        )
    return rows


def _phone_in(tags: str) -> str:
    known = json.loads(tags) if tags else {}
    return str(known.get("phone") or known.get("contact:phone") or "not known")


_COPIES = (
    "Some were read in copies or as others quote them: where, with address and edition, stands in "
    "the kit's folder data/reference."
)


def credits_sheet(plan: TripPlan) -> Block:
    """Whose data and rules this folder stands on."""
    region = plan.files.region
    units = plan.files.inputs.household.units
    groups, _ = numbered_sources(all_checks(plan))
    invented = (
        "This region and its people, sites, prices and masts are invented."
        if region.invented
        else ""
    )
    return blocks.sheet(
        "credits",
        SOURCES_TITLE,
        [
            blocks.heading("Map"),
            blocks.text(invented),
            blocks.bullets(region.attribution)
            or blocks.text("The region's manifest names no source."),
            blocks.heading("Rules and figures"),
            blocks.text(_COPIES, small=True),
            blocks.sources(groups) or blocks.text("No check names a source."),
        ],
        intro=f"Planned on {display.day(plan.planned_on, units)} with planner_kit "
        f"{planner_kit.__version__}. Plates, handbooks, road signs, the site's own rules and local "
        "law come before anything printed here.",
    )
