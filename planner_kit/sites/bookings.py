"""Where each booking stands: paid, still to pay, and what could still be called off."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from itertools import combinations
from typing import TYPE_CHECKING

from planner_kit.reference import constant
from planner_kit.sites.amounts import amount_of, shown
from planner_kit.states import Check, State
from planner_kit.trip.money import CostLine

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.sites.tariff import PriceSum
    from planner_kit.sites.terms import Deposit
    from planner_kit.trip.trip import Booking, Payment, Stay, Trip

AGREED = ("held", "booked", "paid")


@dataclass(frozen=True)
class Ledger:
    """The money of one booking on one day.

    Attributes
    ----------
    price, paid, balance : Decimal or None
        Agreed price, what has gone out, and what is left to pay; None where the price is not
        known.
    refundable : Decimal or None
        What comes back if it is called off on that day: all that was paid up to the date of free
        cancellation, nothing known after it (0); None where no such date is given.
    currency : str
    """

    price: Decimal | None
    paid: Decimal
    balance: Decimal | None
    refundable: Decimal | None
    currency: str


def booking_ledger(booking: Booking, currency: str, on: dt.date) -> Ledger:
    """What is paid, due and refundable on a day.

    Parameters
    ----------
    booking : Booking
    currency : str
        Used where the booking names none.
    on : date

    Notes
    -----
    `paid` and the dated `payments` up to the day are two accounts of the same money: the larger
    holds, and covers the payments earliest first. A booking whose state is ``paid`` is paid in
    full.
    """
    currency = booking.currency or currency
    price = amount_of(booking.price, currency)
    paid = max(_exact(booking.paid, currency), _paid_with_dates(booking, currency, on))
    if booking.state == "paid" and price is not None:
        paid = max(paid, price)
    balance = None if price is None else max(price - paid, Decimal(0))
    if booking.state == "called off":
        balance = Decimal(0)
    until = booking.free_cancellation_until
    refundable = None if until is None else (paid if on <= until else Decimal(0))
    return Ledger(price, paid, balance, refundable, currency)


def _exact(value: float, currency: str) -> Decimal:
    return amount_of(value, currency) or Decimal(0)


def _paid_with_dates(booking: Booking, currency: str, on: dt.date) -> Decimal:
    return sum(
        (_exact(payment.amount, currency) for payment in booking.payments if payment.on <= on),
        Decimal(0),
    )


def booking_cost_lines(
    stay: Stay,
    name: str,
    arrive: dt.date,
    computed: PriceSum,
    source: str,
    on: dt.date,
    *,
    deposit: Deposit | None = None,
) -> tuple[CostLine, ...]:
    """The cost of a stay: the booked price where there is one, else the one from the site list.

    Parameters
    ----------
    stay : Stay
    name : str
        The site's name.
    arrive : date
        When whatever has no date of its own is paid.
    computed : PriceSum
        See `planner_kit.sites.tariff.price_sum`.
    source : str
        Where the computed price comes from.
    on : date
        The day of planning.
    deposit : Deposit, optional
        What is paid on booking, where the booking itself notes no payment.

    Returns
    -------
    lines : tuple of CostLine
        Money that has gone out, the balance, and a line without an amount for whatever has no
        price; the known lines sum to the price.
    """
    booking = stay.booking
    ledger = booking_ledger(booking, computed.currency, on)
    if ledger.price is None and booking.state != "called off":
        return _computed_lines(name, arrive, computed, source, ledger, deposit)
    what = f"pitch at {name}"
    said = f"booking {booking.reference or 'without reference'}"
    if computed.total is not None and ledger.price is not None:
        said += f"; the site list comes to {shown(computed.total, computed.currency)}"
    lines = _paid_lines(booking, what, said, ledger)
    if ledger.balance:
        first = None if ledger.paid or booking.payments else deposit
        lines += _balance_lines(booking, what, said, ledger, arrive, first)
    return tuple(lines)


def _line(
    what: str,
    amount: Decimal,
    currency: str,
    state: str,
    source: str,
    on: dt.date | None,
) -> CostLine:
    value = float(amount)
    return CostLine("site", what, value, value, value, currency, state, source, on, "sites")  # type: ignore[arg-type]


def _payments(booking: Booking, currency: str) -> list[tuple[Payment, Decimal]]:
    """The payments of a booking in the order of their days, those of nothing left out."""
    ordered = sorted(booking.payments, key=lambda payment: payment.on)
    amounts = [(payment, _exact(payment.amount, currency)) for payment in ordered]
    return [(payment, amount) for payment, amount in amounts if amount]


def _paid_lines(booking: Booking, what: str, said: str, ledger: Ledger) -> list[CostLine]:
    """What has gone out: the payments that it covers, earliest first, and the rest."""
    lines, left = [], ledger.paid
    for payment, amount in _payments(booking, ledger.currency):
        covered = min(amount, left)
        if covered:
            words = f"{what}: {payment.what or 'payment'}"
            lines.append(_line(words, covered, ledger.currency, "paid", said, payment.on))
            left -= covered
    if left:
        lines.append(_line(f"{what}: paid", left, ledger.currency, "paid", said, None))
    return lines


def _balance_lines(
    booking: Booking,
    what: str,
    said: str,
    ledger: Ledger,
    arrive: dt.date,
    deposit: Deposit | None,
) -> list[CostLine]:
    """What is still to go out: deposit, payments not covered by what was paid, and the rest."""
    lines, left, gone = [], ledger.balance or Decimal(0), ledger.paid
    if deposit is not None and deposit.currency == ledger.currency:
        first = min(deposit.amount, left)
        words = f"{what}: deposit"
        lines.append(_line(words, first, ledger.currency, "booked", deposit.source, deposit.on))
        left -= first
    for payment, amount in _payments(booking, ledger.currency):
        covered = min(amount, gone)
        gone -= covered
        due = min(amount - covered, left)
        if due:
            words = f"{what}: {payment.what or 'payment due'}"
            lines.append(_line(words, due, ledger.currency, "booked", said, payment.on))
            left -= due
    if left:
        when = booking.due_on or arrive
        lines.append(_line(f"{what}: balance", left, ledger.currency, "booked", said, when))
    return lines


def _computed_lines(
    name: str,
    arrive: dt.date,
    computed: PriceSum,
    source: str,
    ledger: Ledger,
    deposit: Deposit | None,
) -> tuple[CostLine, ...]:
    lines = []
    paid = ledger.paid
    if paid:
        words = f"pitch at {name}: paid"
        lines.append(_line(words, paid, ledger.currency, "paid", "booking, no price given", None))
    rest = computed.known - paid
    if deposit is not None and not paid and rest > 0:
        first = min(deposit.amount, rest)
        words = f"pitch at {name}: deposit"
        lines.append(_line(words, first, computed.currency, "expected", deposit.source, deposit.on))
        rest -= first
    if rest > 0:
        words = f"pitch at {name}" + (", the part that is known" if computed.unknown else "")
        lines.append(_line(words, rest, computed.currency, "expected", source, arrive))
    for what in computed.unknown or (() if computed.total is not None else ("the whole price",)):
        lines.append(
            CostLine(
                "site", f"{name}: {what}", None, None, None, computed.currency, "unknown",
                source, arrive, "sites",
            )
        )  # fmt: skip
    return tuple(lines)


def check_booking(
    stay: Stay, name: str, arrive: dt.date, currency: str, on: dt.date
) -> list[Check]:
    """What to do or to know about one booking on a day.

    Parameters
    ----------
    stay : Stay
    name : str
        The site's name.
    arrive : date
    currency : str
        Used where the booking names none.
    on : date

    Returns
    -------
    checks : list of Check
        Its state, its payment, its date of free cancellation, and figures that disagree.
    """
    booking = stay.booking
    ledger = booking_ledger(booking, currency, on)
    source = "trip file"
    checks = [_check_state(booking, name, source)]
    if booking.state in AGREED:
        checks.append(_check_payment(booking, ledger, name, arrive, on, source))
        checks.append(_check_cancellation(booking, ledger, name, on, source))
    dated = _paid_with_dates(booking, ledger.currency, on)
    noted = _exact(booking.paid, ledger.currency)
    subject = f"figures of the booking at {name}"
    if noted and dated and noted != dated:
        words = (
            f"paid says {noted}, the payments up to {on} add up to {dated}; correct one of them."
        )
        checks.append(Check(subject, State.LOOK, words[0].upper() + words[1:], source=source))
    if ledger.price is not None and ledger.paid > ledger.price:
        words = (
            f"{shown(ledger.paid, ledger.currency)} has been paid, more than the price of "
            f"{shown(ledger.price, ledger.currency)}; ask for the difference."
        )
        checks.append(Check(subject, State.LOOK, words, source=source))
    for what, day in (
        ("payment", booking.due_on),
        ("cancellation", booking.free_cancellation_until),
    ):
        if day is not None and day > arrive:
            words = f"The date of {what} {day} is after the arrival on {arrive}; is it right?"
            checks.append(Check(subject, State.LOOK, words, source=source))
    return checks


def _check_state(booking: Booking, name: str, source: str) -> Check:
    subject = f"booking at {name}"
    if booking.state == "called off":
        words = "This stay is called off; the trip needs another site for these nights."
        return Check(subject, State.NOT_FINE, words, source=source)
    if booking.state in ("not asked", "asked"):
        return Check(subject, State.LOOK, f"Not booked yet: {booking.state}.", source=source)
    if booking.state == "held":
        words = "The pitch is held, not booked; ask how long."
        return Check(subject, State.LOOK, words, source=source)
    if not booking.reference:
        words = f"{booking.state.capitalize()}, but no reference is noted."
        return Check(subject, State.LOOK, words, source=source)
    words = f"{booking.state.capitalize()}, reference {booking.reference}."
    return Check(subject, State.FINE, words, source=source)


def _check_payment(
    booking: Booking, ledger: Ledger, name: str, arrive: dt.date, on: dt.date, source: str
) -> Check:
    subject = f"payment at {name}"
    if ledger.price is None or ledger.balance is None:
        words = "The agreed price is not noted, so what is left to pay is unknown."
        return Check(subject, State.UNKNOWN, words, source=source)
    if ledger.balance == 0:
        words = f"Paid in full: {shown(ledger.price, ledger.currency)}."
        return Check(subject, State.FINE, words, source=source)
    left = shown(ledger.balance, ledger.currency)
    figure, price = float(ledger.balance), float(ledger.price)
    if booking.due_on is None:
        words = f"{left} is left to pay, and the date is not noted."
        return Check(subject, State.UNKNOWN, words, figure, price, ledger.currency, source=source)
    days = (booking.due_on - on).days
    soon = constant("deadlines", "due_soon").value
    if days < 0:
        state, words = State.NOT_FINE, f"{left} was due on {booking.due_on}, {-days} days ago."
    else:
        state = State.LOOK if days <= soon else State.FINE
        words = f"{left} is due on {booking.due_on}, in {days} days."
    return Check(subject, state, words, figure, price, ledger.currency, source=source)


def _check_cancellation(
    booking: Booking, ledger: Ledger, name: str, on: dt.date, source: str
) -> Check:
    subject, until = f"cancellation at {name}", booking.free_cancellation_until
    if until is None:
        words = "Not known until when it can be called off free of charge."
        return Check(subject, State.UNKNOWN, words, source=source)
    days = (until - on).days
    if days < 0:
        words = f"Free cancellation ended on {until}; whatever is paid is not given back."
        return Check(subject, State.FINE, words, source=source)
    words = f"Free cancellation until {until}, in {days} days"
    state = State.LOOK if days <= constant("deadlines", "due_soon").value else State.FINE
    if ledger.paid:
        words += f"; until then {shown(ledger.paid, ledger.currency)} comes back"
    return Check(subject, state, words + ".", float(days), unit="days", source=source)


def check_clashes(trips: Sequence[Trip], *, about: Trip | None = None) -> tuple[Check, ...]:
    """Nights that two stays share, within a trip or between trips, and references noted twice.

    Parameters
    ----------
    trips : sequence of Trip
    about : Trip, optional
        Only clashes that this one of them has a part in.

    Returns
    -------
    checks : tuple of Check
        One ``not fine`` for each pair whose nights overlap, one ``look at this`` for each pair of
        different sites with the same booking reference; empty when nothing clashes.
    """
    stays = [
        (trip, stay, arrive, leave)
        for trip in trips
        for stay, (arrive, leave) in zip(trip.stays, trip.stay_dates(), strict=True)
        if stay.booking.state != "called off"
    ]
    checks = []
    for (trip_a, a, from_a, to_a), (trip_b, b, from_b, to_b) in combinations(stays, 2):
        if about is not None and trip_a is not about and trip_b is not about:
            continue
        first, last = max(from_a, from_b), min(to_a, to_b)
        nights = (last - first).days
        if nights > 0:
            words = (
                f"'{trip_a.name}' at {a.site} and '{trip_b.name}' at {b.site} share "
                f"{nights} night{'s' if nights > 1 else ''} from {first}."
            )
            checks.append(Check("two stays at once", State.NOT_FINE, words, source="trip files"))
        same = a.booking.reference and a.booking.reference == b.booking.reference
        if same and a.site != b.site:
            words = f"{a.site} and {b.site} have the same reference {a.booking.reference}."
            checks.append(Check("one reference twice", State.LOOK, words, source="trip files"))
    return tuple(checks)
