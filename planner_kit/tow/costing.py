"""Costs and limits put onto the turns of a region's network, ready for a search."""

from __future__ import annotations

import time
import zlib
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

import numpy as np

from planner_kit.reference import constant
from planner_kit.tow.cost import RoadCosts, car_costs, towing_costs
from planner_kit.tow.ends import RoadIndex
from planner_kit.tow.limits import RoadLimits, is_word, limits_for_car, limits_for_outfit
from planner_kit.tow.network import Network, build_network
from planner_kit.tow.search import Search
from planner_kit.tow.whereabouts import PlaceNames

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Hashable, Sequence

    import pandas as pd
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
    towing : bool
    roads : RoadCosts
    limits : RoadLimits
    turn_time_s, turn_stress_s : ndarray, shape (arcs,)
        Time at a junction, and what is put on entering the road behind it. [s]
    turn_shut : ndarray of bool, shape (arcs,)
        Turns that cannot be made, because of the turn itself or of either road.
    arc_cost_s : ndarray, shape (arcs,)
        Cost of the road driven into the junction and of the turn; inf where shut. [s]
    """

    key: Hashable
    towing: bool
    roads: RoadCosts
    limits: RoadLimits
    turn_time_s: NDArray[np.float64]
    turn_stress_s: NDArray[np.float64]
    turn_shut: NDArray[np.bool_]
    arc_cost_s: NDArray[np.float64]

    @cached_property
    def road_cost_s(self) -> NDArray[np.float64]:
        """Time and stress of each directed road, shape (2 * roads,) [s]."""
        return (self.roads.time_s + self.roads.stress_s).ravel()


class RoadSystem:
    """A region's roads made ready for routes: turn network, search and index; kept per region.

    Parameters
    ----------
    region : Region
    progress : bool
        Show that the routing order is being found.
    """

    def __init__(self, region: Region, *, progress: bool = False) -> None:
        self.roads, self.nodes = region.roads, region.nodes
        self.network: Network = build_network(self.roads, self.nodes, region.restrictions)
        self.search = Search(self.network, getattr(region, "folder", None), progress=progress)
        self.index = RoadIndex(self.roads, self.nodes)
        self.turns = _turn_facts(self.network, self.roads)
        self.names = PlaceNames(region.places)
        self._costings: dict[Hashable, Costing] = {}
        self._last_limits: tuple[Hashable, RoadLimits] | None = None
        self._last_costs: tuple[Hashable, RoadCosts] | None = None

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
        key = ("tow", outfit, weights, on, never, opened, _stamp(tolls))
        if key not in self._costings:
            limits = self._limits(outfit, never)
            costs = self._costs(outfit, weights, on)
            prices = _toll_prices_s(self.roads, tolls, weights, outfit.length_m)
            self._keep(key, costs, limits, opened, towing=True, toll_s=prices)
        return self._costings[key]

    def _limits(self, outfit: Outfit, never: tuple[int, ...]) -> RoadLimits:
        if self._last_limits is None or self._last_limits[0] != (outfit, never):
            found = limits_for_outfit(self.roads, self.nodes, outfit, never=never)
            self._last_limits = ((outfit, never), found)
        return self._last_limits[1]

    def _costs(self, outfit: Outfit, weights: TowWeights, on: dt.date) -> RoadCosts:
        """Costs of the roads; when only the dislikes differ from the last time, only they do."""
        if self._last_costs is None or self._last_costs[0] != (outfit, on):
            found = towing_costs(self.roads, outfit, weights, on=on)
            self._last_costs = ((outfit, on), found)
        return self._last_costs[1].weighted(weights)

    def driving(self, *, on: dt.date, opened: frozenset[int] = frozenset()) -> Costing:
        """The costs of a car alone."""
        key = ("car", on, opened)
        if key not in self._costings:
            limits = limits_for_car(self.roads, self.nodes)
            self._keep(key, car_costs(self.roads, on=on), limits, opened, towing=False, toll_s=None)
        return self._costings[key]

    def _keep(
        self,
        key: Hashable,
        costs: RoadCosts,
        limits: RoadLimits,
        opened: frozenset[int],
        *,
        towing: bool,
        toll_s: NDArray[np.float64] | None,
    ) -> None:
        while len(self._costings) >= _KEPT:
            self._costings.pop(next(iter(self._costings)))
        limits = _opened(limits, opened)
        self._costings[key] = _on_turns(
            key, self.network, self.turns, costs, limits, towing=towing, toll_s=toll_s
        )

    def roads_named(self, avoid: Sequence[AvoidRoad]) -> list[int]:
        """The rows of the roads that a household named: the whole way of each."""
        ways = self.roads["osm_way_id"].to_numpy()
        found: set[int] = set()
        for road in avoid:
            way = road.osm_way_id
            if way is None and road.lat is not None and road.lon is not None:
                near = self.index.near(
                    road.lat, road.lon, within_m=constant("towing_costs", "avoid_reach").value
                )
                way = int(ways[near[0].road]) if near else None
            if way is not None:
                found.update(int(row) for row in np.flatnonzero(ways == way))
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


def _stamp(tolls: pd.DataFrame | None) -> int:
    return 0 if tolls is None else zlib.crc32(tolls.to_csv().encode())


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


@dataclass(frozen=True)
class _TurnFacts:
    """What every turn is, whoever makes it; shape (arcs,) each."""

    coming: NDArray[np.int32]
    source: NDArray[np.int32]
    goal: NDArray[np.int32]
    car_stress_s: NDArray[np.float64]
    tow_stress_s: NDArray[np.float64]
    tolled: NDArray[np.bool_]


def _turn_facts(network: Network, roads: pd.DataFrame) -> _TurnFacts:
    coming, going = network.directed_of[network.tail], network.directed_of[network.head]
    source, goal = coming // 2, going // 2
    only = is_word(roads, "motor_access", "destination")
    car = np.where(only[goal] & ~only[source], _value("destination_only"), 0.0)
    sharp = np.clip(np.abs(network.turn_deg) / 90, 0, 2) * (network.turn_s > 0)
    unread = (roads["unread_limits"] != "").to_numpy(dtype=bool)
    tow = car + sharp * _value("turn_stress")
    tow = tow + np.where(unread[goal] & ~unread[source], _value("unread_limit"), 0.0)
    numbered = (roads["ref"] != "").to_numpy(dtype=bool)
    minor = ~numbered & is_word(
        roads, "road_class", "unclassified", "residential", "living_street", "service", "track"
    )
    tow = tow + np.where(numbered[source] & minor[goal], _value("leave_numbered"), 0.0)
    names = roads["toll_name"].astype("category").cat.codes.to_numpy()
    return _TurnFacts(coming, source, goal, car, tow, names[goal] != names[source])


def _value(name: str) -> float:
    return constant("towing_costs", name).value


def _on_turns(
    key: Hashable,
    network: Network,
    turns: _TurnFacts,
    costs: RoadCosts,
    limits: RoadLimits,
    *,
    towing: bool,
    toll_s: NDArray[np.float64] | None,
) -> Costing:
    slower = _value("turn_tow_factor") if towing else 1.0
    time_s = network.turn_s.astype(np.float64) * slower + network.wait_s
    stress_s = turns.tow_stress_s if towing else turns.car_stress_s
    if limits.gate_unknown.any():
        stress_s = stress_s + limits.gate_unknown[network.junction] * _value("unknown_gate")
    if towing and toll_s is not None:
        stress_s = stress_s + np.where(turns.tolled, toll_s[turns.goal], 0.0)
    roads_shut = limits.roads_shut
    shut = roads_shut[turns.source] | roads_shut[turns.goal] | limits.nodes_shut[network.junction]
    if towing:
        shut |= network.u_turn
    road_s = (costs.time_s + costs.stress_s).ravel()
    cost_s = np.where(shut, np.inf, road_s[turns.coming] + time_s + stress_s)
    return Costing(key, towing, costs, limits, time_s, stress_s, shut, cost_s)


def _toll_prices_s(
    roads: pd.DataFrame,
    tolls: pd.DataFrame | None,
    weights: TowWeights,
    length_m: float | None,
) -> NDArray[np.float64] | None:
    """What entering each road costs in money, as time at the household's rate [s]."""
    if tolls is None or tolls.empty or weights.money_per_hour == 0:
        return None
    rows = tolls[tolls["vehicle"] == "car_and_caravan"].sort_values("price")
    if length_m is not None:
        rows = rows[rows["max_length_m"].isna() | (rows["max_length_m"] >= length_m)]
    price = rows.groupby("toll_name")["price"].min()
    named = roads["toll_name"].astype(str).map(price).fillna(0.0).to_numpy(dtype=np.float64)
    return np.asarray(named / weights.money_per_hour * 3600, dtype=np.float64)
