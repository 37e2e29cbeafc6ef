"""Whatever validates can be written and read back the same."""

import datetime as dt
import tomllib

from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.trip import Household, Trip, file_text, moved_trip
from planner_kit.trip.trip import BOOKING_STATES, Booking, Stay

words = st.text(
    st.characters(blacklist_categories=["Cs"], blacklist_characters="\x00"), min_size=1, max_size=30
)
ids = st.from_regex(r"[a-z0-9][a-z0-9_-]{0,10}", fullmatch=True)
days = st.dates(dt.date(2020, 1, 1), dt.date(2040, 1, 1))
money = st.floats(0, 9999, allow_nan=False).map(lambda amount: round(amount, 2))


@st.composite
def trips(draw: st.DrawFn) -> Trip:
    start = draw(days)
    booking = st.builds(
        Booking,
        state=st.sampled_from(BOOKING_STATES),
        reference=words,
        price=st.none() | money,
        paid=money,
        due_on=st.none() | st.just(start),
    )
    stays = st.lists(
        st.builds(Stay, site=ids, nights=st.integers(1, 20), booking=booking, awning=st.booleans()),
        min_size=1,
        max_size=3,
    )
    return Trip.model_validate(
        {
            "schema": 1,
            "id": draw(ids),
            "name": draw(words),
            "start": start,
            "files": {"region": draw(words)},
            "stays": tuple(draw(stays)),
            "tow": {"depart": draw(st.times().map(lambda time: time.replace(microsecond=0)))},
            "notes": tuple(draw(st.lists(words, max_size=3))),
            "actuals": draw(
                st.none()
                | st.fixed_dictionaries(
                    {"tow_km": money, "spent": st.just(({"kind": "fuel", "amount": 12.5},))}
                )
            ),
        }
    )


@st.composite
def households(draw: st.DrawFn) -> Household:
    return Household.model_validate(
        {
            "schema": 1,
            "name": draw(words),
            "home": {"lat": draw(st.floats(-90, 90)), "lon": draw(st.floats(-180, 180))},
            "people": [
                {"name": name, "born": draw(st.none() | days)}
                for name in draw(st.lists(words, min_size=1, max_size=4))
            ],
            "car": {"name": "car", "fuel": draw(st.sampled_from(["diesel", "electric"]))},
            "caravan": {"name": "van", "mtplm_kg": draw(st.none() | st.floats(300, 3500))},
        }
    )


@given(trips())
@settings(max_examples=50, deadline=None)
def test_trip_reads_back_the_same(trip: Trip) -> None:
    assert Trip.model_validate(tomllib.loads(file_text(trip))) == trip


@given(households())
@settings(max_examples=50, deadline=None)
def test_household_reads_back_the_same(household: Household) -> None:
    assert Household.model_validate(tomllib.loads(file_text(household))) == household


@given(trips(), days)
@settings(max_examples=50, deadline=None)
def test_moved_trip_keeps_its_length_and_nothing_booked(trip: Trip, start: dt.date) -> None:
    moved = moved_trip(trip, start)
    assert moved.start == start
    assert moved.end - moved.start == trip.end - trip.start
    assert moved.actuals is None
    for stay in moved.stays:
        assert stay.booking == Booking()
