"""What each road costs an outfit, or a car alone, in time and in what the household dislikes.

The work is done on pieces of the road table that fit into a processor's cache, on all its cores,
so that a new outfit costs a large region a fraction of a second.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant
from planner_kit.rules.speed import kind_limits_kmh
from planner_kit.tow.passing import meeting_delay_s
from planner_kit.tow.pieces import in_pieces
from planner_kit.tow.road_facts import (
    DISLIKES,
    GRADES_PCT,
    LEVEL_PCT,
    RoadFacts,
    road_facts,
)
from planner_kit.tow.road_load import climbing_speeds_kmh

if TYPE_CHECKING:
    import datetime as dt

    import pandas as pd
    from numpy.typing import NDArray

    from planner_kit.outfit.report import Outfit
    from planner_kit.trip.household import TowWeights

    Part = slice | NDArray[np.int64]

# What can hold the speed down, in the order of the codes that `RoadCosts.causes` gives.
CAUSES = ("law", "sign", "bends", "climb", "surface", "width", "ferry")
_LAW, _SIGN, _BENDS, _CLIMB, _SURFACE, _WIDTH, _FERRY = range(len(CAUSES))
_FASTEST_KMH = 200.0


@dataclass(frozen=True)
class _Vehicle:
    """What a vehicle adds to the facts of the roads.

    Attributes
    ----------
    towing : bool
    law_kmh : ndarray, shape (combinations,)
        The law for each row of ``facts.kinds.combinations``; NaN where not known. [km/h]
    climb_kmh : ndarray, shape (161,)
        What the engine holds at each of `GRADES_PCT`. [km/h]
    lateral_ms2 : float
        Sideways acceleration in bends. [m/s2]
    width_m : float
    """

    towing: bool
    law_kmh: NDArray[np.float64]
    climb_kmh: NDArray[np.float32]
    lateral_ms2: float
    width_m: float


@dataclass(frozen=True)
class RoadCosts:
    """Time and dislike of every road in both directions.

    Attributes
    ----------
    facts : RoadFacts
    vehicle : _Vehicle
    time_s : ndarray, shape (roads, 2)
        Driving time of the whole road, without its junctions: column 0 is driven forward (with
        the geometry), column 1 backward. [s]
    meeting_s : ndarray, shape (roads,)
        The part of `time_s` that is expected to be lost on meeting traffic that cannot pass. [s]
    limited_by : ndarray of int8, shape (roads, 2)
        What holds the speed down, as a row of `CAUSES`.
    disliked_km : dict of str to ndarray, shape (roads,)
        How much of each dislike a road has, times the length over which it is felt; empty for a
        car alone. [km]
    weights : TowWeights or None
        Seconds for each kilometre of each dislike; None for a car alone.
    """

    facts: RoadFacts
    vehicle: _Vehicle
    time_s: NDArray[np.float32]
    meeting_s: NDArray[np.float64]
    limited_by: NDArray[np.int8]
    disliked_km: dict[str, NDArray[np.float32]]
    weights: TowWeights | None

    @cached_property
    def road_stress_s(self) -> NDArray[np.float32]:
        """Extra time that the dislikes add to each road, shape (roads,) [s]."""
        total = np.zeros(len(self.time_s), dtype=np.float32)
        weighed = [
            (km, np.float32(weight))
            for name, km in self.disliked_km.items()
            if (weight := float(getattr(self.weights, name)))
        ]

        def work(piece: slice) -> None:
            for km, weight in weighed:
                total[piece] += km[piece] * weight

        if weighed:
            in_pieces(len(total), work)
        return total

    def total_s(self) -> NDArray[np.float32]:
        """Time and stress of each directed road, shape (2 * roads,) [s]."""
        time_s, stress_s = self.time_s.ravel(), self.road_stress_s
        total = np.empty_like(time_s)

        def work(piece: slice) -> None:
            once = stress_s[piece.start // 2 : piece.stop // 2]
            np.add(time_s[piece], np.repeat(once, 2), out=total[piece])

        in_pieces(len(total), work)
        return total

    @cached_property
    def stress_s(self) -> NDArray[np.float32]:
        """Extra time that the dislikes add, shape (roads, 2) [s]."""
        return np.broadcast_to(self.road_stress_s[:, None], self.time_s.shape)

    @cached_property
    def parts_s(self) -> dict[str, NDArray[np.float32]]:
        """Stress by dislike, each of shape (roads,); they sum to `road_stress_s` [s]."""
        return {
            name: km * np.float32(getattr(self.weights, name))
            for name, km in self.disliked_km.items()
        }

    @cached_property
    def speed_kmh(self) -> NDArray[np.float64]:
        """Mean speed, shape (roads, 2); never above the law, the sign or what the road allows."""
        return self.speeds_kmh(np.arange(self.time_s.size)).reshape(-1, 2)

    @cached_property
    def speed_assumed(self) -> NDArray[np.bool_]:
        """Neither law nor sign is known, shape (roads,)."""
        return self.assumed(np.arange(len(self.time_s)))

    @property
    def width_unknown(self) -> NDArray[np.bool_]:
        """No width is known, shape (roads,)."""
        return self.facts.width_unknown

    @property
    def gradient_unknown(self) -> NDArray[np.bool_]:
        """No gradient is known, shape (roads,)."""
        return self.facts.gradient_unknown

    def speeds_kmh(self, directed: NDArray[np.int64]) -> NDArray[np.float64]:
        """Mean speed on some directed roads [km/h]."""
        time_s = self.time_s.ravel()[directed].astype(np.float64)
        speed = self.facts.length_m[directed // 2] * 3.6 / np.maximum(time_s, 1e-9)
        for place in np.flatnonzero(speed <= 0):  # a road of no length
            speed[place] = _free_kmh(self.facts, self.vehicle, directed[[place]])[0][0]
        return speed

    def assumed(self, road: NDArray[np.int64]) -> NDArray[np.bool_]:
        """Whether neither law nor sign is known on some roads."""
        facts = self.facts
        if not np.isnan(self.vehicle.law_kmh).any():
            return np.zeros(len(road), dtype=bool)
        unsigned = facts.unsigned_tow if self.vehicle.towing else facts.unsigned_car
        lawless = np.isnan(self.vehicle.law_kmh)[facts.kind_of[2 * road]]
        either = unsigned[2 * road] | unsigned[2 * road + 1]
        return np.asarray(lawless & either & ~facts.ferry[road])

    def weighted(self, weights: TowWeights) -> RoadCosts:
        """The same roads with other dislikes; nothing else is computed again."""
        return replace(self, weights=weights)


def _value(name: str) -> float:
    return constant("towing_costs", name).value


def towing_costs(
    roads: pd.DataFrame | RoadFacts, outfit: Outfit, weights: TowWeights, *, on: dt.date
) -> RoadCosts:
    """The cost of every road for an outfit.

    Parameters
    ----------
    roads : DataFrame or RoadFacts
        The region's roads, or what is known of them already.
    outfit : Outfit
    weights : TowWeights
        The household's dislikes, in extra seconds for each kilometre.
    on : date
        The day of the tow, for the law.

    Returns
    -------
    costs : RoadCosts
        All values are finite and at least 0.
    """
    facts = roads if isinstance(roads, RoadFacts) else road_facts(roads)
    climb = climbing_speeds_kmh(np.maximum(GRADES_PCT, LEVEL_PCT + 1e-6), outfit)
    climb[0] = np.inf
    vehicle = _Vehicle(
        towing=True,
        law_kmh=kind_limits_kmh(
            facts.kinds,
            towing=True,
            caravan_plate_kg=outfit.caravan_plate_kg,
            train_plate_kg=outfit.train_plate_kg,
            on=on,
        ),
        climb_kmh=np.minimum(climb, 1e4).astype(np.float32),
        lateral_ms2=_value("lateral_tow"),
        width_m=outfit.width_m if outfit.width_m is not None else _value("widest_lawful"),
    )
    narrow = _narrow_km(facts, vehicle.width_m)
    return RoadCosts(
        facts, vehicle, *_times(facts, vehicle), {"narrow": narrow, **facts.disliked_km}, weights
    )


def car_costs(roads: pd.DataFrame | RoadFacts, *, on: dt.date) -> RoadCosts:
    """The cost of every road for a car alone: its time, and nothing disliked."""
    facts = roads if isinstance(roads, RoadFacts) else road_facts(roads)
    vehicle = _Vehicle(
        towing=False,
        law_kmh=kind_limits_kmh(facts.kinds, towing=False, on=on),
        climb_kmh=np.full(len(GRADES_PCT), 1e4, dtype=np.float32),
        lateral_ms2=_value("lateral_car"),
        width_m=_value("oncoming_width"),
    )
    return RoadCosts(facts, vehicle, *_times(facts, vehicle), {}, None)


def _law_kmh(facts: RoadFacts, vehicle: _Vehicle, part: Part) -> NDArray[np.float32]:
    """The law on directed roads: inf where it is not known and a sign is, else what is assumed."""
    lawless = np.isnan(vehicle.law_kmh)
    law = np.where(lawless, np.inf, vehicle.law_kmh).astype(np.float32)[facts.kind_of[part]]
    if lawless.any():
        unsigned = (facts.unsigned_tow if vehicle.towing else facts.unsigned_car)[part]
        assumed = lawless[facts.kind_of[part]] & unsigned
        law[assumed] = _value("speed_unknown")
    return law


def _climb_kmh(facts: RoadFacts, vehicle: _Vehicle, part: Part) -> NDArray[np.float32]:
    """What the engine holds on the gradient of directed roads [km/h]."""
    grade = facts.grade[part]
    more = np.append(np.diff(vehicle.climb_kmh), np.float32(0))
    more[0] = 0
    speed = vehicle.climb_kmh[grade]
    speed += more[grade] * facts.grade_frac[part]
    return speed


def _bend_kmh(facts: RoadFacts, vehicle: _Vehicle, part: Part) -> NDArray[np.float32]:
    return facts.radius_root[part] * np.float32(np.sqrt(vehicle.lateral_ms2) * 3.6)


def _free_kmh(
    facts: RoadFacts, vehicle: _Vehicle, part: Part
) -> tuple[NDArray[np.float32], NDArray[np.int8]]:
    """Speed on directed roads before bends and meetings, in traffic [km/h], and its `CAUSES`."""
    towing = vehicle.towing
    law = _law_kmh(facts, vehicle, part)
    sign = (facts.sign_tow_kmh if towing else facts.sign_car_kmh)[part]
    width = facts.width_kmh[part]
    free = np.minimum(law, sign)
    np.minimum(free, (facts.slow_tow_kmh if towing else facts.slow_car_kmh)[part], out=free)
    climb = _climb_kmh(facts, vehicle, part)
    if towing:
        np.minimum(free, climb, out=free)
        np.minimum(climb, facts.descent_kmh[part], out=climb)
    else:
        width = width * np.float32(1.15)
    np.minimum(free, np.float32(_FASTEST_KMH), out=free)
    free *= facts.flow_frac[part]
    np.maximum(free, np.float32(1.0), out=free)
    least, cause = law, np.full(len(law), _LAW, dtype=np.int8)
    for code, other in (
        (_SIGN, sign), (_CLIMB, climb), (_SURFACE, facts.surface_kmh[part]), (_WIDTH, width)
    ):  # fmt: skip
        lower = other < least
        np.copyto(least, other, where=lower)
        np.copyto(cause, np.int8(code), where=lower)
    return free, cause


def _times(
    facts: RoadFacts, vehicle: _Vehicle
) -> tuple[NDArray[np.float32], NDArray[np.float64], NDArray[np.int8]]:
    """Driving time by direction, the part of it that meetings take [s], and the `CAUSES`."""
    count = 2 * len(facts.length_m)
    time_s, mean = np.empty(count, dtype=np.float32), np.empty(count, dtype=np.float32)
    limited_by = np.empty(count, dtype=np.int8)
    hour_s = np.float32(3600)

    def work(piece: slice) -> None:
        speed, cause = _free_kmh(facts, vehicle, piece)
        mean[piece] = speed
        straight, bent = facts.straight_km[piece], facts.bend_km[piece]
        bend = _bend_kmh(facts, vehicle, piece)
        np.copyto(cause, np.int8(_BENDS), where=(bend < speed) & (bent >= straight))
        limited_by[piece] = cause
        taken = straight / speed
        taken += bent / np.minimum(speed, bend, out=bend)
        np.multiply(taken, hour_s, out=time_s[piece])

    in_pieces(count, work)
    rows = facts.meetings.rows
    both = mean.reshape(-1, 2)
    speeds = 0.5 * (both[rows, 0] + both[rows, 1])
    delay = meeting_delay_s(facts.meetings, vehicle.width_m, speeds, towing=vehicle.towing)
    meeting_s = np.zeros(len(facts.length_m))
    meeting_s[rows] = delay
    time_s[2 * rows] += delay.astype(np.float32)
    time_s[2 * rows + 1] += delay.astype(np.float32)
    time_s[facts.ferry_rows] = facts.ferry_s
    limited_by[facts.ferry_rows] = _FERRY
    return time_s.reshape(-1, 2), meeting_s, limited_by.reshape(-1, 2)


def _narrow_km(facts: RoadFacts, outfit_width_m: float) -> NDArray[np.float32]:
    """How narrow each road is for an outfit, times the length over which it is [km]."""
    room = _value("passing_room")
    passing = outfit_width_m + _value("oncoming_width") + room
    alone = outfit_width_m + room + 0.4
    full = _value("narrow_full")
    narrow_km = np.empty(len(facts.width_m), dtype=np.float32)

    def work(piece: slice) -> None:
        width, oneway = facts.width_m[piece], facts.oneway[piece]
        two = (np.float32(passing) - width) / np.float32(passing - full)
        one = (np.float32(alone) - width) / np.float32(alone - outfit_width_m)
        share = np.clip(np.where(oneway, one, two), 0, np.float32(1.5))
        share[np.isnan(share)] = 0.5
        np.multiply(share, facts.narrow_km[piece], out=narrow_km[piece])

    in_pieces(len(narrow_km), work)
    return narrow_km


__all__ = ["CAUSES", "DISLIKES", "RoadCosts", "car_costs", "towing_costs"]
