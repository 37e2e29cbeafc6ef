"""What every turn costs a vehicle, apart from the road that leads to it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant
from planner_kit.tow.limits import is_word
from planner_kit.tow.pieces import in_pieces

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from planner_kit.tow.limits import RoadLimits
    from planner_kit.tow.network import Network


@dataclass(frozen=True)
class TurnFacts:
    """What every turn is, whoever makes it; arrays have the shape (arcs,).

    Attributes
    ----------
    coming : ndarray of int32
        Directed road that is driven into the junction.
    goal : ndarray of int32
        Road behind the turn.
    car_time_s, tow_time_s : ndarray
        Slowing and waiting. [s]
    car_stress_s, tow_stress_s : ndarray
        Put on roads that are entered unwillingly. [s]
    tolled : ndarray of int64, shape (n,)
        Turns at which a toll may begin.
    """

    coming: NDArray[np.int32]
    goal: NDArray[np.int32]
    car_time_s: NDArray[np.float32]
    tow_time_s: NDArray[np.float32]
    car_stress_s: NDArray[np.float32]
    tow_stress_s: NDArray[np.float32]
    tolled: NDArray[np.int64]


@dataclass(frozen=True)
class TurnCosts:
    """What every turn costs one vehicle; arrays have the shape (arcs,).

    Attributes
    ----------
    time_s, stress_s : ndarray
        Time at the junction, and what is put on entering the road behind it. [s]
    shut : ndarray of bool
        Turns that cannot be made, because of the turn itself or of either road.
    fixed_s : ndarray
        Both together; inf where the turn is shut. [s]
    """

    time_s: NDArray[np.float32]
    stress_s: NDArray[np.float32]
    shut: NDArray[np.bool_]
    fixed_s: NDArray[np.float32]

    @cached_property
    def stress_steps_s(self) -> NDArray[np.int64]:
        """Every value of `stress_s`, in whole seconds [s]."""
        return np.unique(np.rint(self.stress_s)).astype(np.int64)


def _value(name: str) -> float:
    return constant("towing_costs", name).value


def turn_facts(network: Network, roads: pd.DataFrame, gate_unknown: NDArray[np.bool_]) -> TurnFacts:
    """What every turn of a region is.

    Parameters
    ----------
    network : Network
    roads : DataFrame
        The region's roads.
    gate_unknown : ndarray of bool, shape (nodes,)
        Barriers of which nobody said whether they can be passed.

    Returns
    -------
    facts : TurnFacts
    """
    coming, going = network.directed_of[network.tail], network.directed_of[network.head]
    source, goal = coming // 2, going // 2
    only = is_word(roads, "motor_access", "destination")
    car = np.where(only[goal] & ~only[source], _value("destination_only"), 0.0)
    car = car + gate_unknown[network.junction] * _value("unknown_gate")
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
    return TurnFacts(
        coming=coming,
        goal=goal,
        car_time_s=network.turn_s + network.wait_s,
        tow_time_s=network.turn_s * np.float32(_value("turn_tow_factor")) + network.wait_s,
        car_stress_s=car.astype(np.float32),
        tow_stress_s=tow.astype(np.float32),
        tolled=np.flatnonzero(names[goal] != names[source]),
    )


def turn_costs(
    network: Network,
    facts: TurnFacts,
    limits: RoadLimits,
    *,
    towing: bool,
    toll_s: NDArray[np.float64] | None,
) -> TurnCosts:
    """What every turn costs a vehicle.

    Parameters
    ----------
    network : Network
    facts : TurnFacts
    limits : RoadLimits
        Where the vehicle may not go.
    towing : bool
        An outfit does not turn round at the end of a road.
    toll_s : ndarray, shape (roads,), optional
        What entering each road costs in money, as time. [s]

    Returns
    -------
    costs : TurnCosts
    """
    time_s = facts.tow_time_s if towing else facts.car_time_s
    stress_s = facts.tow_stress_s if towing else facts.car_stress_s
    if toll_s is not None:
        stress_s = stress_s.copy()
        stress_s[facts.tolled] += toll_s[facts.goal[facts.tolled]].astype(np.float32)
    state_shut = limits.roads_shut[network.directed_of // 2]
    nodes_shut = limits.nodes_shut if limits.nodes_shut.any() else None
    shut = np.empty(len(network.tail), dtype=bool)
    fixed_s = np.empty(len(network.tail), dtype=np.float32)

    def work(piece: slice) -> None:
        no = state_shut[network.tail[piece]] | state_shut[network.head[piece]]
        if nodes_shut is not None:
            no |= nodes_shut[network.junction[piece]]
        if towing:
            no |= network.u_turn[piece]
        shut[piece] = no
        total = time_s[piece] + stress_s[piece]
        total[no] = np.inf
        fixed_s[piece] = total

    in_pieces(len(shut), work)
    return TurnCosts(time_s, stress_s, shut, fixed_s)


def arc_costs_s(
    facts: TurnFacts, turns: TurnCosts, road_s: NDArray[np.float32]
) -> NDArray[np.float32]:
    """Cost of each turn with the road driven into it; inf where it is shut, shape (arcs,) [s].

    Parameters
    ----------
    facts : TurnFacts
    turns : TurnCosts
    road_s : ndarray, shape (2 * roads,)
        Of each directed road. [s]
    """
    cost_s = np.empty(len(turns.fixed_s), dtype=np.float32)

    def work(piece: slice) -> None:
        np.add(turns.fixed_s[piece], road_s[facts.coming[piece]], out=cost_s[piece])

    in_pieces(len(cost_s), work)
    return cost_s
