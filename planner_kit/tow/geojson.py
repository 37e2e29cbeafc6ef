"""A tow as GeoJSON: the way, the places on it, and what to look at."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from planner_kit.files import write_whole
from planner_kit.states import State
from planner_kit.tow.leg import Leg, Route

if TYPE_CHECKING:
    from pathlib import Path

    from planner_kit.tow.leg import TowReport

_DIGITS = 6  # 0.1 m, as RFC 7946, section 11.2 advises


def route_geojson(tow: Leg | Route, name: str = "Tow") -> str:
    """A tow as the text of a GeoJSON file.

    Parameters
    ----------
    tow : Leg or Route
        A leg adds its ends, its stops and the places that want a look.
    name : str
        Of the way.

    Returns
    -------
    text : str
        A FeatureCollection: the way as a LineString, places as Points, positions as lon, lat in
        WGS 84. The same tow gives the same text.

    References
    ----------
    .. [1] Butler and others, RFC 7946, "The GeoJSON Format", 2016.
    """
    return _text(_features(tow, name))


def tow_geojson(report: TowReport) -> str:
    """Every leg of a trip as the text of one GeoJSON file; see `route_geojson`."""
    features = []
    for leg in report.legs:
        features += _features(leg, f"{leg.day:%Y-%m-%d} {leg.from_name} to {leg.to_name}")
    return _text(features)


def write_tow_geojson(report: TowReport, path: Path) -> Path:
    """Write `tow_geojson` to a file, whole or not at all.

    Raises
    ------
    PlanFileError
        If the file cannot be written.
    """
    write_whole(path, tow_geojson(report))
    return path


def _text(features: list[dict[str, Any]]) -> str:
    boxes = [feature["bbox"] for feature in features if "bbox" in feature]
    whole: dict[str, Any] = {"type": "FeatureCollection", "features": features}
    if boxes:
        low, high = np.min(boxes, axis=0)[:2], np.max(boxes, axis=0)[2:]
        whole["bbox"] = [float(v) for v in (*low, *high)]
    return json.dumps(whole, ensure_ascii=False, allow_nan=False, indent=1) + "\n"


def _features(tow: Leg | Route, name: str) -> list[dict[str, Any]]:
    route = tow.route if isinstance(tow, Leg) else tow
    points = np.round(shapely.get_coordinates(route.geometry), _DIGITS)
    about: dict[str, Any] = {
        "name": name,
        "what": "tow",
        "length_km": round(route.length_km, 2),
        "driving_min": round(route.time_min, 1),
    }
    if isinstance(tow, Leg):
        about |= {"depart": tow.depart.isoformat(), "arrive": tow.arrive.isoformat()}
    way = {
        "type": "Feature",
        "bbox": [float(v) for v in (*points.min(axis=0), *points.max(axis=0))],
        "geometry": {"type": "LineString", "coordinates": points.tolist()},
        "properties": about,
    }
    if not isinstance(tow, Leg):
        return [way, *_looks(route.near_limits)]
    ends = [
        _point(lat, lon, name=place, what=what)
        for (lon, lat), place, what in zip(
            (points[0], points[-1]), (tow.from_name, tow.to_name), ("start", "end"), strict=True
        )
    ]
    stops = [
        _point(
            float(row["lat"]), float(row["lon"]),
            name=str(row["name"] or str(row["kind"]).replace("_", " ")), what="stop",
            does=str(row.get("does", "break")), arrive=row["arrive"].isoformat(),
            leave=row["leave"].isoformat(), room=str(row["room"]), why=str(row["why"]),
        )
        for row in tow.rests.to_dict("records")
    ]  # fmt: skip
    return [way, *ends, *stops, *_looks(tow.checks)]


def _looks(checks: Any) -> list[dict[str, Any]]:
    """Checks with a place that are not fine."""
    return [
        _point(check.lat, check.lon, name=check.subject, what="look", state=check.state.value,
               text=check.sentence)
        for check in checks
        if check.state is not State.FINE and check.lat is not None and check.lon is not None
    ]  # fmt: skip


def _point(lat: float, lon: float, **properties: str) -> dict[str, Any]:
    return {
        "type": "Feature",
        "geometry": {
            "type": "Point",
            "coordinates": [round(float(lon), _DIGITS), round(float(lat), _DIGITS)],
        },
        "properties": properties,
    }
