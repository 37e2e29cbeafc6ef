import json
from types import SimpleNamespace

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from planner_kit.outings import gather_attractions, read_attractions
from planner_kit.outings.protected_areas import kind_of_area, protected_areas
from tests.outings.conftest import place

PITCH = (49.5, -14.5)


def with_areas(region, *areas):
    rows = [
        {"kind": "protected", "name": name, "tags": json.dumps(tags), "geometry": shapely.box(*box)}
        for name, box, tags in areas
    ]
    frame = gpd.GeoDataFrame(rows, geometry="geometry", crs="EPSG:4326")
    return SimpleNamespace(
        places=region.places, country="GB", time_zone="Europe/London", areas=frame
    )


def gathered(region, own=None):
    found = gather_attractions(region, read_attractions(None) if own is None else own, PITCH)
    return found.set_index("attraction_id")


FELLS = ("Gull Fells", (-14.56, 49.51, -14.51, 49.53), {"boundary": "national_park"})


def test_national_park_is_a_place_reached_at_its_edge(region):
    found = gathered(with_areas(region, FELLS))
    park = found[found["name"] == "Gull Fells"].iloc[0]
    assert park["kind"] == "national_park"
    assert (park["lat"], park["lon"]) == (49.51, -14.51)  # its corner nearest to the pitch
    assert park["distance_km"] == pytest.approx(1.33, abs=0.02)
    assert park["kind_from"] == "map"


def test_places_in_an_area_say_so(region):
    found = gathered(with_areas(region, FELLS))
    assert found.loc["w1", "inside_area"] == "Gull Fells"
    assert found.loc["n2", "inside_area"] == ""


def test_reserve_that_is_a_place_too_is_one_row_at_its_edge(region):
    named = place("r9", "nature_reserve", "Gull Fells", 49.52, -14.54, fee="no")
    region.places = pd.concat([region.places, pd.DataFrame([named])], ignore_index=True)
    found = gathered(with_areas(region, FELLS))
    rows = found[found["name"] == "Gull Fells"]
    assert list(rows.index) == ["r9"]
    assert (rows["lat"].iloc[0], rows["adult_price"].iloc[0]) == (49.51, 0)
    assert rows["kind"].iloc[0] == "national_park"


def test_pitch_inside_an_area_is_there_already(region):
    around = ("Wide Moor", (-14.6, 49.4, -14.4, 49.6), {"boundary": "protected_area"})
    areas, outlines = protected_areas(with_areas(region, around), PITCH, 60)
    assert bool(areas["inside"].iloc[0])
    assert (areas["lat"].iloc[0], areas["lon"].iloc[0]) == PITCH
    assert len(outlines) == 1


def test_far_and_nameless_areas_are_left_out(region):
    far = ("Far Park", (-10.0, 49.0, -9.9, 49.1), {"boundary": "national_park"})
    nameless = ("", (-14.52, 49.51, -14.51, 49.52), {})
    areas, _ = protected_areas(with_areas(region, far, nameless), PITCH, 60)
    assert areas.empty


@pytest.mark.parametrize(
    ("tags", "kind"),
    [
        ({"boundary": "national_park"}, "national_park"),
        ({"boundary": "protected_area", "protect_class": "22"}, "heritage_area"),
        ({"boundary": "protected_area", "heritage": "1"}, "heritage_area"),
        ({"leisure": "nature_reserve", "heritage": "no"}, "nature_reserve"),
    ],
)
def test_kind_of_an_area_is_told_by_its_tags(tags, kind):
    assert kind_of_area(tags) == kind


def test_outline_and_point_of_one_castle_are_one_place(region):
    double = place("n90", "castle", "gull castle", 49.5202, -14.5201, wheelchair="limited")
    region.places = pd.concat([region.places, pd.DataFrame([double])], ignore_index=True)
    found = gathered(region)
    assert "n90" not in found.index
    assert found.loc["w1", "also"] == "n90"
    assert found.loc["w1", "wheelchair"] == "limited"
    assert found.loc["w1", "wheelchair_from"] == "map"


def test_same_name_of_another_kind_stays_two(region):
    inn = place("n91", "museum", "Gull Castle", 49.5202, -14.5201)
    region.places = pd.concat([region.places, pd.DataFrame([inn])], ignore_index=True)
    assert {"w1", "n91"} <= set(gathered(region).index)


def test_two_rows_of_the_list_for_one_place_are_joined_and_named(region, list_path):
    text = list_path.read_text(encoding="utf-8")
    again = "gull2,The Gull Castle,,,,w1,,,,,,,,,,,,,,,on a lead,,second leaflet,\n"
    list_path.write_text(text + again, encoding="utf-8")
    found = gathered(region, read_attractions(list_path))
    assert "gull2" not in found.index
    assert found.loc["gull", "also"].startswith("gull2")
    assert found.loc["gull", "dogs"] == "on a lead"  # what the first row left empty
    assert found.loc["gull", "adult_price"] == 12


def test_charge_on_the_map_is_a_price_in_its_own_money(region):
    paid = place("n92", "museum", "Shell House", 49.51, -14.49, charge="7.50 EUR")
    odd = place("n93", "museum", "Rope House", 49.52, -14.49, charge="ask inside")
    region.places = pd.concat([region.places, pd.DataFrame([paid, odd])], ignore_index=True)
    found = gathered(region)
    assert (found.loc["n92", "adult_price"], found.loc["n92", "currency"]) == (7.5, "EUR")
    assert np.isnan(found.loc["n93", "adult_price"])


def test_real_extracts_give_their_protected_areas(open_data_regions, open_data_name):
    region = open_data_regions(open_data_name)
    areas = region.areas[(region.areas["kind"] == "protected") & (region.areas["name"] != "")]
    middle = region.nodes["lat"].median(), region.nodes["lon"].median()
    found = gather_attractions(region, read_attractions(None), middle)
    assert set(areas["name"]) <= set(found["name"])
    within = found[found["inside_area"] != ""]
    for row in within.head(20).itertuples():
        names = str(row.inside_area).split(", ")
        shapes = areas[areas["name"].isin(names)].geometry
        assert shapes.contains(shapely.Point(row.lon, row.lat)).any()
