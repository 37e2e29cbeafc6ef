import datetime as dt

import pandas as pd
import pytest

from planner_kit.outings import SunTimes, sun_table
from planner_kit.outings.entry import party_of
from planner_kit.outings.stay_checks import (
    access_checks,
    light_checks,
    pin_checks,
    unreadable_hours,
)
from planner_kit.states import State
from tests.outings.conftest import make_household, make_inputs

ZONE = "Europe/London"
DAY = dt.date(2027, 12, 20)
START, END = dt.date(2027, 7, 24), dt.date(2027, 7, 29)


def chosen(*rows):
    base = {"name": "Gull Castle", "dogs": "", "wheelchair": ""}
    return pd.DataFrame([{**base, **row} for row in rows])


def access(frame, **household):
    home = make_household(**household)
    return access_checks(home, party_of(home), frame)


def test_household_without_dog_or_need_is_asked_nothing():
    assert access(chosen({"dogs": "no", "wheelchair": "no"})) == []


def test_dog_that_may_not_come_is_to_look_at_and_unknown_is_unknown():
    dogs = [{"name": "Rex"}]
    (barred,) = access(chosen({"dogs": "no"}, {"name": "Quay", "dogs": "yes"}), dogs=dogs)
    assert barred.state is State.LOOK
    assert "Rex may not come at Gull Castle" in barred.sentence
    (unsure,) = access(chosen({"dogs": "yes"}, {"name": "Quay", "dogs": "perhaps"}), dogs=dogs)
    assert unsure.state is State.UNKNOWN
    assert "not known of Quay" in unsure.sentence
    (fine,) = access(chosen({"dogs": "on a lead"}), dogs=dogs)
    assert fine.state is State.FINE


def test_steps_are_told_to_those_who_need_none():
    people = [{"name": "Ida", "step_free": True}, {"name": "Tam"}]
    (found,) = access(chosen({"wheelchair": "limited"}), people=people)
    assert found.state is State.LOOK
    assert "only in part at Gull Castle" in found.sentence[:1].lower() + found.sentence[1:]


def back_at(*hours):
    moments = [pd.Timestamp(dt.datetime.combine(DAY, dt.time(h)), tz=ZONE) for h in hours]
    return pd.DataFrame({"day": [DAY] * len(hours), "end": moments})


@pytest.mark.parametrize(
    ("hour", "state", "words"),
    [
        (14, State.FINE, "before sunset"),
        (16, State.LOOK, "twilight"),
        (18, State.LOOK, "dark from"),
    ],
)
def test_light_of_the_way_home_on_the_shortest_days(hour, state, words):
    # At 51.5 N the sun sets at 15:53 that day and civil twilight ends about 16:32.
    (found,) = light_checks(back_at(hour), sun_table(51.5, 0.0, [DAY], ZONE))
    assert found.state is state
    assert words in found.sentence


def test_sun_that_does_not_set_is_unknown_and_not_fine():
    june = dt.date(2027, 6, 21)
    planned = pd.DataFrame({"day": [june], "end": [pd.Timestamp("2027-06-21 17:00", tz=ZONE)]})
    (found,) = light_checks(planned, sun_table(71.0, 25.0, [june], ZONE))
    assert found.state is State.UNKNOWN
    assert SunTimes(None, None, None, None).daylight_min != 0


def test_pin_outside_the_trip_or_of_no_known_place_is_told():
    pins = {"Gull Castle": dt.date(2028, 1, 1), "Moon": dt.date(2027, 7, 25)}
    inputs = make_inputs({"pinned": pins})
    ranking = pd.DataFrame({"name": ["Gull Castle"], "attraction_id": ["gull"]})
    given = inputs.trip, ranking, pd.DataFrame(columns=["attraction_id", "why"]), START, END
    states = {check.subject: check for check in pin_checks(*given)}
    assert states["pinned Gull Castle"].state is State.NOT_FINE
    assert "no day of this trip" in states["pinned Gull Castle"].sentence
    assert "neither in the list nor on the map" in states["pinned Moon"].sentence


def test_pin_that_does_not_fit_is_not_fine_on_its_own_stay_alone():
    inputs = make_inputs({"pinned": {"Gull Castle": dt.date(2027, 7, 25)}})
    ranking = pd.DataFrame({"name": ["Gull Castle"], "attraction_id": ["gull"]})
    left = pd.DataFrame({"attraction_id": ["gull"], "why": ["the day is too short"]})
    (found,) = pin_checks(inputs.trip, ranking, left, START, END)
    assert found.state is State.NOT_FINE
    assert "left out although it is pinned: the day is too short" in found.sentence
    later = START + dt.timedelta(days=30), END + dt.timedelta(days=30)
    assert pin_checks(inputs.trip, ranking, left, *later) == []


def test_hours_that_cannot_be_read_are_told_with_their_text():
    places = pd.DataFrame(
        {"name": ["Gull Castle", "Quay", "Pier"],
         "opening_hours": ["when the flag is up", "Mo-Su 10:00-17:00", ""]}
    )  # fmt: skip
    told = unreadable_hours(places)
    assert "Gull Castle ('when the flag is up') cannot be read" in told
    assert "Quay" not in told
    assert "Pier" not in told
    assert unreadable_hours(places.iloc[1:]) == ""
