"""Quickest paths through a turn network, by a customisable contraction hierarchy.

The hierarchy is built once for a region. Its metric is customised again whenever a cost changes,
and queries then take well under a millisecond. The library's objects must not be pickled, no query
may be alive while a metric is reset, no result while its query runs again, and most of them may be
touched by no other thread than the one that made them, not even to be freed. So all of them stay
inside `Search` and in one thread, and every result is gone before that thread does anything else.

References
----------
.. [1] J. Dibbelt, B. Strasser, D. Wagner, "Customizable Contraction Hierarchies", ACM Journal of
   Experimental Algorithmics 21, 2016.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from io import BytesIO
from typing import TYPE_CHECKING, Any, cast

import numpy as np
import routingkit_cch as rk
from tqdm import tqdm

from planner_kit.errors import PlannerKitError
from planner_kit.files import write_whole
from planner_kit.tow.one_thread import OneThread
from planner_kit.tow.pieces import in_pieces

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from planner_kit.tow.network import Network

    Ends = list[tuple[int, int]]

ORDER_FILE = "routing_order.npy"
# Costs go to the library as whole hundredths of a second; this one means "cannot be driven".
UNITS_PER_S = 100
NEVER = 2**31 - 1
_MOST = 2**30
# Sweeps to many nodes that are kept of each metric.
_SWEEPS = 2
# All hierarchies of the program share it.
_THREAD = OneThread("routes")


@dataclass(frozen=True)
class TurnPath:
    """A path through the network.

    Attributes
    ----------
    cost_s : float
        Cost from the given sources to the given targets. [s]
    states : ndarray of int64, shape (n,)
        Network nodes passed.
    arcs : ndarray of int64, shape (n - 1,)
        Turns made between them.
    """

    cost_s: float
    states: NDArray[np.int64]
    arcs: NDArray[np.int64]


class _Metric:
    """The costs of a hierarchy in force, with what answers questions about them.

    A query and a sweep hold room for every node of the network, which takes longer to make than a
    path takes to find; so they are kept, until the costs are others.
    """

    def __init__(self, cch: rk.CCH, weights: list[int]) -> None:
        self._metric = rk.CCHMetric(cch, weights)
        self._query: rk.CCHQuery | None = None
        self._sweeps: dict[bytes, rk.CCHOneToMany] = {}

    def reset(self, weights: list[int]) -> None:
        """Take other costs."""
        self._query = None
        self._sweeps.clear()
        self._metric.reset(weights)

    def cost(self, sources: Ends, targets: Ends) -> int | None:
        """The cost of the cheapest path; None where there is none."""
        return self._run(sources, targets).distance

    def path(
        self, sources: Ends, targets: Ends
    ) -> tuple[int, NDArray[np.int64], NDArray[np.int64]] | None:
        """The cheapest path: cost, turns, and nodes where there is no turn."""
        found = self._run(sources, targets)
        if found.distance is None:
            return None
        arcs = np.array(found.arc_path, dtype=np.int64)
        # Unpacking the nodes would take as long again; the turns tell them, if there are any.
        nodes = [] if len(arcs) else found.node_path
        return found.distance, arcs, np.array(nodes, dtype=np.int64)

    def _run(self, sources: Ends, targets: Ends) -> rk.CCHQueryResult:
        if self._query is None:
            self._query = rk.CCHQuery(self._metric)
        return self._query.run_multi(sources, targets)

    def sweep(self, sources: Ends, goals: NDArray[np.uint32]) -> list[int | None]:
        """The cost to each of many nodes; the last ones are remembered, as they often come back."""
        mark = goals.tobytes()
        if mark not in self._sweeps:
            if len(self._sweeps) < _SWEEPS:
                sweep = rk.CCHOneToMany(self._metric, _handed(goals))
            else:
                sweep = self._sweeps.pop(next(iter(self._sweeps)))
                sweep.repin_targets(_handed(goals))
            self._sweeps[mark] = sweep
        return self._sweeps[mark].distances_from_multi(sources)

    def sweep_back(self, sources: list[int], targets: Ends) -> list[int | None]:
        """The cost from each of many nodes."""
        return rk.CCHManyToOne(self._metric, sources).distances_to_multi(targets)


class Search:
    """The hierarchy of one network with its metrics.

    Parameters
    ----------
    network : Network
    folder : Path, optional
        Where the node order is kept between runs; it stays in memory where that cannot be written.
    progress : bool
        Show that an order is being found.
    """

    def __init__(
        self, network: Network, folder: Path | None = None, *, progress: bool = False
    ) -> None:
        self._tail, self._head = network.tail, network.head
        order = _order(network, folder, progress)
        # How late each node is contracted: the later, the more ways lead through it.
        self.rank = np.empty(network.states, dtype=np.int32)
        self.rank[order] = np.arange(network.states, dtype=np.int32)
        self._metrics: dict[str, _Metric] = _THREAD.shelf(self)
        self._keys: dict[str, Hashable] = {}
        self._cch = _THREAD.do(
            lambda: rk.CCH(_handed(order), _handed(network.tail), _handed(network.head), False)
        )

    def customise(self, slot: str, key: Hashable, cost_s: NDArray[np.floating]) -> None:
        """Make the cost of every turn known to the hierarchy.

        Parameters
        ----------
        slot : str
            Name of the metric; each keeps its latest costs.
        key : hashable
            Says what the costs were computed from; the same key in the same slot costs nothing.
        cost_s : ndarray, shape (arcs,)
            At least 0; inf where the turn cannot be made. [s]
        """
        self.customise_units(slot, key, lambda: whole_units(cost_s))

    def customise_units(
        self, slot: str, key: Hashable, units: Callable[[], NDArray[np.int64]]
    ) -> None:
        """As `customise`, with the costs as the hierarchy counts them; see `whole_units`."""

        def take() -> None:
            if slot in self._metrics and self._keys[slot] == key:
                return
            weights = _handed(units())
            self._keys.pop(slot, None)
            if slot in self._metrics:
                self._metrics[slot].reset(weights)
            else:
                self._metrics[slot] = _Metric(self._cch, weights)
            self._keys[slot] = key

        _THREAD.do(take)

    def path(
        self,
        slot: str,
        sources: Sequence[tuple[int, float]],
        targets: Sequence[tuple[int, float]],
    ) -> TurnPath | None:
        """The cheapest path from any source to any target, or None if there is none.

        Parameters
        ----------
        slot : str
            A metric that was customised.
        sources, targets : sequence of (int, float)
            Network nodes with the cost of getting to, or on from, each. [s]
        """
        if not sources or not targets:
            return None
        begins, ends = _in_units(sources), _in_units(targets)
        found = _THREAD.do(lambda: self._metrics[slot].path(begins, ends))
        if found is None:
            return None
        cost, arcs, states = found
        if len(arcs):
            states = np.concatenate([self._tail[arcs[:1]], self._head[arcs]]).astype(np.int64)
        return TurnPath(cost / UNITS_PER_S, states, arcs)

    def cost_s(
        self,
        slot: str,
        sources: Sequence[tuple[int, float]],
        targets: Sequence[tuple[int, float]],
    ) -> float:
        """The cost of the cheapest path, without the path; inf where there is none [s]."""
        if not sources or not targets:
            return float("inf")
        begins, ends = _in_units(sources), _in_units(targets)
        cost = _THREAD.do(lambda: self._metrics[slot].cost(begins, ends))
        return float("inf") if cost is None else cost / UNITS_PER_S

    def costs_to(
        self,
        slot: str,
        sources: Sequence[tuple[int, float]],
        targets: Sequence[int] | NDArray[np.integer],
    ) -> NDArray[np.float64]:
        """The cost from the sources to each of many network nodes; inf where none leads [s]."""
        return self.units_to(slot, _in_units(sources), targets) / UNITS_PER_S

    def units_to(
        self,
        slot: str,
        sources: Sequence[tuple[int, int]],
        targets: Sequence[int] | NDArray[np.integer],
    ) -> NDArray[np.float64]:
        """As `costs_to`, in the units in which the hierarchy counts; whole numbers or inf."""
        if not sources or len(targets) == 0:
            return np.full(len(targets), np.inf)
        begins, goals = list(sources), np.asarray(targets, dtype=np.uint32)
        return _or_never(_THREAD.do(lambda: self._metrics[slot].sweep(begins, goals)))

    def costs_from(
        self, slot: str, sources: Sequence[int], targets: Sequence[tuple[int, float]]
    ) -> NDArray[np.float64]:
        """The cost from each of many network nodes to the targets; inf where none leads [s]."""
        if len(sources) == 0 or not targets:
            return np.full(len(sources), np.inf)
        begins, ends = list(sources), _in_units(targets)
        found = _THREAD.do(lambda: self._metrics[slot].sweep_back(begins, ends))
        return _or_never(found) / UNITS_PER_S


def _handed(values: NDArray[np.integer]) -> list[int]:
    """Whole numbers as the library takes them quickest.

    It asks for a list and takes any sequence. A view of an array saves making an object for each
    number beforehand, and the memory for all of them.
    """
    view: Any = memoryview(np.ascontiguousarray(values, dtype=np.uint32))  # type: ignore[arg-type]
    return cast("list[int]", view)


def _or_never(found: list[int | None]) -> NDArray[np.float64]:
    """What a sweep found, inf where it found no way."""
    units = np.array(found, dtype=np.float64)
    units[np.isnan(units)] = np.inf
    return units


def _in_units(ends: Sequence[tuple[int, float]]) -> list[tuple[int, int]]:
    least: dict[int, int] = {}
    for state, cost in ends:
        units = min(round(cost * UNITS_PER_S), _MOST)
        least[state] = min(units, least.get(state, _MOST))
    return list(least.items())


def whole_units(cost_s: NDArray[np.floating]) -> NDArray[np.int64]:
    """Costs as the hierarchy counts them.

    Parameters
    ----------
    cost_s : ndarray
        At least 0; inf where there is no way. [s]

    Returns
    -------
    units : ndarray of int64
        Whole hundredths of a second.

    Raises
    ------
    PlannerKitError
        If a cost is negative or missing.
    """
    units = np.empty(len(cost_s), dtype=np.int64)
    spoilt: list[bool] = []

    def work(piece: slice) -> None:
        cost = cost_s[piece] * np.float64(UNITS_PER_S)
        # A missing cost is not at least 0 either.
        if not (cost >= 0).all():
            spoilt.append(True)
            return
        shut = np.isinf(cost)
        whole = np.rint(np.minimum(cost, _MOST)).astype(np.int64)
        whole[shut] = NEVER
        units[piece] = whole

    in_pieces(len(units), work)
    if spoilt:
        raise PlannerKitError("the cost of a road is negative or missing, so no route can be found")
    return units


def _order(network: Network, folder: Path | None, progress: bool) -> NDArray[np.int64]:
    """The order in which nodes are contracted: read from the region's folder or computed."""
    stamp = zlib.crc32(network.head.tobytes(), zlib.crc32(network.tail.tobytes()))
    kept = None if folder is None else folder / ORDER_FILE
    if kept is not None and kept.is_file():
        order = _read_order(kept, stamp, network.states)
        if order is not None:
            return order
    with tqdm(
        total=network.states, desc="routing order", unit="road", disable=not progress, leave=False
    ) as bar:
        order = _junction_order(network)
        bar.update(network.states)
    if kept is not None:
        whole = BytesIO()
        np.save(whole, np.concatenate([[stamp], order]), allow_pickle=False)
        try:
            write_whole(kept, whole.getvalue())
        except PlannerKitError:
            # A region that cannot be written to still works; its order is found anew each time.
            return order
    return order


