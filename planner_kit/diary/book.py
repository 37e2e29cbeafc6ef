"""The diary as one HTML book that needs nothing else, and as tables for a spreadsheet.

What stands in records is data: all of it is escaped, and a photo is read only from the planning
folder, made smaller and stripped of where it was taken.
"""

from __future__ import annotations

import base64
import io
import logging
import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd
import shapely
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup
from PIL import Image, ImageOps, UnidentifiedImageError

from planner_kit.diary.facts import read_facts
from planner_kit.diary.history import all_tows, by_year, figures_frame, one_for_each_trip
from planner_kit.diary.index import read_index
from planner_kit.errors import PlanFileError
from planner_kit.files import write_whole
from planner_kit.pack import print_map
from planner_kit.spreadsheet import csv_text
from planner_kit.trip import display
from planner_kit.trip.reading import resolve_inside

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Iterator

    from planner_kit.region import Region
    from planner_kit.trip.household import Units

PHOTO_ENDINGS = (".jpg", ".jpeg", ".png", ".webp")
_LONGEST_SIDE, _MOST_PHOTOS = 1200, 200
_log = logging.getLogger(__name__)


def photo_paths(named: Iterable[str], trip_path: Path) -> tuple[list[Path], list[str]]:
    """The photos that a trip names: files, or all photos of a folder, beside the trip file.

    Parameters
    ----------
    named : iterable of str
    trip_path : Path
        A file in the planning folder; nothing outside that folder is read.

    Returns
    -------
    paths : list of Path
        By name within each folder.
    missing : list of str
        One sentence for each name that leads to no photo.
    """
    paths: list[Path] = []
    missing = []
    for name in named:
        try:
            place = resolve_inside(name, trip_path)
        except PlanFileError as error:
            missing.append(str(error))
            continue
        found = sorted(place.iterdir()) if place.is_dir() else [place]
        photos = [
            path
            for path in found
            if path.suffix.lower() in PHOTO_ENDINGS
            and path.is_file()
            and path.resolve().is_relative_to(trip_path.resolve().parent)
        ]
        if not photos:
            missing.append(f"There is no photo at {name}.")
        paths += photos
    return paths, missing


