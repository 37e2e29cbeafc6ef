"""A route from the roads and turns that a search found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import shapely
from shapely.geometry import LineString

from planner_kit.region.projection import segment_lengths_m
from planner_kit.tow.cost import CAUSES, steepest_pct
from planner_kit.tow.leg import Route
from planner_kit.tow.limits import number
from planner_kit.tow.notices import route_checks
from planner_kit.tow.unknowns import route_unknowns
from planner_kit.tow.whereabouts import METRIC

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner_kit.outfit.report import Outfit
    from planner_kit.tow.costing import Costing, RoadSystem
    from planner_kit.tow.ends import RoadEnd
    from planner_kit.trip.household import Units


@dataclass(frozen=True)
class Drive:
    """What a search found between two points on roads.

    Attributes
    ----------
    begin, end : RoadEnd
    directed : ndarray of int64, shape (n,)
        Directed roads in driving order; the first and last may be driven in part.
    arcs : ndarray of int64, shape (n - 1,)
        The turns between them.
    """

    begin: RoadEnd
    end: RoadEnd
    directed: NDArray[np.int64]
    arcs: NDArray[np.int64]

    def spans(self) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Where each road is entered and left, as shares of its length in driving direction."""
        enter, leave = np.zeros(len(self.directed)), np.ones(len(self.directed))
        backward = self.directed % 2 == 1
        enter[0] = 1 - self.begin.frac if backward[0] else self.begin.frac
        leave[-1] = 1 - self.end.frac if backward[-1] else self.end.frac
        return enter, leave

    def shares(self) -> NDArray[np.float64]:
        """The share of each road that is driven."""
        enter, leave = self.spans()
        return leave - enter


@dataclass(frozen=True)
class _Whole:
    """All drives of a route one after the other."""

    directed: NDArray[np.int64]
    enter: NDArray[np.float64]
    leave: NDArray[np.float64]
    arcs: NDArray[np.int64]  # the turn made before each road; -1 for none

    @property
    def road(self) -> NDArray[np.int64]:
        return self.directed // 2

    @property
    def share(self) -> NDArray[np.float64]:
        return self.leave - self.enter


def _joined(drives: list[Drive]) -> _Whole:
    directed: list[int] = []
    enter: list[float] = []
    leave: list[float] = []
    arcs: list[int] = []
    for drive in drives:
        begins, ends = drive.spans()
        before = [-1, *drive.arcs.tolist()]
        for place, way in enumerate(drive.directed.tolist()):
            # Going on along the road on which a point on the way lies is one stretch, not two.
            if place == 0 and directed and directed[-1] == way and leave[-1] == begins[0]:
                leave[-1] = float(ends[0])
                continue
            directed.append(way)
            enter.append(float(begins[place]))
            leave.append(float(ends[place]))
            arcs.append(before[place])
    return _Whole(np.array(directed), np.array(enter), np.array(leave), np.array(arcs))


def route_of(
    system: RoadSystem,
    costing: Costing,
    drives: list[Drive],
    outfit: Outfit | None,
    *,
    units: Units = METRIC,
) -> Route:
    """The route along one or more drives.

    Parameters
    ----------
    system : RoadSystem
    costing : Costing
    drives : list of Drive
        Each begins where the one before it ends.
    outfit : Outfit or None
        None for a car alone, which has no near limits.
    units : Units
        In which distances are told.

    Returns
    -------
    route : Route
    """
    whole = _joined(drives)
    steps = _steps(system, costing, whole)
    stress_s = float(steps["stress_s"].sum())
    geometry = _geometry(system, whole)
    away = (drives[0].begin.away_m, drives[-1].end.away_m)
    return Route(
        road_id=whole.road.astype(np.int32),
        forward=whole.directed % 2 == 0,
        steps=steps,
        geometry=geometry,
        length_km=float(steps["length_m"].sum()) / 1000,
        time_min=float(steps["time_s"].sum()) / 60,
        stress_min=stress_s / 60,
        near_limits=()
        if outfit is None
        else route_checks(system, steps, whole.arcs, outfit, system.names, units=units),
        unknowns=route_unknowns(system, costing, steps, whole.arcs, outfit, away, units=units),
    )


