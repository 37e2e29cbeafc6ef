"""A tow as GPX 1.1: waypoints, the turns as a route, and the line as a track."""

from __future__ import annotations

from typing import TYPE_CHECKING

import gpxpy.gpx
import numpy as np
import shapely

from planner_kit.files import write_whole
from planner_kit.tow.leg import Leg, Route, TowReport
from planner_kit.tow.route_card import route_card
from planner_kit.trip.household import Units

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from numpy.typing import NDArray

Waypoint = tuple[str, float, float]


def route_gpx(
    tow: Leg | Route, name: str, waypoints: Sequence[Waypoint] = (), *, units: Units | None = None
) -> str:
    """A tow as the text of a GPX file.

    Parameters
    ----------
    tow : Leg or Route
        A leg adds its breaks as waypoints.
    name : str
        Of the route and track.
    waypoints : sequence of (str, float, float)
        Further waypoints: name, lat, lon. [deg]
    units : Units, optional
        For the distances in the texts of the turns.

    Returns
    -------
    text : str
        GPX 1.1, UTF-8.
    """
    whole = _empty(name)
    _put(whole, tow, name, waypoints, units or Units())
    return str(whole.to_xml(version="1.1"))


def tow_gpx(report: TowReport, *, name: str = "Tow", units: Units | None = None) -> str:
    """Every leg of a trip as the text of one GPX file; see `route_gpx`."""
    whole = _empty(name)
    for leg in report.legs:
        title = f"{leg.day:%Y-%m-%d} {leg.from_name} to {leg.to_name}"
        _put(whole, leg, title, (), units or Units())
    return str(whole.to_xml(version="1.1"))


def _empty(name: str) -> gpxpy.gpx.GPX:
    whole = gpxpy.gpx.GPX()
    whole.creator = "planner_kit"
    whole.name = name
    return whole


def _put(
    whole: gpxpy.gpx.GPX, tow: Leg | Route, name: str, more: Sequence[Waypoint], units: Units
) -> None:
    route = tow.route if isinstance(tow, Leg) else tow
    points = shapely.get_coordinates(route.geometry)
    for title, lat, lon in _waypoints(tow, route, points, more):
        whole.waypoints.append(gpxpy.gpx.GPXWaypoint(lat, lon, name=title))
    turns = gpxpy.gpx.GPXRoute(name=name)
    for row in route_card(route, units).to_dict("records"):
        turns.points.append(
            gpxpy.gpx.GPXRoutePoint(
                float(row["lat"]), float(row["lon"]), name=str(row["instruction"])
            )
        )
    whole.routes.append(turns)
    track = gpxpy.gpx.GPXTrack(name=name)
    segment = gpxpy.gpx.GPXTrackSegment()
    segment.points.extend(
        gpxpy.gpx.GPXTrackPoint(round(float(lat), 7), round(float(lon), 7)) for lon, lat in points
    )
    track.segments.append(segment)
    whole.tracks.append(track)


def _waypoints(
    tow: Leg | Route,
    route: Route,
    points: NDArray[np.float64],
    more: Sequence[Waypoint],
) -> list[Waypoint]:
    begin, end = ("start", "end")
    stops: list[Waypoint] = []
    if isinstance(tow, Leg):
        begin, end = tow.from_name, tow.to_name
        stops = [
            (f"break: {row['name'] or row['kind']}", float(row["lat"]), float(row["lon"]))
            for row in tow.rests.to_dict("records")
        ]
    turned = np.flatnonzero(np.abs(route.steps["turn_deg"].to_numpy()) >= 30)
    last: list[Waypoint] = []
    if len(turned):
        at = float(route.steps["start_km"].iloc[turned[-1]]) / max(route.length_km, 1e-9)
        point = route.geometry.interpolate(min(at, 1.0), normalized=True)
        last = [("last turn", point.y, point.x)]
    first = (begin, float(points[0, 1]), float(points[0, 0]))
    goal = (end, float(points[-1, 1]), float(points[-1, 0]))
    return [first, *stops, *last, goal, *more]


def write_gpx(
    path: Path,
    tow: Leg | Route,
    name: str,
    waypoints: Sequence[Waypoint] = (),
    *,
    units: Units | None = None,
) -> Path:
    """Write `route_gpx` to a file, whole or not at all.

    Raises
    ------
    PlanFileError
        If the file cannot be written.
    """
    write_whole(path, route_gpx(tow, name, waypoints, units=units))
    return path


def write_tow_gpx(report: TowReport, path: Path, *, units: Units | None = None) -> Path:
    """Write `tow_gpx` to a file, whole or not at all.

    Raises
    ------
    PlanFileError
        If the file cannot be written.
    """
    write_whole(path, tow_gpx(report, units=units))
    return path