def small_photo(path: Path) -> str | None:
    """A photo as the text of a ``data:`` address, made smaller; None where it cannot be read.

    Its place, time and camera are left out.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(path, formats=("JPEG", "PNG", "WEBP")) as opened:
                upright = ImageOps.exif_transpose(opened).convert("RGB")
        upright.thumbnail((_LONGEST_SIDE, _LONGEST_SIDE))
        out = io.BytesIO()
        upright.save(out, "JPEG", quality=80)
    except (OSError, UnidentifiedImageError, ValueError, SyntaxError, Warning) as error:
        _log.warning("%s is not shown: %s", path, error)
        return None
    except Image.DecompressionBombError as error:
        _log.warning("%s is not shown: %s", path, error)
        return None
    return "data:image/jpeg;base64," + base64.b64encode(out.getvalue()).decode()


def write_book(
    records: Path,
    path: Path,
    *,
    units: Units,
    title: str = "Diary",
    region: Region | None = None,
    photos_beside: Path | None = None,
) -> Path:
    """Write all trips of a folder of records as one HTML file.

    Parameters
    ----------
    records : Path
    path : Path
        The file to write.
    units : Units
        How the household reads figures.
    title : str
    region : Region, optional
        Its map is drawn below the tows.
    photos_beside : Path, optional
        A file of the planning folder, beside which the photos lie; none are shown without it.

    Returns
    -------
    path : Path

    Raises
    ------
    PlanFileError
        If there is no record, or the place cannot be written to.
    """
    index = read_index(records)
    trips = one_for_each_trip(index)
    if trips.empty:
        raise PlanFileError("it holds no record that can be read", str(records), "make one first")
    tows = all_tows(records)
    years = [_year(row, units) for row in by_year(index).to_dict("records")]
    told = [_trip(Path(folder), tows, units, region, photos_beside) for folder in trips["folder"]]
    page = _ENVIRONMENT.get_template("book.html").render(
        title=title,
        years=years,
        trips=told,
        map=_map(tows, region, units),
        attribution=list(region.attribution) if region is not None else [],
        broken=index.loc[index["state"] != "whole", "state"].tolist(),
    )
    write_whole(path, page)
    return path


def write_tables(records: Path, folder: Path) -> list[Path]:
    """Write the diary as ``trips.csv``, ``years.csv`` and ``figures.csv``.

    Returns
    -------
    paths : list of Path
    """
    index = read_index(records)
    tables = {"trips": index, "years": by_year(index), "figures": figures_frame(records)}
    paths = []
    for name, table in tables.items():
        write_whole(folder / f"{name}.csv", csv_text(table))
        paths.append(folder / f"{name}.csv")
    return paths


def _year(row: dict[Any, Any], units: Units) -> dict[str, str]:
    currency = str(row["currency"])
    return {
        "year": str(row["year"]),
        "trips": str(row["trips"]),
        "nights": str(row["nights"]),
        "towed": display.distance(row["towed_km"], units),
        "hours": display.duration(None if pd.isna(row["tow_hours"]) else 60 * row["tow_hours"]),
        "planned": display.money(row["planned"], currency, units),
        "spent": display.money(row["spent"], currency, units),
        "use": display.consumption(row["l_per_100km"], units),
    }


def _trip(
    folder: Path,
    tows: pd.DataFrame,
    units: Units,
    region: Region | None,
    photos_beside: Path | None,
) -> dict[str, Any]:
    facts = read_facts(folder / "facts.json")
    actuals = facts.get("actuals") or {}
    own = tows[tows["record"] == folder.name]
    photos, missing = (
        photo_paths(facts["photos"], photos_beside) if photos_beside is not None else ([], [])
    )
    shown = [(path.name, small_photo(path)) for path in photos[:_MOST_PHOTOS]]
    return {
        "name": facts["trip"]["name"],
        "id": folder.name,
        "dates": f"{_day(facts['trip']['start'], units)} to {_day(facts['trip']['end'], units)}",
        "sentences": facts["sentences"],
        "look_at": facts["look_at"],
        "notes": facts["notes"],
        "days": list(_days(facts, units)),
        "happened": [_against(row, units) for row in facts["happened"]],
        "spent": list(_spent(facts, units)),
        "ratings": actuals.get("ratings", []),
        "learnt": actuals.get("learnt", []),
        "not_needed": actuals.get("not_needed", []),
        "map": _map(own, region, units),
        "photos": [(name, Markup(data)) for name, data in shown if data is not None],
        "missing": missing,
    }


def _days(facts: dict[str, Any], units: Units) -> Iterator[tuple[str, str]]:
    for one in facts.get("outings") or []:
        if one["name"]:
            yield _day(one["day"], units, "short"), str(one["name"])


def _spent(facts: dict[str, Any], units: Units) -> Iterator[tuple[str, str, str, str]]:
    figures = {figure["key"]: figure for figure in facts["figures"]}
    currency = str(figures.get("cost.likely", {}).get("unit") or units.currency)
    for row in facts["actual_against_plan"]:
        yield (
            str(row["kind"]),
            display.money(row["planned"], currency, units),
            display.money(row["spent"], currency, units),
            str(row["outcome"]),
        )


def _against(row: dict[str, Any], units: Units) -> tuple[str, str, str]:
    sides = (display.measured(row[side], str(row["unit"]), units) for side in ("planned", "actual"))
    return (str(row["what"]), *sides)  # type: ignore[return-value]


def _day(day: str, units: Units, form: Any = "long") -> str:
    date: dt.date = pd.Timestamp(day).date()
    return display.day(date, units, form)


def _map(tows: pd.DataFrame, region: Region | None, units: Units) -> Markup | None:
    """The tows on the region's own map; its text is escaped by the drawing library."""
    if region is None:
        return None
    lines = [
        shapely.LineString([(lon, lat) for lat, lon in line])
        for line in tows["line"]
        if len(line) > 1
    ]
    inside = [line for line in lines if line.intersects(shapely.box(*region.bounds))]
    if not inside:
        return None
    return Markup(print_map(region, route=inside, units=units))


_ENVIRONMENT = Environment(
    loader=FileSystemLoader(Path(__file__).parent), autoescape=True, undefined=StrictUndefined
)
