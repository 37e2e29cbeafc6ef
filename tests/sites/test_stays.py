"""The whole stage on a trip of two stays."""

import datetime as dt
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from planner_kit.sites import report_sites
from planner_kit.states import State, checks_frame

ON = dt.date(2027, 5, 1)
BOOKED = {"state": "booked", "reference": "R1", "price": 260.0, "paid": 60.0,
          "due_on": dt.date(2027, 6, 25)}  # fmt: skip
STAYS = [
    {"site": "gull-field", "nights": 7, "booking": BOOKED},
    {"site": "moor-edge", "nights": 3},
]


@pytest.fixture
def sites(kit):
    return pd.concat(
        [
            kit.site_frame(),
            kit.site_frame(site_id="moor-edge", name="Moor Edge", dog_price=None, dogs=None),
            kit.site_frame(site_id="far-away", name="Far Away", wifi="no"),
        ]
    )


@pytest.fixture
def report(kit, sites):
    seasons = pd.concat([kit.season_frame(*kit.YEAR, site=s) for s in sites.index])
    inputs = kit.inputs_with(
        {"preferences": {"site_must_haves": ["dogs"]}}, stays=STAYS, candidates=["far-away"]
    )
    drive = pd.Series({"gull-field": 60.0, "moor-edge": 90.0, "far-away": np.nan})
    tow = SimpleNamespace(
        legs=(
            SimpleNamespace(
                kind="out",
                depart=dt.datetime(2027, 7, 10, 9, 30),
                arrive=dt.datetime(2027, 7, 10, 19, 30),
            ),
        )
    )
    reach = pd.DataFrame(
        {"tow_min": [70.0, 95.0, np.nan], "stress_min": [5.0, 9.0, np.nan],
         "reach": ["fine", "fine", "not fine"],
         "reach_why": ["", "", "A bridge of 2.4 m."]},
        index=sites.index,
    )  # fmt: skip
    return report_sites(
        inputs, sites, seasons, drive_min=drive, reach=reach, tow=tow, country="GB", planned_on=ON
    )


def test_stays_carry_booked_and_computed_prices(report):
    stays = report.stays.set_index("site_id")
    assert stays.loc["gull-field", "price"] == 260
    assert stays.loc["gull-field", "price_from"] == "booking"
    assert stays.loc["gull-field", "balance"] == 200
    assert np.isnan(stays.loc["moor-edge", "price"])
    assert stays.loc["moor-edge", "leave"] == dt.date(2027, 7, 20)


def test_cost_lines_are_paid_booked_expected_and_unknown(report):
    got = [(line.state, line.likely) for line in report.cost_lines]
    # Moor Edge, 17 to 19 July: pitch 99.99, child 12, awning 9, hook-up 13.50, less 10 % of 111.99
    assert got == [("paid", 60), ("booked", 200), ("expected", 123.29), ("unknown", None)]


def test_price_lines_of_each_stay_are_there(report):
    lines = report.price_lines
    assert set(lines["site_id"]) == {"gull-field", "moor-edge"}
    assert lines.loc[lines["site_id"] == "gull-field", "amount"].sum() == pytest.approx(273.49)


def test_the_gap_between_booking_and_list_is_pointed_out(report):
    checks = checks_frame(report.checks).set_index("subject")
    price = checks.loc["price at Gull Field"]
    assert price["state"] == "look at this"
    assert price["margin"] == pytest.approx(13.49)
    assert checks.loc["price at Moor Edge", "state"] == "unknown"
    assert checks.loc["arrival at Gull Field", "state"] == "look at this"


def test_the_shortlist_keeps_every_candidate_and_says_why_one_is_out(report):
    shortlist = report.shortlist.set_index("site_id")
    assert shortlist.index[0] == "gull-field"
    assert shortlist.loc["moor-edge", "removed_by"] == "dogs (not known)"
    assert "drive" in shortlist.loc["far-away", "not_known"]
    assert shortlist.loc["far-away", "removed_by"] == "reach"
    assert shortlist.loc["far-away", "fit"] == "not fine"
    assert any("Far Away cannot be towed to: A bridge" in words for words in report.unknowns)
    parts = [c for c in shortlist if c.startswith("part_")]
    np.testing.assert_allclose(shortlist[parts].sum(axis=1), shortlist["score"])
    assert any("'dogs' removes 1 of 3" in sentence for sentence in report.unknowns)


def test_deadlines_name_the_sites(report):
    assert any("(Moor Edge)" in what for what in report.deadlines["what"])
    assert report.deadlines["uid"].is_unique


def test_a_price_in_another_currency_is_not_compared(kit, sites):
    sites = sites.assign(currency=["GBP", "GBP", "EUR"])
    seasons = pd.concat([kit.season_frame(*kit.YEAR, site=s) for s in sites.index])
    found = report_sites(
        kit.inputs_with(candidates=["far-away"]), sites, seasons,
        drive_min=pd.Series(dtype=float), reach=None, tow=None, country="GB", planned_on=ON,
    )  # fmt: skip
    shortlist = found.shortlist.set_index("site_id")
    assert "price" in shortlist.loc["far-away", "not_known"]
    assert shortlist.loc["far-away", "price"] == 273.49


def test_nothing_known_of_a_site_is_never_fine(kit):
    bare = dict.fromkeys(
        ("open_from", "pitch_length_m", "max_outfit_length_m", "min_nights", "hookup_a", "dogs")
    )
    found = report_sites(
        kit.inputs_with(), kit.site_frame(**bare), kit.season_frame(),
        drive_min=pd.Series(dtype=float), reach=None, tow=None, country="GB", planned_on=ON,
    )  # fmt: skip
    assert found.shortlist["fit"].item() == State.UNKNOWN.value
    assert all(line.likely is None for line in found.cost_lines if "pitch with" in line.what)
