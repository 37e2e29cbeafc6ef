from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.tow.passing import meeting_delay_s, meetings_on, passing_width_m

from .conftest import make_region


def lane(**changes):
    """One road of exactly a kilometre."""
    kind = {"road_class": "unclassified", "width_m": 3.0, "length_m": 1000.0, **changes}
    return make_region([(52.0, 0.0), (52.0, 0.0146)], [(0, 1, kind)]).roads


def delay_s(vehicle_m=2.3, speed_kmh=36.0, *, towing=True, **changes):
    meetings = meetings_on(lane(**changes))
    if not len(meetings.rows):
        return 0.0
    return float(meeting_delay_s(meetings, vehicle_m, np.array([speed_kmh]), towing=towing)[0])


def test_delay_on_a_lane_is_that_of_paper():
    # Half of 150 m at 10 m/s and 8 s of slowing make 15.5 s of waiting; backing 37.5 m at 3 km/h
    # takes 45 s more. Every second meeting is the other's, 35 % of the rest are backed out of.
    each_s = 0.5 * (0.65 * 15.5 + 0.35 * 60.5)
    oncoming = meetings_on(lane()).oncoming_km_h[0]
    assert oncoming > 0
    assert delay_s() == pytest.approx(oncoming * 2 / 36 * each_s)


def test_caravan_is_backed_more_slowly_than_a_car():
    assert delay_s(towing=True) > delay_s(towing=False) > 0


def test_places_to_pass_shorten_the_wait():
    assert 0 < delay_s(passing_places=15) < delay_s()


@pytest.mark.parametrize(
    "changes",
    [{"oneway": 1}, {"width_m": np.nan}, {"road_class": "ferry"}, {"width_m": 6.0}],
    ids=["one-way", "unknown width", "ferry", "wide"],
)
def test_no_delay_where_nobody_has_to_wait(changes):
    assert delay_s(**changes) == 0


def test_delay_begins_where_two_vehicles_do_not_pass():
    width = passing_width_m(2.3)
    assert width == pytest.approx(2.3 + 2.0 + 0.45)
    for wide in (width - 0.01, width + 0.01):
        meetings = meetings_on(lane(width_m=wide))
        delay = meeting_delay_s(meetings, 2.3, np.full(len(meetings.rows), 36.0), towing=True)
        assert (delay.sum() > 0) == (wide < width)


@given(wide=st.floats(1.8, 2.55), wider=st.floats(0, 0.4), speed=st.floats(1, 120))
@settings(max_examples=50, deadline=None)
def test_wider_outfit_never_waits_less(wide, wider, speed):
    assert delay_s(wide + wider, speed) >= delay_s(wide, speed) >= 0
