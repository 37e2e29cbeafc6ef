"""A year across all trips of a folder."""

import datetime as dt
import re
import shutil
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader

from planner_kit.errors import PlanFileError
from planner_kit.pack import write_year, year_chart
from planner_kit.pack.folder import TEMPLATE
from planner_kit.sites import read_year
from planner_kit.sites.year import money_by_month

ON = dt.date(2027, 1, 9)


@pytest.fixture
def folder(demo, tmp_path):
    """The demo's two trips and a weekend."""
    for name in ("household.toml", "sites.csv", "items.csv"):
        (tmp_path / name).write_bytes((demo / name).read_bytes())
    shutil.copytree(demo / "region", tmp_path / "region")
    for name in ("trip_2026.toml", "trip_2027.toml"):
        (tmp_path / name).write_bytes((demo / name).read_bytes())
    (tmp_path / "trip_weekend.toml").write_text(
        'schema = 1\nid = "weekend"\nname = "A <b>weekend</b>"\nstart = 2027-05-14\n'
        '[files]\nregion = "region"\nsites = "sites.csv"\n'
        '[[stays]]\nsite = "S08"\nnights = 2\n',
        encoding="utf-8",
    )
    return tmp_path


def test_the_year_of_the_next_trip_holds_the_deadlines_and_nights_of_all_trips(folder):
    year = read_year(folder, ON)
    assert year.year == 2027
    assert set(year.deadlines["trip"]) == {"Summer at Marren Bay", "A <b>weekend</b>"}
    assert {day.year for day in year.deadlines["on"]} == {2027}
    assert year.deadlines["on"].is_monotonic_increasing
    assert year.deadlines["uid"].is_unique
    assert year.stays["nights"].tolist() == [2, 7]
    assert year.stays["booking"].tolist() == ["not asked", "held"]


def test_money_is_by_the_days_of_the_bookings(folder):
    months = money_by_month(read_year(folder, ON).money).set_index("month")
    assert months.loc["2027-01", ["paid", "to_pay"]].tolist() == [50, 0]
    assert months.loc["2027-06", ["paid", "to_pay"]].tolist() == [0, pytest.approx(285.3)]
    last = money_by_month(read_year(folder, ON, 2026).money)
    assert last["paid"].sum() == pytest.approx(322.7)


def test_another_year_may_be_asked_for_and_may_be_empty(folder):
    assert read_year(folder, ON, 2026).stays["site"].tolist() == ["Marren Bay Touring Park"]
    empty = read_year(folder, ON, 2031)
    assert empty.stays.empty
    assert empty.money.empty
    ElementTree.fromstring(year_chart(empty))


def test_a_trip_that_cannot_be_read_is_told_and_the_others_stand(folder):
    (folder / "trip_broken.toml").write_text("schema = 1\nid = 'x'\nstrat = 2027-01-01\n")
    year = read_year(folder, ON)
    assert len(year.faults) == 1
    assert "trip_broken.toml" in year.faults[0]
    assert len(year.stays) == 2


def test_a_folder_without_trips_is_told(tmp_path):
    with pytest.raises(PlanFileError, match="no trip file that can be used"):
        read_year(tmp_path, ON)
    (tmp_path / "trip.toml").write_text("name = ")
    with pytest.raises(PlanFileError, match=r"trip\.toml: it is not valid TOML.*; mend it\.$"):
        read_year(tmp_path, ON)


def test_the_drawing_marks_each_day_that_has_something_due(folder):
    year = read_year(folder, ON)
    drawing = ElementTree.fromstring(year_chart(year))
    said = [element.text or "" for element in drawing.iter() if element.tag.endswith("text")]
    signs = [text for text in said if re.fullmatch("[✓●▲]\\d*", text)]
    legend = 3
    assert len(signs) - legend == year.deadlines["on"].nunique()
    fills = [element.get("fill") for element in drawing.iter() if element.tag.endswith("rect")]
    assert fills.count("#56B4E9") == 7 + 1
    assert fills.count("url(#asked)") == 2 + 1


def test_the_printed_year_is_one_page_and_says_the_same(folder, tmp_path):
    path = write_year(read_year(folder, ON), tmp_path / "year.pdf")
    reader = PdfReader(path)
    text = " ".join(reader.pages[0].extract_text().split())
    assert len(reader.pages) == 1
    reader.close()
    assert "2027: the year of our trips" in text
    assert "A <b>weekend</b>" in text
    assert "£285.30 to pay" in text


def test_the_printed_year_has_the_look_of_the_household(folder, tmp_path):
    household = folder / "household.toml"
    words = household.read_text(encoding="utf-8")
    household.write_text(words.replace("[units]\n", '[units]\npage_look = "look"\n'), "utf-8")
    (folder / "look").mkdir()
    template = folder / "look" / "pack.typ"
    kits = TEMPLATE.read_text(encoding="utf-8")
    loop = "#for (place, sheet)"
    template.write_text(kits.replace(loop, f"Our year, our way.\n{loop}"), "utf-8")
    year = read_year(folder, ON)
    reader = PdfReader(write_year(year, tmp_path / "year.pdf"))
    assert "Our year, our way." in reader.pages[0].extract_text()
    reader.close()
    template.write_text("#let x = (\n", encoding="utf-8")
    with pytest.raises(PlanFileError, match=r"pack\.typ.*typesetter cannot use it"):
        write_year(year, tmp_path / "year.pdf")
    template.unlink()
    with pytest.raises(PlanFileError, match=r"household\.toml, units > page_look.*no pack\.typ"):
        write_year(year, tmp_path / "year.pdf")


def test_many_trips_still_fit_on_the_page(folder, tmp_path):
    text = (folder / "trip_weekend.toml").read_text(encoding="utf-8")
    for month in range(1, 13):
        own = text.replace('"weekend"', f'"w{month}"').replace("2027-05-14", f"2027-{month:02}-08")
        (folder / f"trip_w{month}.toml").write_text(own, encoding="utf-8")
    year = read_year(folder, ON)
    assert len(year.stays) == 14
    reader = PdfReader(write_year(year, tmp_path / "year.pdf"))
    assert len(reader.pages) == 1
    reader.close()
