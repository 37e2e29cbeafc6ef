"""The money of planned outings: entry, and fuel for the drives."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.trip.money import CostLine
from planner_kit.trip.prices import price_of

if TYPE_CHECKING:
    from planner_kit.trip.household import Car
    from planner_kit.trip.money import CostKind

_FUEL_ITEMS = {"diesel": "diesel_l", "petrol": "petrol_l", "hybrid": "petrol_l"}


def entry_lines(chosen: pd.DataFrame, planned: pd.DataFrame) -> list[CostLine]:
    """A line for the entry of each planned outing."""
    lines = []
    for row, day in zip(chosen.to_dict("records"), planned["day"], strict=True):
        known = not np.isnan(row["cost"])
        amount = float(row["cost"]) if known else None
        as_of = "" if pd.isna(row["as_of"]) else f", {row['as_of']:%Y-%m-%d}"
        origin = {"own list": row["source"] or "list of attractions", "map": "OpenStreetMap"}
        source = origin.get(row["adult_price_from"], "no price in the list or on the map")
        saved = float(row["full_cost"]) - float(row["cost"])
        worth = f", which saves {saved:.2f} {row['currency']}" if saved > 0 else ""
        free = f", opened by {row['free_with']}{worth}" if row["free_with"] else ""
        parking = "" if row["parking_known"] else ", parking not known"
        lines.append(
            CostLine(
                "outing", f"{row['name']}{free}{parking}", amount, amount, amount, row["currency"],
                "expected" if known else "unknown", f"{source}{as_of}", day, "outings",
            )
        )  # fmt: skip
    return lines


def fuel_lines(car: Car, planned: pd.DataFrame, prices: pd.DataFrame) -> list[CostLine]:
    """Fuel for the drives of the planned outings, without the caravan."""
    if planned.empty:
        return []
    km = float(planned["drive_km"].sum())
    electric = car.fuel == "electric"
    use = car.solo_kwh_per_100km if electric else car.solo_l_per_100km
    item = "kwh_public" if electric else _FUEL_ITEMS[car.fuel]
    price = price_of(prices, item)
    what = f"driving to outings, {km:.0f} km"
    if use is None or price is None:
        missing = "the car's use without the caravan" if use is None else f"the price of {item}"
        currency = "" if price is None else price.currency
        source = f"{missing} is not given"
        return [
            CostLine("fuel", what, None, None, None, currency, "unknown", source, None, "outings")
        ]
    amount = km * use / 100
    kind: CostKind = "electricity" if electric else "fuel"
    source = f"{use:g} {'kWh' if electric else 'l'} for 100 km (household) at {price.source}"
    return [
        CostLine(
            kind, what, amount * price.low, amount * price.likely, amount * price.high,
            price.currency, "expected", source, None, "outings",
        )
    ]  # fmt: skip
