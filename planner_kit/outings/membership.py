"""Whether a membership pays for itself: on a stay, over the year's trips, and for whom."""

from __future__ import annotations

import datetime as dt
import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.outings.entry import entry_costs
from planner_kit.reference import constant

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.trip.household import Household, Membership

VISIT_COLUMNS = (
    "trip", "day", "attraction_id", "name", "adult_price", "child_price", "family_price",
    "parking_price", "currency", "free_with",
)  # fmt: skip
_WORTH_COLUMNS = [
    "membership_id", "name", "trips", "visits", "saved", "unknown_visits", "fee_per_year", "left",
    "earned_on", "visits_needed", "sentence",
]  # fmt: skip


def opens_attractions(household: Household) -> tuple[Membership, ...]:
    """The memberships that may open or discount attractions."""
    return tuple(one for one in household.memberships if one.kind != "sites")


def savings_by_visit(
    visits: pd.DataFrame, household: Household, membership: Membership, *, party: Sequence[str] = ()
) -> pd.Series:
    """What a membership saves at each visit, entry and parking, if it were the only one held.

    Parameters
    ----------
    visits : DataFrame, n rows
        The columns of `VISIT_COLUMNS`.
    household : Household
    membership : Membership
        Taken to be valid on every day.
    party : sequence of str, optional
        Who comes; all of the household if empty.

    Returns
    -------
    saved : Series of float, n values, same index
        0 where it does not help; NaN where it helps and the full price is not known in the
        household's currency. [household's currency]
    """
    valid = membership.model_copy(update={"valid_until": None})
    saved = pd.Series(0.0, index=visits.index)
    for day, rows in visits.groupby("day", sort=False):
        costs = entry_costs(rows, household, _date(day), party=party, memberships=[valid])
        helped = costs["free_with"] != ""
        own = costs["currency"] == household.units.currency
        amount = (costs["full_cost"] - costs["cost"]).where(own)
        saved.loc[rows.index] = amount.where(helped, 0.0)
    return saved


def _date(day: object) -> dt.date:
    return day if isinstance(day, dt.date) else pd.Timestamp(str(day)).date()


def membership_worth(
    visits: pd.DataFrame, household: Household, *, party: Sequence[str] = ()
) -> pd.DataFrame:
    """What each membership saves on some visits against its yearly fee, and when it is earned.

    Parameters
    ----------
    visits : DataFrame
        The columns of `VISIT_COLUMNS`, one row for each visit, of one trip or several.
    household : Household
    party : sequence of str, optional
        Who comes; all of the household if empty.

    Returns
    -------
    worth : DataFrame, one row for each membership that is not for sites alone
        membership_id, name, trips and visits (at which it helps), saved (entry and parking, if it
        were the only one; visits in other currencies are not counted), unknown_visits (where it
        helps and the full price is not known), fee_per_year (NaN if not given), left (saved less
        fee), earned_on (day of the visit that earns the fee; None if none does), visits_needed
        (visits like these that earn the fee; NaN where nothing is saved or no fee given), sentence.
    """
    ordered = visits.sort_values("day", kind="stable").reset_index(drop=True)
    rows = []
    for one in opens_attractions(household):
        saved = savings_by_visit(ordered, household, one, party=party)
        helped = ordered[(saved != 0) | saved.isna()]
        total = float(saved.sum())
        fee = np.nan if one.fee_per_year is None else one.fee_per_year
        earned = None
        if total > 0 and total >= fee:
            first = int(np.flatnonzero(saved.fillna(0.0).cumsum().to_numpy() >= fee)[0])
            earned = _date(ordered["day"].iloc[first])
        known = int((saved > 0).sum())
        visit = total / known if known else 0.0
        # A saving of next to nothing would need more visits than anybody makes.
        needed = math.ceil(fee / visit) if visit > fee * 1e-4 else np.nan
        row = {
            "membership_id": one.id,
            "name": one.name,
            "trips": int(helped["trip"].nunique()),
            "visits": len(helped),
            "saved": total,
            "unknown_visits": int(saved.isna().sum()),
            "fee_per_year": fee,
            "left": total - fee,
            "earned_on": earned,
            "visits_needed": needed,
        }
        rows.append({**row, "sentence": _sentence(row, household.units.currency)})
    return pd.DataFrame(rows, columns=_WORTH_COLUMNS)


