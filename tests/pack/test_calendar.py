"""The calendar, read back with a parser that did not write it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from zoneinfo import ZoneInfo

import pandas as pd
import pytest
import vobject

from planner_kit.pack import write_calendar
from planner_kit.plan import TripPlan


def events_of(path: Path) -> dict[str, vobject.base.Component]:
    calendar = vobject.readOne(path.read_text(encoding="utf-8"))
    return {str(event.summary.value): event for event in calendar.vevent_list}


def test_stays_tows_and_deadlines_with_their_times(plan: TripPlan, tmp_path: Path) -> None:
    events = events_of(write_calendar(plan, tmp_path / "trip.ics"))
    assert len(events) == 1 + 2 + 3
    stay = events["Saltmarsh Farm, Oxharrow"]
    assert (stay.dtstart.value, stay.dtend.value) == (dt.date(2027, 7, 24), dt.date(2027, 7, 31))
    assert "SM-20417" in stay.description.value
    tow = events["Tow to Saltmarsh Farm, Oxharrow"]
    assert tow.dtstart.value == dt.datetime(2027, 7, 24, 13, 0, tzinfo=ZoneInfo("Europe/London"))
    assert tow.dtstart.value.utcoffset() == dt.timedelta(hours=1)
    assert "rest 13:31: Hallin Cross picnic site" in tow.description.value
    late = events["Book the ferry to Penny Holm"]
    assert late.dtstart.value == dt.date(2027, 2, 1)
    assert late.valarm.trigger.value == -dt.timedelta(hours=15)
    assert late.valarm.action.value == "DISPLAY"


def test_same_plan_same_bytes_and_lines_are_folded(plan: TripPlan, tmp_path: Path) -> None:
    first = write_calendar(plan, tmp_path / "a.ics").read_bytes()
    assert write_calendar(plan, tmp_path / "b.ics").read_bytes() == first
    assert all(len(line) <= 75 for line in first.split(b"\r\n"))
    assert b"DTSTAMP:20270301T120000Z" in first
    assert b"BEGIN:VTIMEZONE" in first


def test_later_plan_moves_the_same_events(plan: TripPlan, tmp_path: Path) -> None:
    def identities(of: TripPlan, name: str) -> dict[str, int]:
        events = events_of(write_calendar(of, tmp_path / name)).values()
        return {e.uid.value: int(e.sequence.value) for e in events}

    earlier = identities(plan, "a.ics")
    legs = tuple(
        replace(leg, depart=leg.depart + dt.timedelta(days=3), arrive=leg.arrive)
        for leg in plan.tow.legs
    )
    moved = replace(
        plan, planned_on=plan.planned_on + dt.timedelta(days=1), tow=replace(plan.tow, legs=legs)
    )
    later = identities(moved, "b.ics")
    assert later.keys() == earlier.keys()
    assert all(later[uid] > earlier[uid] for uid in earlier)


def test_a_stay_put_before_the_others_leaves_their_events_as_they_are(
    plan: TripPlan, tmp_path: Path
) -> None:
    def uids(of: TripPlan, name: str) -> set[str]:
        calendar = vobject.readOne(write_calendar(of, tmp_path / name).read_text(encoding="utf-8"))
        return {str(event.uid.value) for event in calendar.vevent_list}

    trip = plan.files.inputs.trip
    first = trip.stays[0].model_copy(update={"site": "new-field", "nights": 1})
    longer = trip.model_copy(update={"stays": (first, *trip.stays)})
    row = plan.sites.stays.iloc[[0]].assign(site_id="new-field", name="New Field")
    out, home = plan.tow.legs
    changed = replace(
        plan,
        files=replace(plan.files, inputs=replace(plan.files.inputs, trip=longer)),
        sites=replace(plan.sites, stays=pd.concat([row, plan.sites.stays])),
        tow=replace(plan.tow, legs=(out, replace(out, kind="move"), home)),
    )
    before, after = uids(plan, "a.ics"), uids(changed, "b.ics")
    assert before < after
    assert len(after - before) == 2  # the new stay and the tow to it


@pytest.mark.parametrize(
    ("day", "offset_h"), [(dt.date(2027, 10, 30), 1), (dt.date(2027, 10, 31), 0)]
)
def test_tow_across_the_end_of_summer_time_keeps_the_clock(
    plan: TripPlan, tmp_path: Path, day: dt.date, offset_h: int
) -> None:
    zone = ZoneInfo("Europe/London")
    depart = dt.datetime.combine(day, dt.time(9, 30), zone)
    leg = replace(plan.tow.legs[0], day=day, depart=depart, arrive=depart + dt.timedelta(hours=2))
    autumn = replace(plan, tow=replace(plan.tow, legs=(leg,)))
    events = events_of(write_calendar(autumn, tmp_path / "trip.ics"))
    found = events["Tow to Saltmarsh Farm, Oxharrow"].dtstart.value
    assert found.replace(tzinfo=None) == dt.datetime.combine(day, dt.time(9, 30))
    assert found.utcoffset() == dt.timedelta(hours=offset_h)


def test_words_of_people_are_escaped(make_plan: Callable[..., TripPlan], tmp_path: Path) -> None:
    plan = make_plan()
    nasty = "Pay; now, please\\n\nBEGIN:VALARM\nX:1 שלום 😀"
    deadlines = plan.sites.deadlines.assign(what=nasty)
    plan = replace(plan, sites=replace(plan.sites, deadlines=deadlines.iloc[:1]))
    path = write_calendar(plan, tmp_path / "trip.ics")
    assert nasty in events_of(path)
    assert path.read_text(encoding="utf-8").count("BEGIN:VALARM\r\n") == 1 or (
        path.read_bytes().count(b"\r\nBEGIN:VALARM\r\n") == 1
    )


def test_trip_without_bookings_has_stays_and_tows_only(bare_plan: TripPlan, tmp_path: Path) -> None:
    events = events_of(write_calendar(bare_plan, tmp_path / "trip.ics"))
    assert not [e for e in events.values() if hasattr(e, "valarm")]
    assert len(events) == 2
