"""The lines of tows of records that kept none in their facts."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from planner_kit.diary.history import all_tows, tows_without_line

NAMES = ("2026-07-25 Home to Bay", "2026-08-01 Bay to Home")
LINE = [[-14.21, 49.51], [-14.30, 49.52], [-14.77, 49.51]]


def geojson(lines: Any) -> str:
    features = [
        {"type": "Feature", "properties": {"name": name},
         "geometry": {"type": "LineString", "coordinates": line}}
        for name, line in lines
    ]  # fmt: skip
    point = {"type": "Feature", "properties": {}, "geometry": {"type": "Point",
                                                               "coordinates": LINE[0]}}  # fmt: skip
    return json.dumps({"type": "FeatureCollection", "features": [*features, point]})


def gpx(lat: float = 49.51) -> str:
    points = "".join(f'<trkpt lat="{lat}" lon="{lon}"/>' for lon, _ in LINE)
    return (
        '<?xml version="1.0"?><gpx version="1.1" creator="x" '
        'xmlns="http://www.topografix.com/GPX/1/1">'
        f"<trk><name>{NAMES[0]}</name><trkseg>{points}</trkseg></trk></gpx>"
    )


@pytest.fixture
def old(tmp_path: Path, newest_facts: dict[str, Any]) -> Path:
    """A folder of records with one whose facts hold no line."""
    facts = copy.deepcopy(newest_facts)
    facts["tows"] = []
    folder = tmp_path / "records" / "old"
    folder.mkdir(parents=True)
    (folder / "facts.json").write_text(json.dumps(facts), encoding="utf-8")
    return folder


def test_lines_come_from_the_geojson_beside_the_facts(old: Path) -> None:
    (old / "tow.geojson").write_text(geojson(zip(NAMES, (LINE, LINE[::-1]), strict=True)))
    tows = all_tows(old.parent)
    assert tows[["kind", "day", "from", "to"]].values.tolist() == [
        ["out", "2026-07-25", "Home", "Bay"],
        ["home", "2026-08-01", "Bay", "Home"],
    ]
    # 0.56 degrees of longitude at 49.5 degrees are some 40.5 km.
    assert tows["km"].between(40, 42).all()
    assert tows["line"][0][0] == [49.51, -14.21]
    assert tows_without_line(old.parent).empty


def test_lines_come_from_the_gpx_where_there_is_no_geojson_or_a_damaged_one(old: Path) -> None:
    (old / "tow.gpx").write_text(gpx())
    assert all_tows(old.parent)["from"].tolist() == ["Home"]
    (old / "tow.geojson").write_text("{")
    assert all_tows(old.parent)["from"].tolist() == ["Home"]


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        (None, "", "neither tow.geojson nor tow.gpx lies in its folder"),
        ("tow.geojson", '{"features": [7]}', "not the GeoJSON of a tow"),
        ("tow.geojson", geojson([("x", [[0, 900], [1, 1]])]), "not the GeoJSON of a tow"),
        ("tow.geojson", geojson([]), "tow.geojson in it holds no line"),
        ("tow.gpx", gpx(900), "GPX"),
        ("tow.gpx", "<!DOCTYPE a [<!ENTITY b 'c'>]><gpx/>", "document type or entities"),
    ],
)
def test_record_without_a_line_is_named_with_the_reason(
    old: Path, name: str | None, text: str, told: str
) -> None:
    if name is not None:
        (old / name).write_text(text)
    assert all_tows(old.parent).empty
    (row,) = tows_without_line(old.parent).to_dict("records")
    assert row["record"] == "old"
    assert told in row["why"]


def test_record_that_cannot_be_read_is_named_too(old: Path) -> None:
    (old / "tow.gpx").write_text(gpx())
    (old.parent / "broken").mkdir()
    (old.parent / "broken" / "facts.json").write_text("{")
    (row,) = tows_without_line(old.parent).to_dict("records")
    assert row["record"] == "broken"
    assert "not a facts file" in row["why"]
