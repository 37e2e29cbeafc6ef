"""Candidates weighed: prices in other currencies, people, must-haves, other dates."""

import datetime as dt

import pandas as pd
import pytest

from planner_kit.errors import PlanFileError
from planner_kit.sites import report_sites

ON = dt.date(2027, 2, 1)


def weigh(kit, *, household=None, rates=None, rows=(), **trip):
    more = [kit.site_frame(**row) for row in rows]
    sites = pd.concat([kit.site_frame(), *more])
    seasons = pd.concat([kit.season_frame(*kit.YEAR, site=str(site_id)) for site_id in sites.index])
    inputs = kit.inputs_with(
        household, candidates=[str(site_id) for site_id in sites.index], **trip
    )
    drive = pd.Series(30.0, index=sites.index)
    return report_sites(
        inputs, sites, seasons, drive_min=drive, reach=None, tow=None, country="GB",
        planned_on=ON, rates=rates,
    )  # fmt: skip


EURO = {"site_id": "dune-field", "name": "Dune Field", "currency": "EUR", "club": ""}


def test_a_price_in_euros_is_weighed_at_its_rate_and_unknown_without_one(kit):
    plain = weigh(kit, rows=[EURO]).shortlist.set_index("site_id")
    assert pd.isna(plain.loc["dune-field", "price_own"])
    assert "price" in plain.loc["dune-field", "not_known"]
    rated = weigh(kit, rows=[EURO], rates={"EUR": 0.5}).shortlist.set_index("site_id")
    price = rated.loc["dune-field", "price"]
    assert rated.loc["dune-field", "price_own"] == pytest.approx(price / 2, abs=0.005)
    assert rated.loc["dune-field", "part_price"] > rated.loc["gull-field", "part_price"]


def test_people_with_weights_of_their_own_are_weighed_together(kit):
    own = {"sites_by_person": {"Ada": {"price": 9}, "Ben": {"rating": 9}}}
    report = weigh(kit, household={"preferences": own}, rows=[{**EURO, "currency": "GBP"}])
    assert {"place_Ada", "place_Ben", "together", "least"} <= set(report.people.columns)
    assert weigh(kit).people is None


def test_a_weight_that_is_none_is_told_with_whose_it_is(kit):
    own = {"sites_by_person": {"Ada": {"prize": 9}}}
    with pytest.raises(PlanFileError, match=r"sites_by_person > Ada.*price"):
        weigh(kit, household={"preferences": own})


def test_must_haves_say_what_each_removed(kit):
    report = weigh(
        kit, household={"preferences": {"site_must_haves": ["playground", "wifi"]}},
        rows=[{**EURO, "currency": "GBP", "playground": "yes"}],
    )  # fmt: skip
    counts = report.must_haves.set_index("must_have")
    assert counts.loc["playground", ["removed", "only_this"]].tolist() == [1, 1]
    assert counts.loc["wifi", "removed"] == 0
    assert report.offers.loc["gull-field", "playground"] == 0


def test_other_dates_are_looked_at_only_where_the_family_allows_it(kit):
    assert weigh(kit).dates is None
    dates = weigh(kit, may_move_days=10).dates
    assert len(dates) == 21
    assert dates["price"].iloc[0] == dates["price"].min()
    assert (dates["arrive"] - dt.date(2027, 7, 10)).map(lambda gap: abs(gap.days)).max() == 10


def test_margins_and_ledger_are_in_the_report(kit):
    report = weigh(kit, rows=[EURO])
    assert set(report.margins["criterion"]) >= {"price", "drive", "rating"}
    assert report.ledger["site"].tolist() == ["Gull Field"]


def test_a_stay_in_a_gap_of_the_seasons_names_the_rows(kit):
    gapped = (("low", "2027-01-01", "2027-07-12"), ("high", "2027-07-15", "2027-08-31"))
    inputs = kit.inputs_with()
    report = report_sites(
        inputs, kit.site_frame(), kit.season_frame(*gapped),
        drive_min=pd.Series({"gull-field": 30.0}), reach=None, tow=None, country="GB",
        planned_on=ON,
    )  # fmt: skip
    told = [words for words in report.unknowns if "no season from" in words]
    assert len(told) == 1
    assert "2027-07-13 to 2027-07-14, between rows 2 and 3" in told[0]
