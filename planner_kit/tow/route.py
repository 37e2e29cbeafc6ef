"""A route from the roads and turns that a search found."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from shapely.geometry import LineString

from planner_kit.region.projection import segment_lengths_m
from planner_kit.tow.cost import CAUSES
from planner_kit.tow.leg import Route
from planner_kit.tow.notices import route_checks
from planner_kit.tow.passing import passing_width_m
from planner_kit.tow.unknowns import route_unknowns
from planner_kit.tow.whereabouts import METRIC, runs

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner_kit.outfit.report import Outfit
    from planner_kit.tow.costing import Costing, RoadSystem
    from planner_kit.tow.ends import RoadEnd
    from planner_kit.tow.road_table import RoadRows
    from planner_kit.trip.household import Units


_CAUSES = np.array(CAUSES, dtype=object)


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
    directed: list[NDArray[np.int64]] = []
    enter: list[NDArray[np.float64]] = []
    leave: list[NDArray[np.float64]] = []
    arcs: list[NDArray[np.int64]] = []
    for drive in drives:
        begins, ends = drive.spans()
        before = np.concatenate([[-1], drive.arcs])
        way = drive.directed
        # Going on along the road on which a point on the way lies is one stretch, not two.
        if directed and directed[-1][-1] == way[0] and leave[-1][-1] == begins[0]:
            leave[-1][-1] = ends[0]
            begins, ends, before, way = begins[1:], ends[1:], before[1:], way[1:]
        if len(way):
            directed.append(way)
            enter.append(begins)
            leave.append(ends)
            arcs.append(before)
    return _Whole(
        np.concatenate(directed), np.concatenate(enter), np.concatenate(leave), np.concatenate(arcs)
    )


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
    columns = _columns(system, costing, whole)
    stress_s = float(columns["stress_s"].sum())
    geometry = _geometry(system, whole)
    away = (drives[0].begin.away_m, drives[-1].end.away_m)
    return Route(
        road_id=whole.road.astype(np.int32),
        forward=whole.directed % 2 == 0,
        columns=columns,
        geometry=geometry,
        length_km=float(columns["length_m"].sum()) / 1000,
        time_min=float(columns["time_s"].sum()) / 60,
        stress_min=stress_s / 60,
        near_limits=()
        if outfit is None
        else route_checks(system, columns, whole.arcs, outfit, system.names, units=units),
        unknowns=route_unknowns(system, costing, columns, whole.arcs, outfit, away, units=units),
    )


def _columns(system: RoadSystem, costing: Costing, whole: _Whole) -> dict[str, NDArray[Any]]:
    road, way = whole.road, whole.directed
    rows = system.table.rows(road)
    turned = whole.arcs >= 0
    arcs = np.where(turned, whole.arcs, 0)
    length = rows.numbers("length_m") * whole.share
    time_s = costing.roads.time_s.ravel()[way] * whole.share
    stress_s = costing.roads.road_stress_s[road] * whole.share
    turn_deg = np.zeros(len(way))
    if turned.any():
        time_s = time_s + np.where(turned, costing.turns.time_s[arcs], 0)
        stress_s = stress_s + np.where(turned, costing.turns.stress_s[arcs], 0)
        turn_deg = np.where(turned, system.network.turn_deg[arcs], 0)
    forward = way % 2 == 0
    signs, exit_ref = _signposts(system, whole)
    up, down = rows.numbers("steepest_up_pct"), rows.numbers("steepest_down_pct")
    return {
        "road_id": road.astype(np.int32),
        "forward": forward,
        "name": system.table.words("name", road),
        "ref": system.table.words("ref", road),
        "road_class": system.table.words("road_class", road),
        "start_km": (np.cumsum(length) - length) / 1000,
        "length_m": length,
        "time_s": time_s,
        "speed_kmh": costing.roads.speeds_kmh(way),
        "limited_by": _CAUSES[costing.roads.limited_by.ravel()[way]],
        "gradient_pct": rows.numbers("gradient_pct") * np.where(forward, 1, -1),
        "steepest_up_pct": np.where(forward, up, down),
        "steepest_down_pct": np.where(forward, down, up),
        "width_m": rows.numbers("width_m"),
        "width_source": system.table.words("width_source", road),
        "stress_s": stress_s,
        "turn_deg": turn_deg,
        "note": _notes(system, rows, whole),
        "tight": _tight(costing, rows),
        "signs": signs,
        "exit_ref": exit_ref,
    }


def _tight(costing: Costing, rows: RoadRows) -> NDArray[np.bool_]:
    """Where a car that comes the other way cannot pass the outfit, as far as widths are known."""
    if not costing.towing:
        return np.zeros(len(rows.values("oneway")), dtype=bool)
    narrow = rows.numbers("width_m") < passing_width_m(costing.roads.vehicle.width_m)
    both_ways = rows.values("oneway") == 0
    return np.asarray(narrow & both_ways & ~rows.is_word("road_class", ("ferry",)))


def _signposts(
    system: RoadSystem, whole: _Whole
) -> tuple[NDArray[np.object_], NDArray[np.object_]]:
    """What signposts say on each stretch, and the number of the exit at which it begins.

    A sign that is read at the junction from the road one comes by tells more than what stands
    written along the road.
    """
    road, forward, turned = whole.road, whole.directed % 2 == 0, whole.arcs >= 0
    signs = np.where(
        forward,
        system.table.words("signs_forward", road),
        system.table.words("signs_backward", road),
    )
    exit_ref = np.full(len(road), "", dtype=object)
    if not turned.any():
        return signs, exit_ref
    junction = system.network.junction[np.where(turned, whole.arcs, 0)]
    exit_ref[turned] = system.exit_ref[junction[turned]]
    pointed = system.signposts.towards(road)
    for place in pointed[turned[pointed]].tolist():
        before = place - 1
        came = {before}
        while before > 0 and system.ring[road[before]]:
            before -= 1
            came.add(before)
        ways = system.ways[road[list(came)]].tolist()
        read, number = system.signposts.read(int(junction[place]), int(road[place]), ways)
        signs[place] = read or signs[place]
        exit_ref[place] = number or exit_ref[place]
    return signs, exit_ref


def _notes(system: RoadSystem, rows: RoadRows, whole: _Whole) -> NDArray[np.object_]:
    """Words about each stretch: bridge, ferry, toll, roundabout with the exit taken, turning."""
    network = system.network
    arcs, count = whole.arcs, len(whole.arcs)
    words: dict[int, list[str]] = {}

    def say(on: NDArray[np.bool_], word: str) -> None:
        for place in np.flatnonzero(on).tolist():
            words.setdefault(place, []).append(word)

    for name in ("bridge", "tunnel", "toll", "ford"):
        say(rows.values(name), name)
    say(rows.is_word("road_class", ("ferry",)), "ferry")
    say((arcs < 0) & (np.arange(count) > 0), "turn round here")
    turned = arcs >= 0
    say(turned & network.u_turn[np.where(turned, arcs, 0)], "turn round at the end of the road")
    ring = np.asarray(rows.values("roundabout"), dtype=bool)
    say(ring, "roundabout")
    # An exit is passed at the end of each piece of the ring from which a road leads away.
    passed = np.cumsum(ring & system.leaves_ring[network.state_of[whole.directed]])
    for first, last in runs(ring):
        exits = int(passed[last] - (passed[first - 1] if first else 0))
        if exits and last + 1 < count:
            words.setdefault(last + 1, []).append(f"exit {exits}")
    notes = np.full(count, "", dtype=object)
    for place, said in words.items():
        notes[place] = "; ".join(said)
    return notes


def _geometry(system: RoadSystem, whole: _Whole) -> LineString:
    every, begins = system.table.points
    own = begins[whole.road]
    size = begins[whole.road + 1] - own
    after = np.cumsum(size)
    first = after - size
    # Each line is read from its first point on, or from its last one back.
    backward = whole.directed % 2 == 1
    base = np.repeat(np.where(backward, own + after - 1, own - first), size)
    points = every[base + np.repeat(np.where(backward, -1, 1), size) * np.arange(int(after[-1]))]
    cut = np.flatnonzero((whole.enter != 0.0) | (whole.leave != 1.0))
    parts, done = [], 0
    for place in cut.tolist():
        begin, end = int(first[place]), int(first[place] + size[place])
        parts.append(points[done:begin])
        parts.append(_cut(points[begin:end], float(whole.enter[place]), float(whole.leave[place])))
        done = end
    points = np.concatenate([*parts, points[done:]])
    fresh = np.ones(len(points), dtype=bool)
    fresh[1:] = (points[1:, 0] != points[:-1, 0]) | (points[1:, 1] != points[:-1, 1])
    points = points[fresh]
    return LineString(points if len(points) > 1 else np.repeat(points, 2, axis=0))


def _cut(points: NDArray[np.float64], enter: float, leave: float) -> NDArray[np.float64]:
    """The part of a line between two shares of its length."""
    along = np.concatenate([[0.0], np.cumsum(segment_lengths_m(points[:, 0], points[:, 1]))])
    if along[-1] > 0:
        along = along / along[-1]
    inside = points[(along > enter) & (along < leave)]
    ends = [
        [np.interp(share, along, points[:, 0]), np.interp(share, along, points[:, 1])]
        for share in (enter, leave)
    ]
    return np.vstack([ends[0], inside, ends[1]])
