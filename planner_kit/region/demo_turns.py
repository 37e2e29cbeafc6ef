"""Turn restrictions, signs at junctions, routes and the ferry of the invented island."""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
import shapely.ops

from planner_kit.region import demo_gazetteer as names
from planner_kit.region.demo_map import junction_degrees, spots
from planner_kit.region.demo_roads import Line
from planner_kit.region.demo_terrain import evenly_spaced

if TYPE_CHECKING:
    from planner_kit.region.demo_map import Sheet
    from planner_kit.region.demo_roads import Settlement
    from planner_kit.region.demo_terrain import Array, Ground

Spot = tuple[int, int]


def split_at_junctions(lines: list[Line], area: shapely.Geometry) -> list[Line]:
    """Two-way streets of an area cut at every junction, so that turns can name them."""
    arms = junction_degrees(lines)
    done = []
    for line in lines:
        fixed = line.layer or "oneway" in line.tags or not line.shape.within(area)
        if fixed:
            done.append(line)
            continue
        places = spots(line.xy)
        stops = [i for i in range(1, len(places) - 1) if arms[places[i]] > 2]
        edges = [0, *stops, len(places) - 1]
        for a, b in itertools.pairwise(edges):
            done.append(replace(line, xy=line.xy[a : b + 1], tags=dict(line.tags)))
    return done


def turn_relations(sheet: Sheet, lines: list[Line], numbers: list[int], town: Settlement) -> None:
    """A banned turn, an only-straight-on and a ban by way of a street, all in one town."""
    near = shapely.Point(town.x, town.y).buffer(town.radius_m * 0.8)
    core = shapely.Point(town.x, town.y).buffer(300)
    meeting: dict[Spot, list[tuple[int, Array]]] = {}
    for i, line in enumerate(lines):
        plain = line.tags["highway"] in ("residential", "primary", "secondary", "trunk")
        if not plain or "oneway" in line.tags or not line.shape.within(near):
            continue
        if line.shape.intersects(core) or line.layer:
            continue
        for end, inner in ((0, 1), (-1, -2)):
            step = line.xy[inner] - line.xy[end]
            meeting.setdefault(spots(line.xy[[end]])[0], []).append((i, step))
    arms = junction_degrees(lines)
    whole = {spot: out for spot, out in meeting.items() if len(out) == arms[spot]}
    threes = [s for s in whole if arms[s] == 3]
    fours = [s for s in whole if arms[s] >= 4]
    used: set[int] = set()
    _banned_turn(sheet, numbers, threes, whole, used)
    _straight_on(sheet, numbers, fours or threes, whole, used)
    _ban_by_way(sheet, lines, numbers, threes, whole, used)


def _angle_deg(entering: Array, leaving: Array) -> float:
    """How far a turn bends, left positive."""
    a = np.arctan2(-entering[1], -entering[0])
    b = np.arctan2(leaving[1], leaving[0])
    return float((np.degrees(b - a) + 180) % 360 - 180)


def _turn(sheet: Sheet, kind: str, members: list[tuple[str, int, str]]) -> None:
    sheet.relation({"type": "restriction", "restriction": kind}, members)


def _banned_turn(
    sheet: Sheet,
    numbers: list[int],
    spots_in: list[Spot],
    meeting: dict[Spot, list[tuple[int, Array]]],
    used: set[int],
) -> None:
    for spot in spots_in:
        for i, entering in meeting[spot]:
            for j, leaving in meeting[spot]:
                if i != j and -120 < _angle_deg(entering, leaving) < -60:
                    used.update((i, j))
                    via = ("n", sheet.node(spot), "via")
                    ends = [("w", numbers[i], "from"), via, ("w", numbers[j], "to")]
                    _turn(sheet, "no_right_turn", ends)
                    return
    raise ValueError("no junction in the town for a banned turn")


def _straight_on(
    sheet: Sheet,
    numbers: list[int],
    spots_in: list[Spot],
    meeting: dict[Spot, list[tuple[int, Array]]],
    used: set[int],
) -> None:
    for spot in spots_in:
        for i, entering in meeting[spot]:
            for j, leaving in meeting[spot]:
                fresh = i != j and not used & {i, j}
                if fresh and abs(_angle_deg(entering, leaving)) < 25:
                    used.update((i, j))
                    via = ("n", sheet.node(spot), "via")
                    ends = [("w", numbers[i], "from"), via, ("w", numbers[j], "to")]
                    _turn(sheet, "only_straight_on", ends)
                    return
    raise ValueError("no junction in the town for an only-straight-on turn")


def _ban_by_way(
    sheet: Sheet,
    lines: list[Line],
    numbers: list[int],
    spots_in: list[Spot],
    meeting: dict[Spot, list[tuple[int, Array]]],
    used: set[int],
) -> None:
    inside = set(spots_in)
    for spot in spots_in:
        for via, _ in meeting[spot]:
            ends = spots(lines[via].xy[[0, -1]])
            other = ends[1] if ends[0] == spot else ends[0]
            if other not in inside or other == spot or lines[via].shape.length > 160:
                continue
            first = [i for i, _ in meeting[spot] if i != via and i not in used]
            last = [i for i, _ in meeting[other] if i != via and i not in used]
            if first and last and first[0] != last[0] and via not in used:
                members = [("w", numbers[first[0]], "from"), ("w", numbers[via], "via")]
                _turn(sheet, "no_u_turn", [*members, ("w", numbers[last[0]], "to")])
                return
    raise ValueError("no street in the town for a ban by way of it")