def _junction_order(network: Network) -> NDArray[np.int64]:
    """The junctions in the order of nested dissection, each with the roads that leave it.

    Ordering the junctions takes less than half of the time of ordering the directed roads
    themselves, and the hierarchy is as good.
    """
    begin, end = network.starts[network.directed_of], network.ends[network.directed_of]
    used, places = np.unique(np.concatenate([begin, end]), return_inverse=True)
    tail, head = places[: len(begin)], places[len(begin) :]
    ranked = rk.compute_order_inertial(
        len(used),
        tail.tolist(),
        head.tolist(),
        network.node_lat[used].tolist(),
        network.node_lon[used].tolist(),
    )
    rank = np.empty(len(used), dtype=np.int64)
    rank[np.array(ranked, dtype=np.int64)] = np.arange(len(used))
    return np.argsort(rank[tail], kind="stable").astype(np.int64)


def _read_order(path: Path, stamp: int, states: int) -> NDArray[np.int64] | None:
    """The order kept in a file, or None where it belongs to other roads or is damaged."""
    try:
        kept = np.load(path, allow_pickle=False)
    except (ValueError, OSError, EOFError):
        return None
    if kept.ndim != 1 or len(kept) != states + 1 or kept[0] != stamp:
        return None
    order = kept[1:].astype(np.int64)
    return order if np.array_equal(np.sort(order), np.arange(states)) else None
