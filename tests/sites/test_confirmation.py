"""Suggestions out of confirmations, and PDFs that are none."""

import datetime as dt

import pytest
import typst

from planner_kit.errors import PlanFileError
from planner_kit.sites.confirmation import booking_values, read_confirmation, suggestions_in

TEXT = """Booking reference: GF-20417
Arrival 24 July 2027, departure 31 July 2027
Total price £259.00
Deposit paid GBP 50.00 on 2027-01-07
Balance of £209.00 due by 26/06/2027
Free cancellation until 19 June 2027
Gate code: 4711#"""


def test_figures_are_named_by_the_words_before_them():
    found = {(one.field, one.value) for one in suggestions_in([TEXT])}
    assert {
        ("reference", "GF-20417"), ("price", 259.0), ("paid", 50.0), ("balance", 209.0),
        ("arrive", dt.date(2027, 7, 24)), ("leave", dt.date(2027, 7, 31)),
        ("due_on", dt.date(2027, 6, 26)), ("free_cancellation_until", dt.date(2027, 6, 19)),
        ("arrival_code", "4711#"),
    } <= found  # fmt: skip


def test_a_day_that_may_be_a_month_is_doubted():
    (one,) = suggestions_in(["Balance due 05/06/2027"])
    assert one.value == dt.date(2027, 6, 5)
    assert "other way round" in one.doubt


def test_nothing_is_taken_that_was_not_said_yes_to():
    assert booking_values(()) == {}
    yes = [one for one in suggestions_in([TEXT]) if one.field in ("reference", "price")]
    taken = booking_values(yes)
    assert taken == {"reference": "GF-20417", "price": 259.0, "currency": "GBP", "state": "booked"}


def test_a_real_pdf_is_read_and_others_are_refused(tmp_path):
    path = tmp_path / "c.pdf"
    path.write_bytes(typst.compile(b"Booking reference: ABC-123\n\nTotal GBP 80.50"))
    assert ("price", 80.5) in {(one.field, one.value) for one in read_confirmation(path)}
    for content, said in ((b"hello", "not a PDF"), (b"%PDF-1.7\nnonsense", "damaged PDF")):
        bad = tmp_path / "bad.pdf"
        bad.write_bytes(content)
        with pytest.raises(PlanFileError, match=said):
            read_confirmation(bad)
