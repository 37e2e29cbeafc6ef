"""The book and the tables: whole in themselves, everything escaped, photos only from the folder."""

import copy
import csv
import json
import re
import shutil
from html.parser import HTMLParser
from pathlib import Path

import pytest
from PIL import Image

from planner_kit.cli import main
from planner_kit.diary.book import photo_paths, small_photo, write_book, write_tables
from planner_kit.errors import PlanFileError
from planner_kit.region import open_region
from planner_kit.trip.household import Units

FACTS = json.loads(
    (Path(__file__).parent / "kept_records" / "schema_4" / "facts.json").read_text("utf-8")
)
HARM = "<script>alert(1)</script><img src=x onerror=alert(1)>"


class _Tags(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.seen: list[tuple[str, dict[str, str | None]]] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.seen.append((tag, dict(attrs)))


@pytest.fixture
def folder(demo: Path, tmp_path: Path) -> Path:
    """A planning folder with two records, of which one was written by somebody who means harm."""
    mine = tmp_path / "planning"
    (mine / "photos").mkdir(parents=True)
    for name in ("household.toml", "trip_2027.toml"):
        shutil.copy(demo / name, mine)
    shutil.copytree(demo / "region", mine / "region")
    photo = Image.new("RGB", (2400, 1600), "#336699")
    exif = Image.Exif()
    exif[0x010E] = "taken at home"
    photo.save(mine / "photos" / "beach.jpg", exif=exif)
    good, bad = copy.deepcopy(FACTS), copy.deepcopy(FACTS)
    good["photos"] = ["photos"]
    bad["trip"].update(id="other", name=HARM, start="2025-07-01", end="2025-07-08")
    bad["notes"], bad["sentences"] = [HARM], [HARM]
    bad["actuals"]["ratings"] = [{"place": HARM, "stars": 5, "note": "=cmd|' /C calc'!A0"}]
    bad["photos"] = ["/etc/passwd", "../../secret.jpg", "photos/none.jpg"]
    for name, facts in (("good", good), ("bad", bad)):
        (mine / "records" / name).mkdir(parents=True)
        (mine / "records" / name / "facts.json").write_text(json.dumps(facts), encoding="utf-8")
    return mine


def test_book_is_one_file_that_fetches_nothing_and_runs_nothing(folder: Path) -> None:
    region = open_region(folder / "region")
    path = write_book(
        folder / "records", folder / "book.html", units=Units(), region=region,
        photos_beside=folder / "household.toml",
    )  # fmt: skip
    text = path.read_text(encoding="utf-8")
    tags = _Tags()
    tags.feed(text)
    names = [name for name, _ in tags.seen]
    assert "script" not in names
    assert "link" not in names
    assert not any(key.startswith("on") for _, told in tags.seen for key in told)
    for _, told in tags.seen:
        for key in ("src", "href", "xlink:href"):
            assert (told.get(key) or "#").startswith(("#", "data:image/"))
    assert not re.search(r"url\((?!#)|@import", text)
    assert "&lt;script&gt;" in text
    assert names.count("img") == 1
    assert names.count("section") == 2
    assert "Summer at Marren Bay" in text
    assert "leads out of the trip" in text
    assert "There is no photo at photos/none.jpg" in text
    assert "taken at home" not in text
    assert names.count("svg") >= 2


def test_photo_is_made_small_and_loses_what_the_camera_wrote(folder: Path) -> None:
    data = small_photo(folder / "photos" / "beach.jpg")
    assert data is not None
    assert data.startswith("data:image/jpeg;base64,")
    assert len(data) < 60_000
    (folder / "photos" / "not.jpg").write_bytes(b"GIF89a no photo")
    assert small_photo(folder / "photos" / "not.jpg") is None


def test_link_out_of_the_folder_is_no_photo(folder: Path, tmp_path: Path) -> None:
    outside = tmp_path.parent / "outside.jpg"
    Image.new("RGB", (9, 9)).save(outside)
    (folder / "photos" / "way.jpg").symlink_to(outside)
    paths, missing = photo_paths(["photos", "photos/way.jpg"], folder / "household.toml")
    assert [path.name for path in paths] == ["beach.jpg"]
    assert len(missing) == 1


def test_tables_open_in_a_spreadsheet_without_formulas(folder: Path) -> None:
    facts = json.loads((folder / "records" / "bad" / "facts.json").read_text())
    facts["trip"]["name"] = "=HYPERLINK(1)"
    (folder / "records" / "bad" / "facts.json").write_text(json.dumps(facts))
    paths = write_tables(folder / "records", folder / "tables")
    assert [path.name for path in paths] == ["trips.csv", "years.csv", "figures.csv"]
    for path in paths:
        with path.open(encoding="utf-8", newline="") as lines:
            rows = list(csv.reader(lines))
        assert len(rows) > 1
        assert not any(cell.startswith(("=", "+", "@")) for row in rows for cell in row)


def test_book_without_a_record_is_refused_in_one_sentence(tmp_path: Path) -> None:
    with pytest.raises(PlanFileError, match="no record that can be read"):
        write_book(tmp_path, tmp_path / "book.html", units=Units())
    assert not (tmp_path / "book.html").exists()


def test_command_lists_searches_asks_and_writes(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["diary", str(folder)]) == 0
    told = capsys.readouterr().out
    assert "Summer at Marren Bay, 7 nights" in told
    assert "2026: 1 trip" in told
    assert main(["diary", str(folder), "--search", "awning pegs"]) == 0
    assert "good: learnt: The awning pegs" in capsys.readouterr().out
    assert main(["diary", str(folder), "--query", "select count(*) as n from records"]) == 0
    assert "2" in capsys.readouterr().out
    assert main(["diary", str(folder), "--query", "selekt"]) == 2
    assert "not understood" in capsys.readouterr().err
    book, tables = folder / "b.html", folder / "t"
    asked = ["--book", str(book), "--csv", str(tables), "--index"]
    assert main(["diary", str(folder), *asked]) == 0
    assert book.stat().st_size > 10_000
    assert (tables / "trips.csv").exists()
    assert (folder / "records" / "index.parquet").exists()
