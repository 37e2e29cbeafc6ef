"""Sites of the map and of the household's list, matched and put together."""

import json
from types import SimpleNamespace

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.errors import PlanFileError
from planner_kit.sites import gather_sites, read_matches
from planner_kit.sites.gathering import distance_m, map_sites, name_alikeness
from planner_kit.sites.site_list import source_of

# 0.001 degrees of latitude are about 111 m.
PLACE = {"place_id": "w1", "kind": "caravan_site", "name": "Gull Field", "lat": 50.1, "lon": -3.1}


def region(*places, date="2026-10-01T20:21:22Z"):
    rows = []
    for number, place in enumerate(places):
        tags = json.dumps(place.get("tags", {}))
        rows.append({**PLACE, "place_id": f"w{number + 1}", **place, "tags": tags})
    return SimpleNamespace(places=pd.DataFrame(rows), manifest={"data_date": date})


def test_tags_become_columns_and_what_is_not_tagged_stays_missing():
    tags = {
        "power_supply": "no", "sanitary_dump_station": "yes", "internet_access": "wlan",
        "dog": "leashed", "fee": "yes", "capacity": "40", "maxlength": "9.5 m",
        "opening_hours": "Apr-Sep", "drinking_water": "yes", "wheelchair": "no",
    }  # fmt: skip
    site = map_sites(region({"tags": tags})).iloc[0]
    assert (site["hookup_a"], site["capacity"], site["max_outfit_length_m"]) == (0, 40, 9.5)
    assert bool(site["dogs"])
    assert bool(site["wifi"])
    assert not site["step_free"]
    assert pd.isna(site["playground"])
    assert pd.isna(site["price_high"])
    assert site["as_of"] == pd.Timestamp("2026-10-01")


def test_near_and_alike_is_sure_and_only_near_is_to_be_looked_at(kit):
    found = gather_sites(
        region({"name": "Field of Gulls"}, {"name": "Harbour Park", "lat": 50.1005}),
        kit.site_frame(name="Field of Gulls"),
    )
    assert found.matches["verdict"].tolist() == ["sure"]
    other = gather_sites(region({"name": "Harbour Park", "lat": 50.1005}), kit.site_frame())
    assert other.matches["verdict"].tolist() == ["look at this"]
    assert "names differ" in other.matches["why"].iloc[0]


def test_the_map_fills_empty_cells_only_and_says_where_from(kit):
    place = {"tags": {"sanitary_dump_station": "yes", "wlan": "yes", "playground": "yes",
                      "dog": "no"}}  # fmt: skip
    found = gather_sites(region(place), kit.site_frame(osm_ref="way/1"))
    site = found.sites.loc["gull-field"]
    assert bool(site["dump_station"])
    assert not site["playground"]  # the list says no
    assert site["from_map"].split() == ["dump_station"]
    assert source_of(site, "dump_station") == "the map"
    assert source_of(site, "playground") == "site list: invented"
    facts = found.facts[found.facts["source"] == "OpenStreetMap"].set_index("fact")
    assert facts.loc["dump_station", "used"]
    assert facts.loc["dump_station", "as_of"] == pd.Timestamp("2026-10-01")
    disputed = found.facts[found.facts["disputed"]]
    assert set(disputed["fact"]) == {"playground", "dogs"}
    assert disputed.loc[disputed["used"], "source"].unique().tolist() == ["invented"]


def test_a_doubtful_match_fills_nothing_and_a_told_one_does(kit, tmp_path):
    place = {"name": "Harbour Park", "tags": {"sanitary_dump_station": "yes"}}
    plain = gather_sites(region(place), kit.site_frame())
    assert pd.isna(plain.sites.loc["gull-field", "dump_station"])
    path = tmp_path / "matches.csv"
    path.write_text("site_id,place_id,same\ngull-field,w1,yes\n", encoding="utf-8")
    told = gather_sites(region(place), kit.site_frame(), read_matches(path))
    assert told.matches["verdict"].tolist() == ["told by you"]
    assert bool(told.sites.loc["gull-field", "dump_station"])


def test_a_match_told_to_be_none_leaves_two_sites(kit, tmp_path):
    path = tmp_path / "matches.csv"
    path.write_text("site_id,place_id,same\ngull-field,w1,no\n", encoding="utf-8")
    found = gather_sites(region({}), kit.site_frame(), read_matches(path))
    assert found.matches.empty
    assert set(found.sites.index) == {"gull-field", "w1"}


def test_a_correction_of_nothing_is_told_with_its_row(kit, tmp_path):
    path = tmp_path / "matches.csv"
    path.write_text("site_id,place_id,same\ngull-feild,w1,yes\n", encoding="utf-8")
    with pytest.raises(PlanFileError, match=r"matches.csv, row 2, column site_id.*gull-field"):
        gather_sites(region({}), kit.site_frame(), read_matches(path))


def test_of_two_places_the_likelier_is_taken_and_each_place_once(kit):
    sites = pd.concat([kit.site_frame(), kit.site_frame(site_id="b", name="Gull Field Annexe")])
    found = gather_sites(
        region({"name": "Gull Field"}, {"name": "Gull Field Annexe", "lat": 50.1004}), sites
    )
    pairs = dict(zip(found.matches["site_id"], found.matches["place_id"], strict=True))
    assert pairs == {"gull-field": "w1", "b": "w2"}


def test_without_a_list_the_map_s_sites_stand_alone():
    from planner_kit.sites import read_sites

    found = gather_sites(region({}, {"name": "", "lat": 51}), read_sites(None))
    assert found.sites["name"].tolist() == ["Gull Field", "unnamed site w2"]
    assert found.facts["used"].all()


def test_names_are_alike_whatever_case_accents_and_order():
    assert name_alikeness("Café du Lac", "LAC DU CAFE") == 1
    assert name_alikeness("Gull Field", "Harbour Park") < 0.5


@settings(max_examples=30, deadline=None)
@given(st.floats(-80, 80), st.floats(-179, 179), st.floats(-0.05, 0.05), st.floats(-0.05, 0.05))
def test_distances_agree_with_a_geodesic(lat, lon, north, east):
    geodesic = pytest.importorskip("geographiclib.geodesic").Geodesic.WGS84
    other = (lat + north, lon + east)
    exact = geodesic.Inverse(lat, lon, *other)["s12"]
    found = distance_m(lat, lon, pd.Series([other[0]]).to_numpy(), pd.Series([other[1]]).to_numpy())
    assert found[0] == pytest.approx(exact, rel=0.006, abs=0.5)
