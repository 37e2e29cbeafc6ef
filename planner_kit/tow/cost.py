"""What each road costs an outfit, or a car alone, in time and in what the household dislikes.

Everything is one array for each direction of all roads, shape (roads, 2): column 0 is driven
forward (with the geometry), column 1 backward.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant, read_table
from planner_kit.rules.speed import car_speed_limits, towing_speed_limits
from planner_kit.tow.limits import is_word, number, said
from planner_kit.tow.passing import meeting_delay_s
from planner_kit.tow.road_load import climbing_speeds_kmh

if TYPE_CHECKING:
    import datetime as dt

    import pandas as pd
    from numpy.typing import NDArray

    from planner_kit.outfit.report import Outfit
    from planner_kit.trip.household import TowWeights

# What can hold the speed down, in the order of the codes in `RoadCosts.limited_by`.
CAUSES = ("law", "sign", "bends", "climb", "surface", "width", "ferry")
DISLIKES = ("narrow", "steep", "rough", "town", "bends", "unlit", "ferry", "toll")


@dataclass(frozen=True)
class RoadCosts:
    """Speed, time and dislike of every road in both directions.

    Attributes
    ----------
    speed_kmh : ndarray, shape (roads, 2)
        Mean speed; never above the law, the sign or what the road allows. [km/h]
    time_s : ndarray, shape (roads, 2)
        Driving time of the whole road, without its junctions. [s]
    limited_by : ndarray of int8, shape (roads, 2)
        What holds the speed down, as a row of `CAUSES`.
    meeting_s : ndarray, shape (roads,)
        The part of `time_s` that is expected to be lost on meeting traffic that cannot pass. [s]
    stress_s : ndarray, shape (roads, 2)
        Extra time that the dislikes add. [s]
    disliked_km : dict of str to ndarray, shape (roads, 1) or (roads, 2)
        How much of each dislike a road has, times the length over which it is felt. [km]
    weights : TowWeights or None
        Seconds for each kilometre of each dislike; None for a car alone.
    speed_assumed : ndarray of bool, shape (roads,)
        Neither law nor sign is known.
    width_unknown, gradient_unknown : ndarray of bool, shape (roads,)
    """

    speed_kmh: NDArray[np.float64]
    time_s: NDArray[np.float64]
    limited_by: NDArray[np.int8]
    meeting_s: NDArray[np.float64]
    stress_s: NDArray[np.float64]
    disliked_km: dict[str, NDArray[np.float64]]
    weights: TowWeights | None
    speed_assumed: NDArray[np.bool_]
    width_unknown: NDArray[np.bool_]
    gradient_unknown: NDArray[np.bool_]

    @cached_property
    def parts_s(self) -> dict[str, NDArray[np.float64]]:
        """Stress by dislike, each of shape (roads, 2); they sum to `stress_s` [s]."""
        return {
            name: np.broadcast_to(km * getattr(self.weights, name), self.stress_s.shape)
            for name, km in self.disliked_km.items()
        }

    def weighted(self, weights: TowWeights) -> RoadCosts:
        """The same roads with other dislikes; nothing else is computed again."""
        return replace(
            self, stress_s=_stress_s(self.disliked_km, weights, self.time_s.shape), weights=weights
        )


def _value(name: str) -> float:
    return constant("towing_costs", name).value


def towing_costs(
    roads: pd.DataFrame, outfit: Outfit, weights: TowWeights, *, on: dt.date
) -> RoadCosts:
    """The cost of every road for an outfit.

    Parameters
    ----------
    roads : DataFrame
        The region's roads.
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
    law = towing_speed_limits(
        roads,
        caravan_plate_kg=outfit.caravan_plate_kg,
        train_plate_kg=outfit.train_plate_kg,
        on=on,
    )["limit_kmh"].to_numpy(dtype=np.float64)
    width = outfit.width_m if outfit.width_m is not None else _value("widest_lawful")
    signs = _signs(roads, towing=True)
    speeds = _Speeds(
        law=law,
        sign=signs,
        lateral_ms2=_value("lateral_tow"),
        climb=climbing_speeds_kmh(_both_ways(roads, "gradient_pct"), outfit),
        descent=_descent_speeds(roads),
        width=_width_speeds(roads),
        vehicle_m=width,
    )
    return _costs(roads, speeds, _intensities(roads, width), weights)


