"""A region built from damaged map data is whole or not there, and the older one stays."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner_kit.region import build_region, open_region
from tests.fuzz.conftest import ReaderProcess
from tests.fuzz.mutations import damaged_bytes, fuzzed

DEMO = Path(__file__).resolve().parents[2] / "data" / "demo"
EXTRACT, TILE = "sallowey.osm.pbf", "N49W015.hgt.zip"


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with an extract, a tile and an older region of the same name."""
    folder = tmp_path_factory.mktemp("damaged")
    for name in (EXTRACT, TILE):
        shutil.copy(DEMO / name, folder / name)
    build_region(folder / EXTRACT, [], folder / "region", name="Older", progress=False)
    return folder


@pytest.mark.parametrize("name", [EXTRACT, TILE])
@fuzzed(8)
@given(data=st.data())
def test_region_is_whole_or_the_older_one_stays(
    reader: ReaderProcess, place: Path, name: str, data: st.DataObject
) -> None:
    whole = (DEMO / name).read_bytes()
    before = (place / "region" / "manifest.json").read_bytes()
    (place / name).write_bytes(data.draw(damaged_bytes(whole)))
    try:
        ended, words = reader.check(place / EXTRACT, place / TILE, place / "region")
    finally:
        (place / name).write_bytes(whole)
    assert sorted(path.name for path in place.iterdir()) == sorted([EXTRACT, TILE, "region"])
    if ended == "said":
        assert str(place) in words
        assert (place / "region" / "manifest.json").read_bytes() == before
    assert len(open_region(place / "region").roads) > 0
