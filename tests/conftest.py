"""What every test may use: open data by pattern, and markers that name their source."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

    from planner_kit.region import Region

# Every run makes its results itself; the tests of kept results name a folder of their own.
os.environ["PLANNER_KIT_CACHE"] = "off"

PROJECT = Path(__file__).resolve().parent.parent
_NEEDS = {"published": "source", "common_practice": "source", "from_memory": "settle"}


def open_data_folder() -> Path | None:
    """The folder with open data for outside checks, None where it is absent."""
    told = os.environ.get("PLANNER_KIT_OPEN_DATA")
    folder = Path(told) if told else PROJECT.parent / "shared" / "open-data"
    return folder if folder.is_dir() else None


def open_data_files(pattern: str) -> list[Path]:
    """The files of the open data that a pattern finds, in order; none where it is absent."""
    folder = open_data_folder()
    return [] if folder is None else sorted(folder.glob(pattern))


def open_data_extracts() -> dict[str, Path]:
    """Every extract of the open data by the name of its folder."""
    return {path.parent.name: path for path in open_data_files("regions/*/*.osm.pbf")}


def open_data_terrain(extract: Path) -> list[Path]:
    """The terrain tiles that lie beside an extract."""
    found = [p for pattern in ("*.hgt", "*.hgt.zip", "*.tif") for p in extract.parent.glob(pattern)]
    return sorted(found)


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """A test that takes `open_data_name` runs once for every extract found."""
    if "open_data_name" not in metafunc.fixturenames:
        return
    names = sorted(open_data_extracts())
    absent = pytest.param("", marks=pytest.mark.skip(reason="the open data folder is absent"))
    metafunc.parametrize("open_data_name", names or [absent])


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """A marker of trust without its source fails the collection."""
    for item in items:
        for marker, key in _NEEDS.items():
            for mark in item.iter_markers(marker):
                if not str(mark.kwargs.get(key, "")).strip():
                    raise pytest.UsageError(f"{item.nodeid}: @{marker} needs {key}=...")


@pytest.fixture(scope="session")
def open_data() -> Path:
    """The open data folder; the test is skipped where it is absent."""
    folder = open_data_folder()
    if folder is None:
        pytest.skip("the open data folder is absent")
    return folder


@pytest.fixture(scope="session")
def open_data_regions(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Region]:
    """Builds the region of an open-data folder by name, once in a session.

    ``open_data_regions("liechtenstein")``; the test is skipped where that extract is absent.
    """
    from planner_kit.region import build_region

    built: dict[str, Region] = {}
    home = tmp_path_factory.mktemp("open_data_regions")

    def region(name: str) -> Region:
        extract = open_data_extracts().get(name)
        if extract is None:
            pytest.skip(f"the open data has no extract of {name}")
        if name not in built:
            tiles = open_data_terrain(extract)
            built[name] = build_region(extract, tiles, home / name, progress=False)
        return built[name]

    return region


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's planning folder, built once in a session; tests only read it."""
    from planner_kit.demo import demo_folder

    return demo_folder(tmp_path_factory.mktemp("demo") / "island", progress=False)