def _steps(system: RoadSystem, costing: Costing, whole: _Whole) -> pd.DataFrame:
    rows, road, way = system.roads.iloc[whole.road], whole.road, whole.directed
    turned = whole.arcs >= 0
    arcs = np.where(turned, whole.arcs, 0)
    length = rows["length_m"].to_numpy(dtype=float) * whole.share
    time_s = costing.roads.time_s.ravel()[way] * whole.share
    stress_s = costing.roads.road_stress_s[road] * whole.share
    turn_deg = np.zeros(len(way))
    if turned.any():
        time_s = time_s + np.where(turned, costing.turns.time_s[arcs], 0)
        stress_s = stress_s + np.where(turned, costing.turns.stress_s[arcs], 0)
        turn_deg = np.where(turned, system.network.turn_deg[arcs], 0)
    forward = way % 2 == 0
    up, down = steepest_pct(rows)
    side = np.where(forward, 0, 1)
    place = np.arange(len(way))
    gradient = number(rows, "gradient_pct") * np.where(forward, 1, -1)
    return pd.DataFrame(
        {
            "road_id": road.astype(np.int32),
            "forward": forward,
            "name": rows["name"].astype(str).to_numpy(),
            "ref": rows["ref"].astype(str).to_numpy(),
            "road_class": rows["road_class"].astype(str).to_numpy(),
            "start_km": (np.cumsum(length) - length) / 1000,
            "length_m": length,
            "time_s": time_s,
            "speed_kmh": costing.roads.speeds_kmh(way),
            "limited_by": np.array(CAUSES, dtype=object)[costing.roads.causes(way)],
            "gradient_pct": gradient,
            "steepest_up_pct": up[place, side],
            "steepest_down_pct": down[place, side],
            "width_m": number(rows, "width_m"),
            "width_source": rows["width_source"].astype(str).to_numpy(),
            "stress_s": stress_s,
            "turn_deg": turn_deg,
            "note": _notes(system, rows, whole),
        }
    )


def _notes(system: RoadSystem, rows: pd.DataFrame, whole: _Whole) -> list[str]:
    """Words about each stretch: bridge, ferry, toll, roundabout with the exit taken, turning."""
    network = system.network
    ring = system.roads["roundabout"].to_numpy(dtype=bool)
    flags = {word: rows[word].to_numpy(dtype=bool) for word in ("bridge", "tunnel", "toll", "ford")}
    ferry = rows["road_class"].astype(str).to_numpy() == "ferry"
    notes: list[str] = []
    exits = 0
    for place, (way, arc) in enumerate(zip(whole.directed, whole.arcs, strict=True)):
        words = [word for word, on in flags.items() if on[place]]
        if ferry[place]:
            words.append("ferry")
        if place and arc < 0:
            words.append("turn round here")
        if arc >= 0 and network.u_turn[arc]:
            words.append("turn round at the end of the road")
        if ring[way // 2]:
            words.append("roundabout")
            # An exit is passed at the end of each piece of the ring from which a road leads away.
            state = int(network.state_of[way])
            ways = network.head[network.first_arc[state] : network.first_arc[state + 1]]
            exits += int((~ring[network.directed_of[ways] // 2]).any())
        elif exits:
            words.append(f"exit {exits}")
            exits = 0
        notes.append("; ".join(words))
    return notes


def _geometry(system: RoadSystem, whole: _Whole) -> LineString:
    lines = np.asarray(system.roads["geometry"].array, dtype=object)[whole.road]
    parts = []
    for line, way, enter, leave in zip(
        lines, whole.directed, whole.enter, whole.leave, strict=True
    ):
        points = shapely.get_coordinates(line)
        if way % 2:
            points = points[::-1]
        parts.append(points if (enter, leave) == (0.0, 1.0) else _cut(points, enter, leave))
    points = np.concatenate(parts)
    fresh = np.r_[True, np.any(np.diff(points, axis=0) != 0, axis=1)]
    points = points[fresh]
    return LineString(points if len(points) > 1 else np.repeat(points, 2, axis=0))


def _cut(points: NDArray[np.float64], enter: float, leave: float) -> NDArray[np.float64]:
    """The part of a line between two shares of its length."""
    along = np.r_[0.0, np.cumsum(segment_lengths_m(points[:, 0], points[:, 1]))]
    if along[-1] > 0:
        along = along / along[-1]
    inside = points[(along > enter) & (along < leave)]
    ends = [
        [np.interp(share, along, points[:, 0]), np.interp(share, along, points[:, 1])]
        for share in (enter, leave)
    ]
    return np.vstack([ends[0], inside, ends[1]])
