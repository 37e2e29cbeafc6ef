"""Figures that cannot be right, or hardly: what is believed of each, and what to say if it is not.

The ranges are rows of ``data/reference/plausible.csv``. A figure of the map that lies outside is
treated as unknown and counted; a figure that a person wrote is kept, and named to be looked at.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd

from planner_kit.reference import read_table
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import ArrayLike, NDArray


# Currencies of which one buys about as much as of the others; money in another is not judged.
_STRONG = ("CHF", "EUR", "GBP", "USD")


class Bounds(NamedTuple):
    """The range in which a figure is believed.

    Attributes
    ----------
    low, high : float
        Both still believed, in `unit`.
    unit : str
        ``money`` for amounts, which are judged in the strong currencies only.
    words : str
        What has figures of that range, to stand before it in a sentence.
    source, basis : str
    """

    low: float
    high: float
    unit: str
    words: str
    source: str
    basis: str


@lru_cache
def bounds_of(what: str) -> dict[str, Bounds]:
    """The ranges held for a kind of thing.

    Parameters
    ----------
    what : str
        ``map``, ``car``, ``caravan``, ``tyre``, ``loading``, ``outfit``, ``actuals``, or the name
        of a list such as ``sites``.

    Returns
    -------
    bounds : dict of str to Bounds
        By the name of the key, column or tag.

    Raises
    ------
    KeyError
        If nothing is held on such a thing.
    """
    table = read_table("plausible")
    rows = table[table["of"] == what]
    if rows.empty:
        raise KeyError(f"plausible.csv has nothing on '{what}'")
    return {
        row["name"]: Bounds(
            float(row["low"]), float(row["high"]), row["unit"], row["words"], row["source"],
            row["basis"],
        )
        for _, row in rows.iterrows()
    }  # fmt: skip


def is_odd(values: ArrayLike, what: str, name: str) -> NDArray[np.bool_]:
    """Which values lie outside the range that is believed; a missing one, or inf, does not.

    Parameters
    ----------
    values : array-like of float
    what, name : str
        See `bounds_of`.
    """
    bounds = bounds_of(what)[name]
    array = np.asarray(values, dtype=np.float64)
    with np.errstate(invalid="ignore"):
        return np.isfinite(array) & ((array < bounds.low) | (array > bounds.high))


def odd_figures(figures: Mapping[str, float | None], what: str, where: str) -> list[Check]:
    """One check to look at for each figure that is hardly believed.

    Parameters
    ----------
    figures : mapping of str to float or None
        Names without a row in the table are passed over.
    what : str
        See `bounds_of`.
    where : str
        The file and part, such as ``household.toml, [car]``.
    """
    known = bounds_of(what)
    return [
        _odd(value, known[name], f"{where} {name}")
        for name, value in figures.items()
        if value is not None and name in known and bool(is_odd(value, what, name))
    ]


def odd_cells(frame: pd.DataFrame, what: str, where: str, *, label: str) -> list[Check]:
    """One check to look at for each cell of a list that is hardly believed.

    Parameters
    ----------
    frame : DataFrame
    what : str
        The name of the list; see `bounds_of`.
    where : str
        The file.
    label : str
        The column that names a row; the index where it is the index's name.
    """
    checks = []
    names = list(frame.index if label == frame.index.name else frame[label])
    for column, bounds in bounds_of(what).items():
        if column not in frame.columns:
            continue
        values = pd.to_numeric(frame[column], errors="coerce").to_numpy(dtype=np.float64)
        if bounds.unit == "money" and "currency" in frame.columns:
            values = np.where(frame["currency"].isin(_STRONG), values, np.nan)
        checks += [
            _odd(float(values[row]), bounds, f"{where}, '{names[row]}', column {column}")
            for row in np.flatnonzero(is_odd(values, what, column)).tolist()
        ]
    return checks


def _odd(value: float, bounds: Bounds, place: str) -> Check:
    limit = bounds.low if value < bounds.low else bounds.high
    unit = f" {bounds.unit}" if bounds.unit not in {"money", "1"} else ""
    return Check(
        "figure that looks wrong",
        State.LOOK,
        f"{place} is {value:,.6g}{unit}, but {bounds.words} {bounds.low:,.6g} to "
        f"{bounds.high:,.6g}{unit}: look at it again, and mend it if it is a slip.",
        figure=value,
        limit=limit,
        unit="" if bounds.unit == "money" else bounds.unit,
        margin=limit - value if value > limit else value - limit,
        rule="the range in which such figures lie",
        source=bounds.source,
        basis=bounds.basis,
    )
