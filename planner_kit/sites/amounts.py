"""Amounts of money as exact decimals, rounded as the currency is paid."""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache
from typing import TYPE_CHECKING

from babel.numbers import get_currency_precision

if TYPE_CHECKING:
    from collections.abc import Iterable

# Stands for a price that is not known, where amounts are whole numbers.
UNKNOWN = -1


@lru_cache
def smallest_amount(currency: str) -> Decimal:
    """The smallest amount that a currency is written in: 0.01 for GBP, 1 for JPY.

    References
    ----------
    .. [1] Unicode CLDR, supplemental currency data, as shipped with Babel.
    """
    return Decimal(1).scaleb(-get_currency_precision(currency or "XXX"))


def amount_of(value: float | Decimal | None, currency: str) -> Decimal | None:
    """A figure from a file as an exact amount, halves rounded up; None where it is missing."""
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return None
    return Decimal(str(value)).quantize(smallest_amount(currency), rounding=ROUND_HALF_UP)


@lru_cache(maxsize=8192)
def in_smallest(value: float | None, currency: str) -> int:
    """A figure from a file in the smallest amount of its currency; `UNKNOWN` where missing."""
    amount = amount_of(value, currency)
    return UNKNOWN if amount is None else int(amount / smallest_amount(currency))


def from_smallest(value: int, currency: str) -> Decimal:
    """An exact amount from so many of its currency's smallest."""
    return value * smallest_amount(currency)


def total_of(amounts: Iterable[Decimal | None]) -> Decimal | None:
    """The exact sum, or None as soon as one amount is missing."""
    total = Decimal(0)
    for amount in amounts:
        if amount is None:
            return None
        total += amount
    return total


def as_number(amount: Decimal | None) -> float:
    """An amount for a frame: NaN where it is missing."""
    return math.nan if amount is None else float(amount)


def shown(amount: Decimal | None, currency: str) -> str:
    """An amount in a plain sentence: ``GBP 123.40``, or ``unknown``."""
    return "unknown" if amount is None else f"{currency} {amount:,}"