def car_costs(roads: pd.DataFrame, *, on: dt.date) -> RoadCosts:
    """The cost of every road for a car alone: its time, and nothing disliked."""
    law = car_speed_limits(roads, on=on)["limit_kmh"].to_numpy(dtype=np.float64)
    free = np.full((len(roads), 2), np.inf)
    speeds = _Speeds(
        law=law,
        sign=_signs(roads, towing=False),
        lateral_ms2=_value("lateral_car"),
        climb=free,
        descent=free,
        width=_width_speeds(roads) * 1.15,
        vehicle_m=_value("oncoming_width"),
    )
    return _costs(roads, speeds, {}, None)


@dataclass(frozen=True)
class _Speeds:
    law: NDArray[np.float64]
    sign: NDArray[np.float64]
    lateral_ms2: float
    climb: NDArray[np.float64]
    descent: NDArray[np.float64]
    width: NDArray[np.float64]
    vehicle_m: float


def _signs(roads: pd.DataFrame, *, towing: bool) -> NDArray[np.float64]:
    signs = np.stack(
        [number(roads, "maxspeed_forward_kmh"), number(roads, "maxspeed_backward_kmh")], axis=1
    )
    if towing:
        signs = np.fmin(signs, number(roads, "maxspeed_trailer_kmh")[:, None])
    return signs


def _both_ways(roads: pd.DataFrame, name: str) -> NDArray[np.float64]:
    forward = number(roads, name)
    return np.stack([forward, -forward], axis=1)


