import datetime as dt
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.outings import DayLimits, SunTimes, opening_of, plan_days

LONDON = ZoneInfo("Europe/London")
DAYS = [dt.date(2027, 7, 26) + dt.timedelta(days=n) for n in range(4)]  # Monday to Thursday
LIMITS = DayLimits(back_by=dt.time(18), max_drive_min=120)


def places(*rows):
    base = {"indoor": "no", "drive_min": 20.0, "time_needed_min": 120.0, "cost": 0.0}
    frame = pd.DataFrame([{**base, "currency": "GBP", **row} for row in rows])
    return frame.assign(attraction_id=list("abcdefgh")[: len(frame)]).assign(
        name=lambda f: "Place " + f["attraction_id"]
    )


def planned(frame, hours="Mo-Su 10:00-17:00", limits=LIMITS, days=DAYS, **more):
    texts = [hours] * len(frame) if isinstance(hours, str) else hours
    table = {
        key: opening_of(text, days, zone=LONDON)
        for key, text in zip(frame["attraction_id"], texts, strict=True)
    }
    found = plan_days(frame, table, days, limits, zone=LONDON, **more)
    assert found.gap_frac < 1e-6
    return found.days, found.left_out


def setting_sun(day, sunset_h, dusk_h):
    sunset, dusk = (dt.datetime.combine(day, dt.time(h), LONDON) for h in (sunset_h, dusk_h))
    return SunTimes(None, None, sunset, dusk)


def outings(plan):
    return plan[plan["what"] == "outing"]


def test_outing_waits_for_the_day_it_is_open():
    plan, left = planned(places({}), hours="We 11:00-15:00")
    row = outings(plan).iloc[0]
    assert row["day"] == dt.date(2027, 7, 28)
    assert f"{row['arrive']:%H:%M}" == "11:00"
    assert left.empty


def test_drive_is_reckoned_both_ways_with_its_margin():
    row = outings(planned(places({"drive_min": 40.0}))[0]).iloc[0]
    assert row["drive_min"] == pytest.approx(2 * 40 * 1.15)
    assert (row["end"] - row["leave"]) == pd.Timedelta(minutes=50)  # 46 min in steps of 5


def test_closed_on_every_day_is_left_out_with_the_days():
    plan, left = planned(places({}), hours="Sa,Su 10:00-17:00")
    assert outings(plan).empty
    assert "closed on Mon 26 Jul" in left.loc[0, "why"]
    assert set(plan["what"]) == {"rest"}


def test_too_far_unknown_drive_and_never_are_left_out_with_their_reason():
    frame = places({"drive_min": 80.0}, {"drive_min": np.nan}, {})
    _, left = planned(frame, never=["c"])
    why = dict(zip(left["attraction_id"], left["why"], strict=True))
    assert "driving allows" in why["a"]
    assert why["b"] == "the way to it is not known"
    assert why["c"] == "it is on the never list"


def test_rest_days_stay_free():
    plan, left = planned(places(*[{}] * 8), limits=DayLimits(dt.time(18), 120, rest_days=3))
    assert (plan["what"] == "rest").sum() == 3
    assert len(outings(plan)) == 2
    assert len(left) == 6


def test_must_goes_before_what_ranks_higher():
    frame = places(*[{"time_needed_min": 300.0}] * 5)
    plan, left = planned(frame, must=["e"])
    assert outings(plan).iloc[0]["attraction_id"] == "e"
    assert "a must" in outings(plan).iloc[0]["why"]
    assert list(left["attraction_id"]) == ["d"]


def test_must_that_opens_rarely_gets_its_day_first():
    frame = places(*[{"time_needed_min": 300.0}] * 2)
    plan, left = planned(frame, ["Mo-Su 10:00-17:00", "Mo 10:00-17:00"], must=["a", "b"])
    assert left.empty
    assert dict(zip(plan["attraction_id"], plan["day"], strict=True))["b"] == DAYS[0]


def test_budget_stops_dear_places_and_says_what_is_left():
    plan, left = planned(
        places({"cost": 30.0}, {"cost": 25.0}, {"cost": 8.0}),
        limits=DayLimits(dt.time(18), 120, budget=40),
    )
    assert set(outings(plan)["attraction_id"]) == {"a", "c"}
    assert "2.00 GBP of the budget are left" in left.loc[0, "why"]


def test_wet_day_has_a_roof_that_is_open_then():
    frame = places({}, {"indoor": "yes", "time_needed_min": 100.0}, *[{}] * 6)
    frame.loc[1, "drive_min"] = 50.0
    hours = ["Mo-Su 10:00-17:00", "Tu 10:00-17:00", *["Mo-Su 10:00-17:00"] * 6]
    frame = frame.iloc[[0, 2, 3, 4, 5, 6, 7, 1]].reset_index(drop=True)
    hours = [hours[i] for i in (0, 2, 3, 4, 5, 6, 7, 1)]
    plan, _ = planned(frame, hours)
    wet = plan[plan["what"] == "wet-day plan"]
    assert list(wet["attraction_id"]) == ["b"]
    assert list(wet["day"]) == [dt.date(2027, 7, 27)]


