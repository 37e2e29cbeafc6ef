"""Costs and limits put onto the turns of a region's network, ready for a search."""

from __future__ import annotations

import time
import zlib
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

import numpy as np
import pandas as pd
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from planner_kit.errors import NoRouteError
from planner_kit.reference import constant
from planner_kit.tow.cost import RoadCosts, car_costs, towing_costs
from planner_kit.tow.ends import RoadIndex
from planner_kit.tow.limits import RoadLimits, limits_for_car, limits_for_outfit, road_signs
from planner_kit.tow.network import Network, build_network
from planner_kit.tow.road_facts import road_facts
from planner_kit.tow.road_table import road_table
from planner_kit.tow.search import ORDER_FILE, Search
from planner_kit.tow.signposts import Signposts
from planner_kit.tow.turns import TurnCosts, arc_costs_s, turn_costs, turn_facts
from planner_kit.tow.whereabouts import PlaceNames

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Hashable, Sequence

    from numpy.typing import NDArray

    from planner_kit.outfit.report import Outfit
    from planner_kit.region.region import Region
    from planner_kit.trip.household import AvoidRoad, TowWeights

_KEPT = 6


@dataclass(frozen=True)
class Costing:
    """What every road and turn costs one vehicle.

    Attributes
    ----------
    key : hashable
        Says what it was computed from.
    slot : str
        Name of the metric that it is put into. A car alone has one for the public roads and
        another for when some private ones are opened, for the two are often asked for in turn.
    towing : bool
    roads : RoadCosts
    limits : RoadLimits
    turns : TurnCosts
    road_cost_s : ndarray, shape (2 * roads,)
        Time and stress of each directed road. [s]
    arc_cost_s : ndarray, shape (arcs,)
        Cost of the road driven into the junction and of the turn; inf where shut. [s]
    """

    key: Hashable
    slot: str
    towing: bool
    roads: RoadCosts
    limits: RoadLimits
    turns: TurnCosts
    road_cost_s: NDArray[np.float32]
    arc_cost_s: NDArray[np.float32]


