"""Money with its currency, and a line of cost that says where it came from."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Literal

import pandas as pd

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

CostKind = Literal[
    "site", "fuel", "toll", "ferry", "outing", "food", "gas", "electricity", "membership", "other"
]
CostState = Literal["expected", "booked", "paid", "unknown"]


@dataclass(frozen=True)
class CostLine:
    """One line of a trip's cost.

    Attributes
    ----------
    kind : str
        What sort of spending it is.
    what : str
        In a person's words.
    low, likely, high : float or None
        The range; all None when the price is not known. [currency]
    currency : str
        ISO 4217 code.
    state : str
        ``expected``, ``booked``, ``paid`` or ``unknown``.
    source : str
        Where the figure came from: a file and its date, a computation, a booking.
    on : date or None
        When the money goes out, if that is known.
    stage : str
        The stage that found it.
    """

    kind: CostKind
    what: str
    low: float | None
    likely: float | None
    high: float | None
    currency: str
    state: CostState
    source: str
    on: dt.date | None = None
    stage: str = ""


COST_COLUMNS = (
    "kind", "what", "low", "likely", "high", "currency", "state", "source", "on", "stage",
)  # fmt: skip


def cost_frame(lines: Iterable[CostLine]) -> pd.DataFrame:
    """One row for each line of cost, in the order given; unknown amounts are NaN."""
    frame = pd.DataFrame([asdict(line) for line in lines], columns=list(COST_COLUMNS))
    amounts = ["low", "likely", "high"]
    frame[amounts] = frame[amounts].astype("float64")
    return frame
