"""The calendar against the worked example of its standard."""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest
import vobject
from icalendar import Calendar, Event

from planner_kit.pack.calendar import zone_rules

RFC = (
    "RFC 5545 (September 2009), section 4, VTIMEZONE of the second example, as quoted in erratum "
    "3740, https://rfc-editor.org/errata/eid3740, stored copy read 2026-11-25"
)


def parts_of(kind: str) -> list[set[str]]:
    rules = zone_rules(ZoneInfo("America/New_York"), 1998, 1999).to_ical().decode()
    pieces = rules.split(f"BEGIN:{kind}\r\n")[1:]
    return [set(piece.split(f"END:{kind}")[0].split("\r\n")) - {""} for piece in pieces]


@pytest.mark.published(source=RFC)
def test_new_york_leaves_summer_time_in_1998_as_in_the_standard() -> None:
    assert {
        "DTSTART:19981025T020000", "TZOFFSETFROM:-0400", "TZOFFSETTO:-0500", "TZNAME:EST",
    } in parts_of("STANDARD")  # fmt: skip


@pytest.mark.published(source=RFC)
def test_new_york_begins_summer_time_in_1999_as_in_the_standard() -> None:
    assert {
        "DTSTART:19990404T020000", "TZOFFSETFROM:-0500", "TZOFFSETTO:-0400", "TZNAME:EDT",
    } in parts_of("DAYLIGHT")  # fmt: skip


FOLDING = (
    "RFC 5545 (September 2009), section 3.1, as told at docs.rs/ics-core, parser::unfold, and in "
    "the older RFC 2445 at foodcandy.com (Semaview iCal), stored copies read 2026-11-25: lines are "
    "not longer than 75 octets; a CRLF and one space or tab are taken out again"
)


@pytest.mark.published(source=FOLDING)
@pytest.mark.parametrize(
    "words",
    [
        "This is a long description that exists on a long line. " * 6,
        "Überfahrt; Fähre, Stellplatz \\ Zufahrt – " * 9,
        "שלום 😀 " * 40,
        "x" * 400,
    ],
)
def test_long_lines_are_folded_and_two_readers_unfold_them(words):
    calendar, event = Calendar(), Event()
    calendar.add("version", "2.0")
    calendar.add("prodid", "-//planner_kit//test//EN")
    event.add("uid", "one@planner-kit.invalid")
    event.add("dtstart", dt.date(2027, 7, 24))
    event.add("description", words)
    calendar.add_component(event)
    written = calendar.to_ical()
    assert all(len(line) <= 75 for line in written.split(b"\r\n"))
    by_hand = written.replace(b"\r\n ", b"").replace(b"\r\n\t", b"").decode()
    escaped = words.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    assert f"DESCRIPTION:{escaped}" in by_hand
    assert vobject.readOne(written.decode()).vevent.description.value == words


@pytest.mark.published(
    source="Python standard library, zoneinfo over the IANA database; vobject 0.9.9 reads "
    "the VTIMEZONE that the kit writes"
)
@pytest.mark.parametrize("zone_name", ["Europe/London", "Europe/Paris", "America/New_York"])
def test_written_zone_rules_give_the_offsets_of_the_database_round_each_change(zone_name):
    zone = ZoneInfo(zone_name)
    calendar = Calendar()
    calendar.add_component(zone_rules(zone, 2026, 2028))
    for month, day in ((3, 14), (3, 28), (10, 31), (11, 7), (7, 1), (12, 24)):
        for hour in (0, 3, 12, 23):
            event = Event()
            event.add("uid", f"{month}-{day}-{hour}")
            event.add("dtstart", dt.datetime(2027, month, day, hour, 30, tzinfo=zone))
            calendar.add_component(event)
    read = vobject.readOne(calendar.to_ical().decode())
    for event in read.vevent_list:
        moment = event.dtstart.value
        expected = moment.replace(tzinfo=zone)
        assert moment.utcoffset() == expected.utcoffset(), moment
