"""What is paid, due and refundable, and the cost lines of a stay."""

import datetime as dt
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.sites import booking_ledger, check_booking, check_clashes
from planner_kit.sites.bookings import booking_cost_lines
from planner_kit.sites.tariff import PriceSum
from planner_kit.states import State
from planner_kit.trip.trip import Booking, Stay

ARRIVE = dt.date(2027, 7, 10)
ON = dt.date(2027, 6, 1)
COMPUTED = PriceSum(Decimal("280.00"), Decimal("300.00"), Decimal("280.00"), "GBP", ())


def booking(**values):
    return Booking.model_validate({"state": "booked", "reference": "R1", **values})


def lines_of(booked, computed=COMPUTED, on=ON):
    stay = Stay(site="gull-field", nights=7, booking=booked)
    return booking_cost_lines(stay, "Gull Field", ARRIVE, computed, "site list", on)


def checks_of(booked, on=ON):
    stay = Stay(site="gull-field", nights=7, booking=booked)
    return {c.subject.split(" at ")[0]: c for c in check_booking(stay, "G", ARRIVE, "GBP", on)}


def test_deposit_leaves_a_balance_and_comes_back_until_the_date():
    booked = booking(price=296.49, paid=50, free_cancellation_until=dt.date(2027, 6, 26))
    ledger = booking_ledger(booked, "GBP", ON)
    assert ledger.balance == Decimal("246.49")
    assert ledger.refundable == Decimal("50.00")
    assert booking_ledger(booked, "GBP", dt.date(2027, 6, 26)).refundable == Decimal("50.00")
    assert booking_ledger(booked, "GBP", dt.date(2027, 6, 27)).refundable == 0


def test_without_a_date_it_is_unknown_what_comes_back():
    assert booking_ledger(booking(price=100, paid=50), "GBP", ON).refundable is None


def test_a_paid_booking_has_no_balance():
    assert booking_ledger(booking(state="paid", price=99.9), "GBP", ON).balance == 0


def test_the_booked_price_wins_and_says_what_the_list_comes_to():
    lines = lines_of(booking(price=250, paid=50, due_on=dt.date(2027, 6, 20)))
    assert [(line.state, line.likely) for line in lines] == [("paid", 50), ("booked", 200)]
    assert "GBP 280.00" in lines[0].source
    assert lines[1].on == dt.date(2027, 6, 20)


def test_a_deposit_noted_as_paid_and_as_a_payment_counts_once():
    deposit = {"amount": 50, "on": dt.date(2027, 6, 10), "what": "deposit"}
    lines = lines_of(booking(price=259, paid=50, payments=[deposit], due_on=dt.date(2027, 6, 26)))
    assert [(line.state, line.likely, line.on) for line in lines] == [
        ("paid", 50, dt.date(2027, 6, 10)),
        ("booked", 209, dt.date(2027, 6, 26)),
    ]


def test_payments_to_come_split_the_balance():
    to_come = {"amount": 100, "on": dt.date(2027, 6, 10)}
    lines = lines_of(booking(price=259, paid=50, payments=[{"amount": 50, "on": ON}, to_come]))
    assert [(line.state, line.likely, line.on) for line in lines] == [
        ("paid", 50, ON),
        ("booked", 100, dt.date(2027, 6, 10)),
        ("booked", 109, ARRIVE),
    ]


def test_without_a_booked_price_the_computed_one_is_expected():
    (line,) = lines_of(Booking())
    assert (line.state, line.likely, line.on) == ("expected", 280, ARRIVE)


def test_unknown_parts_get_a_line_without_an_amount():
    computed = PriceSum(None, None, Decimal("100.00"), "GBP", ("dogs",))
    known, unknown = lines_of(Booking(), computed)
    assert (known.likely, unknown.likely, unknown.state) == (100, None, "unknown")


def test_nothing_known_is_one_unknown_line():
    (line,) = lines_of(Booking(), PriceSum(None, None, Decimal(0), "GBP", ("pitch",)))
    assert line.likely is None


pence = st.integers(0, 50_000).map(lambda p: p / 100)


@settings(max_examples=50, deadline=None)
@given(
    price=st.none() | pence,
    paid=pence,
    payments=st.lists(st.tuples(pence, st.integers(-200, 40)), max_size=3),
    state=st.sampled_from(["not asked", "asked", "held", "booked"]),
)
def test_known_lines_sum_to_the_larger_of_price_and_what_was_paid(price, paid, payments, state):
    booked = booking(
        state=state, price=price, paid=paid,
        payments=[{"amount": a, "on": ON + dt.timedelta(days=d)} for a, d in payments],
    )  # fmt: skip
    lines = lines_of(booked)
    total = sum(Decimal(str(line.likely)) for line in lines if line.likely is not None)
    ledger = booking_ledger(booked, "GBP", ON)
    if price is not None:
        assert total == max(Decimal(str(price)), ledger.paid)
        assert ledger.balance + ledger.paid == max(ledger.price, ledger.paid)
    else:
        assert total == max(Decimal("280"), ledger.paid)
    assert all(line.likely is None or line.likely > 0 for line in lines)


@pytest.mark.parametrize(
    ("values", "subject", "state"),
    [
        ({"price": 100, "due_on": dt.date(2027, 6, 10)}, "payment", State.LOOK),
        ({"price": 100, "due_on": dt.date(2027, 6, 30)}, "payment", State.FINE),
        ({"price": 100, "due_on": dt.date(2027, 5, 20)}, "payment", State.NOT_FINE),
        ({"price": 100}, "payment", State.UNKNOWN),
        ({}, "payment", State.UNKNOWN),
        ({"price": 100, "paid": 100}, "payment", State.FINE),
        ({}, "cancellation", State.UNKNOWN),
        ({"free_cancellation_until": dt.date(2027, 6, 5)}, "cancellation", State.LOOK),
        ({"free_cancellation_until": dt.date(2027, 7, 5)}, "cancellation", State.FINE),
        ({"reference": ""}, "booking", State.LOOK),
        ({"state": "not asked"}, "booking", State.LOOK),
        ({"state": "called off"}, "booking", State.NOT_FINE),
        ({"price": 100, "paid": 120}, "figures of the booking", State.LOOK),
        ({"due_on": dt.date(2027, 7, 12)}, "figures of the booking", State.LOOK),
        (
            {"paid": 50, "payments": [{"amount": 40, "on": ON}]},
            "figures of the booking",
            State.LOOK,
        ),
    ],
)
def test_each_check_ends_as_its_figures_say(values, subject, state):
    assert checks_of(booking(**values))[subject].state is state


def test_overlapping_nights_of_two_trips_clash_and_touching_ones_do_not(kit):
    first = kit.trip_with()
    second = kit.trip_with(id="other", name="Other", start=dt.date(2027, 7, 16))
    third = kit.trip_with(id="third", name="Third", start=dt.date(2027, 7, 17))
    (clash,) = check_clashes((first, second))
    assert clash.state is State.NOT_FINE
    assert "share 1 night from 2027-07-16" in clash.sentence
    assert check_clashes((first, third)) == ()
