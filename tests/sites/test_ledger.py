"""All bookings on a day: paid, owed, what would come back, and nights without a pitch."""

import datetime as dt

import numpy as np
import pytest

from planner_kit.sites.ledger import (
    bookings_on,
    check_nights,
    ledger_totals,
    refundable_by_day,
)
from planner_kit.states import State

FREE_UNTIL = dt.date(2027, 6, 19)
BOOKED = {
    "state": "booked", "reference": "R1", "price": 200.0,
    "free_cancellation_until": FREE_UNTIL,
    "payments": [{"amount": 50, "on": dt.date(2027, 1, 7), "what": "deposit"},
                 {"amount": 150, "on": dt.date(2027, 6, 25), "what": "rest"}],
}  # fmt: skip


def trip_of(kit, *bookings, **more):
    stays = [{"site": f"s{n}", "nights": 2, "booking": b} for n, b in enumerate(bookings)]
    return kit.trip_with(stays=stays, **more)


def on(kit, day, *bookings):
    return bookings_on([trip_of(kit, *bookings)], {}, "GBP", day)


@pytest.mark.parametrize(
    ("day", "paid", "balance", "refundable", "committed"),
    [
        (dt.date(2027, 1, 1), 0, 200, 0, 0),
        (dt.date(2027, 1, 7), 50, 150, 50, 0),
        (FREE_UNTIL, 50, 150, 50, 0),
        (dt.date(2027, 6, 20), 50, 150, 0, 200),
        (dt.date(2027, 6, 25), 200, 0, 0, 200),
    ],
)
def test_each_day_has_its_own_sums(kit, day, paid, balance, refundable, committed):
    row = on(kit, day, BOOKED).iloc[0]
    found = (row["paid"], row["balance"], row["refundable"], row["committed"])
    assert found == (paid, balance, refundable, committed)


def test_terms_that_are_not_known_are_in_no_sum_and_are_counted(kit):
    unsure = {"state": "booked", "price": 100.0, "paid": 20.0}
    ledger = on(kit, dt.date(2027, 2, 1), BOOKED, unsure)
    assert np.isnan(ledger["refundable"].iloc[1])
    totals = ledger_totals(ledger).iloc[0]
    assert (totals["price"], totals["paid"], totals["not_known"]) == (300, 70, 1)
    assert totals["refundable"] == 50


def test_currencies_are_summed_apart(kit):
    euro = {"state": "paid", "price": 80.0, "currency": "EUR",
            "free_cancellation_until": FREE_UNTIL}  # fmt: skip
    totals = ledger_totals(on(kit, dt.date(2027, 2, 1), BOOKED, euro)).set_index("currency")
    assert totals["paid"].to_dict() == {"EUR": 80, "GBP": 50}


def test_what_is_only_asked_for_or_called_off_commits_to_nothing(kit):
    off = {**BOOKED, "state": "called off", "paid": 50.0, "payments": []}
    ledger = on(kit, dt.date(2027, 7, 1), {"state": "asked", "price": 90.0}, off)
    assert ledger["committed"].tolist() == [0, 50]
    assert ledger["balance"].tolist() == [90, 0]


def test_the_days_on_which_something_changes(kit):
    days = refundable_by_day(
        [trip_of(kit, BOOKED)], "GBP", dt.date(2027, 1, 1), dt.date(2027, 7, 1)
    ).set_index("on")
    assert days.loc[dt.date(2027, 1, 7), "refundable"] == 50
    assert days.loc[dt.date(2027, 6, 20), "refundable"] == 0
    assert days["paid"].is_monotonic_increasing


def test_nights_without_a_pitch_are_named_once_others_are_agreed(kit):
    checks = check_nights(trip_of(kit, BOOKED, {"state": "asked"}, {"state": "called off"}))
    assert [check.state for check in checks] == [State.LOOK, State.NOT_FINE]
    assert "2 nights from 2027-07-12 to 2027-07-14" in checks[0].sentence
    assert check_nights(trip_of(kit, {"state": "asked"}, {})) == ()
