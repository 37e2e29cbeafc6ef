"""Which mast serves each receiver best, and what that means for it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from planner_kit.pitch.signal_words import far_words
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from planner_kit.pitch.receivers import Receiver
    from planner_kit.trip.household import Units


def signal_checks(
    table: pd.DataFrame, receivers: Sequence[Receiver], *, units: Units | None = None
) -> tuple[Check, ...]:
    """One check for each receiver, by the mast that serves it best.

    A receiver without a mast in the list is unknown: a list may have gaps.
    """
    return tuple(_receiver_check(table, receiver, units) for receiver in receivers)


_BEST_FIRST = {
    State.FINE.value: 0,
    State.LOOK.value: 1,
    State.UNKNOWN.value: 2,
    State.NOT_FINE.value: 3,
}


def best_row(table: pd.DataFrame, receiver: Receiver) -> int | None:
    """Number of the row that serves a receiver best; None when no mast is in reach."""
    mine = (
        (table["service"] == receiver.service)
        & (table["for_whom"] == receiver.for_whom)
        & (table["operator"] == receiver.operator)
    )
    rows = table[mine]
    if rows.empty:
        return None
    order = rows.assign(
        _rank=rows["state"].map(_BEST_FIRST), _margin=rows["margin_db"].fillna(-np.inf)
    ).sort_values(["_rank", "_margin", "distance_km"], ascending=[True, False, True], kind="stable")
    return int(order.index[0])


def _receiver_check(table: pd.DataFrame, receiver: Receiver, units: Units | None) -> Check:
    subject = (
        "television"
        if receiver.service == "television"
        else f"phone of {receiver.for_whom} ({receiver.operator})"
    )
    source = "ITU-R P.1812-8 over the region's terrain"
    number = best_row(table, receiver)
    if number is None:
        return Check(
            subject,
            State.UNKNOWN,
            f"No mast for it within {far_words(receiver.reach_km, units)} stands in the mast list; "
            "the list may have gaps.",
            source=source,
        )
    best: Any = table.loc[number]
    known = bool(np.isfinite(best["margin_db"])) and not best["assumed"]
    return Check(
        subject,
        State(best["state"]),
        str(best["sentence"]),
        figure=float(best["level"]) if known else None,
        limit=float(best["level_needed"]) if known else None,
        unit=receiver.unit,
        margin=float(best["margin_db"]) if known else None,
        rule="calls inside the caravan at 95 of 100 places"
        if receiver.service == "phone"
        else "field above the least one at 95 of 100 places",
        source=source,
    )
