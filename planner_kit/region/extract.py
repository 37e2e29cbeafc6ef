"""Streaming what matters out of an OpenStreetMap extract into flat arrays."""

from __future__ import annotations

import json
from array import array
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import osmium
import shapely

from planner_kit.errors import PlanFileError
from planner_kit.region.keys import (
    AREA_KEYS,
    AREA_KINDS,
    CONDITIONAL,
    CONDITIONAL_BASES,
    HIGHWAYS,
    KEYS_READ,
    LINE_KINDS,
    NODE_KEYS,
    WAY_KEYS,
)
from planner_kit.region.places import PLACE_KEYS, kind_of
from planner_kit.region.tag_table import TagTable

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    from numpy.typing import NDArray


@dataclass
class Extract:
    """What was read from an extract, in the order in which it was met.

    Attributes
    ----------
    way_id : ndarray of int, shape (ways,)
        Ways that are roads or ferries.
    way_start : ndarray of int, shape (ways + 1,)
        Way i has the positions from ``way_start[i]`` up to ``way_start[i + 1]``.
    ref, lon, lat : ndarray, shape (positions,)
        Node and place of each position.
    way_tags, node_tags : TagTable
        Tags of ways, and of nodes in the order of `node_id`.
    node_id : ndarray of int
        Nodes with a tag that matters on a road.
    """

    way_id: NDArray[np.int64]
    way_start: NDArray[np.int64]
    ref: NDArray[np.int64]
    lon: NDArray[np.float64]
    lat: NDArray[np.float64]
    way_tags: TagTable
    node_id: NDArray[np.int64]
    node_tags: TagTable
    restrictions: list[dict[str, Any]]
    signposts: list[dict[str, Any]]
    cycle_ways: frozenset[int]
    boundary_ways: frozenset[int]
    places: dict[str, list[Any]]
    areas: dict[str, list[Any]]
    lines: dict[str, list[Any]]
    countries: list[tuple[str, Any]]
    countries_named: list[str]
    bounds: tuple[float, float, float, float] | None
    data_date: str | None
    skipped: dict[str, int] = field(default_factory=dict)


def _unreadable(path: Path, error: Exception) -> PlanFileError:
    reason = str(error).strip().rstrip(".") or type(error).__name__
    return PlanFileError(
        f"it cannot be read as an OpenStreetMap extract ({reason})",
        str(path),
        "get the extract again, as .osm.pbf",
    )


def read_header(path: Path) -> tuple[tuple[float, float, float, float] | None, str | None]:
    """Bounds (west, south, east, north) and date of the data, each None where it is not said.

    Raises
    ------
    PlanFileError
        If the file is missing or is no extract.
    """
    if not path.is_file():
        raise PlanFileError("there is no such file", str(path), "check the name of the extract")
    try:
        reader = osmium.io.Reader(str(path), osmium.osm.osm_entity_bits.NOTHING)
        header = reader.header()
        box = header.box()
        date = header.get("osmosis_replication_timestamp") or header.get("timestamp") or None
        reader.close()
    except (RuntimeError, ValueError) as error:
        raise _unreadable(path, error) from error
    if not box.valid():
        return None, date
    low, high = box.bottom_left, box.top_right
    return (low.lon, low.lat, high.lon, high.lat), date


def read_extract(path: Path, *, tick: Callable[[int], None] | None = None) -> Extract:
    """Everything in an extract that a region keeps.

    Parameters
    ----------
    path : Path
        An ``.osm.pbf`` file (or another format that osmium reads).
    tick : callable, optional
        Called now and then while reading, with the number of objects read so far.

    Returns
    -------
    extract : Extract

    Raises
    ------
    PlanFileError
        If the file is missing, damaged, or holds no road.

    Notes
    -----
    The file is streamed twice by osmium: relations first, then everything in order. Objects
    without a tag that matters never reach Python.
    """
    bounds, date = read_header(path)
    relations = _Relations()
    reader = _Reader(tick)
    try:
        for relation in osmium.FileProcessor(str(path), osmium.osm.RELATION):
            relations.take(relation)
        keys = osmium.filter.KeyFilter(*sorted(KEYS_READ))
        stream = (
            osmium.FileProcessor(str(path))
            .with_locations()
            .with_areas(osmium.filter.KeyFilter(*sorted(AREA_KEYS)))
            .with_filter(keys)
        )
        reader.read(stream, frozenset(relations.boundary_ways))
    except (RuntimeError, ValueError) as error:
        raise _unreadable(path, error) from error
    if not len(reader.way_id):
        raise PlanFileError("it holds no road", str(path), "give an extract with highways in it")
    xy = np.frombuffer(reader.xy, dtype=np.float64).reshape(-1, 2)
    return Extract(
        way_id=np.frombuffer(reader.way_id, dtype=np.int64),
        way_start=np.concatenate([[0], np.frombuffer(reader.way_end, dtype=np.int64)]),
        ref=np.frombuffer(reader.ref, dtype=np.int64),
        lon=np.ascontiguousarray(xy[:, 0]),
        lat=np.ascontiguousarray(xy[:, 1]),
        way_tags=reader.way_tags,
        node_id=np.frombuffer(reader.node_id, dtype=np.int64),
        node_tags=reader.node_tags,
        restrictions=relations.restrictions,
        signposts=relations.signposts,
        cycle_ways=frozenset(relations.cycle_ways),
        boundary_ways=frozenset(relations.boundary_ways),
        places=reader.places,
        areas=reader.areas,
        lines=reader.lines,
        countries=reader.countries,
        countries_named=sorted(relations.countries),
        bounds=bounds,
        data_date=date,
        skipped=reader.skipped,
    )