def _counted(places: object) -> str:
    return "1 place" if places == 1 else f"{places} places"


def _sentence(row: dict[str, object], currency: str) -> str:
    saved, fee = float(row["saved"]), float(row["fee_per_year"])  # type: ignore[arg-type]
    missing, trips = row["unknown_visits"], int(row["trips"])  # type: ignore[call-overload]
    more = "" if not missing else f", and more at {_counted(missing)} whose price is not known"
    over = "this trip" if trips <= 1 else f"{trips} trips of its year"
    start = f"{row['name']} saves {saved:.2f} {currency} of entry and parking on {over}{more}"
    if np.isnan(fee):
        return f"{start}; its fee is not given."
    if row["earned_on"] is not None:
        earned: dt.date = row["earned_on"]  # type: ignore[assignment]
        return (
            f"{start}: the fee of {fee:.2f} {currency} is earned with the visit on {earned:%a} "
            f"{earned.day} {earned:%b %Y}."
        )
    if np.isnan(float(row["visits_needed"])):  # type: ignore[arg-type]
        return f"{start}; the fee is {fee:.2f} {currency} a year."
    return (
        f"{start}; the fee is {fee:.2f} {currency} a year, which {row['visits_needed']} visits "
        "like these would earn."
    )


def household_compositions(household: Household, on: dt.date) -> dict[str, tuple[str, ...]]:
    """Ways in which the household may go out, by a word, each with the names of those who come.

    Parameters
    ----------
    household : Household
    on : date
        The day that ages are taken on.
    """
    from_age = int(float(constant("outing_constants", "adult_from_age")))
    adults = [p.name for p in household.people if p.is_adult_on(on, from_age)]
    children = [p.name for p in household.people if p.name not in adults]
    ways = {
        "one adult": adults[:1],
        "two adults": adults[:2],
        "one adult and the children": adults[:1] + children,
        "all of us": adults + children,
    }
    found: dict[str, tuple[str, ...]] = {}
    for word, names in ways.items():
        if names and tuple(names) not in found.values():
            found[word] = tuple(names)
    return found


def worth_by_composition(visits: pd.DataFrame, household: Household, on: dt.date) -> pd.DataFrame:
    """The break-even of each membership in its year, for the ways the household may go out.

    Parameters
    ----------
    visits : DataFrame
        See `membership_worth`.
    household : Household
    on : date
        The day that ages are taken on, in the membership's year that is meant.

    Returns
    -------
    worth : DataFrame
        who, then the columns of `membership_worth`.
    """
    parts = [
        trips_worth(visits, household, on, party=names).assign(who=who)
        for who, names in household_compositions(household, on).items()
    ]
    return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=["who"])


def year_of(membership: Membership, on: dt.date) -> tuple[dt.date, dt.date]:
    """First and last day of the membership's year that holds a day.

    Parameters
    ----------
    membership : Membership
        Its valid_until ends a year; without it the year begins on the day.
    on : date
    """
    end = membership.valid_until
    if end is None:
        return on, _a_year_later(on) - dt.timedelta(days=1)
    while end < on:
        end = _a_year_later(end)
    while _a_year_later(end, -1) >= on:
        end = _a_year_later(end, -1)
    return _a_year_later(end, -1) + dt.timedelta(days=1), end


def _a_year_later(day: dt.date, years: int = 1) -> dt.date:
    leap = (day.month, day.day) == (2, 29)
    return dt.date(day.year + years, 2, 28) if leap else day.replace(year=day.year + years)


def trips_worth(
    visits: pd.DataFrame, household: Household, on: dt.date, *, party: Sequence[str] = ()
) -> pd.DataFrame:
    """`membership_worth`, each membership over the visits of its own year alone.

    Parameters
    ----------
    visits : DataFrame
        Of this trip and others.
    household : Household
    on : date
        A day of this trip, which says which year of the membership is meant.
    party : sequence of str, optional
    """
    parts = []
    for one in opens_attractions(household):
        first, last = year_of(one, on)
        days = visits["day"].map(_date)
        inside = visits[np.array([first <= day <= last for day in days], dtype=bool)]
        alone = household.model_copy(update={"memberships": (one,)})
        parts.append(membership_worth(inside, alone, party=party))
    return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=_WORTH_COLUMNS)
