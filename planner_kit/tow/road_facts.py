"""What every road is to whoever drives it: found once for a region, whatever the vehicle.

An outfit or a slider changes only what is computed from these arrays, so that a new outfit costs
little. Arrays of directed roads have the shape (2 * roads,): ``2 * road`` is driven forward, with
the geometry, and ``2 * road + 1`` backward. They are 32 bits wide: half of the memory to read is
half of the time, and a hundredth of a second is kept on any road.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant, read_table
from planner_kit.rules.speed import RoadKinds, road_kinds
from planner_kit.tow.limits import is_word, number, said
from planner_kit.tow.passing import Meetings, meetings_on

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from planner_kit.tow.road_table import RoadRows

DISLIKES = ("narrow", "steep", "rough", "town", "bends", "unlit", "ferry", "toll")
# Gradients that `RoadFacts.grade` counts in: the first stands for level road and downhill.
GRADES_PCT = np.linspace(0.0, 40.0, 161)
LEVEL_PCT = 0.5


@dataclass(frozen=True)
class RoadFacts:
    """What every road is, whoever drives it.

    Attributes
    ----------
    kinds : RoadKinds
        What the law asks about each road.
    kind_of : ndarray of int32, shape (2 * roads,)
        Row of ``kinds.combinations``.
    length_m : ndarray, shape (roads,)
    straight_km, bend_km : ndarray, shape (2 * roads,)
        The length driven freely, and that of the tightest bend. [km]
    radius_root : ndarray, shape (2 * roads,)
        Square root of the radius of that bend. [m^0.5]
    sign_tow_kmh, sign_car_kmh : ndarray, shape (2 * roads,)
        Signed limit; inf where none is mapped. [km/h]
    unsigned_tow, unsigned_car : ndarray of bool, shape (2 * roads,)
    descent_kmh, surface_kmh, width_kmh : ndarray, shape (2 * roads,)
        What each lets a careful driver with a caravan do; inf where it does not matter. [km/h]
    slow_tow_kmh, slow_car_kmh : ndarray, shape (2 * roads,)
        The least of the three, and that of surface and width for a car. [km/h]
    flow_frac : ndarray, shape (2 * roads,)
        Share of the free speed that is kept in traffic.
    grade, grade_frac : ndarray, shape (2 * roads,)
        Place of the gradient in `GRADES_PCT`, as a whole number and the share to the next one.
    ferry_rows, ferry_s : ndarray
        Directed roads that are ferries, and how long each sails. [s]
    meetings : Meetings
        Roads on which some outfit cannot pass what comes the other way.
    disliked_km : dict of str to ndarray, shape (roads,)
        How much of each dislike a road has but for ``narrow``, times the length over which it is
        felt. [km]
    width_m : ndarray, shape (roads,)
    oneway : ndarray of bool, shape (roads,)
    narrow_km : ndarray, shape (roads,)
        Length over which a road can be narrow, eased where there are passing places. [km]
    width_unknown, gradient_unknown, ferry : ndarray of bool, shape (roads,)
    """

    kinds: RoadKinds
    kind_of: NDArray[np.int32]
    length_m: NDArray[np.float64]
    straight_km: NDArray[np.float32]
    bend_km: NDArray[np.float32]
    radius_root: NDArray[np.float32]
    sign_tow_kmh: NDArray[np.float32]
    sign_car_kmh: NDArray[np.float32]
    unsigned_tow: NDArray[np.bool_]
    unsigned_car: NDArray[np.bool_]
    descent_kmh: NDArray[np.float32]
    surface_kmh: NDArray[np.float32]
    width_kmh: NDArray[np.float32]
    slow_tow_kmh: NDArray[np.float32]
    slow_car_kmh: NDArray[np.float32]
    flow_frac: NDArray[np.float32]
    grade: NDArray[np.int16]
    grade_frac: NDArray[np.float32]
    ferry_rows: NDArray[np.int64]
    ferry_s: NDArray[np.float32]
    meetings: Meetings
    disliked_km: dict[str, NDArray[np.float32]]
    width_m: NDArray[np.float32]
    oneway: NDArray[np.bool_]
    narrow_km: NDArray[np.float32]
    width_unknown: NDArray[np.bool_]
    gradient_unknown: NDArray[np.bool_]
    ferry: NDArray[np.bool_]


def _value(name: str) -> float:
    return constant("towing_costs", name).value


def _thin(values: NDArray[np.float64]) -> NDArray[np.float32]:
    return np.ascontiguousarray(values.ravel(), dtype=np.float32)


def _twice(values: NDArray[np.float64]) -> NDArray[np.float32]:
    """One value a road as one for each direction."""
    return np.repeat(values, 2).astype(np.float32)


def road_facts(roads: pd.DataFrame) -> RoadFacts:
    """What every road of a region is.

    Parameters
    ----------
    roads : DataFrame
        The region's roads.

    Returns
    -------
    facts : RoadFacts
    """
    kinds = road_kinds(roads)
    length = roads["length_m"].to_numpy(dtype=np.float64)
    ferry = is_word(roads, "road_class", "ferry")
    bend_km = np.minimum(length, _value("bend_length")) / 1000
    radius = np.maximum(roads["bend_radius_m"].to_numpy(dtype=np.float64), 3.0)
    signs = np.stack(
        [number(roads, "maxspeed_forward_kmh"), number(roads, "maxspeed_backward_kmh")], axis=1
    )
    with_trailer = np.fmin(signs, number(roads, "maxspeed_trailer_kmh")[:, None])
    descent = _thin(_descent_speeds(roads))
    surface = _twice(_surface_of(roads, "speed_kmh"))
    width = _twice(_width_speeds(roads))
    town, _ = said(roads, "built_up")
    grade, grade_frac = _grades(_both_ways(roads, "gradient_pct").ravel())
    crossing = number(roads, "ferry_min") * 60
    sailed = np.where(np.isnan(crossing), length / _value("speed_ferry") * 3.6, crossing)
    rows = np.flatnonzero(np.repeat(ferry, 2))
    oneway = roads["oneway"].to_numpy() != 0
    # A passing place every 100 m takes away half of the trouble of a single track.
    length_km = length / 1000
    places = number(roads, "passing_places") / np.maximum(length_km, 0.1)
    eased = 1 - 0.5 * np.clip(np.nan_to_num(places) / 10, 0, 1)
    return RoadFacts(
        kinds=kinds,
        kind_of=np.repeat(kinds.place, 2).astype(np.int32),
        length_m=length,
        straight_km=_twice(length_km - bend_km),
        bend_km=_twice(bend_km),
        radius_root=_twice(np.sqrt(radius)),
        sign_tow_kmh=_thin(np.where(np.isnan(with_trailer), np.inf, with_trailer)),
        sign_car_kmh=_thin(np.where(np.isnan(signs), np.inf, signs)),
        unsigned_tow=np.isnan(with_trailer).ravel(),
        unsigned_car=np.isnan(signs).ravel(),
        descent_kmh=descent,
        surface_kmh=surface,
        width_kmh=width,
        slow_tow_kmh=np.minimum(np.minimum(descent, surface), width),
        slow_car_kmh=np.minimum(surface, width * np.float32(1.15)),
        flow_frac=_twice(np.where(town, _value("flow_town_frac"), _value("flow_frac"))),
        grade=grade,
        grade_frac=grade_frac,
        ferry_rows=rows,
        ferry_s=sailed[rows // 2].astype(np.float32),
        meetings=meetings_on(roads),
        disliked_km=_disliked_km(roads, length_km, ferry),
        width_m=number(roads, "width_m").astype(np.float32),
        oneway=oneway,
        narrow_km=(length_km * eased * ~ferry).astype(np.float32),
        width_unknown=np.isnan(number(roads, "width_m")) & ~ferry,
        gradient_unknown=np.isnan(number(roads, "gradient_pct")) & ~ferry,
        ferry=ferry,
    )


def _grades(slope_pct: NDArray[np.float64]) -> tuple[NDArray[np.int16], NDArray[np.float32]]:
    """The place of each gradient in `GRADES_PCT`; level road and downhill are at the first."""
    step = float(GRADES_PCT[1])
    slope = np.where(np.nan_to_num(slope_pct) > LEVEL_PCT, np.nan_to_num(slope_pct), 0.0)
    place = np.minimum(slope / step, len(GRADES_PCT) - 1)
    whole = np.minimum(np.floor(place), len(GRADES_PCT) - 2)
    frac = np.where(slope > 0, place - whole, 0.0)
    return whole.astype(np.int16), frac.astype(np.float32)


def _both_ways(roads: pd.DataFrame, name: str) -> NDArray[np.float64]:
    forward = number(roads, name)
    return np.stack([forward, -forward], axis=1)


def steepest_pct(roads: pd.DataFrame) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The steepest climb and the steepest descent of each road, by direction, shape (roads, 2)."""
    up, down = number(roads, "steepest_up_pct"), number(roads, "steepest_down_pct")
    return np.stack([up, down], axis=1), np.stack([down, up], axis=1)


