"""What signposts say at a junction: OpenStreetMap's `destination_sign` relations and exit numbers.

A tag on a way says where the way leads; a relation says what is written on the way from one road
into another, and only those who come from there read it.
"""

from __future__ import annotations

from collections import Counter
from itertools import product
from typing import TYPE_CHECKING, Any

import pandas as pd

from planner_kit.region.members import node_rows_of, stretches_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import numpy as np
    from numpy.typing import NDArray

COLUMNS = ("via_node", "to_road", "from_way", "signs", "exit_ref", "osm_id")
ANY_WAY = 0
Row = tuple[int, int, int, str, str, int]


def sign_words(*parts: object) -> str:
    """Road numbers and places of some tags as one text, `A30; Oldmill`; empty for none."""
    words = [word.strip() for part in parts for word in str(part).split(";")]
    return "; ".join(word for word in words if word)


def signpost_frame(
    relations: Iterable[dict[str, Any]],
    exits: Mapping[int, str],
    roads: pd.DataFrame,
    osm_node_id: NDArray[np.int64],
    unread: Counter[str],
) -> pd.DataFrame:
    """The signposts table.

    Parameters
    ----------
    relations : iterable of dict
        ``id``, ``tags`` and ``members`` of each relation `destination_sign`.
    exits : mapping of int to str
        Exit numbers (`junction:ref`) by the OpenStreetMap way that carries them.
    roads : DataFrame
        Columns ``osm_way_id, from_node, to_node, oneway, car_forward, car_backward``.
    osm_node_id : ndarray of int, shape (nodes,)
        The OpenStreetMap node of each node row.
    unread : Counter
        Signs that could not be placed are counted in it.

    Returns
    -------
    frame : DataFrame
        One row for each sign and each road from which it is read.

    References
    ----------
    .. [1] OpenStreetMap Wiki, Relation:destination_sign: members `from` and `to` (way or node),
       `intersection` and `sign` (node); tags `destination`, `destination:ref`, `distance`; status
       "in use". Stored copy, read 2026-11-29.
    .. [2] OpenStreetMap Wiki, Proposed features/junction details: `junction:ref` on the way
       directly behind the node where it leaves. Stored copy, read 2026-11-29.
    """
    kept = list(relations)
    net = _Net(kept, exits, roads, osm_node_id)
    rows: list[Row] = []
    for relation in kept:
        rows += net.rows_of(relation, unread)
    for way, number in exits.items():
        rows += net.exit_of(way, number)
    frame = pd.DataFrame(rows, columns=list(COLUMNS)).drop_duplicates()
    return frame.astype(
        {"via_node": "int32", "to_road": "int32", "from_way": "int64", "osm_id": "int64"}
    ).reset_index(drop=True)


class _Net:
    """The roads of which signs speak."""

    def __init__(
        self,
        relations: list[dict[str, Any]],
        exits: Mapping[int, str],
        roads: pd.DataFrame,
        osm_node_id: NDArray[np.int64],
    ) -> None:
        members = [member for relation in relations for member in relation["members"]]
        ways = {ref for kind, ref, _ in members if kind == "w"} | set(exits)
        nodes = {ref for kind, ref, _ in members if kind == "n"}
        # The directed roads of each way: road, the node that it leaves and the one it reaches.
        self.driven: dict[int, list[tuple[int, int, int]]] = {}
        for road, way, a, b, ahead, back in stretches_of(roads, ways):
            both_ways = ((road, a, b),) * bool(ahead) + ((road, b, a),) * bool(back)
            self.driven.setdefault(way, []).extend(both_ways)
        self.node_of = node_rows_of(osm_node_id, nodes)

    def rows_of(self, relation: dict[str, Any], unread: Counter[str]) -> list[Row]:
        """The rows of a relation; none, and counted, where it does not fit the roads."""
        tags = relation["tags"]
        by_role: dict[tuple[str, str], list[int]] = {}
        for kind, ref, role in relation["members"]:
            by_role.setdefault((role, kind), []).append(ref)
        words = sign_words(tags.get("destination:ref", ""), tags.get("destination", ""))
        towards = by_role.get(("to", "w"), [])
        # A sign that is read from a node, or from anywhere, holds for whoever comes.
        read_from = by_role.get(("from", "w"), []) or [ANY_WAY]
        rows: list[Row] = []
        for way, comes in product(towards, read_from) if words else ():
            for via in self._junctions(by_role.get(("intersection", "n"), []), way, comes):
                away = [road for road, leaves, _ in self.driven.get(way, []) if leaves == via]
                if len(away) == 1:
                    rows.append((via, away[0], comes, words, "", relation["id"]))
        if not rows:
            unread["destination_sign (not placed)"] += 1
        return rows

    def _junctions(self, named: list[int], way: int, comes: int) -> list[int]:
        """Where a sign's roads meet: as named, else the one junction that both of them touch."""
        if named:
            return [self.node_of[ref] for ref in named if ref in self.node_of]
        leaves = {node for _, node, _ in self.driven.get(way, [])}
        both = leaves & {node for _, _, node in self.driven.get(comes, [])}
        return list(both) if len(both) == 1 else []

    def exit_of(self, way: int, number: str) -> list[Row]:
        """An exit number where a one-way slip road begins; none where the begin is not plain."""
        driven = self.driven.get(way, [])
        reached = {node for _, _, node in driven}
        begins = [(road, node) for road, node, _ in driven if node not in reached]
        return [(begins[0][1], begins[0][0], ANY_WAY, "", number, way)] if len(begins) == 1 else []
