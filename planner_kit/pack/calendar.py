"""The trip as an iCalendar file: stays, tows with their times, and deadlines with alarms."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from icalendar import Alarm, Calendar, Event, Timezone, TimezoneDaylight, TimezoneStandard

from planner_kit.files import write_whole
from planner_kit.reference import constant
from planner_kit.trip import display
from planner_kit.trip.wording import household_words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    import pandas as pd

    from planner_kit.plan import TripPlan
    from planner_kit.tow.leg import Leg

_FIRST_DAY = dt.date(2000, 1, 1)


def write_calendar(plan: TripPlan, path: Path) -> Path:
    """Write the trip as an iCalendar file.

    Parameters
    ----------
    plan : TripPlan
    path : Path
        The file; it is written whole or not at all.

    Returns
    -------
    path : Path

    Raises
    ------
    PlanFileError
        If the place cannot be written to.

    Notes
    -----
    The identity of each event depends on the trip and on what it is, not on its date nor on how
    many stays at other sites come before it; its sequence
    number is the count of days up to `planned_on`. A calendar that has read an earlier file
    therefore moves the events instead of doubling them.

    References
    ----------
    .. [1] RFC 5545, "Internet Calendaring and Scheduling Core Object Specification (iCalendar)",
       2009, sections 3.6.1, 3.6.5, 3.8.4.7 and 3.8.7.4.
    """
    write_whole(path, trip_calendar(plan).to_ical())
    return path


def trip_calendar(plan: TripPlan) -> Calendar:
    """The calendar of a trip, as `write_calendar` writes it."""
    trip = plan.files.inputs.trip
    calendar = Calendar()
    calendar.add("prodid", "-//planner_kit//trip calendar//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", trip.name)
    for zone in dict.fromkeys(leg.depart.tzinfo for leg in plan.tow.legs):
        if isinstance(zone, ZoneInfo):
            calendar.add_component(zone_rules(zone, trip.start.year - 1, trip.end.year + 1))
    visits = _visits([stay.site for stay in trip.stays])
    for visit, (_, stay) in zip(visits, plan.sites.stays.iterrows(), strict=False):
        calendar.add_component(_stay_event(plan, stay, visit))
    for number, leg in enumerate(plan.tow.legs):
        where = visits[number] if leg.kind != "home" and number < len(visits) else leg.kind
        calendar.add_component(_tow_event(plan, leg, where))
    for _, deadline in plan.sites.deadlines.iterrows():
        calendar.add_component(_deadline_event(plan, deadline))
    return calendar


def _visits(sites: Sequence[str]) -> list[str]:
    """What each stay is called, whatever stays at other sites come before it."""
    seen: Counter[str] = Counter()
    names = []
    for site in sites:
        seen[site] += 1
        names.append(f"{site}-{seen[site]}")
    return names


def zone_rules(zone: ZoneInfo, first_year: int, last_year: int) -> Timezone:
    """The changes of the clock in a time zone, one part for each change.

    Parameters
    ----------
    zone : ZoneInfo
    first_year, last_year : int
        Both are covered.

    Returns
    -------
    rules : icalendar.Timezone
        Each part begins at the wall clock's time before the change, as RFC 5545 asks.
    """
    rules = Timezone()
    rules.add("tzid", zone.key)
    begin = dt.datetime(first_year, 1, 1, tzinfo=dt.UTC)
    before = _offset(zone, begin)
    rules.add_component(_observance(zone, begin, before))
    hour = dt.timedelta(hours=1)
    day, end = begin, dt.datetime(last_year + 1, 1, 1, tzinfo=dt.UTC)
    while day < end:
        if _offset(zone, day + 24 * hour) != before:
            change = next(
                day + n * hour / 2
                for n in range(1, 49)
                if _offset(zone, day + n * hour / 2) != before
            )
            rules.add_component(_observance(zone, change, before))
            before = _offset(zone, change)
        day += 24 * hour
    return rules


def _offset(zone: ZoneInfo, moment: dt.datetime) -> dt.timedelta:
    return moment.astimezone(zone).utcoffset() or dt.timedelta(0)


def _observance(
    zone: ZoneInfo, moment: dt.datetime, before: dt.timedelta
) -> TimezoneStandard | TimezoneDaylight:
    local = moment.astimezone(zone)
    part = TimezoneDaylight() if local.dst() else TimezoneStandard()
    part.add("dtstart", (moment + before).replace(tzinfo=None))
    part.add("tzoffsetfrom", before)
    part.add("tzoffsetto", _offset(zone, moment))
    part.add("tzname", local.tzname() or zone.key)
    return part


def _event(plan: TripPlan, name: str, summary: str) -> Event:
    trip = plan.files.inputs.trip
    event = Event()
    event.add("uid", f"{trip.id}-{name}@planner-kit.invalid")
    noon = dt.datetime.combine(plan.planned_on, dt.time(12), tzinfo=dt.UTC)
    event.add("dtstamp", noon)
    event.add("sequence", max((plan.planned_on - _FIRST_DAY).days, 0))
    event.add("summary", summary)
    return event


def _stay_event(plan: TripPlan, stay: pd.Series, visit: str) -> Event:
    event = _event(plan, f"stay-{visit}", str(stay["name"]))
    event.add("dtstart", _as_date(stay["arrive"]))
    event.add("dtend", _as_date(stay["leave"]))
    event.add("transp", "TRANSPARENT")
    words = [f"{stay['nights']} nights"]
    for label, key in (
        ("booking", "booking_state"), ("reference", "booking_reference"), ("phone", "phone"),
        ("arrive from", "arrive_from"), ("arrive until", "arrive_until"),
        ("leave by", "depart_by"),
    ):  # fmt: skip
        text = stay.get(key, "")
        if not display.is_missing(text) and str(text):
            words.append(f"{label}: {text}")
    event.add("description", "\n".join(words))
    if stay["site_id"] in plan.files.sites.index:
        site = plan.files.sites.loc[stay["site_id"]]
        event.add("geo", (round(float(site["lat"]), 5), round(float(site["lon"]), 5)))
    return event


def _tow_event(plan: TripPlan, leg: Leg, where: str) -> Event:
    units = plan.files.inputs.household.units
    event = _event(plan, f"tow-to-{where}", f"Tow to {leg.to_name}")
    event.add("dtstart", leg.depart)
    event.add("dtend", leg.arrive)
    words = [
        f"{leg.from_name} to {leg.to_name}",
        f"{display.distance(leg.route.length_km, units)}, "
        f"{display.duration(leg.route.time_min)} of driving",
    ]
    for _, rest in leg.rests.iterrows():
        words.append(f"rest {display.clock(rest['arrive'], units)}: {rest['name']}")
    words += [household_words(check.sentence, units) for check in leg.route.near_limits]
    event.add("description", "\n".join(words))
    return event


def _deadline_event(plan: TripPlan, deadline: pd.Series) -> Event:
    event = _event(plan, f"deadline-{deadline['uid']}", str(deadline["what"]))
    day = _as_date(deadline["on"])
    event.add("dtstart", day)
    event.add("dtend", day + dt.timedelta(days=1))
    event.add("transp", "TRANSPARENT")
    units = plan.files.inputs.household.units
    event.add("description", household_words(str(deadline["why"]), units))
    if deadline["state"] != "done":
        alarm = Alarm()
        alarm.add("action", "DISPLAY")
        alarm.add("description", str(deadline["what"]))
        before_h = constant("pack", "alarm_before_deadline_h").value
        alarm.add("trigger", -dt.timedelta(hours=before_h))
        event.add_component(alarm)
    return event


def _as_date(day: dt.date) -> dt.date:
    """A plain date, from a date, a datetime or a Timestamp."""
    return day.date() if isinstance(day, dt.datetime) else day
