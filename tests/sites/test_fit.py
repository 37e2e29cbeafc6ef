"""Whether a site suits the outfit, the dates and those who come."""

import datetime as dt

import pytest

from planner_kit.sites import check_fit, is_open
from planner_kit.sites.fit import check_pitch
from planner_kit.states import State

ARRIVE, LEAVE = dt.date(2027, 7, 10), dt.date(2027, 7, 17)


def states(kit, household=None, **site):
    checks = check_fit(
        kit.site_frame(**site).iloc[0], kit.household_with(**(household or {})), ARRIVE, LEAVE,
        arrive_at=dt.time(15, 0), depart_at=dt.time(10, 0),
    )  # fmt: skip
    return {check.subject.split(" at ")[0].split(" of ")[0].split(" from ")[0]: check.state
            for check in checks}  # fmt: skip


def test_a_site_that_suits_is_fine_in_every_check(kit):
    assert set(states(kit).values()) == {State.FINE}
    assert len(states(kit)) == 9


@pytest.mark.parametrize(
    ("column", "subject"),
    [
        ("pitch_length_m", "pitch size"),
        ("max_outfit_length_m", "longest outfit"),
        ("open_from", "open season"),
        ("min_nights", "shortest stay"),
        ("hookup_a", "hook-up"),
        ("dogs", "dogs"),
        ("arrive_until", "arrival"),
        ("depart_by", "departure"),
    ],
)
def test_what_the_list_does_not_say_is_unknown(kit, column, subject):
    assert states(kit, **{column: None})[subject] is State.UNKNOWN


@pytest.mark.parametrize(
    ("site", "subject", "state"),
    [
        ({"dogs": "no"}, "dogs", State.NOT_FINE),
        ({"hookup_a": 0}, "hook-up", State.NOT_FINE),
        ({"min_nights": 8}, "shortest stay", State.NOT_FINE),
        ({"open_to": "07-15"}, "open season", State.NOT_FINE),
        ({"open_to": "07-16"}, "open season", State.LOOK),
        ({"open_to": "07-17"}, "open season", State.FINE),
        ({"max_outfit_length_m": 11.7}, "longest outfit", State.NOT_FINE),
        ({"max_outfit_length_m": 12.0}, "longest outfit", State.LOOK),
        ({"arrive_until": "14:59"}, "arrival", State.NOT_FINE),
        ({"arrive_until": "15:30"}, "arrival", State.LOOK),
        ({"arrive_from": "15:30"}, "arrival", State.LOOK),
        ({"depart_by": "09:30"}, "departure", State.NOT_FINE),
    ],
)
def test_the_figure_decides(kit, site, subject, state):
    assert states(kit, **site)[subject] is state


def test_members_only_needs_a_membership_that_lasts(kit):
    site = {"members_only": "yes"}
    assert states(kit, **site)["membership"] is State.FINE
    assert states(kit, {"memberships": []}, **site)["membership"] is State.NOT_FINE
    club = {"id": "van-friends", "name": "V", "valid_until": dt.date(2027, 7, 15)}
    assert states(kit, {"memberships": [club]}, **site)["membership"] is State.NOT_FINE
    assert states(kit, {"memberships": [club]})["membership"] is State.LOOK


# Caravan 7.1 m by 2.3 m, awning 2.5 m deep, car 4.7 m by 1.9 m, 0.5 m of room each way, 1 m for
# car doors: beside it all needs 7.6 m by 8.2 m, in front 12.3 m by 5.3 m.
@pytest.mark.parametrize(
    ("length", "width", "state", "words"),
    [
        (7.6, 8.2, State.FINE, "car beside"),
        (12.3, 5.3, State.FINE, "car in front"),
        (10.0, 6.0, State.LOOK, "car has to stand elsewhere"),
        (7.6, 3.0, State.LOOK, "only without the awning"),
        (7.5, 8.2, State.NOT_FINE, "does not fit"),
    ],
)
def test_the_pitch_is_compared_with_each_way_of_standing(kit, length, width, state, words):
    site = kit.site_frame(pitch_length_m=length, pitch_width_m=width).iloc[0]
    check = check_pitch(site, kit.household_with(), awning=True)
    assert check.state is state
    assert words in check.sentence
    assert (check.margin >= -1e-9) is (state is not State.NOT_FINE)


def test_a_missing_awning_depth_or_car_size_is_not_taken_for_fitting(kit):
    bare = {**kit.HOUSEHOLD["caravan"], "awning_depth_m": None}
    site = kit.site_frame().iloc[0]
    assert check_pitch(site, kit.household_with(caravan=bare), awning=True).state is State.UNKNOWN
    car = {"name": "car", "fuel": "diesel"}
    assert check_pitch(site, kit.household_with(car=car), awning=True).state is State.UNKNOWN
    assert check_pitch(site, kit.household_with(caravan=bare), awning=False).state is State.FINE


def test_a_season_over_the_turn_of_the_year_is_understood(kit):
    site = kit.site_frame(open_from="11-01", open_to="03-15").iloc[0]
    assert is_open(site, dt.date(2027, 12, 28), dt.date(2028, 1, 3)) is True
    assert is_open(site, dt.date(2027, 3, 14), dt.date(2027, 3, 16)) is False
    assert is_open(site, dt.date(2027, 7, 1), dt.date(2027, 7, 3)) is False
