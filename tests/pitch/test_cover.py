from __future__ import annotations

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
import shapely

from planner_kit.pitch.cover import BUILDINGS, OPEN, SEA, TREES, Cover, cover_of
from planner_kit.pitch.coverage_map import coverage_map
from planner_kit.pitch.masts import region_masts
from planner_kit.pitch.receivers import phone_receiver
from planner_kit.pitch.signals import survey_signals
from planner_kit.pitch.surroundings import better_words, surroundings
from planner_kit.region.terrain import Terrain
from planner_kit.trip.household import Phone

PHONE = phone_receiver(Phone(owner="Ann", operator="Northwave"))


@dataclass(frozen=True, eq=False)
class MappedRegion:
    areas: gpd.GeoDataFrame
    places: pd.DataFrame
    roads: gpd.GeoDataFrame
    terrain: object = None
    bounds: tuple[float, float, float, float] = (0.0, 54.0, 0.2, 54.1)


def mapped(*areas: tuple[str, tuple[float, float, float, float]], places=(), terrain=None):
    line = shapely.LineString([(0.0, 54.002), (0.02, 54.002)])
    return MappedRegion(
        gpd.GeoDataFrame(
            {"kind": [kind for kind, _ in areas]},
            geometry=[shapely.box(*box) for _, box in areas],
            crs=4326,
        ),
        pd.DataFrame(places, columns=["place_id", "kind", "name", "lat", "lon", "tags"]),
        gpd.GeoDataFrame({"geometry": [line]}, crs=4326),
        terrain,
    )


def test_woods_towns_and_sea_are_found_where_the_map_has_them() -> None:
    cover = cover_of(
        mapped(
            ("forest", (0.02, 54.02, 0.06, 54.06)),
            ("built_up", (0.1, 54.02, 0.14, 54.06)),
            ("sea", (0.16, 54.0, 0.2, 54.1)),
        )
    )
    assert cover is not None
    lon, lat = [0.04, 0.12, 0.18, 0.08, 5.0], [54.04] * 5
    assert cover.class_at(lon, lat).tolist() == [TREES, BUILDINGS, SEA, OPEN, OPEN]
    assert cover.heights_m(lon, lat).tolist() == [15, 10, 0, 0, 0]


def test_region_without_areas_has_no_cover() -> None:
    assert cover_of(mapped()) is None


def test_trees_on_the_way_take_from_the_level(masts, flat) -> None:
    wood = cover_of(mapped(("forest", (0.02, 54.0, 0.08, 54.01))))
    bare = survey_signals(54.0, 0.0, (PHONE,), masts({}), flat).table.iloc[0]
    wooded = survey_signals(54.0, 0.0, (PHONE,), masts({}), flat, cover=wood).table.iloc[0]
    assert wooded["level"] < bare["level"] - 3
    assert "mapped trees" in wooded["sentence"]


def test_coverage_behind_a_wood_is_lower_and_before_it_the_same() -> None:
    terrain = Terrain(np.full((60, 60), 50, np.int16), 0.0, 54.05, 1 / 1200, 1 / 1200)
    grid = np.zeros((90, 90), np.uint8)
    grid[:, 45:50] = TREES
    wood = Cover(grid, 0.0, 54.05, 1 / 1800)
    place = (54.025, 0.005, 15.0, 60.0, 800.0)
    bare, wooded = coverage_map(*place, terrain), coverage_map(*place, terrain, cover=wood)
    # The wood stands from 0.025 to 0.0278 degrees east: columns 30 to 33.
    assert np.allclose(bare[:, 8:28], wooded[:, 8:28])
    assert (wooded[20:40, 40:] < bare[20:40, 40:] - 1).all()


def test_masts_of_the_map_join_the_list_without_an_operator(masts) -> None:
    places = [
        ("n1", "mast", "", 54.03, 0.05, '{"height": "45 m"}'),
        ("n2", "mast", "Hill Mast", 54.0, 0.1001, '{"height": "148 ft"}'),
        ("n3", "mast", "Far Mast", 54.06, 0.15, "{}"),
        ("n4", "pub", "Inn", 54.05, 0.05, "{}"),
    ]
    listed = masts({})
    joined = region_masts(mapped(places=places), listed)
    # The second stands on the listed one and is the same.
    assert joined["name"].tolist() == ["Made Mast", "A mast of the map", "Far Mast"]
    assert joined["operator"].tolist() == ["Northwave", "", ""]
    assert joined["height_m"].iloc[1] == 45
    assert np.isnan(joined["height_m"].iloc[2])
    assert len(listed) == 1
    assert region_masts(mapped(), listed) is listed


def test_mast_of_the_map_is_told_and_stays_unknown(masts, flat) -> None:
    places = [("n1", "mast", "", 54.0, 0.05, '{"height": "45"}')]
    listed = region_masts(mapped(places=places), masts())
    row = survey_signals(54.0, 0.0, (PHONE,), listed, flat).table.iloc[0]
    assert row["state"] == "unknown"
    assert row["for_whom"] == ""
    assert "A mast of the map" in row["sentence"]
    assert "its operator" in row["sentence"]


@pytest.fixture
def behind_a_bank(masts, bank):
    region = mapped(terrain=bank)
    survey = survey_signals(54.0, 0.0, (PHONE,), masts({}), bank)
    return region, survey


@pytest.fixture
def bank(flat):
    """Level ground with a bank of 30 m that ends 400 m to the north of the pitch."""
    return type(flat)(
        lambda lon, lat: np.where((np.abs(lon - 0.004) < 0.001) & (lat < 54.0036), 80.0, 50.0)
    )


def test_it_gets_better_beyond_the_bank_on_foot_and_on_the_road(behind_a_bank) -> None:
    region, survey = behind_a_bank
    around = surroundings(54.0, 0.0, (54.0, 0.1), survey, 0, region)
    here = around[(around["distance_m"] < 10) & ~around["on_road"]]
    assert here["gain_db"].abs().max() < 1.0
    north = around[(around["lat"] > 54.0045) & (around["lon"].abs() < 0.001)]
    assert (north["gain_db"] > 3).all()
    assert around["on_road"].any()
    words = better_words(around)
    assert words.startswith("It should get better on foot")
    assert "dB" in words


def test_nowhere_better_says_nothing_and_without_terrain_nothing_is_known(masts, flat) -> None:
    level = survey_signals(54.0, 0.0, (PHONE,), masts({}), flat)
    assert better_words(surroundings(54.0, 0.0, (54.0, 0.1), level, 0, mapped(terrain=flat))) == ""
    assert surroundings(54.0, 0.0, (54.0, 0.1), level, 0, mapped()).empty
