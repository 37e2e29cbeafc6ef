"""The price lists of a household: fuel, energy and gas; tolls and ferries by outfit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.trip.lists import ListColumn, read_list

if TYPE_CHECKING:
    from pathlib import Path

ITEMS = (
    "diesel_l",
    "petrol_l",
    "kwh_home",
    "kwh_public",
    "kwh_site",
    "gas_kg_propane",
    "gas_kg_butane",
    "cassette_fluid_l",
)
PRICE_COLUMNS = (
    ListColumn("item", "choice", "what is bought, with its unit", True, choices=ITEMS),
    ListColumn("price", "number", "price of one unit", True, low=0, high=1000),
    ListColumn("low", "number", "lowest price likely to be met", low=0, high=1000),
    ListColumn("high", "number", "highest price likely to be met", low=0, high=1000),
    ListColumn("currency", "text", "ISO 4217 code", True),
    ListColumn("as_of", "date", "the day it was read"),
    ListColumn("source", "text", "where it was read"),
)
TOLL_COLUMNS = (
    ListColumn("toll_name", "text", "as the map names it", True),
    ListColumn("vehicle", "choice", "what pays it", True, choices=("car", "car_and_caravan")),
    ListColumn("max_length_m", "number", "longest outfit at this price [m]", low=0, high=30),
    ListColumn("price", "number", "for one crossing", True, low=0, high=10_000),
    ListColumn("currency", "text", "ISO 4217 code", True),
    ListColumn("as_of", "date", "the day it was read"),
    ListColumn("source", "text", "where it was read"),
)


@dataclass(frozen=True)
class Price:
    """What one unit costs, and how sure that is."""

    likely: float
    low: float
    high: float
    currency: str
    source: str


def read_prices(path: Path | None) -> pd.DataFrame:
    """The price list; an empty frame of the same columns when there is none.

    Raises
    ------
    PlanFileError
        See `read_list`.
    """
    if path is None:
        return pd.DataFrame(columns=[column.name for column in PRICE_COLUMNS])
    return read_list(path, PRICE_COLUMNS, key="item")


def read_tolls(path: Path | None) -> pd.DataFrame:
    """The toll and ferry prices; an empty frame of the same columns when there is none."""
    if path is None:
        return pd.DataFrame(columns=[column.name for column in TOLL_COLUMNS])
    return read_list(path, TOLL_COLUMNS)


def price_of(prices: pd.DataFrame, item: str) -> Price | None:
    """The price of an item, or None if the list does not have it."""
    rows = prices[prices["item"] == item]
    if rows.empty:
        return None
    row = rows.iloc[0]
    likely = float(row["price"])
    as_of = "" if pd.isna(row["as_of"]) else f" on {row['as_of']:%Y-%m-%d}"
    return Price(
        likely=likely,
        low=likely if pd.isna(row["low"]) else float(row["low"]),
        high=likely if pd.isna(row["high"]) else float(row["high"]),
        currency=str(row["currency"]),
        source=f"{row['source'] or 'price list'}{as_of}",
    )