def _iso_country(tags: Any) -> str | None:
    code = tags.get("ISO3166-1:alpha2") or tags.get("ISO3166-1")
    return code if code and len(code) == 2 else None


def _whole(relation: Any) -> dict[str, Any]:
    return {
        "id": relation.id,
        "tags": dict(relation.tags),
        "members": [(m.type, m.ref, m.role) for m in relation.members],
    }


class _Relations:
    """Turn restrictions, signposts, signed cycle routes and borders of countries."""

    def __init__(self) -> None:
        self.restrictions: list[dict[str, Any]] = []
        self.signposts: list[dict[str, Any]] = []
        self.cycle_ways: set[int] = set()
        self.boundary_ways: set[int] = set()
        self.countries: set[str] = set()

    def take(self, relation: Any) -> None:
        tags = relation.tags
        kind = tags.get("type", "")
        if kind.split(":")[0] == "restriction":
            self.restrictions.append(_whole(relation))
        elif kind == "destination_sign":
            self.signposts.append(_whole(relation))
        elif kind == "route" and tags.get("route") in {"bicycle", "mtb"}:
            self.cycle_ways.update(m.ref for m in relation.members if m.type == "w")
        elif tags.get("boundary") == "administrative" and tags.get("admin_level") == "2":
            self.boundary_ways.update(m.ref for m in relation.members if m.type == "w")
            code = _iso_country(tags)
            if code:
                self.countries.add(code)


