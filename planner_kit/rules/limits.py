"""Law on the size, equipment and lanes of an outfit, by country and day.

Rows of ``data/reference/towing_law.csv``. A country or a rule without a row is unknown: nothing
here says that there is no limit.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.reference import read_table

if TYPE_CHECKING:
    import datetime as dt

# What is asked of every country, with the words for it.
RULES = {
    "trailer_width_m": "width of the caravan",
    "trailer_length_m": "length of the caravan",
    "train_length_m": "length of car and caravan together",
    "height_m": "height of the outfit",
    "brakes_over_kg": "loaded mass above which brakes are needed",
    "lane": "lanes that an outfit may not use",
    "mirrors": "towing mirrors",
    "coupling": "second coupling",
    "equipment": "what to carry",
}


@dataclass(frozen=True)
class Rule:
    """One rule of a country's law.

    Attributes
    ----------
    country : str
        ISO 3166-1 alpha-2 code.
    rule : str
        A key of `RULES`.
    value : float
        In `unit`; NaN where the rule is not a number or is not known.
    unit : str
    text : str
        The rule in a sentence, or that it is not known.
    source, edition : str
    basis : str
        ``published``, ``common practice``, ``from memory`` or ``unknown``.
    measured : str
        For a length: ``body`` without A-frame and hitch, or ``whole``; empty otherwise.
    """

    country: str
    rule: str
    value: float
    unit: str
    text: str
    source: str
    edition: str
    basis: str
    measured: str = ""

    @property
    def known(self) -> bool:
        """Whether the tables hold this rule."""
        return self.basis != "unknown"


def law_of(country: str, rule: str, *, on: dt.date) -> Rule:
    """One rule of one country on a day.

    Parameters
    ----------
    country : str
        ISO 3166-1 alpha-2 code.
    rule : str
        A key of `RULES`.
    on : date

    Returns
    -------
    rule : Rule
        With basis ``unknown`` where the tables have no row.

    Raises
    ------
    KeyError
        If there is no rule of that name.
    """
    words = RULES[rule]
    table = read_table("towing_law")
    hit = table[(table["country"] == country) & (table["rule"] == rule)]
    day = on.isoformat()
    for _, row in hit.iterrows():
        if (row["since"] or "0000") <= day <= (row["until"] or "9999"):
            return Rule(
                country=country,
                rule=rule,
                value=float(row["value"]) if row["value"] else math.nan,
                unit=row["unit"],
                text=row["text"],
                source=row["source"],
                edition=row["edition"],
                basis=row["basis"],
                measured=row["measured"],
            )
    text = f"unknown: no rule on {words} is held for {country}; ask before you go."
    return Rule(country, rule, math.nan, "", text, "", "", "unknown")


def law_table(country: str, *, on: dt.date) -> pd.DataFrame:
    """Every rule of `RULES` for a country on a day, the unknown ones too.

    Returns
    -------
    table : DataFrame
        Columns country, rule, subject, value, unit, text, source, edition, basis.
    """
    rows = [law_of(country, rule, on=on) for rule in RULES]
    return pd.DataFrame(
        [{"subject": RULES[row.rule], **vars(row)} for row in rows],
        columns=[
            *("country", "rule", "subject", "value", "unit", "text"),
            *("source", "edition", "basis"),
        ],
    )
