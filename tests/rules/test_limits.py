import datetime as dt

import pytest

from planner_kit.rules import RULES, law_of, law_table, licence_covers, made_on, tyre_load_kg

DAY = dt.date(2027, 7, 24)


def test_country_without_rows_says_unknown_for_every_rule() -> None:
    table = law_table("XX", on=DAY)
    assert list(table["rule"]) == list(RULES)
    assert set(table["basis"]) == {"unknown"}
    assert table["value"].isna().all()
    assert table["text"].str.startswith("unknown").all()


def test_rule_that_does_not_exist_is_an_error() -> None:
    with pytest.raises(KeyError):
        law_of("GB", "colour", on=DAY)


def test_licence_with_a_missing_plate_is_neither_yes_nor_no() -> None:
    answer = licence_covers("GB", "B", car_gross_kg=2200, caravan_plate_kg=None, on=DAY)
    assert answer.covers is None
    assert "MTPLM" in answer.why


def test_missing_plate_does_not_hide_a_mass_that_is_too_great() -> None:
    answer = licence_covers("GB", "B", car_gross_kg=3600, caravan_plate_kg=None, on=DAY)
    assert answer.covers is False


def test_country_without_licence_rules_is_unknown() -> None:
    assert (
        licence_covers("XX", "BE", car_gross_kg=2000, caravan_plate_kg=1500, on=DAY).covers is None
    )


def test_british_rule_does_not_hold_before_its_day() -> None:
    day = dt.date(2021, 12, 15)
    assert (
        licence_covers("GB", "B", car_gross_kg=2200, caravan_plate_kg=1500, on=day).covers is None
    )


def test_load_index_outside_the_table_is_none() -> None:
    assert tyre_load_kg(20) is None


def test_week_of_making_is_a_monday_of_that_week() -> None:
    assert made_on("2319") == dt.date(2019, 6, 3)


@pytest.mark.parametrize("code", ["0019", "5421"])
def test_week_that_no_year_has_is_none(code: str) -> None:
    assert made_on(code) is None
