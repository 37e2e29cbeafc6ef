"""Ways cut into roads between junctions, and what their tags say of each."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from planner_kit.region import access, width
from planner_kit.region.keys import control_of
from planner_kit.region.projection import segment_lengths_m
from planner_kit.region.signposts import sign_words
from planner_kit.region.tag_table import NO_WORDS, TagColumns, value_mask
from planner_kit.region.tags import (
    LIMITS,
    read_duration_min,
    read_flag,
    read_incline_pct,
    read_lanes,
    read_length_m,
    read_speed_kmh,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner_kit.region.extract import Extract


@dataclass(frozen=True)
class Network:
    """Where ways are cut.

    Attributes
    ----------
    way : ndarray of int, shape (roads,)
        Row of the extract's way that each road is cut from.
    first, last : ndarray of int, shape (roads,)
        First and last position of each road, both included.
    from_node, to_node : ndarray of int, shape (roads,)
        Rows of the nodes.
    node_position : ndarray of int, shape (nodes,)
        A position that lies on each node.
    node_tag_row : ndarray of int, shape (nodes,)
        Row of the extract's tagged nodes, or -1.
    passing_places : ndarray of int, shape (roads,)
        Mapped passing places on each road.
    ford : ndarray of bool, shape (roads,)
        A ford is mapped as a node of the road.
    """

    way: NDArray[np.int64]
    first: NDArray[np.int64]
    last: NDArray[np.int64]
    from_node: NDArray[np.int64]
    to_node: NDArray[np.int64]
    node_position: NDArray[np.int64]
    node_tag_row: NDArray[np.int64]
    passing_places: NDArray[np.int64]
    ford: NDArray[np.bool_]


def cut_ways(extract: Extract) -> Network:
    """Cut every way at junctions, barriers, controls and signed limits on nodes.

    A junction is a node that two ways share or that a way passes twice.
    """
    start, ref = extract.way_start, extract.ref
    ends = np.zeros(len(ref), dtype=bool)
    ends[start[:-1]] = True
    ends[start[1:] - 1] = True
    # The same node twice running is a slip of the pen and no junction.
    again = np.zeros(len(ref), dtype=bool)
    again[1:] = (ref[1:] == ref[:-1]) & ~ends[1:]
    _, node_of, uses = np.unique(ref, return_inverse=True, return_counts=True)
    uses = uses - np.bincount(node_of[again], minlength=len(uses))

    rows = len(extract.node_id)
    order = np.argsort(extract.node_id, kind="stable")
    place = np.searchsorted(extract.node_id[order], ref) if rows else np.zeros(len(ref), int)
    found = np.minimum(place, max(rows - 1, 0))
    tag_row = np.full(len(ref), -1)
    if rows:
        hit = extract.node_id[order][found] == ref
        tag_row[hit] = order[found[hit]]
    tags = extract.node_tags
    splits = np.zeros(rows + 1, dtype=bool)
    for key in ("barrier", "maxheight", "maxwidth", "maxheight:physical", "maxwidth:physical"):
        splits[:rows] |= tags.codes(key, rows) >= 0
    for key in ("highway", "railway"):
        controls = {v for v in tags.values(key) if control_of(key, v)}
        splits[:rows] |= value_mask(tags, key, rows, controls.__contains__)
    splits[:rows] |= value_mask(tags, "highway", rows, lambda v: v == "toll_gantry")
    cut = (ends | (uses[node_of] > 1) | splits[tag_row]) & ~again

    at = np.flatnonzero(cut)
    way_of = np.repeat(np.arange(len(start) - 1), np.diff(start))
    pair = way_of[at[:-1]] == way_of[at[1:]]
    first, last = at[:-1][pair], at[1:][pair]
    used = np.unique(node_of[np.concatenate([first, last])])
    position_of = np.full(len(uses), -1)
    position_of[node_of[::-1]] = np.arange(len(ref))[::-1]
    compact = np.full(len(uses), -1)
    compact[used] = np.arange(len(used))

    passing = np.zeros(rows + 1, dtype=bool)
    passing[:rows] = value_mask(tags, "highway", rows, lambda v: v == "passing_place")
    ford = np.zeros(rows + 1, dtype=bool)
    ford[:rows] = value_mask(tags, "ford", rows, lambda v: v not in NO_WORDS)
    ford[:rows] |= value_mask(tags, "highway", rows, lambda v: v == "ford")
    # Each position but the last of a road counts for it, and the last as well for fords.
    counts_passing = np.concatenate([[0], np.cumsum(passing[tag_row])])
    counts_ford = np.concatenate([[0], np.cumsum(ford[tag_row])])
    return Network(
        way=way_of[first],
        first=first,
        last=last,
        from_node=compact[node_of[first]],
        to_node=compact[node_of[last]],
        node_position=position_of[used],
        node_tag_row=tag_row[position_of[used]],
        passing_places=counts_passing[last] - counts_passing[first],
        ford=counts_ford[last + 1] > counts_ford[first],
    )


def _category(values: NDArray[Any] | Sequence[str]) -> pd.Categorical:
    return pd.Categorical(np.asarray(values, dtype=object))


def _signposts(way: TagColumns, direction: str, only: NDArray[np.bool_]) -> NDArray[Any]:
    """Road numbers and places on the signposts of a direction, `A30; Oldmill`; empty for none.

    Tags without a direction hold for the one direction of a one-way road; on a road for both they
    do not say which way they mean and are left out.
    """
    parts = []
    for key in ("destination:ref", "destination"):
        one_way = np.where(only, way.text(key), "")
        parts.append(_first_text(way.text(f"{key}:{direction}"), one_way))
    signs = np.full(len(only), "", dtype=object)
    for row in np.flatnonzero((parts[0] != "") | (parts[1] != "")):
        signs[row] = sign_words(*(part[row] for part in parts))
    return signs


def _first_text(*columns: NDArray[Any]) -> NDArray[Any]:
    out = columns[0]
    for column in columns[1:]:
        out = np.where(out != "", out, column)
    return out


def way_frame(
    extract: Extract, unread: Counter[str], odd: Counter[str] | None = None
) -> pd.DataFrame:
    """One row for each way with the columns of the roads table that its tags decide.

    Parameters
    ----------
    extract : Extract
    unread : Counter
        Counts of values that could not be read are added to it, by key.
    odd : Counter, optional
        Counts of those among them that are numbers, but none that such a way has.
    """
    rows = len(extract.way_id)
    way = TagColumns(extract.way_tags, rows, unread)
    highway = way.text("highway")
    known = np.isin(highway.astype(str), access.ROAD_CLASSES)
    road_class = np.where(known, highway, "ferry")
    ferry = road_class == "ferry"
    classes = road_class.astype(str)
    link = np.char.endswith(classes, "_link")
    roundabout = way.equals("junction", "roundabout", "circular")
    oneway = way.oneway("car", roundabout | (road_class == "motorway"))
    bike_oneway = way.oneway("bike", roundabout)
    against = np.zeros(rows, dtype=bool)
    for key in ("cycleway", "cycleway:left", "cycleway:right", "cycleway:both"):
        against |= value_mask(extract.way_tags, key, rows, lambda v: v.startswith("opposite"))
    bike_oneway[against] = 0
    bike_oneway[ferry] = 0

    both = way.number("maxspeed", read_speed_kmh, limit=True)
    forward = way.number("maxspeed:forward", read_speed_kmh, limit=True)
    backward = way.number("maxspeed:backward", read_speed_kmh, limit=True)
    limits = {name: way.limit(name) for name in LIMITS}
    way.conditionals()

    motor = way.access("car", road_class)
    bike, foot = way.access("bike", road_class), way.access("foot", road_class)
    motorroad = way.equals("motorroad", "yes")
    bike[motorroad], foot[motorroad] = "no", "no"
    trailer = np.full(rows, "unknown", dtype=object)
    for key in reversed(access.TRAILER_KEYS):
        text = way.text(key)
        trailer = np.where(np.isin(text.astype(str), ["yes", "designated"]), "yes", trailer)
        trailer = np.where(text == "no", "no", trailer)
    may_drive = np.isin(motor.astype(str), ["yes", "destination"]) | ((motor == "unknown") & ~ferry)
    may_ride = np.isin(bike.astype(str), ["yes", "destination", "unknown"])
    lanes = way.number("lanes", read_lanes)
    tagged = np.full(rows, np.nan)
    for key in ("width:carriageway", "width"):
        value = way.number(key, lambda text: read_length_m(text, "width"))
        value = way.believed(key, value, "car_width", may_drive)
        tagged = np.where(np.isnan(tagged), value, tagged)
    width_m, width_source = width.road_width_m(road_class, tagged, lanes, oneway != 0)
    incline_pct = way.number("incline", read_incline_pct)
    incline_pct = way.believed("incline", incline_pct, "car_incline", may_drive)
    toll = way.is_set("toll")
    for key in ("toll:motor_vehicle", "toll:motorcar"):
        toll = np.where(way.is_set(key, no=frozenset({""})), way.is_set(key), toll)
    priced = toll | ferry
    toll_name = _first_text(
        way.text("bridge:name"), way.text("tunnel:name"), way.text("name"), way.text("operator")
    )
    lit = way.number("lit", read_flag)
    zone = np.full(rows, np.nan)
    for key in ("maxspeed:type", "source:maxspeed", "zone:maxspeed", "zone:traffic", "maxspeed"):
        zone[value_mask(extract.way_tags, key, rows, lambda v: v.endswith(":urban"))] = 1.0
        zone[value_mask(extract.way_tags, key, rows, lambda v: v.endswith(":rural"))] = 0.0
    zone[road_class == "living_street"] = 1.0
    crossing_min = way.number("duration", read_duration_min)
    if odd is not None:
        odd.update(way.odd)
    return pd.DataFrame(
        {
            "osm_way_id": extract.way_id,
            "road_class": _category(road_class),
            "name": way.text("name"),
            "ref": way.text("ref"),
            "signs_forward": _signposts(way, "forward", oneway == 1),
            "signs_backward": _signposts(way, "backward", oneway == -1),
            "oneway": oneway,
            "roundabout": roundabout,
            "link": link,
            "dual": (oneway != 0)
            & ~roundabout
            & ~link
            & np.isin(classes, ["motorway", "trunk", "primary", "secondary"]),
            "lanes": lanes.astype(np.float32),
            "width_m": width_m.astype(np.float32),
            "width_source": _category(width_source),
            "maxspeed_forward_kmh": np.where(np.isnan(forward), both, forward).astype(np.float32),
            "maxspeed_backward_kmh": np.where(np.isnan(backward), both, backward).astype(
                np.float32
            ),
            **{name: value.astype(np.float32) for name, value in limits.items()},
            "unread_limits": way.notes(),
            "surface": _category(
                np.where(way.text("surface") != "", way.text("surface"), "unknown")
            ),
            "smoothness": _category(
                _first_text(
                    way.text("smoothness"),
                    way.text("tracktype"),
                    np.full(rows, "unknown", dtype=object),
                )
            ),
            "lit": _boolean(lit),
            "built_up": _boolean(zone),
            "incline_pct": incline_pct,
            "bridge": way.is_set("bridge"),
            "tunnel": way.is_set("tunnel") & ~way.equals("tunnel", "culvert"),
            "toll": toll,
            "toll_name": np.where(priced, toll_name, ""),
            "ford": way.is_set("ford"),
            "ferry_min": np.where(ferry, crossing_min, np.nan).astype(np.float32),
            "motor_access": _category(motor),
            "trailer_access": _category(trailer),
            "car_forward": may_drive & (oneway >= 0),
            "car_backward": may_drive & (oneway <= 0),
            "bike_forward": may_ride & (bike_oneway >= 0),
            "bike_backward": may_ride & (bike_oneway <= 0),
            "foot": np.isin(foot.astype(str), ["yes", "destination", "unknown"]),
            "cycle_route": np.isin(extract.way_id, np.fromiter(extract.cycle_ways, np.int64))
            | (road_class == "cycleway")
            | way.equals("bicycle", "designated")
            | way.is_set("lcn")
            | way.is_set("rcn")
            | way.is_set("ncn"),
        }
    )


def exit_numbers(extract: Extract) -> dict[int, str]:
    """The exit numbers that slip roads carry (`junction:ref`), by way."""
    rows = len(extract.way_id)
    number = extract.way_tags.text("junction:ref", rows)
    slip = value_mask(extract.way_tags, "highway", rows, lambda v: v.endswith("_link"))
    numbered = np.flatnonzero(slip & (number != ""))
    return dict(zip(extract.way_id[numbered].tolist(), number[numbered].tolist(), strict=True))


def _boolean(values: NDArray[np.float64]) -> pd.arrays.BooleanArray:
    missing = np.isnan(values)
    return pd.arrays.BooleanArray(np.where(missing, 0, values) > 0, missing)


def road_lengths_m(extract: Extract, net: Network) -> NDArray[np.float64]:
    """Geodesic length of every road, in metres."""
    if not len(net.first):
        return np.zeros(0)
    # Sums over one road each, not differences of a long running total.
    steps = np.append(segment_lengths_m(extract.lon, extract.lat), 0.0)
    bounds = np.column_stack([net.first, net.last]).ravel()
    return np.asarray(np.add.reduceat(steps, bounds)[::2], dtype=np.float64)


def node_frame(
    extract: Extract, net: Network, unread: Counter[str], odd: Counter[str] | None = None
) -> pd.DataFrame:
    """The nodes table without heights; see `way_frame`."""
    rows = len(extract.node_id)
    column = TagColumns(extract.node_tags, rows, unread)
    keep = net.node_tag_row

    def at_nodes(values: NDArray[Any], missing: Any) -> NDArray[Any]:
        return np.append(values, np.array([missing], dtype=values.dtype))[keep]

    control = np.full(rows, "none", dtype=object)
    for key in ("railway", "highway"):
        for value in extract.node_tags.values(key):
            name = control_of(key, value)
            if name:
                control[column.equals(key, value)] = name
    barrier = column.text("barrier")
    barrier = np.where(barrier == "no", "", barrier)
    passable = np.full(rows, np.nan)
    passable[np.isin(barrier.astype(str), list(access.PASSABLE))] = 1.0
    passable[np.isin(barrier.astype(str), list(access.IMPASSABLE))] = 0.0
    for key in reversed(access.MODE_KEYS["car"]):
        meaning = np.array(
            [*(access.read_access(v)[0] for v in extract.node_tags.values(key)), ""], dtype=object
        )[extract.node_tags.codes(key, rows)].astype(str)
        passable[np.isin(meaning, ["yes", "destination"])] = 1.0
        passable[np.isin(meaning, ["no", "private"])] = 0.0
    passable[barrier == ""] = np.nan
    height = np.fmin(
        column.number("maxheight", lambda t: read_length_m(t, "maxheight"), limit=True),
        column.number("maxheight:physical", lambda t: read_length_m(t, "maxheight"), limit=True),
    )
    wide = np.fmin(
        column.number("maxwidth", lambda t: read_length_m(t, "maxwidth"), limit=True),
        column.number("maxwidth:physical", lambda t: read_length_m(t, "maxwidth"), limit=True),
    )
    toll = (barrier == "toll_booth") | column.equals("highway", "toll_gantry")
    exit_ref = np.where(column.equals("highway", "motorway_junction"), column.text("ref"), "")
    if odd is not None:
        odd.update(column.odd)
    return pd.DataFrame(
        {
            "node_id": np.arange(len(keep), dtype=np.int32),
            "osm_node_id": extract.ref[net.node_position],
            "lat": extract.lat[net.node_position],
            "lon": extract.lon[net.node_position],
            "height_m": np.full(len(keep), np.nan, dtype=np.float32),
            "control": _category(at_nodes(control, "none")),
            "barrier": _category(at_nodes(np.where(barrier == "", "none", barrier), "none")),
            "barrier_passable": _boolean(at_nodes(passable, np.nan)),
            "maxwidth_m": at_nodes(wide, np.nan).astype(np.float32),
            "maxheight_m": at_nodes(height, np.nan).astype(np.float32),
            "unread_limits": at_nodes(column.notes(), ""),
            "toll": at_nodes(toll, False),
            "exit_ref": at_nodes(exit_ref.astype(object), ""),
        }
    )
