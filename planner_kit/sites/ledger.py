"""All bookings on one day: what is committed, what would come back, which nights have no bed."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.sites.amounts import as_number
from planner_kit.sites.bookings import AGREED, booking_ledger
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner_kit.sites.bookings import Ledger
    from planner_kit.trip.trip import Booking, Trip

LEDGER_COLUMNS = (
    "trip", "site_id", "site", "arrive", "leave", "state", "reference", "currency", "price",
    "paid", "balance", "due_on", "free_until", "refundable", "committed",
)  # fmt: skip


def bookings_on(
    trips: Sequence[Trip], names: Mapping[str, str], currency: str, on: dt.date
) -> pd.DataFrame:
    """Every booking of several trips as it stands on a day.

    Parameters
    ----------
    trips : sequence of Trip
    names : mapping of str to str
        Site names by site id.
    currency : str
        For bookings that name none.
    on : date

    Returns
    -------
    ledger : DataFrame
        trip, site_id, site, arrive, leave, state, reference, currency, price, paid, balance,
        due_on, free_until, refundable (what comes back of what was paid, called off that day; NaN
        where the terms are not known), committed (what is gone or owed whatever happens: the
        price less what could still be saved; NaN where not known).
    """
    rows = []
    for trip in trips:
        for stay, (arrive, leave) in zip(trip.stays, trip.stay_dates(), strict=True):
            booking = stay.booking
            ledger = booking_ledger(booking, currency, on)
            rows.append(
                {
                    "trip": trip.name,
                    "site_id": stay.site,
                    "site": names.get(stay.site, stay.site),
                    "arrive": arrive,
                    "leave": leave,
                    "state": booking.state,
                    "reference": booking.reference,
                    "currency": ledger.currency,
                    "price": as_number(ledger.price),
                    "paid": as_number(ledger.paid),
                    "balance": as_number(ledger.balance),
                    "due_on": booking.due_on,
                    "free_until": booking.free_cancellation_until,
                    "refundable": as_number(ledger.refundable),
                    "committed": as_number(_committed(booking, ledger, on)),
                }
            )
    return pd.DataFrame(rows, columns=list(LEDGER_COLUMNS))


def _committed(booking: Booking, ledger: Ledger, on: dt.date) -> Decimal | None:
    """What is gone or owed whatever happens from that day on."""
    until = booking.free_cancellation_until
    if booking.state not in AGREED:
        return ledger.paid
    if until is None:
        return None
    return Decimal(0) if on <= until else ledger.price


def ledger_totals(ledger: pd.DataFrame) -> pd.DataFrame:
    """Sums of `bookings_on` by currency.

    Returns
    -------
    totals : DataFrame
        currency, price, paid, balance, refundable, committed, not_known (bookings agreed of which
        refund terms or price are not known, and which are in no sum).
    """
    rows = []
    for currency, own in ledger.groupby("currency", sort=True):
        agreed = own[own["state"].isin(AGREED)]
        row: dict[str, object] = {"currency": currency}
        for column in ("price", "paid", "balance", "refundable", "committed"):
            row[column] = round(float(own[column].sum()), 2)
        row["not_known"] = int(agreed[["refundable", "committed"]].isna().any(axis=1).sum())
        rows.append(row)
    columns = ["currency", "price", "paid", "balance", "refundable", "committed", "not_known"]
    return pd.DataFrame(rows, columns=columns)


def refundable_by_day(
    trips: Sequence[Trip], currency: str, first: dt.date, last: dt.date
) -> pd.DataFrame:
    """How much is paid, committed and refundable on each day on which one of them changes.

    Returns
    -------
    days : DataFrame
        on, paid, refundable, committed; the bookings in `currency` only.
    """
    marks = {first, last}
    one = dt.timedelta(days=1)
    for trip in trips:
        for stay in trip.stays:
            booking = stay.booking
            marks |= {payment.on for payment in booking.payments}
            if booking.free_cancellation_until is not None:
                marks |= {booking.free_cancellation_until, booking.free_cancellation_until + one}
    rows = []
    for day in sorted(mark for mark in marks if first <= mark <= last):
        own = bookings_on(trips, {}, currency, day)
        own = own[own["currency"] == currency]
        rows.append({"on": day, **{c: own[c].sum() for c in ("paid", "refundable", "committed")}})
    return pd.DataFrame(rows, columns=["on", "paid", "refundable", "committed"])


def check_nights(trip: Trip) -> tuple[Check, ...]:
    """Nights of a trip for which nothing is agreed.

    Returns
    -------
    checks : tuple of Check
        One for each stay that is called off or not agreed, once another of the trip is; the
        nights are named.
    """
    states = [stay.booking.state for stay in trip.stays]
    if not any(state in AGREED for state in states):
        return ()
    checks = []
    for stay, (arrive, leave) in zip(trip.stays, trip.stay_dates(), strict=True):
        if stay.booking.state in AGREED:
            continue
        nights = (leave - arrive).days
        words = (
            f"{nights} night{'s' if nights > 1 else ''} from {arrive} to {leave} "
            f"{'have' if nights > 1 else 'has'} no agreed pitch ({stay.site}: "
            f"{stay.booking.state}), while other nights of the trip are agreed."
        )
        gone = stay.booking.state == "called off"
        state = State.NOT_FINE if gone else State.LOOK
        checks.append(Check("nights without a pitch", state, words, float(nights), unit="nights",
                            source="trip file"))  # fmt: skip
    return tuple(checks)
