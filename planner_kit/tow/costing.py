"""Costs and limits put onto the turns of a region's network, ready for a search."""

from __future__ import annotations

import zlib
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

import numpy as np

from planner_kit.reference import constant
from planner_kit.tow.cost import RoadCosts, car_costs, towing_costs
from planner_kit.tow.ends import RoadIndex
from planner_kit.tow.limits import RoadLimits, limits_for_car, limits_for_outfit
from planner_kit.tow.network import Network, build_network
from planner_kit.tow.search import Search

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
    """

    def __init__(self, region: Region) -> None:
        self.roads, self.nodes = region.roads, region.nodes
        self.network: Network = build_network(self.roads, self.nodes, region.restrictions)
        self.search = Search(self.network, getattr(region, "folder", None))
        self.index = RoadIndex(self.roads, self.nodes)
        self._costings: dict[Hashable, Costing] = {}

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
            limits = limits_for_outfit(self.roads, self.nodes, outfit, never=never)
            costs = towing_costs(self.roads, outfit, weights, on=on)
            prices = _toll_prices_s(self.roads, tolls, weights, outfit.length_m)
            self._keep(key, costs, limits, opened, towing=True, toll_s=prices)
        return self._costings[key]

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
            key, self.network, self.roads, costs, limits, towing=towing, toll_s=toll_s
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


def road_system(region: Region) -> RoadSystem:
    """The region's roads made ready for routes; built at first use and kept with the region."""
    if region not in _SYSTEMS:
        _SYSTEMS[region] = RoadSystem(region)
    return _SYSTEMS[region]


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


def _on_turns(
    key: Hashable,
    network: Network,
    roads: pd.DataFrame,
    costs: RoadCosts,
    limits: RoadLimits,
    *,
    towing: bool,
    toll_s: NDArray[np.float64] | None,
) -> Costing:
    def value(name: str) -> float:
        return constant("towing_costs", name).value

    coming, going = network.directed_of[network.tail], network.directed_of[network.head]
    source, goal = coming // 2, going // 2
    slower = value("turn_tow_factor") if towing else 1.0
    time_s = network.turn_s.astype(np.float64) * slower + network.wait_s
    stress_s = np.zeros(len(time_s))
    only = roads["motor_access"].astype(str).to_numpy() == "destination"
    stress_s[only[goal] & ~only[source]] += value("destination_only")
    stress_s[limits.gate_unknown[network.junction]] += value("unknown_gate")
    if towing:
        sharp = np.clip(np.abs(network.turn_deg) / 90, 0, 2) * (network.turn_s > 0)
        stress_s += sharp * value("turn_stress")
        unread = roads["unread_limits"].astype(str).to_numpy() != ""
        stress_s[unread[goal] & ~unread[source]] += value("unread_limit")
        if toll_s is not None:
            names = roads["toll_name"].astype("category").cat.codes.to_numpy()
            stress_s += np.where(names[goal] != names[source], toll_s[goal], 0.0)
    shut = limits.roads_shut[source] | limits.roads_shut[goal]
    shut |= limits.nodes_shut[network.junction]
    if towing:
        shut |= network.u_turn
    road_s = (costs.time_s + costs.stress_s).ravel()
    cost_s = np.where(shut, np.inf, road_s[coming] + time_s + stress_s)
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
