"""What a day out costs, in words: entry and parking apart, and list prices beside what is spent."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner_kit.trip import display

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner_kit.trip.household import Units
    from planner_kit.trip.learnt import Learnt


def price_words(place: Mapping[Any, Any], units: Units) -> str:
    """What a visit costs the party, entry and parking told apart.

    Parameters
    ----------
    place : mapping
        cost, parking_cost, currency and free_with of a row of the ranking.
    units : Units

    Returns
    -------
    words : str
        Such as ``free``, ``£34.00``, ``entry free for members, parking £4.00`` or ``entry £34.00,
        parking not known``.
    """
    currency = str(place["currency"])
    cost, parking = place["cost"], place["parking_cost"]
    parking_known = not display.is_missing(parking)
    paid = float(parking) if parking_known else 0.0
    if display.is_missing(cost):
        entry = "not known"
    elif abs(float(cost) - paid) < 0.005:
        entry = "free"
    else:
        entry = display.money(float(cost) - paid, currency, units)
    if place["free_with"]:
        entry = f"{entry} for members"
    if not parking_known:
        return f"entry {entry}, parking not known"
    if paid:
        return f"entry {entry}, parking {display.money(paid, currency, units)}"
    return entry


def list_prices_sentence(learnt: Learnt | None) -> str:
    """How prices of a list differ from what the trip's money reckons with; empty if they do not."""
    if learnt is None or not learnt.scales("outing"):
        return ""
    taught = learnt.spending["outing"]
    trips = "an earlier trip" if taught.trips == 1 else f"{taught.trips} earlier trips"
    return (
        "These are list prices. The trip's money reckons with "
        f"{taught.value:.2f} times as much, as {trips} spent on such things."
    )
