"""Whatever is damaged in a file, the kit uses it or says so in a sentence that names the file.

``PLANNER_KIT_FUZZ_CASES=2000 python -m pytest tests/fuzz -s`` tries more.
"""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import nbformat
import numpy as np
import pytest
import rasterio
import tomlkit
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfWriter
from rasterio.transform import from_origin

from tests.fuzz.conftest import ReaderProcess
from tests.fuzz.mutations import damaged_bytes, damaged_cells, damaged_tree, fuzzed, toml_text

PROJECT = Path(__file__).resolve().parents[2]
DEMO = PROJECT / "data" / "demo"


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory, demo: Path) -> Path:
    """A planning folder of one's own, whose files are damaged one at a time."""
    folder = tmp_path_factory.mktemp("fuzz") / "island"
    shutil.copytree(demo, folder, symlinks=True)
    return folder


def _try(reader: ReaderProcess, place: Path, name: str, data: bytes) -> str:
    """The words for a damaged file; the files beside it stay as they were."""
    path = place / name
    before = path.read_bytes() if path.exists() else None
    beside = sorted(p.name for p in place.iterdir())
    path.write_bytes(data)
    try:
        ended, words = reader.check(path)
    finally:
        if before is None:
            path.unlink()
        else:
            path.write_bytes(before)
    assert sorted(p.name for p in place.iterdir()) == beside
    if ended == "said":
        assert str(place) in words, words
        assert "Traceback" not in words
        assert len(words) < 1_500, words
    return words


@pytest.mark.parametrize("name", ["household.toml", "trip_2026.toml", "trip_2027.toml"])
@fuzzed(20)
@given(data=st.data())
def test_file_of_keys_is_used_or_its_key_is_named(
    reader: ReaderProcess, place: Path, name: str, data: st.DataObject
) -> None:
    text = (DEMO / name).read_text()
    damaged = data.draw(
        st.one_of(
            damaged_tree(lambda: tomlkit.parse(text).unwrap(), toml_text),
            damaged_bytes(text.encode()),
        )
    )
    _try(reader, place, name, damaged)


@pytest.mark.parametrize("name", sorted(path.name for path in DEMO.glob("*.csv")))
@fuzzed(20)
@given(data=st.data())
def test_list_is_used_or_its_cell_is_named(
    reader: ReaderProcess, place: Path, name: str, data: st.DataObject
) -> None:
    text = (DEMO / name).read_text()
    damaged = data.draw(st.one_of(damaged_cells(text), damaged_bytes(text.encode())))
    _try(reader, place, name, damaged)


def _attractions_as_points() -> Any:
    properties = {"attraction_id": "a", "name": "A", "kind": "castle"}
    return {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "geometry": {"type": "Point", "coordinates": [-14.5, 49.5]},
                "properties": {**properties, "attraction_id": f"a{number}"},
            }
            for number in range(5)
        ],
    }


def _facts() -> Any:
    kept = sorted((PROJECT / "tests" / "diary" / "kept_records").rglob("facts.json"))
    return json.loads(kept[-1].read_text())


def _template() -> Any:
    return nbformat.read(PROJECT / "templates" / "trip_record.ipynb", as_version=4)


TREES: dict[str, Callable[[], Any]] = {
    "points.geojson": _attractions_as_points,
    "facts.json": _facts,
    "template.ipynb": _template,
}


@pytest.mark.parametrize("name", sorted(TREES))
@fuzzed(20)
@given(data=st.data())
def test_json_is_used_or_its_fault_is_said(
    reader: ReaderProcess, place: Path, name: str, data: st.DataObject
) -> None:
    tree = TREES[name]
    damaged = data.draw(
        st.one_of(damaged_tree(tree, json.dumps), damaged_bytes(json.dumps(tree()).encode()))
    )
    _try(reader, place, name, damaged)


def _grid(folder: Path) -> bytes:
    path = folder / "whole.tif"
    heights = np.arange(64 * 64, dtype=np.int16).reshape(64, 64)
    with rasterio.open(
        path, "w", driver="GTiff", width=64, height=64, count=1, dtype="int16", crs="EPSG:4326",
        transform=from_origin(-14.6, 49.6, 0.01, 0.01), nodata=-32768,
    ) as out:  # fmt: skip
        out.write(heights, 1)
    return path.read_bytes()


def _confirmation(folder: Path) -> bytes:
    path = folder / "whole.pdf"
    writer = PdfWriter()
    for _ in range(3):
        writer.add_blank_page(200, 200)
    writer.add_metadata({"/Title": "Confirmation", "/Author": "somebody"})
    writer.write(path)
    return path.read_bytes()


BINARY: dict[str, Callable[[Path], bytes]] = {
    "island.osm.pbf": lambda _: (DEMO / "sallowey.osm.pbf").read_bytes(),
    "N49W015.hgt.zip": lambda _: (DEMO / "N49W015.hgt.zip").read_bytes(),
    "N49W016.hgt": lambda _: bytes(2 * 1201 * 1201),
    "grid.tif": _grid,
    "ride.gpx": lambda _: (DEMO / "rides" / "family-loop.gpx").read_bytes(),
    "confirmation.pdf": _confirmation,
}


@pytest.mark.parametrize("name", sorted(BINARY))
@fuzzed(20)
@given(data=st.data())
def test_other_file_is_used_or_its_fault_is_said(
    reader: ReaderProcess,
    place: Path,
    tmp_path_factory: pytest.TempPathFactory,
    name: str,
    data: st.DataObject,
) -> None:
    whole = _wholes.get(name)
    if whole is None:
        whole = _wholes[name] = BINARY[name](tmp_path_factory.mktemp("whole"))
    _try(reader, place, name, data.draw(damaged_bytes(whole)))


_wholes: dict[str, bytes] = {}
