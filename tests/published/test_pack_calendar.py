"""The calendar against the worked example of its standard."""

from zoneinfo import ZoneInfo

import pytest

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