def surely_steep_pct(
    roads: pd.DataFrame | RoadRows, slope_pct: NDArray[np.float64]
) -> NDArray[np.float64]:
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
    return np.where(free, np.inf, speed)


@lru_cache
def _surface_words(key: str) -> dict[str, tuple[float, float]]:
    """Speed and roughness of each word that a column of surfaces may have."""
    table = read_table("towing_surfaces")
    rows = table[table["key"] == key]
    speed = rows["speed_kmh"].astype(float).fillna(np.inf)
    rough = rows["rough_frac"].astype(float).fillna(0.0)
    return dict(zip(rows["word"], zip(speed, rough, strict=True), strict=True))


def _surface_of(roads: pd.DataFrame | RoadRows, column: str) -> NDArray[np.float64]:
    """By word of the tables: the least speed or the greatest roughness, shape (roads,)."""
    found = np.stack([np.full(len(roads), np.inf), np.zeros(len(roads))], axis=1)
    for key in ("surface", "smoothness"):
        words = roads[key].astype("category")
        known = _surface_words(key)
        # The last row is that of a missing word, whose code is -1.
        told = [known.get(str(word), (np.inf, 0.0)) for word in words.cat.categories]
        speed, rough = np.array([*told, (np.inf, 0.0)]).T
        codes = words.cat.codes.to_numpy()
        found[:, 0] = np.minimum(found[:, 0], np.where(speed >= 200, np.inf, speed)[codes])
        found[:, 1] = np.maximum(found[:, 1], rough[codes])
    return found[:, 0 if column == "speed_kmh" else 1]


def roughness_frac(roads: pd.DataFrame | RoadRows) -> NDArray[np.float64]:
    """How rough each road is, 0 smooth to 1; a surface that nobody mapped counts as smooth."""
    return _surface_of(roads, "rough_frac")


def _disliked_km(
    roads: pd.DataFrame, length_km: NDArray[np.float64], ferry: NDArray[np.bool_]
) -> dict[str, NDArray[np.float32]]:
    """How much of each dislike a road has, times the length over which it is felt [km]."""
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
        name: np.asarray(km, dtype=np.float32)
        for name, km in {
            "steep": steep * steep_km * road,
            "rough": roughness_frac(roads) * length_km * road,
            "town": town * length_km * road,
            "bends": bends * bend_km * road,
            "unlit": (lit_known & ~lit) * length_km * road,
            "ferry": ferry * length_km,
            "toll": roads["toll"].to_numpy(dtype=bool) * length_km,
        }.items()
    }
