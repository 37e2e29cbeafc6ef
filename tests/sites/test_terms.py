"""Shortest stays, days of arrival and deposits of the tariff list."""

import datetime as dt
from decimal import Decimal

import pytest

from planner_kit.sites import TariffRules, deadlines_for, read_tariffs, report_sites
from planner_kit.sites.bookings import booking_cost_lines
from planner_kit.sites.deadlines import booking_day
from planner_kit.sites.tariff import price_sum, site_price
from planner_kit.sites.terms import Deposit, check_terms, deposit_of
from planner_kit.states import State

SATURDAY = dt.date(2027, 7, 10)
HEAD = "site_id,rule,amount,unit,start,end,weekdays,days\n"


@pytest.fixture
def rules(tmp_path):
    def made(*rows, country="GB"):
        path = tmp_path / "tariffs.csv"
        path.write_text(HEAD + "".join(f"gull-field,{row}\n" for row in rows), encoding="utf-8")
        return TariffRules(read_tariffs(path), None, country)

    return made


def test_a_changeover_day_is_told_and_another_day_is_not_fine(kit, rules):
    site, household = kit.site_frame().iloc[0], kit.household_with()
    own = rules("arrive_on,1,nights,2027-07-01,2027-08-31,sat wed,")
    (welcome,) = check_terms(site, own, household, SATURDAY, 7)
    assert welcome.state is State.FINE
    (not_then,) = check_terms(site, own, household, dt.date(2027, 7, 12), 7)
    assert not_then.state is State.NOT_FINE
    assert "only on Wednesdays and Saturdays" in not_then.sentence
    assert "tariff list row 2" in not_then.source


def test_a_long_weekend_asks_for_more_nights_than_other_days(kit, rules):
    # 31 May 2027 is the Spring Bank Holiday: Saturday to Monday are free.
    site, household = kit.site_frame().iloc[0], kit.household_with()
    own = rules("min_nights,3,nights,,,,long weekends")
    (short,) = check_terms(site, own, household, dt.date(2027, 5, 28), 2)
    assert (short.state, short.limit, short.margin) == (State.NOT_FINE, 3, -1)
    (plain,) = check_terms(site, own, household, dt.date(2027, 6, 8), 2)
    assert (plain.state, plain.limit) == (State.FINE, 2)


def test_school_holidays_that_nobody_listed_leave_the_shortest_stay_unknown(kit, rules):
    site, household = kit.site_frame().iloc[0], kit.household_with()
    (check,) = check_terms(
        site, rules("min_nights,7,nights,,,,school holidays"), household, SATURDAY, 3
    )
    assert check.state is State.UNKNOWN


def test_without_a_tariff_list_there_are_no_terms(kit):
    assert check_terms(kit.site_frame().iloc[0], None, kit.household_with(), SATURDAY, 7) == ()


def test_deposit_is_a_sum_or_a_share_rounded_to_the_penny(kit, rules):
    site, household = kit.site_frame().iloc[0], kit.household_with()
    fixed = deposit_of(site, rules("deposit,50,stay,,,,"), household, 7, None, SATURDAY)
    assert (fixed.amount, fixed.on) == (Decimal("50.00"), SATURDAY)
    share = rules("deposit,25,percent,,,,")
    found = deposit_of(site, share, household, 7, Decimal("333.33"), SATURDAY)
    assert found.amount == Decimal("83.33")
    assert deposit_of(site, share, household, 7, None, SATURDAY) is None
    assert deposit_of(site, rules(), household, 7, Decimal(100), SATURDAY) is None


def priced(kit):
    site, seasons = kit.site_frame(), kit.season_frame(*kit.YEAR)
    return price_sum(site_price(site.iloc[0], seasons, SATURDAY, 7, kit.household_with()))


