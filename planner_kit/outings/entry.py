"""What a visit costs this party, after what its memberships open."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.reference import constant

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from planner_kit.trip.household import Household, Membership, Person


def party_of(household: Household, party: Sequence[str] = ()) -> tuple[Person, ...]:
    """The people who come along: those named, or all of them."""
    return tuple(p for p in household.people if not party or p.name in party)


def ticket_price(
    adults: int,
    children: int,
    adult_price: np.ndarray,
    child_price: np.ndarray,
    family_price: np.ndarray,
) -> np.ndarray:
    """The cheapest tickets that let a group in.

    Parameters
    ----------
    adults, children : int
    adult_price, child_price, family_price : ndarray of float, shape (n,)
        NaN where a ticket does not exist or its price is not known. [currency]

    Returns
    -------
    price : ndarray of float, shape (n,)
        NaN where it cannot be known. [currency]

    Notes
    -----
    Any number of family tickets is tried, each for up to two adults and three children (the
    reference table says so); the rest pay singly. An unknown child's price is not taken to be
    nothing.
    """
    family_adults = int(float(constant("outing_constants", "family_adults")))
    family_children = int(float(constant("outing_constants", "family_children")))

    def singly(who: int, price: np.ndarray) -> np.ndarray:
        return who * price if who else np.zeros_like(price)

    best = np.full(np.shape(adult_price), np.nan)
    most = max(-(-adults // family_adults), -(-children // family_children), 0)
    for tickets in range(most + 1):
        left_adults = max(adults - tickets * family_adults, 0)
        left_children = max(children - tickets * family_children, 0)
        price = singly(tickets, family_price)
        price = price + singly(left_adults, adult_price) + singly(left_children, child_price)
        best = np.fmin(best, price)
    return best


def memberships_for(free_with: str) -> tuple[str, ...]:
    """The ids in a ``free_with`` cell."""
    return tuple(filter(None, re.split(r"[;,|\s]+", free_with)))


def entry_costs(
    attractions: pd.DataFrame,
    household: Household,
    on: dt.date,
    *,
    party: Sequence[str] = (),
    memberships: Sequence[Membership] | None = None,
) -> pd.DataFrame:
    """What each place costs the party for one visit.

    Parameters
    ----------
    attractions : DataFrame, n rows
        Columns adult_price, child_price, family_price, parking_price, currency, free_with.
    household : Household
    on : date
        The day that ages and memberships are taken on.
    party : sequence of str, optional
        Names of those who come; all of the household if empty.
    memberships : sequence of Membership, optional
        Instead of the household's own.

    Returns
    -------
    costs : DataFrame, n rows, same index
        cost (after memberships, with parking where its price is known; NaN unknown; a membership
        that lets one park free saves that too),
        full_cost (without memberships), parking_cost (what of the cost is parking; NaN where its
        price is not known), currency, free_with (name of the membership that opens it, or empty),
        parking_known (bool). [currency]
    """
    people = party_of(household, party)
    from_age = int(float(constant("outing_constants", "adult_from_age")))
    adults = sum(person.is_adult_on(on, from_age) for person in people)
    children = len(people) - adults
    prices = [
        attractions[name].to_numpy(dtype=float)
        for name in ("adult_price", "child_price", "family_price")
    ]
    parking = attractions["parking_price"].to_numpy(dtype=float)
    park = np.nan_to_num(parking)
    full = ticket_price(adults, children, *prices)
    cost, opened = full + park, np.full(len(attractions), "", dtype=object)
    parked = parking
    cells = [memberships_for(cell) for cell in attractions["free_with"]]
    for membership in household.memberships if memberships is None else memberships:
        held = membership.kind != "sites" and (
            membership.valid_until is None or membership.valid_until >= on
        )
        helps = np.array([held and membership.id in ids for ids in cells], dtype=bool)
        if not helps.any():
            continue
        with_it = _price_with(membership, adults, children, prices, full)
        parking_with_it = np.zeros_like(park) if membership.parking_free else parking
        with_it = with_it + np.nan_to_num(parking_with_it)
        better = helps & ((with_it < cost) | (np.isnan(cost) & ~np.isnan(with_it)))
        cost = np.where(better, with_it, cost)
        parked = np.where(better, parking_with_it, parked)
        opened[better] = membership.name
    currency = attractions["currency"].where(
        attractions["currency"] != "", household.units.currency
    )
    return pd.DataFrame(
        {
            "cost": cost,
            "full_cost": full + park,
            "parking_cost": parked,
            "currency": currency,
            "free_with": pd.Series(opened, index=attractions.index).astype("str"),
            "parking_known": ~np.isnan(parking),
        },
        index=attractions.index,
    )


def _price_with(
    membership: Membership,
    adults: int,
    children: int,
    prices: list[np.ndarray],
    full: np.ndarray,
) -> np.ndarray:
    if not membership.opens_free:
        return full * (1 - membership.discount_pct / 100)
    if membership.covers == "family":
        return np.zeros_like(full)
    free = 1 if membership.covers == "person" else 2
    left = max(adults - free, 0)
    if left + children == 0:
        return np.zeros_like(full)
    return ticket_price(left, children, *prices)