def steepest_pct(roads: pd.DataFrame) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The steepest climb and the steepest descent of each road, by direction, shape (roads, 2)."""
    up, down = number(roads, "steepest_up_pct"), number(roads, "steepest_down_pct")
    return np.stack([up, down], axis=1), np.stack([down, up], axis=1)


def surely_steep_pct(roads: pd.DataFrame, slope_pct: NDArray[np.float64]) -> NDArray[np.float64]:
    """The least that a steepest gradient of each road surely is, given the terrain's error [%].

    Parameters
    ----------
    roads : DataFrame
        With gradient_error_pct; a gradient from a tag has no error.
    slope_pct : ndarray, shape (roads,) or (roads, 2)
        From 0 upward. [%]
    """
    if "gradient_error_pct" not in roads:
        return slope_pct
    error = np.nan_to_num(number(roads, "gradient_error_pct"))
    error = np.where(is_word(roads, "gradient_source", "terrain"), error, 0.0)
    if slope_pct.ndim == 2:
        error = error[:, None]
    return np.maximum(slope_pct - _value("gradient_sure") * error, 0.0)


def _descent_speeds(roads: pd.DataFrame) -> NDArray[np.float64]:
    table = read_table("towing_descents").astype({"gradient_pct": float, "speed_kmh": float})
    _, down = steepest_pct(roads)
    speed = np.interp(np.nan_to_num(down), table["gradient_pct"], table["speed_kmh"])
    return np.where(np.nan_to_num(down) <= table["gradient_pct"].iloc[0], np.inf, speed)


def _width_speeds(roads: pd.DataFrame) -> NDArray[np.float64]:
    table = read_table("towing_widths").astype({"width_m": float, "speed_kmh": float})
    width = number(roads, "width_m")
    oneway = roads["oneway"].to_numpy() != 0
    # On a road for one direction the whole width is the outfit's own.
    speed = np.interp(np.where(oneway, width * 1.6, width), table["width_m"], table["speed_kmh"])
    free = np.isnan(width) | (speed >= table["speed_kmh"].iloc[-1])
    return np.repeat(np.where(free, np.inf, speed)[:, None], 2, axis=1)


def _surface_of(roads: pd.DataFrame, column: str) -> NDArray[np.float64]:
    """By word of the tables: the least speed and the greatest roughness, shape (roads, 2)."""
    table = read_table("towing_surfaces")
    found = np.stack([np.full(len(roads), np.inf), np.zeros(len(roads))], axis=1)
    for key in ("surface", "smoothness"):
        rows = table[table["key"] == key].set_index("word")
        words = roads[key].astype("category")
        lookup = rows.reindex([str(word) for word in words.cat.categories])
        speed = np.append(lookup["speed_kmh"].astype(float).fillna(np.inf).to_numpy(), np.inf)
        rough = np.append(lookup["rough_frac"].astype(float).fillna(0.0).to_numpy(), 0.0)
        codes = words.cat.codes.to_numpy()
        found[:, 0] = np.minimum(found[:, 0], np.where(speed >= 200, np.inf, speed)[codes])
        found[:, 1] = np.maximum(found[:, 1], rough[codes])
    return found[:, 0 if column == "speed_kmh" else 1]


def roughness_frac(roads: pd.DataFrame) -> NDArray[np.float64]:
    """How rough each road is, 0 smooth to 1; a surface that nobody mapped counts as smooth."""
    return _surface_of(roads, "rough_frac")


def _intensities(roads: pd.DataFrame, outfit_width_m: float) -> dict[str, NDArray[np.float64]]:
    """How much of each dislike a road has, times the length over which it is felt [km]."""
    length_km = roads["length_m"].to_numpy(dtype=np.float64) / 1000
    width = number(roads, "width_m")
    oneway = roads["oneway"].to_numpy() != 0
    ferry = is_word(roads, "road_class", "ferry")
    passing = outfit_width_m + _value("oncoming_width") + _value("passing_room")
    need = np.where(oneway, outfit_width_m + _value("passing_room") + 0.4, passing)
    full = np.where(oneway, outfit_width_m, _value("narrow_full"))
    narrow = np.clip((need - width) / (need - full), 0, 1.5)
    narrow = np.where(np.isnan(narrow), 0.5, narrow)
    # A passing place every 100 m takes away half of the trouble of a single track.
    places = number(roads, "passing_places") / np.maximum(length_km, 0.1)
    narrow = narrow * (1 - 0.5 * np.clip(places / 10, 0, 1))
    up, down = steepest_pct(roads)
    # Half way between what was read and what is sure: noise of the terrain is not a hill.
    read = np.nan_to_num(np.fmax(up, down))
    worst = 0.5 * (read + surely_steep_pct(roads, read))
    worst = np.maximum(worst[:, 0], worst[:, 1])
    # What a hill asks of engine, clutch and brakes grows faster than its gradient.
    over = (worst - _value("steep_from")) / (_value("steep_full") - _value("steep_from"))
    steep = np.minimum(np.maximum(over, 0) ** _value("steep_power"), _value("steep_most"))
    mean = np.abs(np.nan_to_num(number(roads, "gradient_pct")))
    radius = np.maximum(roads["bend_radius_m"].to_numpy(dtype=np.float64), 1.0)
    tight, wide = 1 / _value("bend_full"), 1 / _value("bend_from")
    bends = np.clip((1 / radius - wide) / (tight - wide), 0, 1.5)
    town, _ = said(roads, "built_up")
    street = is_word(roads, "road_class", "residential", "living_street", "service")
    town = town * np.where(street, 2.0, 1.0)
    lit, lit_known = said(roads, "lit")
    road = np.where(ferry, 0.0, 1.0)
    short_km = np.minimum(length_km, _value("steep_length") / 1000)
    steep_km = np.where(mean >= _value("steep_from"), length_km, short_km)
    bend_km = np.minimum(length_km, 4 * _value("bend_length") / 1000)

    return {
        name: np.asarray(km, dtype=np.float64)[:, None]
        for name, km in {
            "narrow": narrow * length_km * road,
            "steep": steep * steep_km * road,
            "rough": roughness_frac(roads) * length_km * road,
            "town": town * length_km * road,
            "bends": bends * bend_km * road,
            "unlit": (lit_known & ~lit) * length_km * road,
            "ferry": ferry * length_km,
            "toll": roads["toll"].to_numpy(dtype=bool) * length_km,
        }.items()
    }


def _stress_s(
    disliked_km: dict[str, NDArray[np.float64]], weights: TowWeights | None, shape: tuple[int, int]
) -> NDArray[np.float64]:
    total = np.zeros((shape[0], 1))
    for name, km in disliked_km.items():
        weight = getattr(weights, name)
        if weight:
            total = total + km * weight
    return np.ascontiguousarray(np.broadcast_to(total, shape))


def _costs(
    roads: pd.DataFrame,
    speeds: _Speeds,
    disliked_km: dict[str, NDArray[np.float64]],
    weights: TowWeights | None,
) -> RoadCosts:
    length = roads["length_m"].to_numpy(dtype=np.float64)
    law = np.repeat(speeds.law[:, None], 2, axis=1)
    assumed = np.isnan(law) & np.isnan(speeds.sign)
    law = np.where(assumed, _value("speed_unknown"), np.where(np.isnan(law), np.inf, law))
    sign = np.where(np.isnan(speeds.sign), np.inf, speeds.sign)
    surface = np.repeat(_surface_of(roads, "speed_kmh")[:, None], 2, axis=1)
    climb = np.minimum(speeds.climb, speeds.descent)
    free, cause = law, np.zeros(law.shape, dtype=np.int8)
    for code, other in ((1, sign), (3, climb), (4, surface), (5, speeds.width)):
        lower = other < free
        free, cause = np.where(lower, other, free), np.where(lower, np.int8(code), cause)
    free = np.minimum(free, 200.0)
    town, _ = said(roads, "built_up")
    flow = np.where(town, _value("flow_town_frac"), _value("flow_frac"))[:, None]
    mean = np.maximum(free * flow, 1.0)

    radius = np.maximum(roads["bend_radius_m"].to_numpy(dtype=np.float64), 3.0)
    bend = np.sqrt(speeds.lateral_ms2 * radius) * 3.6
    bend_km = np.minimum(length, _value("bend_length"))[:, None] / 1000
    straight_km = length[:, None] / 1000 - bend_km
    in_bend = np.minimum(mean, bend[:, None])
    time_s = (straight_km / mean + bend_km / in_bend) * 3600
    cause = np.where((in_bend < mean) & (bend_km >= straight_km), np.int8(2), cause)

    ferry = is_word(roads, "road_class", "ferry")
    meeting_s = np.where(
        ferry,
        0.0,
        meeting_delay_s(roads, speeds.vehicle_m, mean.mean(axis=1), towing=bool(disliked_km)),
    )
    time_s = time_s + meeting_s[:, None]
    crossing = number(roads, "ferry_min") * 60
    sailed = np.where(np.isnan(crossing), length / _value("speed_ferry") * 3.6, crossing)
    time_s = np.where(ferry[:, None], sailed[:, None], time_s)
    cause = np.where(ferry[:, None], np.int8(6), cause)

    slow = np.maximum(time_s, 1e-9)
    return RoadCosts(
        speed_kmh=np.where(length[:, None] > 0, length[:, None] * 3.6 / slow, mean),
        time_s=time_s,
        limited_by=cause.astype(np.int8),
        meeting_s=meeting_s,
        stress_s=_stress_s(disliked_km, weights, (len(roads), 2)),
        disliked_km=disliked_km,
        weights=weights,
        speed_assumed=assumed.any(axis=1) & ~ferry,
        width_unknown=np.isnan(number(roads, "width_m")) & ~ferry,
        gradient_unknown=np.isnan(number(roads, "gradient_pct")) & ~ferry,
    )
