"""What to do by when, counted backwards from the dates of the trip and its bookings."""

from __future__ import annotations

import datetime as dt
import uuid
from collections import Counter
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.reference import constant, read_table
from planner_kit.sites.amounts import shown
from planner_kit.sites.bookings import AGREED, booking_ledger
from planner_kit.sites.free_days import is_public_holiday

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner_kit.sites.terms import Deposit
    from planner_kit.trip.trip import Stay, Trip

DEADLINE_COLUMNS = ("on", "what", "why", "site_id", "state", "uid", "basis")
# Any fixed UUID would do; it keeps the kit's identifiers apart from everybody else's.
_NAMESPACE = uuid.UUID("6f1d2b54-3f53-5c39-9c58-0f2a3f6f5a10")


def working_day_before(day: dt.date, country: str | None) -> dt.date:
    """The day itself, or the last working day before it.

    Parameters
    ----------
    day : date
    country : str or None
        ISO 3166-1 alpha-2 code, such as ``GB``; where the country is not known to the holidays
        library only Saturdays and Sundays count as free. A day that is free in any part of the
        country counts as free.
    """
    while day.weekday() >= 5 or is_public_holiday(country, day):
        day -= dt.timedelta(days=1)
    return day


def deadline_uid(trip_id: str, name: str, site_id: str = "", nth: int = 1) -> str:
    """An identifier that stays the same when the dates move, so that a calendar updates its entry.

    Parameters
    ----------
    trip_id, name, site_id : str
        The trip, the row of deadlines.csv and the site.
    nth : int
        Which of the trip's stays at that site, from 1.
    """
    return str(uuid.uuid5(_NAMESPACE, f"{trip_id}/{name}/{site_id}/{nth}"))


def deadlines_for(
    trip: Trip,
    names: Mapping[str, str],
    *,
    country: str | None,
    planned_on: dt.date,
    opens_days_ahead: Mapping[str, int] | None = None,
    deposits: Mapping[int, Deposit] | None = None,
) -> pd.DataFrame:
    """Every deadline of a trip, earliest first.

    Parameters
    ----------
    trip : Trip
    names : mapping of str to str
        Site names by site id.
    country : str or None
        For public holidays: what needs an office is moved to the working day before.
    planned_on : date
        Today, as far as the plan is concerned.
    opens_days_ahead : mapping of str to int, optional
        How many days before arrival a site opens its bookings, by site id; about a year for
        those not named.
    deposits : mapping of int to Deposit, optional
        What the sites want on booking, by the stay's place in the trip from 0.

    Returns
    -------
    deadlines : DataFrame
        on (date), what, why, site_id (empty for the whole trip), state (done, to do, late), uid,
        basis. What the files cannot show to be done is ``to do``, and ``late`` once its day has
        passed; after the trip's end preparations are over and count as done.

    Notes
    -----
    `deadlines_from` of the trip is the day on which planning began: whatever would have been due
    earlier is due on that day.
    """
    table = read_table("deadlines")
    rules = [{str(key): str(cell) for key, cell in row.items()} for row in table.to_dict("records")]
    rows = []
    for rule in (rule for rule in rules if rule["for_each"] == "trip"):
        rows.append(_row(trip, rule, trip.start, "", 1, "", country, planned_on, done=False))
    met: Counter[str] = Counter()
    for number, (stay, (arrive, _)) in enumerate(zip(trip.stays, trip.stay_dates(), strict=True)):
        met[stay.site] += 1
        if stay.booking.state == "called off":
            continue
        deposit = (deposits or {}).get(number)
        for rule in (rule for rule in rules if rule["for_each"] == "stay"):
            for own, base, done in _of_the_stay(
                rule, stay, arrive, planned_on, opens_days_ahead or {}, deposit
            ):
                where, nth = names.get(stay.site, stay.site), met[stay.site]
                rows.append(
                    _row(trip, own, base, stay.site, nth, where, country, planned_on, done=done)
                )
    frame = pd.DataFrame(rows, columns=list(DEADLINE_COLUMNS))
    return frame.sort_values("on", kind="stable", ignore_index=True)


