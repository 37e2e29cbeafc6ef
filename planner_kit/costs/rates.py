"""Exchange rates that a household keeps as a list, with their day."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from babel.core import get_global

from planner_kit.errors import PlanFileError, nearest_name
from planner_kit.trip.lists import ListColumn, read_list, row_numbers

if TYPE_CHECKING:
    import datetime as dt
    from pathlib import Path

RATE_COLUMNS = (
    ListColumn("from_currency", "text", "ISO 4217 code of what is exchanged", True),
    ListColumn("to_currency", "text", "ISO 4217 code of what it is exchanged for", True),
    ListColumn("rate", "number", "how much of the second one of the first is worth", True,
               low=1e-6, high=1e6),
    ListColumn("as_of", "date", "the day of the rate", True),
    ListColumn("source", "text", "who says so"),
)  # fmt: skip


@dataclass(frozen=True)
class ExchangeRate:
    """What one unit of another currency costs in the trip's, and who says so."""

    rate: float
    source: str
    as_of: dt.date | None = None


def read_rates(path: Path | None, currency: str) -> dict[str, ExchangeRate]:
    """What other currencies cost in one.

    Parameters
    ----------
    path : Path or None
        A CSV with the columns of `RATE_COLUMNS`.
    currency : str
        The currency wanted.

    Returns
    -------
    rates : dict of str to ExchangeRate
        By the other currency's code; a rate that the list gives the other way round is turned, and
        of several the latest holds.

    Raises
    ------
    PlanFileError
        See `read_list`; also for a code that is no currency.
    """
    if path is None:
        return {}
    frame = read_list(path, RATE_COLUMNS)
    known = list(get_global("all_currencies"))
    for row, line in zip(frame.to_dict("records"), row_numbers(path), strict=True):
        for column in ("from_currency", "to_currency"):
            if row[column] not in known:
                raise PlanFileError(
                    f"'{row[column]}' is not a currency",
                    f"{path}, row {line}, column {column}",
                    nearest_name(row[column].upper(), known),
                )
    found: dict[str, ExchangeRate] = {}
    for row in frame.sort_values("as_of", kind="stable").to_dict("records"):
        source = f"{row['source'] or path.name} on {row['as_of']:%Y-%m-%d}"
        day = row["as_of"].date()
        if row["to_currency"] == currency:
            found[row["from_currency"]] = ExchangeRate(row["rate"], source, day)
        elif row["from_currency"] == currency:
            found[row["to_currency"]] = ExchangeRate(1 / row["rate"], source, day)
    return found
