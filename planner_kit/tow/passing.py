"""Meeting traffic where two vehicles cannot pass: how often, and what it costs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant, read_table
from planner_kit.tow.limits import is_word, number

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray


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


def meeting_delay_s(
    roads: pd.DataFrame, vehicle_width_m: float, speed_kmh: NDArray[np.float64], *, towing: bool
) -> NDArray[np.float64]:
    """The expected time lost on each road by meeting traffic that cannot pass.

    Parameters
    ----------
    roads : DataFrame
        The region's roads.
    vehicle_width_m : float
        Of the outfit or the car. [m]
    speed_kmh : ndarray, shape (roads,)
        At which the road is driven; oncoming traffic is taken to be as fast. [km/h]
    towing : bool
        A caravan is reversed more slowly.

    Returns
    -------
    delay_s : ndarray, shape (roads,)
        0 where two vehicles pass, on one-way roads, and where the width is not known. [s]

    Notes
    -----
    Two streams that drive at speeds v and u towards each other meet q (1/v + 1/u) times a
    kilometre, q being the oncoming flow. At a meeting one of the two goes back to, or waits at, a
    place to pass: half the spacing of such places away on average when waiting, a quarter when
    reversing. Every second meeting falls to the other driver; of the rest the outfit reverses the
    share of ``reverse_share`` and waits at the others. Where no passing place is mapped, gateways
    and wide verges are taken to come every ``passing_spacing`` metres.
    """
    length_km = roads["length_m"].to_numpy(dtype=np.float64) / 1000
    width = number(roads, "width_m")
    oneway = roads["oneway"].to_numpy() != 0
    tight = (width < passing_width_m(vehicle_width_m)) & ~oneway
    tight &= ~is_word(roads, "road_class", "ferry")
    speed = np.clip(speed_kmh, 5.0, 60.0)
    meetings = oncoming_per_hour(roads) * 2 / speed * length_km
    places = number(roads, "passing_places")
    mapped = np.maximum(length_km, 0.05) * 1000 / (np.nan_to_num(places) + 1)
    spacing = np.where(np.nan_to_num(places) > 0, mapped, _value("passing_spacing"))
    wait_s = spacing / 2 / (speed / 3.6) + _value("passing_slow")
    back_kmh = _value("reverse_tow" if towing else "reverse_car")
    reverse_s = spacing / 4 / (back_kmh / 3.6) + wait_s
    share = _value("reverse_share")
    each = 0.5 * ((1 - share) * wait_s + share * reverse_s)
    return np.asarray(np.where(tight, meetings * each, 0.0), dtype=np.float64)