class RoadSystem:
    """A region's roads made ready for routes: turn network, search and index; kept per region.

    Parameters
    ----------
    region : Region
    progress : bool
        Show that the routing order is being found.

    Raises
    ------
    NoRouteError
        If no road of the map may be driven.
    """

    def __init__(self, region: Region, *, progress: bool = False) -> None:
        self.roads, self.nodes = region.roads, region.nodes
        self.network: Network = build_network(self.roads, self.nodes, region.restrictions)
        if not self.network.states:
            raise NoRouteError(
                "The region's map has no road that a car may drive: build it from an extract that "
                "holds some."
            )
        self.search = Search(self.network, getattr(region, "folder", None), progress=progress)
        self.index = RoadIndex(self.roads, self.nodes)
        self.facts = road_facts(self.roads)
        self.signs = road_signs(self.roads, self.nodes)
        self.turns = turn_facts(self.network, self.roads, self.signs.gate_unknown)
        self.names = PlaceNames(region.places)
        self.exit_ref = self.nodes["exit_ref"].to_numpy(dtype=object)
        self.signposts = Signposts(region.signposts)
        self.table = road_table(self.roads)
        self.ring = self.roads["roundabout"].to_numpy(dtype=bool)
        self._toll_names = self.roads["toll_name"].astype("category")
        self.ways = self.roads["osm_way_id"].to_numpy()
        self._by_way = np.argsort(self.ways, kind="stable")
        self._costings: dict[Hashable, Costing] = {}
        self._last_limits: tuple[Hashable, RoadLimits] | None = None
        self._last_costs: tuple[Hashable, RoadCosts] | None = None
        self._last_turns: dict[str, tuple[Hashable, TurnCosts]] = {}

    def towing(
        self,
        outfit: Outfit,
        weights: TowWeights,
        *,
        on: dt.date,
        avoid: Sequence[AvoidRoad] = (),
        opened: frozenset[int] = frozenset(),
        tolls: pd.DataFrame | None = None,
    ) -> Costing:
        """The costs of an outfit; `opened` are private roads that lead to its start or end."""
        never = tuple(self.roads_named(avoid))
        prices = _Prices(_stamp(tolls), weights.money_per_hour, outfit.length_m)
        key = ("tow", outfit, weights, on, never, opened, prices)
        if key not in self._costings:
            turns_key = (outfit, never, opened, prices)
            limits = self._limits(outfit, never, opened)
            costs = self._costs(outfit, weights, on)
            if "tow" not in self._last_turns or self._last_turns["tow"][0] != turns_key:
                toll_s = None if tolls is None else self._toll_prices_s(tolls, prices)
                found = turn_costs(self.network, self.turns, limits, towing=True, toll_s=toll_s)
                self._last_turns["tow"] = turns_key, found
            self._keep(key, "tow", costs, limits)
        return self._costings[key]

    def _limits(self, outfit: Outfit, never: tuple[int, ...], opened: frozenset[int]) -> RoadLimits:
        if self._last_limits is None or self._last_limits[0] != (outfit, never, opened):
            found = _opened(limits_for_outfit(self.signs, outfit, never=never), opened)
            self._last_limits = ((outfit, never, opened), found)
        return self._last_limits[1]

    def _costs(self, outfit: Outfit, weights: TowWeights, on: dt.date) -> RoadCosts:
        """Costs of the roads; when only the dislikes differ from the last time, only they do."""
        if self._last_costs is None or self._last_costs[0] != (outfit, on):
            found = towing_costs(self.facts, outfit, weights, on=on)
            self._last_costs = ((outfit, on), found)
        return self._last_costs[1].weighted(weights)

    def driving(self, *, on: dt.date, opened: frozenset[int] = frozenset()) -> Costing:
        """The costs of a car alone."""
        key = ("car", on, opened)
        if key not in self._costings:
            limits = _opened(limits_for_car(self.signs), opened)
            slot = "car on private roads" if opened else "car"
            if slot not in self._last_turns or self._last_turns[slot][0] != opened:
                found = turn_costs(self.network, self.turns, limits, towing=False, toll_s=None)
                self._last_turns[slot] = opened, found
            self._keep(key, slot, car_costs(self.facts, on=on), limits)
        return self._costings[key]

    def _keep(self, key: Hashable, slot: str, costs: RoadCosts, limits: RoadLimits) -> None:
        while len(self._costings) >= _KEPT:
            self._costings.pop(next(iter(self._costings)))
        turns = self._last_turns[slot][1]
        road_s = costs.total_s()
        arc_s = arc_costs_s(self.turns, turns, road_s)
        self._costings[key] = Costing(key, slot, slot == "tow", costs, limits, turns, road_s, arc_s)

    def _toll_prices_s(self, tolls: pd.DataFrame, prices: _Prices) -> NDArray[np.float64] | None:
        """What entering each road costs in money, as time at the household's rate [s]."""
        if tolls.empty or prices.money_per_hour == 0:
            return None
        rows = tolls[tolls["vehicle"] == "car_and_caravan"].sort_values("price")
        if prices.length_m is not None:
            rows = rows[rows["max_length_m"].isna() | (rows["max_length_m"] >= prices.length_m)]
        price = rows.groupby("toll_name")["price"].min()
        names = pd.Index(self._toll_names.cat.categories.astype(str))
        named = price.reindex(names).fillna(0.0).to_numpy(dtype=np.float64)
        each = np.append(named, 0.0)[self._toll_names.cat.codes.to_numpy()]
        return np.asarray(each / prices.money_per_hour * 3600, dtype=np.float64)

    @cached_property
    def leaves_ring(self) -> NDArray[np.bool_]:
        """Whether a road that is not of the ring leads away at the end of each network node."""
        network = self.network
        found = np.zeros(network.states, dtype=bool)
        found[network.tail[~self.ring[network.directed_of[network.head] // 2]]] = True
        return found

    def rows_of_way(self, way: int) -> NDArray[np.int64]:
        """The rows of the stretches of an OpenStreetMap way."""
        low, high = np.searchsorted(self.ways, [way, way + 1], sorter=self._by_way)
        return np.sort(self._by_way[low:high])

    @cached_property
    def private_groups(self) -> NDArray[np.int64]:
        """A number for each private road, the same for those joined to it; -1 for public roads."""
        rows = self.signs.private
        found = np.full(len(self.roads), -1, dtype=np.int64)
        begin = self.roads["from_node"].to_numpy()[rows]
        end = self.roads["to_node"].to_numpy()[rows]
        size = len(self.nodes)
        joined = coo_array((np.ones(len(rows)), (begin, end)), shape=(size, size))
        _, group = connected_components(joined, directed=False)
        found[rows] = group[begin]
        return found

    def roads_named(self, avoid: Sequence[AvoidRoad]) -> list[int]:
        """The rows of the roads that a household named: the whole way of each."""
        found: set[int] = set()
        for road in avoid:
            way = road.osm_way_id
            if way is None and road.lat is not None and road.lon is not None:
                near = self.index.near(
                    road.lat, road.lon, within_m=constant("towing_costs", "avoid_reach").value
                )
                way = int(self.ways[near[0].road]) if near else None
            if way is not None:
                found.update(self.rows_of_way(way).tolist())
        return sorted(found)


_SYSTEMS: WeakKeyDictionary[Region, RoadSystem] = WeakKeyDictionary()


def road_system(region: Region, *, progress: bool = False) -> RoadSystem:
    """The region's roads made ready for routes; built at first use and kept with the region."""
    if region not in _SYSTEMS:
        _SYSTEMS[region] = RoadSystem(region, progress=progress)
    return _SYSTEMS[region]


def prepare(region: Region, *, progress: bool = True) -> float:
    """Make a region's roads ready for routes and keep their order in the region's folder.

    Parameters
    ----------
    region : Region
    progress : bool
        Show a bar.

    Returns
    -------
    seconds : float
        Taken; next to nothing where the order is there already. [s]
    """
    began = time.perf_counter()
    road_system(region, progress=progress)
    return time.perf_counter() - began


def prepare_once(region: Region, *, progress: bool = True) -> None:
    """Find the routing order of a region just built, where its folder has none yet.

    Parameters
    ----------
    region : Region
    progress : bool
        Show a bar.
    """
    if not (region.folder / ORDER_FILE).is_file():
        prepare(region, progress=progress)


def _stamp(tolls: pd.DataFrame | None) -> int:
    return 0 if tolls is None else zlib.crc32(tolls.to_csv().encode())


@dataclass(frozen=True)
class _Prices:
    """What decides what a toll is worth in time."""

    tolls: int
    money_per_hour: float
    length_m: float | None


def _opened(limits: RoadLimits, opened: frozenset[int]) -> RoadLimits:
    if not opened:
        return limits
    code, reason = limits.road_code.copy(), limits.road_reason.copy()
    rows = np.array(sorted(opened))
    rows = rows[limits.private[rows]]
    code[rows], reason[rows] = 0, 0
    return RoadLimits(
        code, reason, limits.node_code, limits.node_reason, limits.private,
        limits.gate_unknown, limits.reasons,
    )  # fmt: skip
