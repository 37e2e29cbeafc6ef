import numpy as np
import pandas as pd
import pytest

from planner_kit.checking import check_file
from planner_kit.errors import PlanFileError
from planner_kit.outings import gather_attractions, read_attractions
from planner_kit.outings.place_words import plain_name

PITCH = (49.5, -14.5)


@pytest.fixture
def gathered(region, list_path):
    return gather_attractions(region, read_attractions(list_path), PITCH).set_index("attraction_id")


def test_own_row_takes_place_and_hours_from_the_map_and_says_so(gathered):
    gull = gathered.loc["gull"]
    assert (gull["lat"], gull["lon"]) == (49.52, -14.52)
    assert gull["position_from"] == "map"
    assert gull["opening_hours"] == "Mo-Su 10:00-17:00"
    assert gull["opening_hours_from"] == "map"
    assert (gull["kind"], gull["kind_from"]) == ("castle", "map")


def test_own_facts_win_over_the_map_and_the_kind(gathered):
    gull = gathered.loc["gull"]
    assert (gull["time_needed_min"], gull["time_needed_min_from"]) == (150, "own list")
    assert (gull["indoor"], gull["indoor_from"]) == ("part", "usual for the kind")
    assert gathered.loc["steam", "opening_hours_from"] == "own list"


def test_place_of_one_name_nearby_is_one_place(gathered):
    assert "n2" not in gathered.index
    assert gathered.loc["nets", "adult_price"] == 0
    assert gathered.loc["nets", "adult_price_from"] == "map"
    assert gathered.loc["nets", "osm_ref"] == "n2"


def test_place_of_one_name_far_off_stays_two(region, list_path):
    own = read_attractions(list_path)
    own.loc[own["attraction_id"] == "nets", "lat"] = 49.6
    ids = set(gather_attractions(region, own, PITCH)["attraction_id"])
    assert {"nets", "n2"} <= ids


def test_mapped_places_without_name_out_of_reach_or_no_outing_are_dropped(gathered):
    assert set(gathered.index) == {"gull", "nets", "steam", "swim", "n3"}
    assert not gathered.loc["n3", "own"]
    assert gathered.loc["n3", "dogs"] == "yes"


def test_missing_price_stays_missing(gathered):
    assert np.isnan(gathered.loc["n3", "adult_price"])
    assert gathered.loc["n3", "adult_price_from"] == ""


def test_inputs_are_left_alone(region, list_path):
    own = read_attractions(list_path)
    before, places = own.copy(), region.places.copy()
    gather_attractions(region, own, PITCH)
    pd.testing.assert_frame_equal(own, before)
    pd.testing.assert_frame_equal(region.places, places)


def test_no_list_and_no_places_give_an_empty_frame(region):
    region.places = region.places.iloc[:0]
    assert gather_attractions(region, read_attractions(None), PITCH).empty


def test_map_alone_is_enough(region):
    ids = gather_attractions(region, read_attractions(None), PITCH)["attraction_id"]
    assert sorted(ids) == ["n2", "n3", "w1"]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ("a,Alpha,,,,", "neither lat and lon nor osm_ref"),
        ("a,Alpha,,,x12,", "n, w or r"),
        ("a,Alpha,1,2,,9", "above its scale"),
    ],
)
def test_row_that_cannot_be_used_is_named(tmp_path, row, words):
    path = tmp_path / "list.csv"
    path.write_text(f"attraction_id,name,lat,lon,osm_ref,rating\n{row}\n", encoding="utf-8")
    with pytest.raises(PlanFileError, match=words) as caught:
        read_attractions(path)
    assert "attraction a" in str(caught.value)


def test_plain_name_drops_case_accents_and_articles():
    assert plain_name("The Café of  St-Órla") == plain_name("cafe ST ORLA")


def test_hours_that_cannot_be_read_are_told_when_the_list_is_checked(tmp_path):
    path = tmp_path / "attractions.csv"
    head = "attraction_id,name,lat,lon,opening_hours\n"
    path.write_text(head + "a,Gull Castle,49.5,-14.5,when the flag is up\n")
    assert "Gull Castle ('when the flag is up') cannot be read" in check_file(path)
    path.write_text(head + "a,Gull Castle,49.5,-14.5,Mo-Su 10:00-17:00\n")
    assert check_file(path).endswith("that can be used")