class _Reader:
    """The second pass: nodes, ways and areas."""

    def __init__(self, tick: Callable[[int], None] | None) -> None:
        self._tick = tick
        self._wkb = osmium.geom.WKBFactory()
        self.way_id, self.way_end, self.ref = array("q"), array("q"), array("q")
        self.xy = array("d")
        self.way_tags, self.node_tags = TagTable(), TagTable()
        self.node_id = array("q")
        self.places: dict[str, list[Any]] = {
            name: [] for name in ("place_id", "kind", "name", "opening_hours", "tags", "wkb")
        }
        self.areas: dict[str, list[Any]] = {n: [] for n in ("kind", "name", "tags", "wkb")}
        self.lines: dict[str, list[Any]] = {n: [] for n in ("kind", "name", "wkb")}
        self.countries: list[tuple[str, Any]] = []
        self.skipped = {"ways_cut_at_edge": 0, "ways_without_positions": 0, "areas_not_closed": 0}
        self._positions_only: frozenset[int] = frozenset()

    def read(self, stream: Iterable[Any], boundary_ways: frozenset[int]) -> None:
        self._positions_only = boundary_ways
        for count, thing in enumerate(stream):
            if thing.is_node():
                self._node(thing)
            elif thing.is_way():
                self._way(thing)
            elif thing.is_area():
                self._area(thing)
            if self._tick is not None and count % 20_000 == 0:
                self._tick(count)

    def _node(self, node: Any) -> None:
        tags = node.tags
        if any(key in tags for key in ("highway", "barrier", "railway", "ford")) or any(
            key in tags for key in ("maxheight", "maxwidth", "maxheight:physical")
        ):
            row = len(self.node_id)
            self.node_id.append(node.id)
            for tag in tags:
                if tag.k in NODE_KEYS:
                    self.node_tags.add(row, tag.k, tag.v)
        if any(key in tags for key in PLACE_KEYS):
            self._place(f"n{node.id}", dict(tags), lambda: self._wkb.create_point(node))

    def _place(self, place_id: str, tags: dict[str, str], wkb: Callable[[], str]) -> None:
        kind = kind_of(tags)
        if kind is None:
            return
        self.places["wkb"].append(bytes.fromhex(wkb()))
        self.places["place_id"].append(place_id)
        self.places["kind"].append(kind)
        self.places["name"].append(tags.get("name", ""))
        self.places["opening_hours"].append(tags.get("opening_hours", ""))
        self.places["tags"].append(json.dumps(tags, ensure_ascii=False, sort_keys=True))

    def _place_on_line(self, way: Any) -> None:
        """A place drawn as a line, or as an outline that is not closed: its middle position."""
        if kind_of(dict(way.tags)) is None:
            return
        positions = _longest_known(way)
        if positions:
            _, lon, lat = positions[len(positions) // 2]
            point = shapely.Point(lon, lat).wkb_hex
            self._place(f"w{way.id}", dict(way.tags), lambda: point)

    def _way(self, way: Any) -> None:
        tags = way.tags
        if tags.get("highway") in HIGHWAYS or tags.get("route") == "ferry":
            self._road(way)
        elif (not way.is_closed() or tags.get("area") == "no") and any(
            key in tags for key in PLACE_KEYS
        ):
            self._place_on_line(way)
        for kind, key, values in LINE_KINDS:
            if tags.get(key) in values:
                self._line(kind, way)
                return
        if way.id in self._positions_only:
            self._line("boundary", way)

    def _line(self, kind: str, way: Any) -> None:
        try:
            wkb = self._wkb.create_linestring(way)
        except (RuntimeError, osmium.InvalidLocationError):
            positions = _longest_known(way)
            if len(positions) < 2:
                return
            wkb = shapely.LineString([p[1:] for p in positions]).wkb_hex
        self.lines["kind"].append(kind)
        self.lines["name"].append(way.tags.get("name", ""))
        self.lines["wkb"].append(bytes.fromhex(wkb))

    def _road(self, way: Any) -> None:
        row = len(self.way_id)
        try:
            wkb = self._wkb.create_linestring(way, use_nodes=osmium.geom.ALL)
            positions = bytes.fromhex(wkb)[9:]
            refs = [node.ref for node in way.nodes]
            if len(refs) < 2:
                raise RuntimeError("one position")
        except (RuntimeError, osmium.InvalidLocationError):
            known = _longest_known(way)
            if len(known) < 2:
                self.skipped["ways_without_positions"] += 1
                return
            self.skipped["ways_cut_at_edge"] += 1
            refs = [p[0] for p in known]
            positions = array("d", [v for p in known for v in p[1:]]).tobytes()
        self.xy.frombytes(positions)
        self.ref.extend(refs)
        self.way_id.append(way.id)
        self.way_end.append(len(self.ref))
        for tag in way.tags:
            key = tag.k
            if key in WAY_KEYS or (
                key.endswith(CONDITIONAL) and key[: -len(CONDITIONAL)] in CONDITIONAL_BASES
            ):
                self.way_tags.add(row, key, tag.v)

    def _area(self, area: Any) -> None:
        tags = area.tags
        country = (
            _iso_country(tags)
            if tags.get("boundary") == "administrative" and tags.get("admin_level") == "2"
            else None
        )
        kind = next((k for k, key, values in AREA_KINDS if tags.get(key) in values), None)
        place = any(key in tags for key in PLACE_KEYS)
        if not (country or kind or place):
            return
        try:
            wkb = self._wkb.create_multipolygon(area)
        except (RuntimeError, osmium.InvalidLocationError):
            self.skipped["areas_not_closed"] += 1
            return
        if country:
            self.countries.append((country, shapely.from_wkb(wkb)))
        if kind:
            self.areas["kind"].append(kind)
            self.areas["name"].append(tags.get("name", ""))
            text = json.dumps(dict(tags), ensure_ascii=False, sort_keys=True)
            self.areas["tags"].append(text)
            self.areas["wkb"].append(bytes.fromhex(wkb))
        if place:
            letter = "w" if area.from_way() else "r"
            self._place(f"{letter}{area.orig_id()}", dict(tags), lambda: wkb)


def _longest_known(way: Any) -> list[tuple[int, float, float]]:
    """The longest run of the way's nodes whose positions are in the extract."""
    best: list[tuple[int, float, float]] = []
    run: list[tuple[int, float, float]] = []
    for node in way.nodes:
        if node.location.valid():
            run.append((node.ref, node.lon, node.lat))
            if len(run) > len(best):
                best = run
        else:
            run = []
    return best
