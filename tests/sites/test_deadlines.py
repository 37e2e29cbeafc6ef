"""Deadlines counted backwards from the dates."""

import datetime as dt

from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.sites import deadline_uid, deadlines_for, working_day_before

NAMES = {"gull-field": "Gull Field"}
ON = dt.date(2027, 5, 1)


def deadlines(trip, planned_on=ON, country="GB"):
    return deadlines_for(trip, NAMES, country=country, planned_on=planned_on)


def row(frame, start):
    return frame[frame["what"].str.startswith(start)].iloc[0]


def booked(kit, **values):
    booking = {"state": "booked", "reference": "R", "price": 200.0, **values}
    return kit.trip_with(stays=[{"site": "gull-field", "nights": 7, "booking": booking}])


def test_days_are_counted_back_from_the_start(kit):
    frame = deadlines(kit.trip_with())
    assert row(frame, "Go through the plan")["on"] == dt.date(2027, 6, 26)
    assert row(frame, "Print")["on"] == dt.date(2027, 7, 7)
    assert row(frame, "Hitch up")["on"] == dt.date(2027, 7, 10)
    assert frame["on"].is_monotonic_increasing
    assert frame["uid"].is_unique


def test_what_needs_an_office_falls_on_a_working_day(kit):
    # 10 July 2027 is a Saturday, so is the day 14 days before it.
    frame = deadlines(kit.trip_with())
    tyres = row(frame, "Look at all tyres")
    assert tyres["on"] == dt.date(2027, 6, 25)
    assert "not a working day" in tyres["why"]


def test_identifiers_stay_when_the_dates_move(kit):
    before = deadlines(kit.trip_with())
    after = deadlines(kit.trip_with(start=dt.date(2027, 8, 21)))
    assert set(before["uid"]) == set(after["uid"])
    assert deadline_uid("t", "print") != deadline_uid("t", "planning")


def test_two_stays_on_one_site_have_their_own_identifiers(kit):
    stays = [{"site": "gull-field", "nights": 2}, {"site": "gull-field", "nights": 3}]
    frame = deadlines(kit.trip_with(stays=stays))
    assert frame["uid"].is_unique


def test_a_booked_stay_needs_no_booking_and_shows_its_own_dates(kit):
    trip = booked(kit, due_on=dt.date(2027, 6, 25), free_cancellation_until=dt.date(2027, 6, 10))
    frame = deadlines(trip)
    assert row(frame, "Ask for a pitch")["state"] == "done"
    assert row(frame, "Pay the balance")["on"] == dt.date(2027, 6, 22)
    assert row(frame, "Decide")["on"] == dt.date(2027, 6, 8)
    assert row(frame, "Pay the balance")["state"] == "to do"


def test_a_paid_balance_is_done_and_an_unpaid_one_is_late(kit):
    due = {"due_on": dt.date(2027, 6, 25)}
    later = dt.date(2027, 6, 28)
    assert row(deadlines(booked(kit, paid=200, **due), later), "Pay")["state"] == "done"
    assert row(deadlines(booked(kit, paid=50, **due), later), "Pay")["state"] == "late"


def test_a_late_start_of_planning_moves_what_is_past_to_that_day(kit):
    trip = kit.trip_with(deadlines_from=dt.date(2027, 4, 20))
    asked = row(deadlines(trip, dt.date(2027, 4, 20)), "Ask for a pitch")
    assert asked["on"] == dt.date(2027, 4, 20)
    assert asked["state"] == "to do"


def test_a_stay_called_off_has_no_deadlines(kit):
    frame = deadlines(booked(kit, state="called off"))
    assert set(frame["site_id"]) == {""}


def test_an_unknown_country_still_keeps_weekends(kit):
    assert working_day_before(dt.date(2027, 7, 11), None) == dt.date(2027, 7, 9)
    assert working_day_before(dt.date(2027, 7, 11), "XX") == dt.date(2027, 7, 9)


@settings(max_examples=30, deadline=None)
@given(start=st.dates(dt.date(2026, 1, 1), dt.date(2032, 12, 31)), nights=st.integers(1, 30))
def test_on_any_dates_every_deadline_is_before_what_it_is_for(kit, start, nights):
    trip = kit.trip_with(start=start, stays=[{"site": "gull-field", "nights": nights}])
    frame = deadlines(trip, dt.date(2025, 1, 1))
    assert (frame["on"] <= start).all()
    office = frame[frame["what"].str.startswith(("See that", "Look at", "Ring", "Ask"))]
    assert all(working_day_before(day, "GB") == day for day in office["on"])
