"""What a drive costs on the way: tolls, ferries and fuel."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from planner_kit.trip.money import CostKind, CostLine
from planner_kit.trip.prices import price_of

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Hashable

    from planner_kit.tow.leg import FuelUse


def crossings(steps: pd.DataFrame, roads: pd.DataFrame) -> pd.DataFrame:
    """The tolls and ferries that a route meets, once for each time it does.

    Parameters
    ----------
    steps : DataFrame
        Of a route.
    roads : DataFrame
        The region's roads.

    Returns
    -------
    crossings : DataFrame
        toll_name (empty where the map names none), label, kind (toll or ferry), at_km.
    """
    at = steps["road_id"].to_numpy()
    ferry = roads["road_class"].iloc[at].astype(str).to_numpy() == "ferry"
    name = roads["toll_name"].iloc[at].astype(str).to_numpy()
    pays = roads["toll"].iloc[at].to_numpy(dtype=bool) | ferry | (name != "")
    # An unnamed toll road is one toll for as long as the road keeps its number or name.
    label = np.where(name != "", name, np.where(steps["ref"] != "", steps["ref"], steps["name"]))
    kind = np.where(ferry, "ferry", "toll")
    fresh = pays & np.r_[True, (label[1:] != label[:-1]) | (kind[1:] != kind[:-1]) | ~pays[:-1]]
    return pd.DataFrame(
        {
            "toll_name": name[fresh],
            "label": label[fresh],
            "kind": kind[fresh],
            "at_km": steps["start_km"].to_numpy()[fresh],
        }
    )


def toll_lines(
    met: pd.DataFrame,
    tolls: pd.DataFrame,
    *,
    length_m: float | None,
    vehicle: str,
    currency: str,
    on: dt.date,
) -> tuple[CostLine, ...]:
    """A line of cost for each toll and ferry.

    Parameters
    ----------
    met : DataFrame
        From `crossings`.
    tolls : DataFrame
        The household's toll prices.
    length_m : float or None
        Length of the outfit; where it is not known the range of all lengths is given. [m]
    vehicle : str
        ``car`` or ``car_and_caravan``.
    currency : str
        Of lines whose price is not known.
    on : date

    Returns
    -------
    lines : tuple of CostLine
        A price that the list does not have gives a line of state ``unknown``.
    """
    return tuple(
        _toll_line(row, tolls, length_m, vehicle, currency, on) for row in met.to_dict("records")
    )


def _toll_line(
    row: dict[Hashable, Any],
    tolls: pd.DataFrame,
    length_m: float | None,
    vehicle: str,
    currency: str,
    on: dt.date,
) -> CostLine:
    kind: CostKind = "ferry" if row["kind"] == "ferry" else "toll"
    what = f"{kind} {row['label'] or 'without a name'}"
    prices = tolls[(tolls["toll_name"] == row["toll_name"]) & (tolls["vehicle"] == vehicle)]
    if length_m is not None:
        longest = prices["max_length_m"].astype(float)
        prices = prices[longest.isna() | (longest >= length_m)]
    if row["toll_name"] == "" or prices.empty:
        source = "no price in the household's list of tolls for this name, vehicle and length"
        return CostLine(kind, what, None, None, None, currency, "unknown", source, on, "tow")
    prices = prices.sort_values("price", kind="stable")
    # The cheapest price whose length still holds the outfit is the one that is asked for.
    low = float(prices["price"].iloc[0])
    high = low if length_m is not None else float(prices["price"].iloc[-1])
    chosen = prices.iloc[0 if length_m is not None else -1]
    as_of = "" if pd.isna(chosen["as_of"]) else f", {chosen['as_of']:%Y-%m-%d}"
    note = "" if length_m is not None else "; the outfit's length is not known"
    source = f"{chosen['source'] or 'list of tolls'}{as_of}{note}"
    return CostLine(kind, what, low, high, high, str(chosen["currency"]), "expected", source, on,
                    "tow")  # fmt: skip


def fuel_line(
    fuel: FuelUse, prices: pd.DataFrame, item: str, *, what: str, currency: str, on: dt.date
) -> CostLine:
    """The line of cost for the fuel of a drive; unknown where the price list lacks it."""
    price = price_of(prices, item)
    amount = f"{what}: {fuel.likely:.0f} {fuel.unit}"
    if price is None:
        source = f"'{item}' is not in the price list"
        return CostLine("fuel", amount, None, None, None, currency, "unknown", source, on, "tow")
    return CostLine(
        kind="fuel",
        what=amount,
        low=round(fuel.low * price.low, 2),
        likely=round(fuel.likely * price.likely, 2),
        high=round(fuel.high * price.high, 2),
        currency=price.currency,
        state="expected",
        source=f"{fuel.source}; {price.source}",
        on=on,
        stage="tow",
    )
