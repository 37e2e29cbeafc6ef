"""Tariffs as sites publish them, added up on paper."""

import datetime as dt

import pandas as pd
import pytest

from planner_kit.errors import PlanFileError
from planner_kit.sites import TariffRules, price_sum, prices_by_start, read_tariffs, site_price
from planner_kit.sites.dates import shifted_dates

HEAD = (
    "site_id,rule,amount,unit,start,end,weekdays,days,from_age,to_age,included,from_nights,"
    "to_nights,up_to_nights,days_ahead,club,with_member,note"
)
NO_CLUB = {"memberships": []}
# Saturday; the stay of seven nights has one Friday and one Saturday night.
ARRIVE = dt.date(2027, 6, 12)
FLAT = {"price_low": "20", "price_mid": "20", "price_high": "20"}


@pytest.fixture
def tariffs(tmp_path):
    def read(*rows, school=None):
        lines = []
        for row in rows:
            lines.append(",".join(str(row.get(name, "")) for name in HEAD.split(",")))
        path = tmp_path / "tariffs.csv"
        path.write_text("\n".join([HEAD, *lines]) + "\n", encoding="utf-8")
        return TariffRules(read_tariffs(path), school, "GB")

    return read


def rule(name, amount, unit, **more):
    return {"site_id": "gull-field", "rule": name, "amount": amount, "unit": unit, **more}


def total(kit, rules, household=None, nights=7, arrive=ARRIVE, **options):
    lines = site_price(
        kit.site_frame(**FLAT, dog_price="0", awning_price="0", hookup_price="0", child_price="0",
                       member_discount_pct=None).iloc[0],
        kit.season_frame(), arrive, nights, kit.household_with(**(household or NO_CLUB)),
        rules=rules, **options,
    )  # fmt: skip
    return price_sum(lines).total


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        # 5 x 20 + 2 x 30
        ([rule("pitch", 30, "night", weekdays="fri sat")], 160),
        # seven for six: one of seven nights of 20 is free
        ([rule("offer", 1, "nights", from_nights=7)], 120),
        # the cheapest is free, not a weekend night
        ([rule("pitch", 30, "night", weekdays="fri sat"),
          rule("offer", 1, "nights", from_nights=7)], 140),
        # 10 % from five nights
        ([rule("offer", 10, "percent", from_nights=5)], 126),
        # tax of 2 for two adults, for at most five nights
        ([rule("tax", 2, "night", from_age=16, up_to_nights=5)], 160),
        # two adults included, then 3 a night for the child
        ([rule("person", 8, "night", from_age=16, included=2),
          rule("person", 3, "night", to_age=15)], 161),
        # 2 % of 140 on the card, and 5 for the booking before it
        ([rule("fee", 5, "stay"), rule("card", 2, "percent")], 147.9),
        # a rule for longer stays does not hold
        ([rule("pitch", 5, "night", from_nights=8)], 140),
    ],
)  # fmt: skip
def test_tariff_adds_up_on_paper(kit, tariffs, rows, expected):
    assert float(total(kit, tariffs(*rows))) == pytest.approx(expected)


def test_the_better_of_member_price_and_offer_is_taken_unless_they_add_up(kit, tariffs):
    club = {"memberships": [{"id": "van-friends", "name": "V", "discount_pct": 20}]}
    offer = rule("offer", 10, "percent", from_nights=5)
    assert float(total(kit, tariffs(offer), club)) == 112.0
    both = {**offer, "with_member": "yes"}
    # 140 less 14, less a fifth of 126
    assert float(total(kit, tariffs(both), club)) == pytest.approx(100.8)


def test_metered_current_needs_the_use_of_the_household(kit, tariffs):
    rules = tariffs(rule("kwh", 0.5, "kwh"))
    assert total(kit, rules) is None
    uses = {**NO_CLUB, "appliances": [{"name": "kettle", "watts": 2000, "hours_per_day": 1}]}
    # 2 kWh a night at 0.50 for seven nights
    assert float(total(kit, rules, uses)) == 147.0


def test_school_holidays_without_a_list_are_unknown_and_with_one_are_priced(kit, tariffs):
    row = rule("pitch", 40, "night", days="school holidays")
    assert total(kit, tariffs(row)) is None
    school = pd.DataFrame(
        {"start": [pd.Timestamp("2027-06-15")], "end": [pd.Timestamp("2027-06-16")]}
    )
    assert float(total(kit, tariffs(row, school=school))) == 5 * 20 + 2 * 40


def test_many_starts_give_what_each_stay_gives_alone(kit, tariffs):
    rules = tariffs(
        rule("pitch", 31.5, "night", weekdays="fri sat"),
        rule("offer", 1, "nights", from_nights=5),
        rule("tax", 1.15, "night", from_age=12, up_to_nights=4),
        rule("card", 1.7, "percent"),
    )
    home, site = kit.household_with(), kit.site_frame()
    seasons = kit.season_frame(*kit.YEAR)
    starts = [dt.date(2027, 5, 20) + dt.timedelta(days=n) for n in range(0, 60, 7)]
    many = prices_by_start(site, seasons, starts, 6, home, rules=rules).iloc[0]
    for day in starts:
        alone = price_sum(site_price(site.iloc[0], seasons, day, 6, home, rules=rules)).total
        assert many[day] == pytest.approx(float(alone)), day


def test_the_cheapest_allowed_shift_comes_first(kit, tariffs):
    rules = tariffs(rule("arrive_on", 0, "nights", weekdays="sat"))
    found = shifted_dates(
        kit.site_frame(), kit.season_frame(*kit.YEAR), dt.date(2027, 7, 17), 7,
        kit.household_with(), earlier_days=14, later_days=14, rules=rules,
    )  # fmt: skip
    first = found.iloc[0]
    assert (first["allowed"], first["arrive"]) == ("yes", dt.date(2027, 7, 3))
    assert first["saved"] > 0
    assert "Sunday" in found.loc[found["arrive"] == dt.date(2027, 7, 18), "why"].item()


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([rule("pitch", 30, "percent")], "cannot be counted in 'percent'"),
        ([rule("pitch", 30, "night", weekdays="fre")], "not a day of the week"),
        ([rule("pitch", "\"3,5\"", "night")], "row 2"),
        ([rule("offer", 1, "nights")], "from_nights"),
        ([rule("pitch", 30, "night", start="2027-06-01", end="2027-06-30"),
          rule("pitch", 35, "night", start="2027-06-30", end="2027-07-30")], "row 2 holds too"),
    ],
)  # fmt: skip
def test_a_rule_that_cannot_be_is_named_by_row(tariffs, rows, said):
    with pytest.raises(PlanFileError, match=said):
        tariffs(*rows)