def _of_the_stay(
    rule: dict[str, str],
    stay: Stay,
    arrive: dt.date,
    planned_on: dt.date,
    opens_days_ahead: Mapping[str, int],
    deposit: Deposit | None,
) -> list[tuple[dict[str, str], dt.date, bool]]:
    """A rule as it holds for a stay: with its words, the day it counts from, whether it is done."""
    booking = stay.booking
    if rule["counts_from"] == "payment":
        return _payments(rule, stay, planned_on)
    if rule["counts_from"] == "deposit":
        if deposit is None or booking.payments:
            return []
        amount = shown(deposit.amount, deposit.currency)
        own = {**rule, "what": f"{rule['what']}: {amount}"}
        return [(own, deposit.on, bool(booking.paid) or booking.state == "paid")]
    own = rule
    if rule["name"] == "booking_opens" and stay.site in opens_days_ahead:
        days = opens_days_ahead[stay.site]
        why = f"the site opens its bookings {days} days before arrival"
        own = {**rule, "value": str(days), "why": why, "basis": "site list"}
    base = _counted_from(own["counts_from"], stay, arrive)
    return [] if base is None else [(own, base, _is_done(rule["name"], stay, planned_on))]


def _payments(
    rule: dict[str, str], stay: Stay, planned_on: dt.date
) -> list[tuple[dict[str, str], dt.date, bool]]:
    """The payments noted with a booking that are still to come, or were."""
    booking = stay.booking
    paid = booking_ledger(booking, "XXX", planned_on).paid
    found, sum_so_far = [], 0.0
    for number, payment in enumerate(sorted(booking.payments, key=lambda one: one.on), start=1):
        sum_so_far += payment.amount
        named = payment.what or f"payment {number}"
        amount = f"{booking.currency or ''} {payment.amount:,.2f}".strip()
        own = {
            **rule,
            "name": f"{rule['name']}/{named}",
            "what": f"{rule['what']}: {named}, {amount}",
        }
        found.append((own, payment.on, float(paid) >= sum_so_far - 0.005))
    return found


def booking_day(
    stay: Stay, arrive: dt.date, planned_on: dt.date, opens_days_ahead: int | None = None
) -> dt.date:
    """When a stay that is not booked yet will be, as far as can be told.

    Parameters
    ----------
    stay : Stay
    arrive : date
    planned_on : date
        Not before this day.
    opens_days_ahead : int, optional
        How long before arrival the site opens its bookings.

    Returns
    -------
    day : date
        Today for a stay that is held or booked; else the day by which midsummer is booked, or the
        one on which bookings open.
    """
    if stay.booking.state in AGREED:
        return planned_on
    base = _counted_from("new_year", stay, arrive)
    if base is None:
        usual = int(constant("deadlines", "booking_opens").value)
        base = arrive - dt.timedelta(days=opens_days_ahead or usual)
    return max(min(base, arrive), planned_on)


def _counted_from(what: str, stay: Stay, arrive: dt.date) -> dt.date | None:
    first, last = (
        int(constant("deadlines", f"midsummer_{end}_month").value) for end in ("first", "last")
    )
    return {
        "arrive": arrive,
        "new_year": dt.date(arrive.year, 1, 31) if first <= arrive.month <= last else None,
        "due": stay.booking.due_on,
        "free_cancellation": stay.booking.free_cancellation_until,
    }[what]


def _is_done(name: str, stay: Stay, planned_on: dt.date) -> bool:
    booking = stay.booking
    if name in ("booking_opens", "book_by"):
        return booking.state in AGREED
    if name == "balance":
        return booking.state == "paid" or booking_ledger(booking, "XXX", planned_on).balance == 0
    if name == "cancel":
        until = booking.free_cancellation_until
        return until is not None and planned_on > until
    return False


def _row(
    trip: Trip,
    rule: dict[str, str],
    base: dt.date,
    site_id: str,
    nth: int,
    where: str,
    country: str | None,
    planned_on: dt.date,
    *,
    done: bool,
) -> dict[str, object]:
    day = base - dt.timedelta(days=int(rule["value"]))
    why = rule["why"]
    if rule["needs_office"] == "yes":
        working = working_day_before(day, country)
        if working != day:
            why += f" ({day} is not a working day)"
        day = working
    if trip.deadlines_from is not None and day < trip.deadlines_from <= base:
        day = trip.deadlines_from
        why += " (planning began after the usual day)"
    if done or planned_on > trip.end:
        state = "done"
    else:
        state = "late" if day < planned_on else "to do"
    what = f"{rule['what']} ({where})" if where else rule["what"]
    return {
        "on": day,
        "what": what,
        "why": why,
        "site_id": site_id,
        "state": state,
        "uid": deadline_uid(trip.id, rule["name"], site_id, nth),
        "basis": rule["basis"],
    }
