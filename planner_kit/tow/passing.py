"""Meeting traffic where two vehicles cannot pass: how often, and what it costs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant, read_table
from planner_kit.tow.limits import is_word, number

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray


# Wider than any outfit or car that the household file takes.
_WIDEST_M = 3.0


def _value(name: str) -> float:
    return constant("towing_costs", name).value


def passing_width_m(vehicle_width_m: float) -> float:
    """The width below which a vehicle and an oncoming car cannot pass at a crawl [m]."""
    return vehicle_width_m + _value("oncoming_width") + 0.5 * _value("passing_room")


def oncoming_per_hour(roads: pd.DataFrame) -> NDArray[np.float64]:
    """Vehicles that come the other way in an hour, guessed from the class of the road [1/h]."""
    table = read_table("towing_meetings").astype({"oncoming_per_h": float})
    flow = np.zeros(len(roads))
    for word, count in zip(table["road_class"], table["oncoming_per_h"], strict=True):
        flow[is_word(roads, "road_class", str(word))] = count
    return flow


@dataclass(frozen=True)
class Meetings:
    """Two-way roads narrow enough that some outfit cannot pass what comes the other way.

    Attributes
    ----------
    rows : ndarray of int64, shape (n,)
        Rows of the road table.
    roads : int
        Length of that table.
    width_m : ndarray, shape (n,)
    oncoming_km_h : ndarray, shape (n,)
        Oncoming vehicles in an hour, times the length of the road. [km/h]
    spacing_m : ndarray, shape (n,)
        Between places to pass.
    """

    rows: NDArray[np.int64]
    roads: int
    width_m: NDArray[np.float64]
    oncoming_km_h: NDArray[np.float64]
    spacing_m: NDArray[np.float64]


def meetings_on(roads: pd.DataFrame) -> Meetings:
    """The roads of a region on which vehicles may have to wait for each other.

    Parameters
    ----------
    roads : DataFrame
        The region's roads.

    Returns
    -------
    meetings : Meetings
        One-way roads, ferries and roads of unknown width are not among them.
    """
    width = number(roads, "width_m")
    tight = (width < passing_width_m(_WIDEST_M)) & (roads["oneway"].to_numpy() == 0)
    rows = np.flatnonzero(tight & ~is_word(roads, "road_class", "ferry"))
    length_km = roads["length_m"].to_numpy(dtype=np.float64)[rows] / 1000
    places = np.nan_to_num(number(roads, "passing_places")[rows])
    mapped = np.maximum(length_km, 0.05) * 1000 / (places + 1)
    return Meetings(
        rows=rows,
        roads=len(roads),
        width_m=width[rows],
        oncoming_km_h=oncoming_per_hour(roads)[rows] * length_km,
        spacing_m=np.where(places > 0, mapped, _value("passing_spacing")),
    )


def meeting_delay_s(
    meetings: Meetings, vehicle_width_m: float, speed_kmh: NDArray[np.floating], *, towing: bool
) -> NDArray[np.float64]:
    """The expected time lost on each road by meeting traffic that cannot pass.

    Parameters
    ----------
    meetings : Meetings
        Of the region's roads.
    vehicle_width_m : float
        Of the outfit or the car. [m]
    speed_kmh : ndarray, shape (n,)
        At which each of the roads of `meetings` is driven; oncoming traffic is taken to be as
        fast. [km/h]
    towing : bool
        A caravan is reversed more slowly.

    Returns
    -------
    delay_s : ndarray, shape (n,)
        0 where two vehicles pass. [s]

    Notes
    -----
    Two streams that drive at speeds v and u towards each other meet q (1/v + 1/u) times a
    kilometre, q being the oncoming flow. At a meeting one of the two goes back to, or waits at, a
    place to pass: half the spacing of such places away on average when waiting, a quarter when
    reversing. Every second meeting falls to the other driver; of the rest the outfit reverses the
    share of ``reverse_share`` and waits at the others. Where no passing place is mapped, gateways
    and wide verges are taken to come every ``passing_spacing`` metres.
    """
    tight = meetings.width_m < passing_width_m(vehicle_width_m)
    speed = np.clip(speed_kmh, 5.0, 60.0)
    times = meetings.oncoming_km_h * 2 / speed
    wait_s = meetings.spacing_m / 2 / (speed / 3.6) + _value("passing_slow")
    back_kmh = _value("reverse_tow" if towing else "reverse_car")
    reverse_s = meetings.spacing_m / 4 / (back_kmh / 3.6) + wait_s
    share = _value("reverse_share")
    each = 0.5 * ((1 - share) * wait_s + share * reverse_s)
    return np.asarray(np.where(tight, times * each, 0.0), dtype=np.float64)