def test_unknown_hours_under_the_sky_end_by_sunset_and_say_ask():
    light = {day: setting_sun(day, 12, 12) for day in DAYS}
    plan, _ = planned(places({}), hours="", light=light)
    row = outings(plan).iloc[0]
    assert row["leave"] <= light[row["day"]].sunset
    assert "ask before you go" in row["why"]
    late, left = planned(places({"time_needed_min": 200.0}), hours="", light=light)
    assert outings(late).empty
    assert "does not fit" in left.loc[0, "why"]


def test_stay_without_a_free_day_plans_nothing_and_says_so():
    plan, left = planned(places({}), days=[])
    assert plan.empty
    assert left.loc[0, "why"] == "no day of the stay is free for outings"


some = st.fixed_dictionaries(
    {
        "indoor": st.sampled_from(["yes", "no", "part", ""]),
        "drive_min": st.one_of(st.just(float("nan")), st.floats(1, 90)),
        "time_needed_min": st.one_of(st.just(float("nan")), st.floats(15, 500)),
        "cost": st.one_of(st.just(float("nan")), st.floats(0, 40)),
    }
)
opening = st.sampled_from(["", "Mo-Su 10:00-17:00", "Tu,Th 13:00-16:00", "Mo 09:00-12:00", "24/7"])


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(some, opening), min_size=1, max_size=8), st.integers(0, 5))
def test_every_plan_keeps_hours_drive_time_and_budget(rows, rest):
    frame = places(*[row for row, _ in rows])
    limits = DayLimits(dt.time(17, 30), 100, rest_days=rest, budget=60)
    hours = {
        key: opening_of(text, DAYS, zone=LONDON)
        for key, (_, text) in zip(frame["attraction_id"], rows, strict=True)
    }
    found = plan_days(frame, hours, DAYS, limits, zone=LONDON)
    plan, left = found.days, found.left_out
    trips = outings(plan)
    assert not trips["attraction_id"].duplicated().any()
    assert set(trips["attraction_id"]) | set(left["attraction_id"]) == set(frame["attraction_id"])
    assert trips["cost"].sum() <= 60 + 1e-9
    assert set(plan["day"]) == set(DAYS)
    assert len(trips["day"].unique()) <= len(DAYS) - min(rest, len(DAYS))
    for day, group in trips.groupby("day"):
        assert group["drive_min"].sum() <= 100 + 1e-9
        assert group["end"].max() <= pd.Timestamp(dt.datetime.combine(day, limits.back_by, LONDON))
        assert (group["start"].iloc[1:].to_numpy() >= group["end"].iloc[:-1].to_numpy()).all()
    for row in plan[plan["what"] != "rest"].to_dict("records"):
        that_day = hours[row["attraction_id"]][DAYS.index(row["day"])]
        assert that_day.state != "closed"
        if that_day.state == "open":
            assert any(a <= row["arrive"] and row["leave"] <= b for a, b in that_day.opens)


def test_way_home_after_sunset_is_told_and_in_the_dark_too():
    frame = places({"time_needed_min": 300.0})
    after = {day: setting_sun(day, 14, 21) for day in DAYS}
    assert (
        "in twilight, sunset is at 14:00" in outings(planned(frame, light=after)[0]).iloc[0]["why"]
    )
    dark = {day: setting_sun(day, 14, 15) for day in DAYS}
    assert "in the dark" in outings(planned(frame, light=dark)[0]).iloc[0]["why"]
    light = {day: setting_sun(day, 20, 21) for day in DAYS}
    assert "sunset" not in outings(planned(frame, light=light)[0]).iloc[0]["why"]


def test_back_before_dark_shortens_the_day():
    light = {day: setting_sun(day, 14, 15) for day in DAYS}
    limits = DayLimits(dt.time(18), 120, before_dark=True)
    plan, left = planned(places({"time_needed_min": 300.0}), light=light, limits=limits)
    assert outings(plan).empty
    assert "does not fit" in left.loc[0, "why"]


def test_edit_that_asks_for_no_reasons_gets_none_and_one_that_asks_gets_it():
    frame = places(*[{"time_needed_min": 300.0}] * 6)
    _, left = planned(frame, explain=())
    assert set(left["why"]) == {"the days are full with places that are worth more"}
    _, left = planned(frame, explain=("f",))
    why = dict(zip(left["attraction_id"], left["why"], strict=True))
    assert "would push out" in why["f"]
    assert "push out" not in why["e"]
