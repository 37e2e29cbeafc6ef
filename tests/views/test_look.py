from __future__ import annotations

import datetime as dt

import pandas as pd

from planner_kit.states import Check, State
from planner_kit.trip.household import Units
from planner_kit.views import look

HOSTILE = "<script>alert(1)</script><img src=x onerror=alert(1)>"


def test_text_from_a_file_is_escaped_in_a_table() -> None:
    frame = pd.DataFrame({"name": [HOSTILE], "state": [HOSTILE]})
    columns = {"name": HOSTILE, "state": "State"}
    shown = look.table(frame, columns, caption=HOSTILE)
    assert "<script" not in shown
    assert "<img" not in shown
    assert shown.count("&lt;script&gt;") >= 4


def test_text_from_a_file_is_escaped_in_a_check() -> None:
    check = Check(HOSTILE, State.LOOK, HOSTILE, 1.0, 2.0, HOSTILE, 1.0, HOSTILE, HOSTILE, HOSTILE)
    shown = look.checks_table([check], caption=HOSTILE)
    assert "<script" not in shown
    assert "<img" not in shown


def test_text_from_a_file_is_escaped_in_sentences() -> None:
    for shown in (look.paragraphs([HOSTILE]), look.bullets([HOSTILE]), look.cautions([HOSTILE])):
        assert "<script" not in shown
        assert "<img" not in shown


def test_missing_value_reads_not_known_and_never_zero() -> None:
    frame = pd.DataFrame({"kg": [12.0, None]})
    shown = look.table(frame, {"kg": "Mass"})
    assert '<td class="n">12</td>' in shown
    assert '<td class="n">not known</td>' in shown


def test_missing_value_is_empty_where_nothing_is_an_answer() -> None:
    frame = pd.DataFrame({"removed_by": ["", "reach", None]})
    shown = look.table(frame, {"removed_by": "Left out because"}, blank=("removed_by",))
    assert "not known" not in shown
    assert "reach" in shown


def test_column_in_which_nothing_stands_is_left_out_where_nothing_is_an_answer() -> None:
    frame = pd.DataFrame({"site": ["Bay", ""], "removed_by": ["", None]})
    columns = {"site": "Site", "removed_by": "Left out because"}
    assert "Left out because" not in look.table(frame, columns, blank=("removed_by",))
    assert "Left out because" in look.table(frame, columns)
    assert "Left out because" in look.table(frame.head(0), columns, blank=("removed_by",))


def test_state_is_told_by_shape_and_word() -> None:
    shown = [look.state_html(state) for state in State]
    assert all(state.mark in html for state, html in zip(State, shown, strict=True))
    assert all(f"</span> {state.value}<" in html for state, html in zip(State, shown, strict=True))


def test_limit_of_one_day_is_no_plural() -> None:
    check = Check("cassette", State.FINE, "Every other day.", figure=2.0, limit=1.0, unit="days")
    shown = look.checks_table([check])
    assert "1 day<" in shown
    assert "2 days<" in shown


def test_limit_of_two_decimals_is_not_rounded_away() -> None:
    check = Check("width", State.FINE, "Narrow enough.", 2.31, 2.55, "m")
    shown = look.checks_table([check])
    assert "2.31 m" in shown
    assert "2.55 m" in shown


def test_check_without_figure_shows_none() -> None:
    shown = look.checks_table([Check("dogs", State.UNKNOWN, "The list does not say.")])
    assert shown.count('<td class="n"></td>') == 2
    assert "0" not in shown.split("<tbody>")[1]


def test_rule_opens_on_its_source() -> None:
    check = Check("axle", State.FINE, "69 kg left.", rule="axle limit", source="the plate")
    shown = look.checks_table([check])
    assert "<summary>axle limit</summary>the plate (computed)</details>" in shown


def test_wide_table_scrolls_and_can_be_reached_by_keyboard() -> None:
    shown = look.table(pd.DataFrame({"a": [1]}), {"a": "A"}, caption="Things")
    assert '<div class="pk-scroll" tabindex="0" role="region" aria-label="Things">' in shown
    assert '<th scope="col"' in shown


def test_date_is_kept_on_one_line() -> None:
    shown = look.table(pd.DataFrame({"on": [dt.date(2027, 7, 24)]}), {"on": "By"})
    assert '<td class="d">2027-07-24</td>' in shown


def test_page_reads_in_the_household_s_units_and_leaves_its_markup() -> None:
    part = '<p title="5 km">2027-07-24, 16.6 km, GBP 5.00 &amp; https://x.org/5 km</p>'
    shown = look.page(part, units=Units())
    assert '<p title="5 km">24 July 2027, 10.3 miles, £5.00 &amp; https://x.org/5' in shown
    assert part in look.page(part)


def test_words_of_the_trade_open_below_a_line() -> None:
    assert "maximum technically permissible" in look.words_table(["The MTPLM is 1500 kg."])
    assert look.words_table(["Nothing to say."]) == ""


def test_where_a_figure_comes_from_opens_below_its_name_escaped() -> None:
    frame = pd.DataFrame({"what": ["gas", "food"], "from": [HOSTILE, ""]})
    shown = look.table(frame, {"what": "What"}, below={"what": "from"})
    assert shown.count("<details>") == 1
    assert "<script" not in shown
    assert '<td class="d">food</td>' in shown


def test_figure_keeps_to_one_line_with_its_unit() -> None:
    check = Check("level", State.FINE, "Enough.", -107, -112, "dBm")
    shown = look.checks_table([check])
    assert '<span class="pk-nb">-107 dBm</span>' in shown
