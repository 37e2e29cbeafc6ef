"""Whether a membership pays for itself on this trip."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.outings.entry import entry_costs

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from planner_kit.trip.household import Household


def membership_savings(
    planned: pd.DataFrame, household: Household, on: dt.date, *, party: Sequence[str] = ()
) -> pd.DataFrame:
    """What each membership saves on the planned outings, against its yearly fee.

    Parameters
    ----------
    planned : DataFrame
        Rows of the attractions that are planned, once for each visit.
    household : Household
    on : date
    party : sequence of str, optional

    Returns
    -------
    savings : DataFrame, one row for each membership that opens or discounts attractions
        membership_id, name, visits (planned places it helps at), saved (entry saved if this were
        the only membership; prices in other currencies are left out), unknown_visits (places it
        helps at whose full price is not known), fee_per_year (NaN if not given), left (saved less
        fee), sentence.

    Notes
    -----
    The fee is for a year and the saving for one trip: a negative figure only says that this trip
    alone does not pay for it.
    """
    currency = household.units.currency
    rows = []
    for one in household.memberships:
        if one.kind == "sites":
            continue
        costs = entry_costs(planned, household, on, party=party, memberships=[one])
        helped = (costs["free_with"] != "") & (costs["currency"] == currency)
        saved = (costs["full_cost"] - costs["cost"])[helped]
        fee = np.nan if one.fee_per_year is None else one.fee_per_year
        total, missing = float(saved.sum()), int(saved.isna().sum())
        rows.append(
            {
                "membership_id": one.id,
                "name": one.name,
                "visits": int(helped.sum()),
                "saved": total,
                "unknown_visits": missing,
                "fee_per_year": fee,
                "left": total - fee,
                "sentence": _sentence(one.name, total, fee, missing, currency),
            }
        )
    columns = ["membership_id", "name", "visits", "saved", "unknown_visits", "fee_per_year"]
    return pd.DataFrame(rows, columns=[*columns, "left", "sentence"])


def _sentence(name: str, saved: float, fee: float, missing: int, currency: str) -> str:
    more = f", and more at {missing} place(s) whose price is not known" if missing else ""
    start = f"{name} saves {saved:.2f} {currency} of entry on this stay{more}"
    if np.isnan(fee):
        return f"{start}; its fee is not given."
    if saved >= fee:
        return f"{start}: the fee of {fee:.2f} {currency} is earned by this stay alone."
    return f"{start}; the fee is {fee:.2f} {currency} a year."
