"""What the marks on a tyre's sidewall mean: load index, speed symbol, week of making."""

from __future__ import annotations

import datetime as dt

from planner_kit.reference import read_table


def tyre_load_kg(load_index: int) -> float | None:
    """The load in kilograms that a tyre may carry by its load index; None if it is not listed."""
    table = read_table("tyre_load_index")
    hit = table[table["load_index"] == str(load_index)]
    return float(hit["load_kg"].iloc[0]) if len(hit) else None


def tyre_speed_kmh(speed_symbol: str) -> float | None:
    """The highest speed of a tyre's speed symbol; None if the symbol is not listed. [km/h]."""
    table = read_table("tyre_speed_symbol")
    hit = table[table["speed_symbol"] == speed_symbol]
    return float(hit["speed_kmh"].iloc[0]) if len(hit) else None


def made_on(code: str) -> dt.date | None:
    """The Monday of the week in which a tyre was made, from its four digits (week, year).

    Parameters
    ----------
    code : str
        The last four digits of the sidewall's date code, such as ``2319`` for week 23 of 2019.

    Returns
    -------
    day : date or None
        None where the digits are no week of a year.
    """
    week, year = int(code[:2]), 2000 + int(code[2:])
    try:
        return dt.date.fromisocalendar(year, week, 1)
    except ValueError:
        return None
