"""Opening hours, against what the OpenStreetMap pages and programs say that values mean."""

import datetime as dt
from zoneinfo import ZoneInfo

import pytest

from planner_kit.outings import opening_of
from planner_kit.region.opening import holiday_on

BERLIN = ZoneInfo("Europe/Berlin")
# 2027-03-01 is a Monday; no German holiday falls on the days used unless a test says so.
WEEK = [dt.date(2027, 3, 1) + dt.timedelta(days=n) for n in range(7)]
WIKI = 'OpenStreetMap wiki, "Key:opening_hours", explained examples (stored copy read 2026-11-25)'


def week(value, days=WEEK, **more):
    return [one.text for one in opening_of(value, days, zone=BERLIN, country="DE", **more)]


@pytest.mark.published(source=WIKI)
@pytest.mark.parametrize(
    ("value", "expected"),
    [
        # on weekdays from 8:00 to 17:30
        ("Mo-Fr 08:00-17:30", ["08:00-17:30"] * 5 + ["closed"] * 2),
        # the same, but closed from 12:00 to 13:00
        (
            "Mo-Fr 08:00-12:00,13:00-17:30",
            ["08:00-12:00, 13:00-17:30"] * 5 + ["closed"] * 2,
        ),
        # on Monday and Wednesday from 8:00 to 12:00
        (
            "Mo,We 08:00-12:00",
            ["08:00-12:00", "closed", "08:00-12:00", "closed", "closed", "closed", "closed"],
        ),
        # and on Saturday morning too
        (
            "Mo-Fr 08:00-12:00,13:00-17:30; Sa 08:00-12:00",
            ["08:00-12:00, 13:00-17:30"] * 5 + ["08:00-12:00", "closed"],
        ),
    ],
)
def test_explained_examples_of_the_wiki(value, expected):
    assert week(value) == expected


@pytest.mark.published(
    source='OpenStreetMap wiki, "Key:opening_hours/Tutorial" (stored copy read 2026-11-25): PH is '
    "used as if it were a weekday; standing to the right it overwrites the other rules; off closes"
)
def test_public_holiday_overwrites_the_rules_to_its_left():
    whit_week = [dt.date(2027, 5, 17), dt.date(2027, 5, 18)]  # Whit Monday, then a Tuesday
    closed = week("Mo-Fr 08:00-12:00,13:00-17:30; Sa 08:00-12:00; PH off", whit_week)
    shorter = week("Mo-Fr 08:00-17:30; PH 09:00-12:00", whit_week)
    assert closed == ["closed", "08:00-12:00, 13:00-17:30"]
    assert shorter == ["09:00-12:00", "08:00-17:30"]


@pytest.mark.published(
    source="AMDmi3/opening_hours.js README.md (stored copy read 2026-11-25): a library open 12:00 "
    "to 18:00 on workdays except Wednesday and 12:00 to 17:00 on Saturday and public holidays, "
    "closed on the third and the last Thursday of each month"
)
def test_library_of_the_reference_program():
    value = "Mo,Tu,Th,Fr 12:00-18:00; Sa,PH 12:00-17:00; Th[3],Th[-1] off"
    assert week(value) == ["12:00-18:00"] * 2 + ["closed"] + ["12:00-18:00"] * 2 + [
        "12:00-17:00",
        "closed",
    ]
    thursdays = [dt.date(2027, 3, day) for day in (4, 11, 18, 25)]
    assert week(value, thursdays) == ["12:00-18:00", "12:00-18:00", "closed", "closed"]
    assert week(value, [dt.date(2027, 5, 17)]) == ["12:00-17:00"]  # Whit Monday


@pytest.mark.published(
    source="AMDmi3/opening_hours.js README.md (stored copy read 2026-11-25): an around-the-clock "
    "shop with breaks"
)
def test_shop_around_the_clock_with_breaks():
    value = "open; Tu-Su 08:30-09:00 off; Tu-Su,PH 14:00-14:30 off; Mo 08:00-13:00 off"
    monday, tuesday = week(value, WEEK[:2])
    assert monday == "00:00-08:00, 13:00-24:00"
    assert tuesday == "00:00-08:30, 09:00-14:00, 14:30-24:00"


@pytest.mark.published(
    source="French schema of low-emission zones, field PERIODE_JH (stored copy read 2026-11-25): "
    "'Mo-Fr 09:00-17:00; PH 10:00-12:00; PH Su off' is Monday to Friday, but on public holidays "
    "10:00 to 12:00, except public holidays that fall on a Sunday"
)
def test_holiday_on_a_sunday_has_a_rule_of_its_own():
    value = "Mo-Fr 09:00-17:00; PH 10:00-12:00; PH Su off"
    days = [
        dt.date(2027, 5, 6),  # Ascension Day, a Thursday
        dt.date(2027, 7, 14),  # national day, a Wednesday
        dt.date(2027, 8, 15),  # Assumption, a Sunday
        dt.date(2027, 8, 16),
    ]
    found = [one.text for one in opening_of(value, days, zone=BERLIN, country="FR")]
    assert found == ["10:00-12:00", "10:00-12:00", "closed", "09:00-17:00"]


@pytest.mark.published(
    source='OpenStreetMap wiki, "Template:Key:opening hours/specification table", version 0.7.4 '
    "(stored copy read 2026-11-25): closed and off close; unknown [comment] is unknown"
)
def test_modifiers_of_the_specification():
    assert week("Mo-Su 10:00-12:00; We closed", WEEK[2:3]) == ["closed"]
    assert week("Mo-Su 10:00-12:00; We off", WEEK[2:3]) == ["closed"]
    assert week('We unknown "on appointment"', WEEK[2:3]) == ["unknown"]


@pytest.mark.published(
    source="Banking and Financial Dealings Act 1971, Schedule 1 (legislation.gov.uk, stored copy "
    "read 2026-11-25): the last Monday in August is a bank holiday in England and Wales, the first "
    "Monday in August and, since 2007, 30 November in Scotland"
)
@pytest.mark.parametrize("year", range(2024, 2030))
def test_august_bank_holiday_differs_between_england_and_scotland(year):
    mondays = [day for n in range(1, 32) if (day := dt.date(year, 8, n)).weekday() == 0]
    for part, holiday in (("ENG", mondays[-1]), ("WLS", mondays[-1]), ("SCT", mondays[0])):
        kept = [d for d in mondays if holiday_on("GB", d, subdivision=part)[0] is not None]
        assert kept == [holiday]
    assert not holiday_on("GB", mondays[-1])[1]
    andrew = dt.date(year, 11, 30)
    if andrew.weekday() < 5:
        assert holiday_on("GB", andrew, subdivision="SCT")[0] is not None
        assert holiday_on("GB", andrew, subdivision="ENG") == (None, True)
