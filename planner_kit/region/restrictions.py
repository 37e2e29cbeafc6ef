"""Turn restrictions of OpenStreetMap relations, as roads of the region."""

from __future__ import annotations

from collections import Counter, deque
from typing import TYPE_CHECKING, Any

import pandas as pd

from planner_kit.region.members import node_rows_of, stretches_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    import numpy as np
    from numpy.typing import NDArray

# Keys of a restriction that hold for a car with a caravan, and the vehicles in `except` that
# free it.
_KEYS = (
    "restriction",
    "restriction:vehicle",
    "restriction:motor_vehicle",
    "restriction:motorcar",
    "restriction:trailer",
    "restriction:caravan",
)
_EXEMPT = {"motorcar", "motor_vehicle", "vehicle", "caravan", "trailer", "motorcar_and_trailer"}
COLUMNS = ("from_road", "via_node", "via_roads", "to_road", "kind", "osm_relation_id")


def restriction_frame(
    relations: Iterable[dict[str, Any]],
    roads: pd.DataFrame,
    osm_node_id: NDArray[np.int64],
    unread: Counter[str],
) -> pd.DataFrame:
    """The restrictions table.

    Parameters
    ----------
    relations : iterable of dict
        ``id``, ``tags`` and ``members`` of each restriction relation.
    roads : DataFrame
        Columns ``osm_way_id, from_node, to_node, car_forward, car_backward``.
    osm_node_id : ndarray of int, shape (nodes,)
        The OpenStreetMap node of each node row.
    unread : Counter
        Restrictions that could not be placed are counted in it.

    Returns
    -------
    frame : DataFrame
        One row for each pair of roads that a restriction joins.
    """
    net = _Net(relations, roads, osm_node_id)
    rows: list[tuple[int, int, list[int], int, str, int]] = []
    for relation in net.relations:
        rows.extend(net.rows_of(relation, unread))
    frame = pd.DataFrame(rows, columns=list(COLUMNS))
    return frame.astype(
        {"from_road": "int32", "via_node": "int32", "to_road": "int32", "osm_relation_id": "int64"}
    ).assign(kind=pd.Categorical(frame["kind"], categories=["no", "only"]))


def _kind(tags: dict[str, str], unread: Counter[str]) -> str | None:
    if _EXEMPT & {word.strip() for word in tags.get("except", "").split(";")}:
        return None
    value = next((tags[key] for key in reversed(_KEYS) if key in tags), None)
    if value is None:
        # An older way of writing: type=restriction:motorcar with restriction=... is covered
        # above; what is left holds at times or for other vehicles.
        if any(key in tags for key in ("restriction:conditional", "day_on", "hour_on")):
            unread["restriction:conditional"] += 1
        return None
    if tags.get("type", "restriction") not in {"restriction", *_KEYS}:
        return None
    for kind in ("no", "only"):
        if value.startswith(f"{kind}_"):
            return kind
    unread["restriction"] += 1
    return None


class _Net:
    """The roads that restrictions speak of."""

    def __init__(
        self,
        relations: Iterable[dict[str, Any]],
        roads: pd.DataFrame,
        osm_node_id: NDArray[np.int64],
    ) -> None:
        self.relations = list(relations)
        ways = {m[1] for r in self.relations for m in r["members"] if m[0] == "w"}
        nodes = {m[1] for r in self.relations for m in r["members"] if m[0] == "n"}
        self.of_way: dict[int, list[int]] = {}
        self.ends: dict[int, tuple[int, int]] = {}
        self.open: dict[int, tuple[bool, bool]] = {}
        for road, way, a, b, forward, backward in stretches_of(roads, ways):
            self.of_way.setdefault(way, []).append(road)
            self.ends[road] = (a, b)
            self.open[road] = (forward, backward)
        self.node_of = node_rows_of(osm_node_id, nodes)

    def leads_to(self, road: int, node: int) -> bool:
        (a, b), (forward, backward) = self.ends[road], self.open[road]
        return (b == node and forward) or (a == node and backward)

    def leads_from(self, road: int, node: int) -> bool:
        (a, b), (forward, backward) = self.ends[road], self.open[road]
        return (a == node and forward) or (b == node and backward)

    def rows_of(
        self, relation: dict[str, Any], unread: Counter[str]
    ) -> list[tuple[int, int, list[int], int, str, int]]:
        tags = relation["tags"]
        kind = _kind(tags, unread)
        if kind is None:
            return []
        by_role: dict[str, list[tuple[str, int]]] = {}
        for member, ref, role in relation["members"]:
            by_role.setdefault(role, []).append((member, ref))
        from_ways = [ref for member, ref in by_role.get("from", []) if member == "w"]
        to_ways = [ref for member, ref in by_role.get("to", []) if member == "w"]
        via_nodes = [ref for member, ref in by_role.get("via", []) if member == "n"]
        via_ways = [ref for member, ref in by_role.get("via", []) if member == "w"]
        rows: list[tuple[int, int, list[int], int, str, int]] = []
        for from_way in from_ways:
            for to_way in to_ways:
                if via_nodes and via_nodes[0] in self.node_of:
                    node = self.node_of[via_nodes[0]]
                    found = self._at_node(from_way, node, to_way)
                elif via_ways:
                    found = self._through(from_way, via_ways, to_way)
                else:
                    found = None
                if found is not None:
                    a, via_node, via_roads, b = found
                    rows.append((a, via_node, via_roads, b, kind, relation["id"]))
        if not rows:
            unread["restriction (not placed)"] += 1
        return rows

    def _at_node(
        self, from_way: int, node: int, to_way: int
    ) -> tuple[int, int, list[int], int] | None:
        into = [r for r in self.of_way.get(from_way, []) if self.leads_to(r, node)]
        out = [r for r in self.of_way.get(to_way, []) if self.leads_from(r, node)]
        if from_way == to_way:
            # A ban on turning round: back along the road one came by.
            same = [r for r in into if r in out]
            return (same[0], node, [], same[0]) if len(same) == 1 else None
        return (into[0], node, [], out[0]) if len(into) == 1 and len(out) == 1 else None

    def _through(
        self, from_way: int, via_ways: list[int], to_way: int
    ) -> tuple[int, int, list[int], int] | None:
        """The shortest way through via roads from a road of one way to a road of another."""
        via = [r for way in via_ways for r in self.of_way.get(way, [])]
        targets = self.of_way.get(to_way, [])
        queue: deque[tuple[int, int, list[int]]] = deque()
        for road in self.of_way.get(from_way, []):
            queue.extend((road, n, []) for n in set(self.ends[road]) if self.leads_to(road, n))
        seen: set[tuple[int, int]] = set()
        while queue:
            start, node, path = queue.popleft()
            if path:
                for road in targets:
                    if road != path[-1] and self.leads_from(road, node):
                        return start, -1, path, road
            for road in via:
                if road in path or not self.leads_from(road, node):
                    continue
                a, b = self.ends[road]
                beyond = b if a == node else a
                if (road, beyond) not in seen:
                    seen.add((road, beyond))
                    queue.append((start, beyond, [*path, road]))
        return None
