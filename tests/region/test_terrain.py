from __future__ import annotations

import zipfile
from pathlib import Path

import numpy as np
import pytest
import rasterio
from hypothesis import given, settings
from hypothesis import strategies as st
from rasterio.transform import from_origin

from planner_kit.errors import PlanFileError
from planner_kit.region.terrain import VOID, Terrain, open_terrain
from planner_kit.region.tiles import find_tile, merge_tiles

GRID = Terrain(np.array([[10, 20, 30], [40, 50, VOID]], dtype=np.int16), 9.0, 48.0, 0.5, 0.5)


def test_height_at_a_cell_is_that_of_the_cell() -> None:
    assert GRID.heights_m([9.0, 9.5, 10.0, 9.0], [48.0, 48.0, 48.0, 47.5]) == pytest.approx(
        [10, 20, 30, 40]
    )


def test_height_between_cells_is_bilinear() -> None:
    assert GRID.heights_m(9.25, 47.75) == pytest.approx(30)


def test_void_and_outside_are_unknown() -> None:
    lon, lat = [9.75, 10.0, 8.9, 9.2, 10.1], [47.75, 47.5, 48.0, 48.1, 48.0]
    assert np.isnan(GRID.heights_m(lon, lat)).all()


def test_void_does_not_spoil_the_cell_beside_it() -> None:
    assert GRID.heights_m(9.5, 47.5) == pytest.approx(50)


def test_heights_of_a_picture_are_those_of_its_places() -> None:
    lon, lat = np.linspace(8.9, 10.1, 25), np.linspace(48.1, 47.4, 15)
    picture = GRID.heights_of_picture_m(lon, lat)
    assert picture.shape == (15, 25)
    assert np.isnan(picture).any()
    np.testing.assert_allclose(picture, GRID.heights_m(lon[None, :], lat[:, None]))


@settings(max_examples=50, deadline=None)
@given(st.floats(9, 9.5), st.floats(47.5, 48))
def test_height_lies_between_those_around_it(lon: float, lat: float) -> None:
    assert 10 - 1e-6 <= GRID.heights_m(lon, lat) <= 50 + 1e-6


def test_profile_holds_both_ends_and_steps_evenly() -> None:
    profile = GRID.profile(9.0, 48.0, 9.4, 47.7, step_m=500)
    assert np.ptp(np.diff(profile.distance_m)) < 1e-6
    assert np.diff(profile.distance_m).max() <= 500
    assert (profile.lon[0], profile.lat[0]) == pytest.approx((9.0, 48.0))
    assert (profile.lon[-1], profile.lat[-1]) == (9.4, 47.7)
    assert profile.height_m[0] == pytest.approx(10)
    with pytest.raises(ValueError, match="above 0"):
        GRID.profile(9.0, 48.0, 9.4, 47.7, step_m=0)


def _plane(lon, lat):
    return 1000 * (lon - 10) + 500 * (lat - 50)


def test_hgt_becomes_a_grid_of_the_same_heights(tmp_path, make_hgt) -> None:
    tile = find_tile(make_hgt(_plane))
    covered = merge_tiles([tile], (10.2, 50.2, 10.4, 50.5), tmp_path / "t.tif")
    terrain = open_terrain(tmp_path / "t.tif")
    assert covered == 1.0
    lon, lat = 10 + 300 / 1200, 50 + 480 / 1200
    assert terrain.heights_m(lon, lat) == pytest.approx(round(_plane(lon, lat)))
    assert terrain.grid.shape[0] < 400


def test_zipped_hgt_gives_the_same_grid(tmp_path, make_hgt) -> None:
    plain = make_hgt(_plane)
    zipped = tmp_path / "tile.hgt.zip"
    with zipfile.ZipFile(zipped, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.write(plain, "N50E010.hgt")
    box = (10.1, 50.1, 10.2, 50.2)
    merge_tiles([find_tile(plain)], box, tmp_path / "a.tif")
    merge_tiles([find_tile(zipped)], box, tmp_path / "b.tif")
    a, b = open_terrain(tmp_path / "a.tif"), open_terrain(tmp_path / "b.tif")
    assert (a.grid == b.grid).all()
    assert (a.west_deg, a.north_deg) == (b.west_deg, b.north_deg)


def test_two_tiles_meet_without_a_seam(tmp_path, make_hgt) -> None:
    tiles = [find_tile(make_hgt(_plane)), find_tile(make_hgt(_plane, "N50E011.hgt"))]
    merge_tiles(tiles, (10.9, 50.1, 11.1, 50.2), tmp_path / "t.tif")
    terrain = open_terrain(tmp_path / "t.tif")
    lon = np.linspace(10.95, 11.05, 200)
    assert np.abs(terrain.heights_m(lon, 50.15) - _plane(lon, 50.15)).max() < 1.01


def test_geotiff_in_another_system_is_brought_to_degrees(tmp_path) -> None:
    path = tmp_path / "utm.tif"
    x = 500_000 + 30 * np.arange(400) + 15
    with rasterio.open(
        path,
        "w",
        driver="GTiff",
        width=400,
        height=400,
        count=1,
        dtype="float32",
        crs="EPSG:32632",
        transform=from_origin(500_000, 5_560_000, 30, 30),
        nodata=-9999,
    ) as out:
        out.write(np.broadcast_to((x - 500_000) / 10, (400, 400)).astype("float32"), 1)
    merge_tiles([find_tile(path)], (9.0, 50.1, 9.1, 50.15), tmp_path / "t.tif")
    from pyproj import Transformer

    lon, lat = Transformer.from_crs(32632, 4326, always_xy=True).transform(506_000, 5_555_000)
    assert open_terrain(tmp_path / "t.tif").heights_m(lon, lat) == pytest.approx(600, abs=3)


@pytest.mark.parametrize(
    ("name", "size", "says"),
    [
        ("N47E009.hgt", 2_884_800, "2,884,800"),
        ("N47E009.hgt", 0, "and this one has 0"),
        ("tile.hgt", 2_884_802, "which degree"),
        ("N95E009.hgt", 2_884_802, "not on the globe"),
        ("N47E009.asc", 10, "kind of terrain"),
        ("N47E009.tif", 10, "GeoTIFF"),
        ("N47E009.hgt.zip", 10, "zip"),
    ],
)
def test_tile_that_cannot_be_used_is_told_in_a_sentence(
    tmp_path: Path, name: str, size: int, says: str
) -> None:
    path = tmp_path / name
    path.write_bytes(bytes(size))
    with pytest.raises(PlanFileError, match=says) as told:
        find_tile(path)
    assert str(path) in str(told.value)


def test_tile_elsewhere_is_refused(tmp_path, make_hgt) -> None:
    with pytest.raises(PlanFileError, match="none of the terrain"):
        merge_tiles([find_tile(make_hgt(_plane))], (0, 0, 1, 1), tmp_path / "t.tif")
    assert not (tmp_path / "t.tif").exists()


def test_missing_tile_is_told(tmp_path) -> None:
    with pytest.raises(PlanFileError, match="no such file"):
        find_tile(tmp_path / "N47E009.hgt")