def test_an_unbooked_stay_pays_deposit_first_and_the_rest_on_arrival(kit):
    total, day = priced(kit), dt.date(2027, 1, 31)
    deposit = Deposit(Decimal(50), "GBP", day, "tariff list row 2")
    stay = kit.trip_with().stays[0]
    lines = booking_cost_lines(stay, "Gull", SATURDAY, total, "list", day, deposit=deposit)
    assert [(line.likely, line.on) for line in lines] == [
        (50.0, day), (pytest.approx(float(total.total) - 50), SATURDAY),
    ]  # fmt: skip
    assert {line.state for line in lines} == {"expected"}


def test_a_booking_with_nothing_paid_owes_the_deposit_now_and_a_paid_one_does_not(kit):
    total, day = priced(kit), dt.date(2027, 2, 1)
    deposit = Deposit(Decimal(50), "GBP", day, "tariff list row 2")

    def lines(**more):
        booking = {"state": "booked", "price": 200.0, "due_on": dt.date(2027, 6, 1), **more}
        stay = kit.trip_with(stays=[{"site": "gull-field", "nights": 7, "booking": booking}])
        return booking_cost_lines(
            stay.stays[0], "Gull", SATURDAY, total, "list", day, deposit=deposit
        )

    assert [(line.likely, line.on) for line in lines()] == [(50, day), (150, dt.date(2027, 6, 1))]
    assert [line.likely for line in lines(paid=50)] == [50, 150]
    assert sum(line.likely for line in lines(paid=20)) == 200


def test_deposit_and_later_payments_have_deadlines_of_their_own(kit):
    day = dt.date(2027, 2, 1)
    deposit = {0: Deposit(Decimal("50.00"), "GBP", day, "row 2")}
    frame = deadlines_for(kit.trip_with(), {}, country="GB", planned_on=day, deposits=deposit)
    row = frame[frame["what"].str.startswith("Pay the deposit")].iloc[0]
    assert (row["on"], row["state"]) == (day, "to do")
    assert "GBP 50.00" in row["what"]

    payments = [
        {"amount": 50, "on": dt.date(2027, 1, 5), "what": "deposit"},
        {"amount": 150, "on": dt.date(2027, 6, 2), "what": "rest"},
    ]
    booking = {"state": "booked", "price": 200.0, "currency": "GBP", "payments": payments}
    trip = kit.trip_with(stays=[{"site": "gull-field", "nights": 7, "booking": booking}])
    frame = deadlines_for(trip, {}, country="GB", planned_on=day, deposits=deposit)
    paid = frame[frame["what"].str.startswith("Pay what was agreed")].set_index("what")["state"]
    assert sorted(paid) == ["done", "to do"]
    assert not frame["what"].str.startswith("Pay the deposit").any()
    assert frame["uid"].is_unique


def test_midsummer_is_booked_by_the_end_of_january_and_never_in_the_past(kit):
    stay = kit.trip_with().stays[0]
    assert booking_day(stay, SATURDAY, dt.date(2026, 12, 1)) == dt.date(2027, 1, 31)
    assert booking_day(stay, SATURDAY, dt.date(2027, 3, 1)) == dt.date(2027, 3, 1)
    autumn = dt.date(2027, 10, 9)
    assert booking_day(stay, autumn, dt.date(2026, 1, 1), 100) == dt.date(2027, 7, 1)


def test_the_plan_s_checks_and_costs_hold_the_terms(kit, rules):
    inputs = kit.inputs_with()
    own = rules("arrive_on,1,nights,,,fri,", "deposit,10,percent,,,,", "min_nights,3,nights,,,,")
    drive = kit.site_frame()["lat"] * 0 + 30
    report = report_sites(
        inputs, kit.site_frame(), kit.season_frame(*kit.YEAR), drive_min=drive, reach=None,
        tow=None, country="GB", planned_on=dt.date(2027, 3, 1), rules=own,
    )  # fmt: skip
    said = {check.subject: check.state for check in report.checks}
    assert said["day of arrival at Gull Field"] is State.NOT_FINE
    assert said["shortest stay at Gull Field"] is State.FINE
    assert [c.subject for c in report.checks].count("shortest stay at Gull Field") == 1
    assert any("deposit" in line.what for line in report.cost_lines)
    assert report.shortlist["fit"].tolist() == [State.NOT_FINE.value]
