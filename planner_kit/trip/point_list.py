"""Points that people keep as GeoJSON, as the rows of a list."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from planner_kit.errors import PlanFileError
from planner_kit.files import read_words

if TYPE_CHECKING:
    from pathlib import Path

ENDINGS = (".geojson",)


def read_points(path: Path) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """A GeoJSON file of points (RFC 7946) as the header and rows of a list.

    Parameters
    ----------
    path : Path
        A feature collection; each feature is a Point, its properties are the list's columns, and
        ``lat`` and ``lon`` come from its position.

    Returns
    -------
    header : list of str
    rows : list of (int, list of str)
        The number of the feature, from 1, and its cells as text.

    Raises
    ------
    PlanFileError
        If it is not such a file; the sentence names the feature.
    """
    text = read_words(path, most_mb=50)
    try:
        tree = json.loads(text)
    except (json.JSONDecodeError, RecursionError) as error:
        line = f", line {error.lineno}" if isinstance(error, json.JSONDecodeError) else ""
        raise PlanFileError("it is not JSON", f"{path}{line}", "export it again") from error
    features = tree.get("features") if isinstance(tree, dict) else None
    if not isinstance(features, list) or not features:
        raise PlanFileError(
            "it is no GeoJSON feature collection with something in it", str(path), "export it again"
        )
    cells = [_cells_of(path, number, feature) for number, feature in enumerate(features, start=1)]
    header = list(dict.fromkeys(name for row in cells for name in row))
    return header, [
        (number, [row.get(name, "") for name in header]) for number, row in enumerate(cells, 1)
    ]


def _cells_of(path: Path, number: int, feature: Any) -> dict[str, str]:
    where = f"{path}, feature {number}"
    geometry = feature.get("geometry") if isinstance(feature, dict) else None
    properties = (feature.get("properties") or {}) if isinstance(feature, dict) else {}
    position = geometry.get("coordinates") if isinstance(geometry, dict) else None
    if (
        not isinstance(geometry, dict)
        or geometry.get("type") != "Point"
        or not isinstance(position, list)
        or len(position) < 2
    ):
        raise PlanFileError("it is not a point", where, "give each place one position")
    if not isinstance(properties, dict):
        raise PlanFileError("its properties are no table", where, "export it again")
    row = {str(name): _text_of(where, str(name), value) for name, value in properties.items()}
    return row | {
        "lon": _text_of(where, "lon", position[0]),
        "lat": _text_of(where, "lat", position[1]),
    }


def _text_of(where: str, name: str, value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, str | int | float):
        return str(value)
    raise PlanFileError(
        f"'{name}' holds a {type(value).__name__}, not one value",
        where,
        "give it as text or number",
    )
