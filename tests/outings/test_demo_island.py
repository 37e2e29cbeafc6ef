"""The whole stage on the invented island, with its own lists and rides."""

import datetime as dt

import numpy as np
import pandas as pd
import pytest

from planner_kit.outings import plan_outings, read_attractions
from planner_kit.reference import shipped_folder
from planner_kit.region import build_region
from planner_kit.trip import read_prices
from tests.outings.conftest import make_inputs

DEMO = shipped_folder("data") / "demo"
ARRIVE, LEAVE = dt.date(2027, 7, 24), dt.date(2027, 7, 31)


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    if not (DEMO / "sallowey.osm.pbf").is_file():
        pytest.skip("the demo island has not been made")
    tiles = sorted(DEMO.glob("*.hgt.zip"))
    folder = tmp_path_factory.mktemp("outings") / "sallowey"
    region = build_region(DEMO / "sallowey.osm.pbf", tiles, folder, country="GB", progress=False)
    site = region.places[region.places["kind"] == "caravan_site"].iloc[0]
    return plan_outings(
        make_inputs({"rest_days": 1, "must": ["Quillan Light"]}, nights=7),
        region,
        pd.Series({"name": site["name"], "lat": site["lat"], "lon": site["lon"]}, name="first"),
        ARRIVE,
        LEAVE,
        attractions=read_attractions(DEMO / "attractions.csv"),
        prices=read_prices(DEMO / "prices.csv"),
        rides=sorted((DEMO / "rides").glob("*.gpx")),
    )


def test_own_rows_and_mapped_places_are_joined_once(report):
    named = report.ranking[report.ranking["name"] != ""]
    refs = named.loc[named["osm_ref"] != "", "osm_ref"]
    assert not refs.duplicated().any()
    assert {"own list", "map"} <= set(report.ranking["position_from"])


def test_every_day_out_is_planned_or_said_to_be_free(report):
    assert report.days["day"].nunique() == 6
    assert (report.days["what"] == "rest").sum() == 1
    trips = report.days[report.days["what"] == "outing"]
    assert (trips["end"].dt.time <= dt.time(18)).all()
    assert len(report.cost_lines) == len(trips) + 1


def test_most_places_are_reached_by_road_or_on_foot_from_it(report):
    assert report.ranking["drive_min"].notna().mean() > 0.9
    assert (report.ranking["walk_min"] > 0).any()


def test_parts_sum_to_the_score(report):
    parts = report.ranking.filter(like="part_")
    np.testing.assert_allclose(parts.sum(axis=1), report.ranking["score"])


def test_must_open_at_weekends_only_is_on_its_day(report):
    row = report.days[report.days["name"] == "Quillan Light"].iloc[0]
    assert row["day"].weekday() >= 5
