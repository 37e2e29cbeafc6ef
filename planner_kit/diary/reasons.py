"""What a figure depends on, in words that a comparison can set side by side."""

from __future__ import annotations

import hashlib
from collections import Counter
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pandas as pd

from planner_kit.reference import read_table
from planner_kit.sites.tariff import season_of

if TYPE_CHECKING:
    from planner_kit.plan import TripPlan

_LAW_TABLES = ("towing_law", "towing_licences", "towing_speeds")
# Parts of a price that stand for somebody or something, and not for an offer.
_CHARGES = {"pitch", "adult", "child", "person", "dog", "awning", "hookup", "kwh"}


def site_reasons(plan: TripPlan, number: int) -> dict[str, str]:
    """Why a stay costs what it costs: nights, seasons, tariff parts, offers, booked or tariff."""
    files = plan.files
    trip = files.inputs.trip
    stay, (arrive, leave) = trip.stays[number], trip.stay_dates()[number]
    row = plan.sites.stays.iloc[number]
    nights = [arrive + timedelta(days=day) for day in range((leave - arrive).days)]
    seasons = Counter(season_of(stay.site, files.seasons, day) or "not listed" for day in nights)
    lines = plan.sites.price_lines
    own = lines[lines["site_id"] == stay.site] if len(lines) else lines
    each = "; ".join(
        f"{line['what']} at {_amount(line['unit_price'])}"
        for line in own.to_dict("records")
        if line["part"] in _CHARGES
    )
    offers = "; ".join(
        f"{line['what']} ({_amount(line['amount'])})"
        for line in own.to_dict("records")
        if line["part"] not in _CHARGES
    )
    booked = stay.booking
    price_is = (
        f"agreed with the site ({booked.state})"
        if booked.price is not None
        else f"from the tariff ({booked.state})"
    )
    site = files.sites.loc[stay.site]
    noted: Any = site["as_of"]
    as_of = "not given" if pd.isna(noted) else f"{noted:%Y-%m-%d}"
    return {
        "site": str(row["name"]),
        "nights": str(len(nights)),
        "price season": ", ".join(f"{count} nights {name}" for name, count in seasons.items()),
        "each night": each or "not known",
        "offers": offers or "none",
        "price": price_is,
        "site list of": as_of,
    }


def _amount(value: Any) -> str:
    return "not known" if pd.isna(value) else f"{value:.2f}"


def law_reasons(plan: TripPlan) -> dict[str, str]:
    """Which rows of law the kit held for the countries of the trip, as a short fingerprint.

    Two records with the same fingerprint were planned under the same rows.
    """
    countries = sorted(plan.files.region.countries)
    digest = hashlib.sha256()
    for name in _LAW_TABLES:
        table = read_table(name)
        if "country" in table.columns:
            table = table[table["country"].isin(countries)]
        digest.update(table.to_csv(index=False).encode())
    return {"law rows": f"{', '.join(countries) or 'no country'} {digest.hexdigest()[:8]}"}


def price_list_reasons(plan: TripPlan) -> dict[str, str]:
    """The days on which the household's prices and tolls were noted."""
    found = {}
    for what, frame in (("price list of", plan.files.prices), ("tolls of", plan.files.tolls)):
        if len(frame) and "as_of" in frame.columns and frame["as_of"].notna().any():
            found[what] = f"{pd.to_datetime(frame['as_of']).max():%Y-%m-%d}"
    return found
