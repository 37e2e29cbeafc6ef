"""The lines of a record's tows: from its facts, or from the files beside them for older ones."""

from __future__ import annotations

import json
import math
import re
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from pyproj import Geod

from planner_kit.errors import PlanFileError
from planner_kit.files import read_words
from planner_kit.outings.rides import read_gpx

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

_WGS84 = Geod(ellps="WGS84")
_NAMED = re.compile(r"^(\d{4}-\d\d-\d\d) (.*?) to (.*)$")
_MOST_MB = 50
Points = list[tuple[float, float]]


def tow_lines(record: Path, facts: Mapping[str, Any]) -> tuple[list[dict[str, Any]], str]:
    """The tows of a record with their lines, and why there is none where there is none.

    Parameters
    ----------
    record : Path
        The record's folder.
    facts : mapping
        Its facts. Kits before the third schema kept no lines in them, but wrote ``tow.geojson``
        or ``tow.gpx`` beside them; those are read as data, whoever wrote them.

    Returns
    -------
    tows : list of dict
        kind, day, from, to, km, line (list of [lat, lon]), as in the facts.
    why : str
        Empty where there is a line.
    """
    kept = [tow for tow in facts["tows"] if len(tow["line"]) > 1]
    if kept:
        return kept, ""
    faults = []
    for name, read in (("tow.geojson", _from_geojson), ("tow.gpx", _from_gpx)):
        path = record / name
        if not path.is_file():
            continue
        try:
            found = read(path)
        except PlanFileError as error:
            faults.append(str(error))
            continue
        if found:
            return [_tow(number, len(found), facts, *tow) for number, tow in enumerate(found)], ""
        faults.append(f"{name} in it holds no line")
    if faults:
        return [], "; ".join(faults)
    return [], (
        "its facts hold no line, as an older kit kept none, and neither tow.geojson nor tow.gpx "
        "lies in its folder"
    )


def _from_geojson(path: Path) -> list[tuple[str, Points]]:
    try:
        whole = json.loads(read_words(path, most_mb=_MOST_MB))
        features = whole["features"]
        lines = [
            (str(feature["properties"].get("name", "")), feature["geometry"]["coordinates"])
            for feature in features
            if feature["geometry"]["type"] == "LineString"
        ]
        return [(name, [_point(at[1], at[0]) for at in line]) for name, line in lines if line[1:]]
    except (ValueError, TypeError, KeyError, IndexError, AttributeError, RecursionError) as error:
        raise PlanFileError(
            f"it is not the GeoJSON of a tow ({type(error).__name__})", str(path),
            "make the record again",
        ) from error  # fmt: skip


def _from_gpx(path: Path) -> list[tuple[str, Points]]:
    try:
        return [
            (track.name or "", points)
            for track in read_gpx(path).tracks
            if len(
                points := [
                    _point(at.latitude, at.longitude)
                    for segment in track.segments
                    for at in segment.points
                ]
            )
            > 1
        ]
    except ValueError as error:
        raise PlanFileError(
            f"it is not the GPX of a tow ({error})", str(path), "make the record again"
        ) from error


def _point(lat: Any, lon: Any) -> tuple[float, float]:
    lat, lon = float(lat), float(lon)
    if not (math.isfinite(lat) and math.isfinite(lon) and abs(lat) <= 90 and abs(lon) <= 180):
        raise ValueError(f"{lat:g}, {lon:g} is no place")
    return lat, lon


def _tow(
    number: int, count: int, facts: Mapping[str, Any], name: str, points: Points
) -> dict[str, Any]:
    """A line as the facts would hold it; its name says day and ends."""
    trip, named = facts["trip"], _NAMED.match(name)
    kind = "out" if number == 0 else "home" if number == count - 1 else "move"
    day = named[1] if named else str(trip["end"] if kind == "home" else trip["start"])
    lat, lon = np.array(points).T
    line = shapely.LineString(np.column_stack([lon, lat])).simplify(0.0003, preserve_topology=False)
    return {
        "kind": kind,
        "day": day,
        "from": named[2] if named else "not known",
        "to": named[3] if named else "not known",
        "km": round(float(_WGS84.line_length(lon, lat)) / 1000, 1),
        "line": [[round(y, 5), round(x, 5)] for x, y in line.coords],
    }
