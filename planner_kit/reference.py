"""The reference tables that ship with the kit: numbers a person could argue about, with sources.

A constants table is a CSV with the columns ``name,value,unit,low,high,source,edition,accessed,
basis``; ``basis`` is ``published``, ``common practice`` or ``from memory``.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pandas as pd

BASES = ("published", "common practice", "from memory")


def shipped_folder(name: str) -> Path:
    """The folder `name` (``data`` or ``templates``) of this checkout or of the installed kit."""
    package = Path(__file__).resolve().parent
    for folder in (package.parent / name, package / "_shipped" / name):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"the kit's own folder '{name}' is missing: install the kit again")


@cache
def read_table(name: str) -> pd.DataFrame:
    """A reference table as text cells; ``read_table("towing_speeds")`` reads the CSV of that name.

    Every table has the columns ``source, edition, accessed, basis``; callers must not alter the
    frame, which is kept for the next call.
    """
    path = shipped_folder("data") / "reference" / f"{name}.csv"
    return pd.read_csv(path, dtype=str, keep_default_na=False, comment="#")


@dataclass(frozen=True)
class Constant:
    """A number with its unit, its range and where it comes from."""

    name: str
    value: float
    unit: str
    low: float
    high: float
    source: str
    edition: str
    accessed: str
    basis: str

    def __float__(self) -> float:
        return self.value


@cache
def constant(table: str, name: str) -> Constant:
    """One constant of a table; `low` and `high` fall back to the value itself.

    Raises
    ------
    KeyError
        If the table has no such row.
    """
    frame = read_table(table)
    rows = frame[frame["name"] == name]
    if len(rows) != 1:
        raise KeyError(f"{table}.csv has {len(rows)} rows named {name!r}, not one")
    row = rows.iloc[0]
    value = float(row["value"])
    return Constant(
        name=name,
        value=value,
        unit=row["unit"],
        low=float(row["low"]) if row["low"] else value,
        high=float(row["high"]) if row["high"] else value,
        source=row["source"],
        edition=row["edition"],
        accessed=row["accessed"],
        basis=row["basis"],
    )
