"""The household's list of how sites charge beyond seasons: one row for each rule."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import combinations
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from planner_kit.errors import PlanFileError, nearest_name
from planner_kit.sites.free_days import (
    long_weekend_nights,
    public_holiday_nights,
    school_holiday_nights,
)
from planner_kit.trip.lists import ListColumn, read_list, row_numbers

if TYPE_CHECKING:
    import datetime as dt
    from pathlib import Path

    import numpy.typing as npt

RULES = (
    "pitch", "person", "dog", "awning", "hookup", "kwh", "tax", "fee", "card", "member", "offer",
    "deposit", "min_nights", "arrive_on",
)  # fmt: skip
UNITS = ("night", "stay", "percent", "kwh", "nights")
DAYS = ("school holidays", "public holidays", "long weekends")
WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
# Which units each rule can be in.
_UNITS_OF = {
    "pitch": ("night",), "person": ("night", "stay"), "dog": ("night", "stay"),
    "awning": ("night", "stay"), "hookup": ("night", "stay"), "kwh": ("kwh",),
    "tax": ("night", "percent"), "fee": ("stay", "percent"), "card": ("percent", "stay"),
    "member": ("percent", "night", "stay"), "offer": ("nights", "percent"),
    "deposit": ("percent", "stay"), "min_nights": ("nights",), "arrive_on": ("nights",),
}  # fmt: skip
# Rules of which only one can hold on a night.
_ONE_AT_A_TIME = ("pitch", "person", "dog", "awning", "hookup", "kwh", "min_nights", "arrive_on")

TARIFF_COLUMNS = (
    ListColumn("site_id", "id", "a site of the site list", True),
    ListColumn("rule", "choice", "what the row is about", True, choices=RULES),
    ListColumn("amount", "number", "money, percent or nights, as `unit` says", True, low=0,
               high=10_000),
    ListColumn("unit", "choice", "night, stay, percent, kwh, or nights", True, choices=UNITS),
    ListColumn("start", "date", "first night it holds for; empty for always"),
    ListColumn("end", "date", "last night it holds for"),
    ListColumn("weekdays", "text", "nights of the week, such as `fri sat`; empty for all"),
    ListColumn("days", "choice", "school holidays, public holidays or long weekends only",
               choices=DAYS),
    ListColumn("from_age", "whole", "youngest who pays it [year]", low=0, high=120),
    ListColumn("to_age", "whole", "oldest who pays it [year]", low=0, high=120),
    ListColumn("included", "number", "people, dogs or kWh a night in the pitch price", low=0,
               high=100),
    ListColumn("from_nights", "whole", "shortest stay it holds for [nights]", low=1, high=365),
    ListColumn("to_nights", "whole", "longest stay it holds for [nights]", low=1, high=365),
    ListColumn("up_to_nights", "whole", "most nights that it is charged for", low=1, high=365),
    ListColumn("days_ahead", "whole", "booked at least so long before arrival [day]", low=0,
               high=730),
    ListColumn("club", "id", "id of the membership that it is for"),
    ListColumn("with_member", "yes_no", "whether an offer adds to a member price"),
    ListColumn("note", "text", "what it is called"),
    ListColumn("source", "text", "where it was read"),
    ListColumn("as_of", "date", "the day it was read"),
)  # fmt: skip


@dataclass(frozen=True)
class TariffRules:
    """How sites charge, and the days that their rules speak of.

    Attributes
    ----------
    rows : DataFrame
        See `read_tariffs`.
    school : DataFrame or None
        See `planner_kit.sites.free_days.read_school_holidays`.
    country : str
        For public holidays, ISO 3166-1 alpha-2.
    """

    rows: pd.DataFrame
    school: pd.DataFrame | None = None
    country: str = ""
    _by_site: dict[str, list[dict[str, Any]]] = field(default_factory=dict, repr=False)

    def of_site(self, site_id: str) -> list[dict[str, Any]]:
        """The rules of one site, in the order of the file."""
        if not self._by_site and len(self.rows):
            for row in self.rows.to_dict("records"):
                plain = {
                    str(key): None if not isinstance(v, str) and pd.isna(v) else v
                    for key, v in row.items()
                }
                self._by_site.setdefault(str(plain["site_id"]), []).append(plain)
        return self._by_site.get(site_id, [])


def no_rules(country: str = "") -> TariffRules:
    """Rules of a household that keeps no list of them."""
    return TariffRules(read_tariffs(None), None, country)


def read_tariffs(path: Path | None) -> pd.DataFrame:
    """How the sites charge; empty with its columns when there is no list.

    Parameters
    ----------
    path : Path or None
        A CSV with the columns of `TARIFF_COLUMNS`.

    Returns
    -------
    rows : DataFrame
        The columns and `row`, the row in the file.

    Raises
    ------
    PlanFileError
        See `read_list`; also for a unit that the rule cannot have, weekdays that are none, an end
        before its start, and two rows of which both would hold on one night.

    Notes
    -----
    Where several rows of a rule cover a night, the one that stands lowest holds: general rows
    first, then weekends and holidays. Two rows that name the same kind of nights may not overlap.
    """
    if path is None:
        return pd.DataFrame(columns=[*(c.name for c in TARIFF_COLUMNS), "row"])
    frame = read_list(path, TARIFF_COLUMNS)
    frame["row"] = row_numbers(path)
    for row in frame.to_dict("records"):
        _check_row(row, path)
    own = frame[frame["rule"].isin(_ONE_AT_A_TIME)]
    kind = ["site_id", "rule", "weekdays", "days", "from_age", "to_age", "from_nights", "to_nights"]
    for _, rows in own.groupby(kind, dropna=False, sort=False):
        for first, second in combinations(rows.to_dict("records"), 2):
            if _overlap(first, second):
                raise PlanFileError(
                    f"it holds on nights on which row {first['row']} holds too, and the nights "
                    f"they share would have two prices",
                    f"{path}, row {second['row']}, column start",
                    "let one end before the other starts, or name weekdays or days",
                )
    return frame


def _overlap(first: dict[Any, Any], second: dict[Any, Any]) -> bool:
    def span(row: dict[Any, Any]) -> tuple[Any, Any]:
        low = pd.Timestamp.min if pd.isna(row["start"]) else row["start"]
        return low, pd.Timestamp.max if pd.isna(row["end"]) else row["end"]

    (a, b), (c, d) = span(first), span(second)
    # A row that holds always is the ground that dated rows stand on.
    always = [pd.isna(row["start"]) and pd.isna(row["end"]) for row in (first, second)]
    return bool(always[0] == always[1] and max(a, c) <= min(b, d))


def _check_row(row: dict[Any, Any], path: Path) -> None:
    where = f"{path}, row {row['row']}, column "
    allowed = _UNITS_OF[row["rule"]]
    if row["unit"] not in allowed:
        raise PlanFileError(
            f"a rule '{row['rule']}' cannot be counted in '{row['unit']}'",
            where + "unit",
            f"use {' or '.join(allowed)}",
        )
    for word in row["weekdays"].split():
        if word not in WEEKDAYS:
            raise PlanFileError(
                f"'{word}' is not a day of the week",
                where + "weekdays",
                nearest_name(word, WEEKDAYS),
            )
    if row["unit"] == "percent" and row["amount"] > 100:
        raise PlanFileError(f"{row['amount']:g} is more than 100 %", where + "amount", "correct it")
    if row["rule"] == "offer" and pd.isna(row["from_nights"]):
        raise PlanFileError(
            "an offer needs the nights that it is given for",
            where + "from_nights",
            "write 7 for '7 for 6'",
        )
    if row["rule"] == "arrive_on" and not row["weekdays"]:
        raise PlanFileError("no weekday is named", where + "weekdays", "write such as fri sat")
    if not pd.isna(row["start"]) and not pd.isna(row["end"]) and row["end"] < row["start"]:
        raise PlanFileError(
            f"it ends on {row['end']:%Y-%m-%d}, before it starts on {row['start']:%Y-%m-%d}",
            where + "end",
            "exchange the two or correct the year",
        )


class NightCalendar:
    """The nights from a first to a last day, and which of them a rule speaks of.

    Each mask is found once: a thousand sites ask for the same weekends and holidays.

    Parameters
    ----------
    first : date
    nights : int
        How many nights from the first.
    rules : TariffRules
    """

    def __init__(self, first: dt.date, nights: int, rules: TariffRules) -> None:
        self.days = np.datetime64(first, "D") + np.arange(nights)
        self._rules = rules
        self._masks: dict[tuple[object, ...], tuple[Any, Any]] = {}
        self._spans: dict[tuple[object, object], npt.NDArray[np.bool_]] = {}

    def between(self, start: Any, end: Any) -> npt.NDArray[np.bool_]:
        """Whether each night lies between two days, both included; None for no limit."""
        key = (start, end)
        if key not in self._spans:
            inside = np.ones(len(self.days), dtype=bool)
            if start is not None:
                inside &= self.days >= np.datetime64(start, "D")
            if end is not None:
                inside &= self.days <= np.datetime64(end, "D")
            self._spans[key] = inside
        return self._spans[key]

    def nights_of(
        self, rule: dict[str, Any]
    ) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
        """Whether each night is one that the rule speaks of, and whether that is not known."""
        key = (rule["start"], rule["end"], rule["weekdays"], rule["days"])
        if key not in self._masks:
            self._masks[key] = self._mask(rule)
        return self._masks[key]

    def _mask(self, rule: dict[str, Any]) -> tuple[npt.NDArray[np.bool_], npt.NDArray[np.bool_]]:
        holds = self.between(rule["start"], rule["end"]).copy()
        if rule["weekdays"]:
            # 1970-01-01 was a Thursday.
            number = (self.days.astype("int64") + 3) % 7
            holds &= np.isin(number, [WEEKDAYS.index(w) for w in rule["weekdays"].split()])
        unsure = np.zeros(len(holds), dtype=bool)
        if rule["days"] == "school holidays":
            inside, not_known = school_holiday_nights(self.days, self._rules.school)
            unsure = holds & not_known
            holds &= inside & ~not_known
        elif rule["days"] == "public holidays":
            holds &= public_holiday_nights(self.days, self._rules.country)
        elif rule["days"] == "long weekends":
            holds &= long_weekend_nights(self.days, self._rules.country)
        return holds, unsure
