"""Names and notes full of code come out as the words they are, in every file of a record."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest
import vobject
from pypdf import PdfReader

from planner_kit.cli import main
from planner_kit.diary import Record, record_trip
from tests.hostile_island import RAN, hostile_island

PLANNED_ON = dt.date(2027, 1, 9)


@pytest.fixture(scope="module")
def record(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Record:
    folder = hostile_island(demo, tmp_path_factory.mktemp("hostile") / "island")
    return record_trip(
        folder / "trip_2027.toml", folder / "records", planned_on=PLANNED_ON, progress=False
    )


class _Elements(HTMLParser):
    """What a browser would build from a page."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.starts: list[tuple[str, dict[str, str | None]]] = []
        self.scripts: list[str] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.starts.append((tag, dict(attrs)))

    def handle_data(self, data: str) -> None:
        inside = self.starts[-1][0] if self.starts else ""
        (self.scripts if inside in {"script", "style"} else self.words).append(data)


@pytest.fixture(scope="module")
def island(record: Record) -> Path:
    """The planning folder of the record, with a book, tables and a year's page beside it."""
    folder = record.folder.parent.parent
    told = [
        ("diary", "--book", folder / "out" / "book.html", "--csv", folder / "out"),
        ("year", "--year", "2027", "--to", folder / "out" / "year.pdf"),
        ("rerun", "--start", "2027-08-21", "--to", folder / "out" / "records"),
    ]
    (folder / "out").mkdir()
    for command, *options in told:
        what = folder / "trip_2027.toml" if command == "rerun" else folder
        assert main([command, str(what), *map(str, options)]) == 0
    return folder


def _pages(record: Record) -> Iterator[tuple[str, str]]:
    """Every piece of HTML in a record: the twin, and what each cell shows."""
    yield "pack.html", (record.folder / "pack.html").read_text(encoding="utf-8")
    notebook = json.loads((record.folder / "record.ipynb").read_text(encoding="utf-8"))
    for number, cell in enumerate(notebook["cells"]):
        for output in cell.get("outputs", ()):
            page = output.get("data", {}).get("text/html")
            if page:
                yield f"cell {number}", "".join(page)


def test_no_element_script_or_link_comes_out_of_a_file(record: Record, island: Path) -> None:
    seen = 0
    book = (island / "out" / "book.html").read_text(encoding="utf-8")
    for where, page in [*_pages(record), ("book.html", book)]:
        built = _Elements()
        built.feed(page)
        for tag, attributes in built.starts:
            assert not any(name.startswith("on") for name in attributes), (where, tag, attributes)
            for name in ("href", "src", "srcdoc", "action"):
                value = (attributes.get(name) or "").strip().lower()
                assert not value.startswith(("javascript:", "vbscript:")), (where, tag, value)
            assert tag not in {"iframe", "object", "embed", "base", "form"}, where
        assert not any(RAN in script for script in built.scripts), where
        seen += sum(RAN in words for words in built.words)
    assert seen > 50, "the payloads were not shown at all"


def test_calendar_has_only_the_events_that_the_kit_made(record: Record) -> None:
    text = (record.folder / "calendar.ics").read_bytes().decode("utf-8")
    calendar = vobject.readOne(text)
    assert text.count("BEGIN:VEVENT\r\n") == len(calendar.vevent_list)
    assert not any(event.summary.value == "added" for event in calendar.vevent_list)
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    assert not any(ord(letter) < 32 for letter in text if letter not in "\r\n\t")


def test_gpx_is_one_whole_document_without_added_places(record: Record) -> None:
    for path in record.folder.rglob("*.gpx"):
        root = ElementTree.fromstring(path.read_bytes())
        places = [p for p in root.iter() if p.tag.endswith("wpt")]
        assert not any(p.get("lat") == "0" and p.get("lon") == "0" for p in places), path.name


def test_tables_hold_no_formula(record: Record, island: Path) -> None:
    tables = [*record.folder.rglob("*.csv"), *(island / "out").rglob("*.csv")]
    assert len(tables) >= 3
    for path in tables:
        for row in csv.reader(io.StringIO(path.read_text(encoding="utf-8"), newline="")):
            for cell in row:
                number = cell.lstrip("+-").replace(".", "", 1).isdigit()
                assert number or not cell.startswith(tuple("=+-@\t")), (path.name, cell)


def test_geojson_and_facts_are_whole_json(record: Record) -> None:
    for pattern in ("*.geojson", "*.json"):
        for path in record.folder.rglob(pattern):
            json.loads(path.read_text(encoding="utf-8"))


def test_page_of_a_year_shows_the_words_and_holds_no_link(island: Path) -> None:
    pages = PdfReader(island / "out" / "year.pdf").pages
    assert RAN in "".join(page.extract_text() for page in pages)
    assert not any("/Annots" in page for page in pages)


def test_printed_folder_shows_the_words_and_runs_nothing(record: Record) -> None:
    reader = PdfReader(record.folder / "pack.pdf")
    text = "".join(page.extract_text() for page in reader.pages)
    assert "#panic" in text
    assert "49" not in text.split("{{7*7")[0][-3:]
    raw = (record.folder / "pack.pdf").read_bytes()
    assert b"/JavaScript" not in raw
    assert b"/Launch" not in raw
    for page in reader.pages:
        for link in page.get("/Annots", ()):
            action = link.get_object().get("/A", {}).get("/URI", "")
            assert not str(action).lower().startswith("javascript:")
