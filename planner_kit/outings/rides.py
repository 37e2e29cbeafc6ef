"""Bicycle rides and walks that the household keeps as GPX files."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeAlias
from xml.etree.ElementTree import ParseError

import defusedxml.ElementTree
import gpxpy
import numpy as np
import pandas as pd
from defusedxml import DefusedXmlException
from gpxpy.gpx import (
    GPXException,
    GPXTrack,
    GPXTrackPoint,
    GPXTrackSegment,
    GPXWaypoint,
)
from pyproj import Geod

from planner_kit.errors import PlanFileError
from planner_kit.files import read_words, write_whole
from planner_kit.trip import display
from planner_kit.trip.household import Units

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from gpxpy.gpx import GPX

    from planner_kit.outings.found_ride import FoundRide
    from planner_kit.outings.report import OutingsReport
    from planner_kit.outings.stay_rides import StayRide
    from planner_kit.trip.reading import TripInputs

    Ride: TypeAlias = FoundRide | StayRide

_WGS84 = Geod(ellps="WGS84")
RIDE_COLUMNS = (
    "ride", "name", "length_km", "climb_m", "descent_m", "start_lat", "start_lon", "end_lat",
    "end_lon", "start_distance_km", "loop", "points",
)  # fmt: skip


def read_gpx(path: Path) -> GPX:
    """A GPX file, refused when it holds what no track needs (entities, outside documents).

    Raises
    ------
    PlanFileError
        If the file is missing, too large, not UTF-8, unsafe or not GPX.
    """
    text = read_words(path, most_mb=50)
    try:
        defusedxml.ElementTree.fromstring(text.encode("utf-8"), forbid_dtd=True)
        return gpxpy.parse(text)
    except DefusedXmlException as error:
        raise PlanFileError(
            "it declares a document type or entities, which a GPX track never needs",
            str(path),
            "export the track again from a program you trust",
        ) from error
    except (ParseError, GPXException, ValueError) as error:
        raise PlanFileError(
            f"it is not GPX ({' '.join(str(error).split())[:120]})", str(path), "export it again"
        ) from error


def lines_of(gpx: GPX, path: Path) -> list[tuple[str, str, list[list[Any]]]]:
    """Name, type and parts of each track and route of at least two points.

    Raises
    ------
    PlanFileError
        If there is none.
    """
    lines = [
        (track.name or "", track.type or "", [segment.points for segment in track.segments])
        for track in gpx.tracks
    ] + [(route.name or "", route.type or "", [route.points]) for route in gpx.routes]
    found = [(name, kind, parts) for name, kind, parts in lines if sum(map(len, parts)) >= 2]
    if not found:
        raise PlanFileError(
            "it holds no track or route of at least two points",
            str(path),
            "export the ride as a track",
        )
    return found


def read_rides(paths: Sequence[Path], *, near: tuple[float, float]) -> pd.DataFrame:
    """The rides of some GPX files, each track or route one row.

    Parameters
    ----------
    paths : sequence of Path
    near : (lat, lon)
        The pitch. [deg]

    Returns
    -------
    rides : DataFrame, nearest start first
        ride (file stem and number), name, length_km (geodesic), climb_m and descent_m (NaN unless
        every point has a height), start_lat, start_lon, end_lat, end_lon, start_distance_km
        (straight line from the pitch), loop (ends within 200 m of its start), points.

    Raises
    ------
    PlanFileError
        See `read_gpx`; or if a file holds neither a track nor a route of two points.
    """
    rows: list[dict[str, object]] = []
    for path in paths:
        found = lines_of(read_gpx(path), path)
        for number, (name, _, parts) in enumerate(found, start=1):
            ride = path.stem if len(found) == 1 else f"{path.stem}-{number}"
            rows.append({"ride": ride, "name": name or ride, **_measures(parts, near)})
    frame = pd.DataFrame(rows, columns=list(RIDE_COLUMNS))
    return frame.sort_values("start_distance_km", kind="stable", ignore_index=True)


def _measures(parts: list[list[Any]], near: tuple[float, float]) -> dict[str, object]:
    length_m = climb_m = descent_m = 0.0
    for points in parts:
        lat = np.array([point.latitude for point in points], dtype=float)
        lon = np.array([point.longitude for point in points], dtype=float)
        heights = np.array(
            [np.nan if p.elevation is None else p.elevation for p in points],
            dtype=float,
        )
        length_m += float(_WGS84.line_length(lon, lat)) if len(points) > 1 else 0.0
        steps = np.diff(heights)
        climb_m += float(np.where(steps > 0, steps, 0.0 * steps).sum())
        descent_m -= float(np.where(steps < 0, steps, 0.0 * steps).sum())
    filled = [points for points in parts if points]
    first, last = filled[0][0], filled[-1][-1]
    start = (first.latitude, first.longitude)
    end = (last.latitude, last.longitude)
    return {
        "length_km": length_m / 1000,
        "climb_m": climb_m,
        "descent_m": descent_m,
        "start_lat": start[0],
        "start_lon": start[1],
        "end_lat": end[0],
        "end_lon": end[1],
        "start_distance_km": _WGS84.inv(near[1], near[0], start[1], start[0])[2] / 1000,
        "loop": _WGS84.inv(start[1], start[0], end[1], end[0])[2] <= 200,
        "points": sum(map(len, parts)),
    }


def ride_gpx(ride: Ride, name: str, units: Units | None = None) -> str:
    """A found ride as the text of a GPX file.

    Parameters
    ----------
    ride : FoundRide or StayRide
    name : str
    units : Units, optional
        How the household reads distances; kilometres if not given.

    Returns
    -------
    text : str
        GPX 1.1: the track, with heights where the terrain is known, and a waypoint for each
        place from which the way home is short.
    """
    whole = _empty(name)
    _add(whole, ride, name, units)
    return str(whole.to_xml(version="1.1"))


def rides_gpx(rides: Sequence[StayRide], name: str, units: Units | None = None) -> str:
    """Several rides as the text of one GPX file, a track for each; see `ride_gpx`."""
    whole = _empty(name)
    for ride in rides:
        _add(whole, ride, ride.name, units)
    return str(whole.to_xml(version="1.1"))


def _empty(name: str) -> GPX:
    whole = gpxpy.gpx.GPX()
    whole.creator, whole.name = "planner_kit", name
    return whole


def _add(whole: GPX, ride: Ride, name: str, units: Units | None) -> None:
    for at, row in enumerate(ride.escapes.to_dict("records"), start=1):
        back = display.distance(float(row["back_km"]), units or Units(distance="km"), 1)
        title = f"{name}, way home {at}: {back} back"
        whole.waypoints.append(GPXWaypoint(float(row["lat"]), float(row["lon"]), name=title))
    segment = GPXTrackSegment()
    line = np.array(ride.geometry.coords)
    heights = np.full(len(line), np.nan)
    if ride.profile["height_m"].notna().any():
        legs = _WGS84.inv(line[:-1, 0], line[:-1, 1], line[1:, 0], line[1:, 1])[2]
        km = np.concatenate([[0.0], np.cumsum(legs)]) / 1000
        heights = np.interp(km, ride.profile["km"], ride.profile["height_m"])
    for (lon, lat), height in zip(line[:, :2], heights, strict=True):
        up = None if np.isnan(height) else round(float(height), 1)
        segment.points.append(
            GPXTrackPoint(round(float(lat), 7), round(float(lon), 7), elevation=up)
        )
    track = GPXTrack(name=name)
    track.segments.append(segment)
    whole.tracks.append(track)


def write_ride(path: Path, ride: Ride, name: str, units: Units | None = None) -> Path:
    """Write `ride_gpx` to a file, whole or not at all.

    Raises
    ------
    PlanFileError
        If the file cannot be written.
    """
    write_whole(path, ride_gpx(ride, name, units))
    return path


def write_rides(reports: Sequence[OutingsReport], inputs: TripInputs, folder: Path) -> Path:
    """Write the rides of a trip's stays into ``rides.gpx`` of a folder, whole or not at all.

    Parameters
    ----------
    reports : sequence of OutingsReport
    inputs : TripInputs
        For the trip's name and the household's units.
    folder : Path

    Returns
    -------
    path : Path

    Raises
    ------
    PlanFileError
        If the file cannot be written.
    """
    rides = [ride for report in reports for ride in report.rides]
    path = folder / "rides.gpx"
    name = f"{inputs.trip.name}: rides and walks"
    write_whole(path, rides_gpx(rides, name, inputs.household.units))
    return path
