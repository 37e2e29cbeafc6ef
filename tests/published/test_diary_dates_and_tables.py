"""New dates against published calendars; CSV against the rule on formulas."""

import csv
import datetime as dt
import io

import pandas as pd
import pytest

from planner_kit.diary.new_dates import same_weekday
from planner_kit.spreadsheet import csv_text

CALENDARS = (
    "public holidays of England 2025 (bedfordstreetsurgery.co.uk/news/public-holiday-closed-dates: "
    "Monday 26 May, Monday 5 May, Thursday 25 and Friday 26 December 2025) and of 2026 "
    "(mountainviewsurgery.co.uk/page1.aspx?p=3&t=3: Monday 25 May, Monday 4 May, Friday 25 "
    "December 2026); stored copies read 2026-11-25"
)
FORMULAS = (
    "OWASP Application Security Verification Standard 5.0, requirement 1.2.10 (=, +, -, @, tab and "
    "null first in a field are escaped with a single quote), stored copy of "
    "asvs.emil.hemdal.se/1.2.10 read 2026-11-25"
)


@pytest.mark.published(source=CALENDARS)
@pytest.mark.parametrize(
    ("day", "next_year"),
    [
        (dt.date(2025, 5, 26), dt.date(2026, 5, 25)),  # spring bank holiday, a Monday in both
        (dt.date(2025, 5, 5), dt.date(2026, 5, 4)),  # early May bank holiday, a Monday in both
        (dt.date(2025, 12, 26), dt.date(2026, 12, 25)),  # a Friday in both
    ],
)
def test_same_weekday_a_year_on(day: dt.date, next_year: dt.date) -> None:
    assert same_weekday(day, 2026) == next_year


@pytest.mark.published(source=FORMULAS)
@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\0"])
def test_no_cell_of_words_begins_with_a_sign_that_a_spreadsheet_obeys(sign: str) -> None:
    frame = pd.DataFrame({"name": [f"{sign}cmd|' /C calc'!A0"], "change": [-3.5]})
    rows = list(csv.reader(io.StringIO(csv_text(frame))))
    assert rows[1][0].startswith("'")
    assert rows[1][1] == "-3.5"