def sign_relations(sheet: Sheet, lines: list[Line], numbers: list[int]) -> None:
    """What signs at junctions say to those who come by another numbered road."""
    for leg, (ref, places) in names.JUNCTION_SIGNS.items():
        mine = [i for i, line in enumerate(lines) if line.tags.get("leg") == leg]
        reached = {spots(lines[i].xy[[-1]])[0] for i in mine}
        first = next(i for i in mine if spots(lines[i].xy[[0]])[0] not in reached)
        spot = spots(lines[first].xy[[0]])[0]
        tags = {"type": "destination_sign", "destination": places, "destination:ref": ref}
        ends = [("n", sheet.node(spot), "intersection"), ("w", numbers[first], "to")]
        come = [
            i
            for i, line in enumerate(lines)
            if line.tags.get("ref") and i not in mine and spot in spots(line.xy)
        ]
        for i in come:
            sheet.relation(tags, [("w", numbers[i], "from"), *ends])
        if not come:
            raise ValueError(f"no numbered road leads to the sign at the begin of {leg}")


def exit_marks(lines: list[Line], dual_leg: str) -> list[tuple[float, float, dict[str, str]]]:
    """The number of the exit on both carriageways where its side road crosses them."""
    side = [p for i in lines if i.tags.get("leg") == names.EXIT_LEG for p in spots(i.xy)]
    tags = {"highway": "motorway_junction", "ref": names.EXIT_NUMBER}
    marks = [
        (float(x), float(y), tags)
        for line in lines
        if line.tags.get("leg") == dual_leg
        for (x, y), spot in zip(line.xy, spots(line.xy), strict=True)
        if spot in side
    ]
    if len(marks) != 2:
        raise ValueError(f"the exit of {dual_leg} has {len(marks)} places and not two")
    return marks


def route_relations(sheet: Sheet, lines: list[Line], numbers: list[int]) -> None:
    """The signed cycle route along the old railway and the numbered roads' routes."""
    for name, tags in (
        ("Old Tarrow Line", {"route": "bicycle", "network": "lcn", "ref": "1"}),
        ("Sallowey Coast Path", {"route": "hiking", "network": "rwn"}),
    ):
        members = [
            ("w", number, "")
            for line, number in zip(lines, numbers, strict=True)
            if line.tags.get("name") == name
        ]
        sheet.relation({"type": "route", "name": name} | tags, members)


def ferry_lines(ground: Ground, roads: list[Line], camp: Array) -> list[Line]:
    """The ferry to the small island, its slipways and the one road over there."""
    main = max(ground.land.geoms, key=lambda p: p.area)
    islet = min(ground.land.geoms, key=lambda p: p.distance(shapely.Point(camp)))
    shore, landing = shapely.ops.nearest_points(main, islet)
    there = np.array([landing.x, landing.y])
    quiet = [r for r in roads if r.layer == 0 and r.tags["highway"] in ("tertiary", "unclassified")]
    samples = np.vstack([evenly_spaced(r.xy, 40.0) for r in quiet])
    here = np.array([shore.x, shore.y])
    start = samples[int(np.argmin(np.hypot(*(samples - here).T)))]
    shore = shapely.ops.nearest_points(main.exterior, shapely.Point(start + (there - start) * 0.05))
    slip = np.array([shore[0].x, shore[0].y])
    inner = np.array(islet.centroid.coords[0])
    quay = {"highway": "unclassified", "name": "Ferry Road", "surface": "asphalt"}
    name = {"name": names.FERRY, "duration": "00:25", "motor_vehicle": "yes", "foot": "yes"}
    sail = name | {"route": "ferry", "toll": "yes", "bicycle": "yes", "maxlength": "14"}
    middle = (slip + there) / 2 + np.array([500.0, 0.0])
    crossing = _bow(slip, middle, there, 12)
    holm = _bow(there, (there + inner) / 2 + [140.0, 30.0], inner, 8)
    last = _bow(inner, (inner + camp) / 2 + [60.0, -60.0], camp, 8)
    bend = (start + slip) / 2 + 0.08 * np.array([-(slip - start)[1], (slip - start)[0]])
    return [
        Line(_bow(start, bend, slip, 14), dict(quay)),
        Line(crossing, sail | {"highway": ""}, layer=1),
        Line(holm, quay | {"name": "Holm Road"}),
        Line(last, {"highway": "service", "surface": "gravel"}),
    ]


def _bow(a: Array, b: Array, c: Array, count: int) -> Array:
    t = np.linspace(0, 1, count)[:, None]
    return np.asarray((1 - t) ** 2 * a + 2 * t * (1 - t) * b + t**2 * c)
