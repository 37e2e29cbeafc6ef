"""Prices night by night."""

import datetime as dt
import math
from decimal import Decimal

import pandas as pd
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.sites import price_sum, site_price

ARRIVE = dt.date(2027, 7, 10)
NO_CLUB = {"memberships": []}


def price(kit, household=None, *, site=None, seasons=None, nights=7, arrive=ARRIVE, **options):
    frame = kit.site_frame(**(site or {}))
    rows = kit.season_frame(*(kit.YEAR if seasons is None else seasons))
    home = kit.household_with(**(household or {}))
    return site_price(frame.iloc[0], rows, arrive, nights, home, **options)


def test_nights_on_both_sides_of_a_season_change_pay_their_own_price(kit):
    lines = price(kit, NO_CLUB)
    pitch = lines[lines["part"] == "pitch"]
    # 10 to 13 July are four mid nights, 14 to 16 July three high nights.
    assert list(pitch["quantity"]) == [4, 3]
    assert list(pitch["amount"]) == [102.0, 99.99]


def test_whole_stay_adds_up_on_paper(kit):
    found = price_sum(price(kit, NO_CLUB))
    # 102.00 + 99.99 pitch, child 7 x 4, dog 7 x 2, awning 7 x 3, hook-up 7 x 4.50
    assert found.total == Decimal("296.49")
    assert found.currency == "GBP"


def test_discount_comes_off_pitch_and_people_only(kit):
    lines = price(kit)
    discount = lines.loc[lines["part"] == "discount", "amount"].item()
    # 10 % of 102.00 + 99.99 + 28.00 = 22.999, a half penny rounded up
    assert discount == -23.0
    found = price_sum(lines)
    assert found.before_discount == Decimal("296.49")
    assert found.total == Decimal("273.49")


def test_discount_holds_only_for_the_nights_the_membership_is_valid(kit):
    club = {"id": "van-friends", "name": "Van Friends", "valid_until": dt.date(2027, 7, 11)}
    lines = price(kit, {"memberships": [club]})
    line = lines[lines["part"] == "discount"].iloc[0]
    # two mid nights of 25.50 and two of seven nights of the child: 10 % of 51 + 8
    assert line["amount"] == -5.9
    assert "2 of 7 nights" in line["what"]


def test_a_lapsed_or_other_membership_gives_nothing(kit):
    lapsed = {"id": "van-friends", "name": "V", "valid_until": dt.date(2027, 7, 1)}
    other = {"id": "somebody-else", "name": "S", "discount_pct": 50}
    for club in (lapsed, other):
        assert "discount" not in set(price(kit, {"memberships": [club]})["part"])


def test_the_membership_s_own_percentage_holds_where_the_list_has_none(kit):
    club = {"id": "van-friends", "name": "Van Friends", "discount_pct": 20}
    lines = price(kit, {"memberships": [club]}, site={"member_discount_pct": None})
    # 20 % of 229.99 is 45.998
    assert lines.loc[lines["part"] == "discount", "amount"].item() == -46.0


def test_a_missing_dog_price_is_unknown_and_never_nothing(kit):
    lines = price(kit, site={"dog_price": None})
    found = price_sum(lines)
    assert math.isnan(lines.loc[lines["part"] == "dog", "amount"].item())
    assert found.total is None
    assert found.unknown == ("dogs",)
    assert found.known == Decimal("259.49")


def test_nights_outside_every_season_are_unknown(kit):
    found = price_sum(price(kit, seasons=(("mid", "2027-06-01", "2027-07-13"),)))
    assert found.total is None
    assert found.unknown == ("pitch with two adults, season not listed",)


def test_a_site_with_one_price_needs_no_seasons(kit):
    same = {"price_low": "20", "price_mid": "20", "price_high": "20"}
    lines = price(kit, NO_CLUB, site=same, seasons=())
    assert lines["amount"].iloc[0] == 140.0
    assert "same price all year" in lines["what"].iloc[0]


def test_an_empty_price_of_the_season_is_unknown(kit):
    assert price_sum(price(kit, site={"price_high": None})).total is None


def test_a_third_adult_pays_and_an_unknown_age_pays_as_adult(kit):
    people = [{"name": "Ada"}, {"name": "Ben"}, {"name": "Dora"}]
    lines = price(kit, {**NO_CLUB, "people": people})
    row = lines[lines["part"] == "adult"].iloc[0]
    assert (row["quantity"], row["amount"]) == (7, 56.0)


def test_only_the_party_pays(kit):
    lines = price(kit, NO_CLUB, party=("Ada", "Ben"))
    assert "child" not in set(lines["part"])


def test_a_currency_without_pennies_is_rounded_to_whole_units(kit):
    lines = price(kit, site={"currency": "JPY", "price_high": "3333.4", "price_mid": "2000"})
    assert all(value == int(value) for value in lines["amount"])


def test_the_site_and_the_seasons_are_not_altered(kit):
    site, seasons = kit.site_frame(), kit.season_frame(*kit.YEAR)
    before = site.copy(), seasons.copy()
    site_price(site.iloc[0], seasons, ARRIVE, 7, kit.household_with())
    pd.testing.assert_frame_equal(site, before[0])
    pd.testing.assert_frame_equal(seasons, before[1])


amounts = st.none() | st.integers(0, 99_999).map(lambda pence: pence / 100)


@settings(max_examples=50, deadline=None)
@given(
    prices=st.fixed_dictionaries(
        {
            name: amounts
            for name in (
                "price_low", "price_mid", "price_high", "child_price", "dog_price",
                "awning_price", "hookup_price",
            )
        }
    ),
    percent=st.integers(0, 100),
    nights=st.integers(1, 40),
    day=st.integers(0, 300),
    awning=st.booleans(),
    hookup=st.booleans(),
)  # fmt: skip
def test_lines_sum_to_the_total_and_a_discount_never_raises_it(
    kit, prices, percent, nights, day, awning, hookup
):
    site = kit.site_frame(**prices, member_discount_pct=percent)
    lines = site_price(
        site.iloc[0], kit.season_frame(*kit.YEAR), dt.date(2027, 1, 5) + dt.timedelta(days=day),
        nights, kit.household_with(), awning=awning, hookup=hookup,
    )  # fmt: skip
    found = price_sum(lines)
    if lines["amount"].isna().any():
        assert found.total is None
    else:
        assert found.total == sum(round(Decimal(str(a)), 2) for a in lines["amount"])
        assert 0 <= found.total <= found.before_discount
    priced = lines[lines["part"] != "discount"]
    unknown = priced["unit_price"].isna()
    assert (priced["amount"].isna() == unknown).all()
    pd.testing.assert_series_equal(
        priced.loc[~unknown, "amount"],
        (priced["unit_price"] * priced["quantity"])[~unknown].round(2),
        check_names=False,
    )
    assert int(lines.loc[lines["part"] == "pitch", "quantity"].sum()) == nights
