"""The years of a diary, its tows on the map, search, photos and export."""

from __future__ import annotations

import copy
import json
import shutil
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from planner_kit.views.diary_pages import diary_pages
from planner_kit.views.years import TowsMap, show_tows, show_years

HARM = "<script>alert(1)</script>"
KEPT = Path(__file__).parents[1] / "diary" / "kept_records" / "schema_4" / "facts.json"


@pytest.fixture
def folder(demo: Path, tmp_path: Path) -> Path:
    for name in ("household.toml", "trip_2027.toml"):
        shutil.copy(demo / name, tmp_path)
    shutil.copytree(demo / "region", tmp_path / "region")
    (tmp_path / "photos").mkdir()
    Image.new("RGB", (40, 30), "#336699").save(tmp_path / "photos" / "beach.png")
    facts = json.loads(KEPT.read_text(encoding="utf-8"))
    for year in (2025, 2026):
        own: dict[str, Any] = copy.deepcopy(facts)
        own["trip"].update(name=f"Summer {HARM}", start=f"{year}-07-25", end=f"{year}-08-01")
        own["photos"] = ["photos", "../../away"] if year == 2026 else []
        (tmp_path / "records" / str(year)).mkdir(parents=True)
        text = json.dumps(own)
        (tmp_path / "records" / str(year) / "facts.json").write_text(text, encoding="utf-8")
    return tmp_path


def test_years_show_each_trip_on_its_calendar_with_miles_and_money(folder: Path) -> None:
    table, chart = show_years(folder).children
    assert table.value.count("<rect") == 2
    assert "73 miles" in table.value
    assert "£" in table.value
    assert HARM not in table.value
    assert [bar.name for bar in chart.data] == ["towed", "planned", "spent"]
    assert list(chart.data[0].x) == ["2025", "2026"]
    assert chart.data[0].y[0] == pytest.approx(117.0 / 1.609344)


def test_empty_diary_says_how_to_begin(folder: Path) -> None:
    for shown in (show_years(folder, records="none"), show_tows(folder, records="none")):
        assert "There is no record yet" in shown.children[0].value


def test_map_shows_all_tows_or_those_of_one_year(folder: Path) -> None:
    shown = show_tows(folder)
    assert isinstance(shown, TowsMap)
    assert shown.year.label == "all years"
    assert shown.year.value is not None  # the browser shows a choice of None as empty
    assert len(shown.map.shapes["mark"].data["features"]) == 4
    shown.year.value = 2025
    lines = shown.map.shapes["mark"].data["features"]
    assert len(lines) == 2
    lon, lat = lines[0]["geometry"]["coordinates"][0]
    assert -15 < lon < -14
    assert 49 < lat < 50
    assert shown.table.value.count("<tr>") == 3


def test_search_counts_what_it_finds_and_escapes_it(folder: Path) -> None:
    pages = diary_pages(folder)
    pages.words.value = "pegs"
    assert "2 places found" in pages.found.value
    pages.words.value = "script"
    assert HARM not in pages.found.value
    pages.words.value = "zeppelin"
    assert "0 places found" in pages.found.value
    pages.words.value = " "
    assert pages.found.value == ""


def test_photos_of_a_trip_are_shown_and_missing_ones_named(folder: Path) -> None:
    pages = diary_pages(folder)
    newest, older = (value for _, value in pages.trip.options[1:])
    pages.trip.value = newest
    assert pages.photos.value.count("<img") == 1
    assert "leads out of the trip" in pages.photos.value
    pages.trip.value = older
    assert "names no photos" in pages.photos.value


def test_book_and_tables_are_written_by_buttons(folder: Path) -> None:
    pages = diary_pages(folder)
    pages.book.click()
    assert (folder / "diary.html").is_file()
    pages.tables.click()
    assert (folder / "diary-tables" / "trips.csv").is_file()
    empty = diary_pages(folder, records="none")
    empty.book.click()
    assert 'role="alert"' in empty.told.value


def test_records_without_a_line_are_named_below_the_map_and_stand_for_it(folder: Path) -> None:
    facts = json.loads(KEPT.read_text(encoding="utf-8"))
    facts["trip"].update(name=f"Early {HARM}", start="2024-07-20", end="2024-07-27")
    facts["tows"] = []
    (folder / "records" / "2024").mkdir()
    (folder / "records" / "2024" / "facts.json").write_text(json.dumps(facts), encoding="utf-8")
    shown = show_tows(folder)
    assert isinstance(shown, TowsMap)
    told = shown.children[-1].value
    assert "20 July 2024" in told
    assert "neither tow.geojson nor tow.gpx" in told
    assert HARM not in told
    for year in ("2025", "2026"):
        shutil.rmtree(folder / "records" / year)
    alone = show_tows(folder).children[0].value
    assert "neither tow.geojson nor tow.gpx" in alone
    assert "There is no record yet" not in alone
