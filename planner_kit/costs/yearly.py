"""A trip's share of what a household pays by the year: memberships, insurance, service, storage."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.trip.money import CostLine

if TYPE_CHECKING:
    from planner_kit.trip.reading import TripInputs


def yearly_shares(inputs: TripInputs) -> tuple[CostLine, ...]:
    """The trip's nights' share of each yearly cost, where the household wants them counted.

    Parameters
    ----------
    inputs : TripInputs
        The household's ``yearly_costs`` and the fees of its memberships are counted once its
        ``nights_per_year`` is given; without it there are none.

    Returns
    -------
    lines : tuple of CostLine
        Kinds ``membership`` and ``other``, each ``expected``: amount x nights / nights a year.

    Notes
    -----
    The range is that of the nights a year: a quarter more and a quarter fewer.
    """
    household, trip = inputs.household, inputs.trip
    a_year = household.nights_per_year
    if a_year is None:
        return ()
    nights = trip.nights
    share = min(nights / a_year, 1.0)
    low, high = min(nights / (a_year * 1.25), 1.0), min(nights / (a_year * 0.75), 1.0)
    own = [(cost.name, cost.amount, "other") for cost in household.yearly_costs]
    fees = [
        (membership.name, membership.fee_per_year, "membership")
        for membership in household.memberships
        if membership.fee_per_year
    ]
    return tuple(
        CostLine(
            kind, f"{name}: {nights} of about {a_year} nights a year", amount * low,  # type: ignore[arg-type]
            amount * share, amount * high, household.units.currency, "expected",
            f"household file: {household.units.currency} {amount:,.2f} a year", None, "costs",
        )
        for name, amount, kind in own + fees
    )  # fmt: skip
