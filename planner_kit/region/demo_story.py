"""What makes a road of the invented island easy or hard to tow along.

Dual carriageway, roundabouts, the toll bridge, the lane over the pass with its low bridge and its
width limit, the steep B road, the weak bridge, fords, speed limits, signals and give-way lines.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import shapely
from scipy.spatial import cKDTree

from planner_kit.region import demo_gazetteer as names
from planner_kit.region.demo_map import junction_degrees, spots
from planner_kit.region.demo_roads import Line, cut_at, cut_by
from planner_kit.region.demo_terrain import evenly_spaced

if TYPE_CHECKING:
    from planner_kit.region.demo_roads import Settlement
    from planner_kit.region.demo_terrain import Array, Ground, River

Mark = tuple[float, float, dict[str, str]]
RANK = {
    "trunk": 6, "primary": 5, "secondary": 4, "tertiary": 3, "unclassified": 2, "residential": 1,
}  # fmt: skip
ROUNDABOUTS = (
    ("ellanby_south", 30.0), ("pellinger_top", 34.0), ("fenwhistle_top", 32.0),
    ("gorse_top", 26.0), ("tolvenny_east", 28.0), ("anvery_west", 24.0), ("quay_east", 26.0),
    ("site_turn", 20.0), ("Skarrow Haven", 16.0), ("Omberlow", 15.0),
)  # fmt: skip
DUAL_LEG = "pellinger_top>fenwhistle_top"
HALF_GAP_M = 9.0


def with_points(line: Line, along_m: list[float]) -> Line:
    """The line with points added at distances from its start."""
    whole = line.shape
    have = [whole.project(shapely.Point(p)) for p in line.xy]
    at = sorted(set(np.round([*have, *along_m], 3).tolist()))
    kept = [d for i, d in enumerate(at) if i == 0 or d - at[i - 1] > 0.6]
    xy = shapely.get_coordinates(shapely.line_interpolate_point(whole, kept))
    xy[0], xy[-1] = line.xy[0], line.xy[-1]
    return replace(line, xy=xy)


def dual_carriageways(lines: list[Line]) -> list[Line]:
    """The dual leg of the trunk road as two one-way roads; side roads reach both."""
    middle = [i for i in lines if i.tags.get("leg") == DUAL_LEG]
    rest = [i for i in lines if i.tags.get("leg") != DUAL_LEG]
    result = []
    sides = []
    for line in middle:
        even = evenly_spaced(line.xy, 25.0)
        along = np.gradient(even, axis=0)
        along /= np.hypot(along[:, 0], along[:, 1])[:, None]
        left = np.column_stack([-along[:, 1], along[:, 0]]) * HALF_GAP_M
        tags = line.tags | {"oneway": "yes", "lanes": "2", "maxspeed": "70 mph"}
        ahead, back = tags.pop("destination:forward"), tags.pop("destination:backward")
        for xy, signs in ((even + left, ahead), ((even - left)[::-1], back)):
            xy = np.array(shapely.LineString(xy).simplify(0.7).coords)
            sides.append(Line(xy, tags | {"destination": signs}))
    result += sides
    if len(sides) != 2:
        raise ValueError(f"the dual leg {DUAL_LEG} came out as {len(middle)} lines, not one")
    centre = middle[0].shape
    for line in rest:
        xy = line.xy
        for end, inner in ((0, 1), (-1, -2)):
            point = shapely.Point(xy[end])
            if centre.distance(point) < HALF_GAP_M - 1:
                before = shapely.Point(xy[inner])
                far = max(sides, key=lambda s: s.shape.distance(before)).shape
                target = far.interpolate(far.project(point))
                tip = np.array([[target.x, target.y]])
                xy = np.vstack([tip, xy]) if end == 0 else np.vstack([xy, tip])
        result.append(replace(line, xy=xy))
    return result


def roundabouts(lines: list[Line], spots_at: dict[str, Array]) -> list[Line]:
    """Roundabouts at the chosen junctions, driven clockwise; roads end on their rim."""
    rims = []
    for name, radius_m in ROUNDABOUTS:
        x, y = spots_at[name]
        disc = shapely.Point(x, y).buffer(radius_m, quad_segs=6)
        rim = np.array(shapely.geometry.polygon.orient(disc, -1.0).exterior.coords)
        meeting = [line for line in lines if line.shape.intersects(disc)]
        if len(meeting) < 2:
            continue
        best = max(meeting, key=lambda i: RANK.get(i.tags["highway"], 0)).tags
        tags = {"highway": best["highway"], "junction": "roundabout", "oneway": "yes"}
        tags |= {"maxspeed": "30 mph", "lit": "yes", "surface": "asphalt"}
        kept = []
        for line in lines:
            outside = cut_by(line, disc)[1]
            kept += [part for part in outside if part.shape.length > 12]
        lines = kept
        rims.append(Line(rim, tags))
    return lines + rims


def steepest_m(ground: Ground, line: Line, window_m: float) -> float:
    """Where along a line the steepest stretch of that length begins, in metres."""
    step = 20.0
    points = evenly_spaced(line.xy, step)
    height = ground.height_m(points)
    span = max(1, round(window_m / step))
    rise = np.abs(height[span:] - height[:-span])
    return float(np.argmax(rise) * line.shape.length / (len(points) - 1))


def pass_lane(ground: Ground, line: Line) -> tuple[list[Line], list[Mark], list[Line]]:
    """The lane over the pass: its pieces, its points, and the tramway path that bridges it."""
    length = line.shape.length
    low, tight = 0.10 * length, 0.90 * length
    steep = float(np.clip(steepest_m(ground, line, 420.0), 0.16 * length, 0.8 * length))
    stops = [low - 14, low + 14, 0.16 * length - 5, steep, steep + 420, tight - 30, tight + 30]
    pieces = cut_at(line, *stops)
    base = {"highway": "unclassified", "name": names.PASS_LANE}
    single = base | {"lanes": "1"}
    tags = [
        base | {"lanes": "2", "width": "6.0"},
        base | {"lanes": "2", "maxheight": "2.4", "source:maxheight": "sign"},
        base | {"lanes": "2", "width": "6.0"},
        base | {"width": "5.6"},
        single | {"width": "2.8", "incline": "20%" if _rises(ground, pieces[4]) else "-20%"},
        dict(single),
        single | {"maxwidth": "2.0", "traffic_calming": "choker"},
        base | {"width": "5.6"},
    ]
    marks: list[Mark] = []
    done = []
    for piece, tag in zip(pieces, tags, strict=True):
        if "lanes" in tag and tag["lanes"] == "1" and piece.shape.length > 200:
            along = list(np.arange(110.0, piece.shape.length - 60, 190.0))
            piece = with_points(piece, along)
            marks += [
                (p.x, p.y, {"highway": "passing_place"})
                for p in (piece.shape.interpolate(d) for d in along)
            ]
        done.append(replace(piece, tags=tag))
    post = line.shape.interpolate(tight)
    done[6] = with_points(done[6], [30.0])
    marks.append(
        (post.x, post.y, {"barrier": "bollard", "maxwidth": "2.0", "motor_vehicle": "yes"})
    )
    return done, marks, _tramway(line, low)


def _rises(ground: Ground, line: Line) -> bool:
    first, last = ground.height_m(line.xy[[0, -1]])
    return bool(last > first)


def _tramway(line: Line, at_m: float) -> list[Line]:
    """An old tramway, now a path, on a low bridge over the lane."""
    whole = line.shape
    here, ahead = (np.array(whole.interpolate(at_m + d).coords[0]) for d in (0.0, 5.0))
    across = np.array([-(ahead - here)[1], (ahead - here)[0]]) / 5.0
    bend = (ahead - here) / 5.0
    tags = {"highway": "path", "surface": "gravel", "name": "Old Tramway", "foot": "yes"}
    deck = np.vstack([here - across * 12, here + across * 12])
    up = np.vstack([here + across * d + bend * (d - 12) ** 2 / 4000 for d in range(12, 480, 60)])
    down = np.vstack([here - across * d + bend * (d - 12) ** 2 / 5000 for d in range(12, 380, 60)])
    return [
        Line(deck, tags | {"bridge": "yes", "layer": "1"}, layer=1),
        Line(up, dict(tags)),
        Line(down, dict(tags)),
    ]


def over_rivers(lines: list[Line], rivers: tuple[River, ...], fords: int) -> list[Line]:
    """Bridges where roads cross rivers, and a few fords on lanes and tracks."""
    beds = [shapely.LineString(r.xy) for r in rivers]
    tree = shapely.STRtree(beds)
    ends = cKDTree(np.vstack([line.xy[[0, -1]] for line in lines]))
    result: list[Line] = []
    for line in lines:
        whole = line.shape
        if line.layer or whole.length < 60:
            result.append(line)
            continue
        at = []
        for k in tree.query(whole, predicate="intersects"):
            for point in shapely.get_parts(whole.intersection(beds[k])):
                if point.geom_type == "Point":
                    at.append(whole.project(point))
        half = 13.0
        clear: list[float] = []
        for d in sorted(at):
            point = whole.interpolate(d)
            near = ends.query_ball_point([point.x, point.y], half + 8)
            room = half + 6 < d < whole.length - half - 6
            if room and not near and (not clear or d - clear[-1] > 3 * half):
                clear.append(d)
        if not clear:
            result.append(line)
            continue
        parts = cut_at(line, *[d + s for d in clear for s in (-half, half)])
        for i, part in enumerate(parts):
            if i % 2 == 0:
                result.append(part)
                continue
            minor = line.tags["highway"] in ("track", "bridleway")
            if minor or (line.tags["highway"] == "unclassified" and fords > 0 and len(at) == 1):
                fords -= not minor
                result.append(replace(part, tags=part.tags | {"ford": "yes"}))
            else:
                tags = part.tags | {"bridge": "yes", "layer": "1"}
                result.append(replace(part, tags=tags, layer=1))
    return result


def weak_bridge(lines: list[Line], leg: str) -> list[Line]:
    """A 3 t limit on the longest road of a leg: on its first bridge, or on a bridge made there."""
    of_leg = [i for i, line in enumerate(lines) if line.tags.get("leg") == leg]
    decks = [i for i in of_leg if lines[i].layer == 1]
    done = list(lines)
    limit = {"maxweight": "3", "bridge": "yes", "layer": "1", "name": "Burnfoot Bridge"}
    if decks:
        deck = lines[decks[0]]
        done[decks[0]] = replace(deck, tags=deck.tags | limit)
        return done
    longest = max(of_leg, key=lambda i: lines[i].shape.length)
    parts = cut_at(lines[longest], 900.0, 930.0)
    parts[1] = replace(parts[1], tags=parts[1].tags | limit, layer=1)
    return done[:longest] + parts + done[longest + 1 :]


def steep_road(ground: Ground, lines: list[Line], leg: str) -> list[Line]:
    """The steepest 380 m of a leg get an incline sign of 20 %."""
    of_leg = [i for i, line in enumerate(lines) if line.tags.get("leg") == leg and not line.layer]
    longest = max(of_leg, key=lambda i: lines[i].shape.length)
    start = steepest_m(ground, lines[longest], 380.0)
    start = float(np.clip(start, 30, lines[longest].shape.length - 420))
    parts = cut_at(lines[longest], start, start + 380.0)
    sign = "20%" if _rises(ground, parts[1]) else "-20%"
    parts[1] = replace(parts[1], tags=parts[1].tags | {"incline": sign})
    return lines[:longest] + parts + lines[longest + 1 :]


def toll_bridge(lines: list[Line]) -> tuple[list[Line], list[Mark]]:
    """The bridge over the estuary, with its toll and the booth on its western end."""
    done: list[Line] = []
    marks: list[Mark] = []
    for line in lines:
        if line.tags.get("story") != "toll bridge":
            done.append(line)
            continue
        length = line.shape.length
        west, deck, east = cut_at(line, 60.0, length - 60.0)[::-1]
        toll = {"highway": "trunk", "ref": "A1", "name": names.TOLL_BRIDGE, "toll": "yes"}
        toll |= {"maxspeed": "50 mph", "lanes": "2", "surface": "asphalt", "lit": "yes"}
        done.append(replace(deck, tags=toll | {"bridge": "yes", "layer": "1"}, layer=1))
        west = with_points(west, [30.0])
        booth = west.shape.interpolate(30.0)
        fee = {"barrier": "toll_booth", "name": f"{names.TOLL_BRIDGE} tolls", "fee": "yes"}
        marks.append((booth.x, booth.y, fee | {"access": "yes"}))
        done += [replace(west, tags=dict(toll)), replace(east, tags=dict(toll))]
    return done, marks


def town_ring(lines: list[Line], town: Settlement) -> list[Line]:
    """A one-way ring round the market place of a town; the streets inside are for walkers."""
    turn = np.linspace(0, 2 * np.pi, 28)[::-1]
    reach = 150 + 26 * np.sin(3 * turn + 0.6) + 14 * np.cos(2 * turn)
    ring = np.column_stack([town.x + np.cos(turn) * reach * 1.25, town.y + np.sin(turn) * reach])
    ring[-1] = ring[0]
    core = shapely.Polygon(ring)
    done = []
    for line in lines:
        inside, outside = cut_by(line, core)
        walk = {"highway": "pedestrian", "name": "Market Place", "surface": "paving_stones"}
        done += outside + [replace(part, tags=dict(walk)) for part in inside]
    tags = {"highway": "secondary", "name": "Market Ring", "oneway": "yes", "lanes": "2"}
    return [*done, Line(ring, tags | {"maxspeed": "20 mph", "lit": "yes", "surface": "asphalt"})]


def signed(
    lines: list[Line], rng: np.random.Generator, settled: dict[str, Settlement]
) -> tuple[list[Line], list[Mark]]:
    """Speed limits, lighting, surfaces and widths; lanes get passing places."""
    outlines = [s.outline for s in settled.values() if s.place != "hamlet"]
    built_up = shapely.union_all(outlines)
    done: list[Line] = []
    marks: list[Mark] = []
    for line in lines:
        if line.tags["highway"] not in RANK or line.layer or "junction" in line.tags:
            done.append(line)
            continue
        inside, outside = cut_by(line, built_up)
        for part in inside:
            quiet = part.tags["highway"] in ("residential", "unclassified")
            limit = "20 mph" if quiet and rng.random() < 0.6 else "30 mph"
            tags = {"maxspeed": limit, "lit": "yes", "surface": "asphalt"} | part.tags
            if part.tags["highway"] in ("primary", "secondary") and "name" not in tags:
                tags["name"] = "High Street"
                tags["sidewalk"] = "both"
            done.append(replace(part, tags=tags))
        for part in outside:
            part, more = _country_road(part, rng)
            done.append(part)
            marks += more
    return done, marks


def _country_road(line: Line, rng: np.random.Generator) -> tuple[Line, list[Mark]]:
    road_class = line.tags["highway"]
    draw = float(rng.random())
    tags: dict[str, str] = {}
    if road_class == "trunk":
        slow = ("bridge_west", "gorse", "tolvenny", "anvery", "ellanby", "Ellanby")
        held = line.tags.get("leg", "").startswith(slow)
        tags = {"maxspeed": "50 mph" if held else "60 mph", "lanes": "2", "width": "7.3"}
    elif road_class == "primary":
        tags = {"lanes": "2", "width": "6.8"} | ({"maxspeed": "50 mph"} if draw < 0.35 else {})
    elif road_class == "secondary":
        tags = {"lanes": "2"} | ({"maxspeed": "50 mph"} if draw < 0.4 else {})
    elif line.tags.get("ref") == "B22":
        tags = {"lanes": "2", "width": "6.6"}
    elif line.tags.get("ref") == "B23":
        tags = {"maxspeed": "40 mph", "width": "3.9"}
    elif road_class == "tertiary":
        tags = {"maxspeed": "40 mph"} if draw < 0.15 else {}
        tags |= {"lanes": "2"} if draw > 0.5 else {"width": "5.2"} if draw > 0.35 else {}
    if road_class in ("trunk", "primary", "secondary", "tertiary"):
        return replace(line, tags=tags | {"surface": "asphalt"} | line.tags), []
    if "story" in line.tags or "width" in line.tags or "lanes" in line.tags:
        return line, []
    marks: list[Mark] = []
    if draw < 0.36 and line.shape.length > 500:
        tags = {"lanes": "1"} | ({"width": "3.0"} if draw < 0.14 else {})
        along = list(np.arange(140.0, line.shape.length - 80, 240.0))
        line = with_points(line, along)
        marks = [
            (p.x, p.y, {"highway": "passing_place"})
            for p in (line.shape.interpolate(d) for d in along)
        ]
    elif draw < 0.52:
        tags = {"width": f"{4.2 + 1.2 * float(rng.random()):.1f}"}
    if 0.3 < draw < 0.75:
        tags["surface"] = "asphalt"
    return replace(line, tags=tags | line.tags), marks


def controls(
    lines: list[Line], rng: np.random.Generator, towns: shapely.Geometry
) -> tuple[list[Line], list[Mark]]:
    """Signals where main roads meet in towns; give-way and stop lines on the lesser arm."""
    arms = junction_degrees(lines)
    best: dict[tuple[int, int], int] = {}
    for line in lines:
        rank = 9 if "junction" in line.tags else RANK.get(line.tags["highway"], 0)
        for spot in spots(line.xy):
            best[spot] = max(best.get(spot, 0), rank)
    marks: list[Mark] = []
    done = []
    for line in lines:
        rank = RANK.get(line.tags["highway"], 0)
        if rank == 0 or line.layer or "junction" in line.tags or line.shape.length < 30:
            done.append(line)
            continue
        ends = spots(line.xy[[0, -1]])
        length = line.shape.length
        extra = []
        for i, spot in enumerate(ends):
            if arms[spot] < 3 or best[spot] <= rank or best[spot] < 3:
                continue
            x, y = line.xy[0 if i == 0 else -1]
            if (
                rank >= 3
                and best[spot] >= 4
                and best[spot] < 9
                and towns.contains(shapely.Point(x, y))
            ):
                marks.append((float(x), float(y), {"highway": "traffic_signals"}))
                continue
            at = 9.0 if i == 0 else length - 9.0
            extra.append(at)
            point = line.shape.interpolate(at)
            kind = "stop" if best[spot] == 4 and rng.random() < 0.2 else "give_way"
            way = "backward" if i == 0 else "forward"
            marks.append((point.x, point.y, {"highway": kind, "direction": way}))
        done.append(with_points(line, extra) if extra else line)
    return done, marks
