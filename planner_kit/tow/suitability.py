"""How well each road suits an outfit, for colouring a map."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.states import State
from planner_kit.tow.cost import DISLIKES
from planner_kit.tow.costing import road_system
from planner_kit.tow.limits import is_word, needed_width_m, number

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.outfit.report import Outfit
    from planner_kit.region.region import Region
    from planner_kit.trip.household import AvoidRoad, TowWeights

# A road is worth a look when its dislikes add at least this share to its time.
_LOOK_FRAC = 0.5
_WORDS = {
    "narrow": "narrow",
    "steep": "steep",
    "rough": "rough surface",
    "town": "built-up area",
    "bends": "tight bends",
    "unlit": "unlit",
    "ferry": "ferry",
    "toll": "toll",
}


def road_suitability(
    region: Region,
    outfit: Outfit,
    weights: TowWeights,
    *,
    avoid: Sequence[AvoidRoad] = (),
    on: dt.date | None = None,
) -> pd.DataFrame:
    """The state of every road for an outfit.

    Parameters
    ----------
    region : Region
    outfit : Outfit
    weights : TowWeights
    avoid : sequence of AvoidRoad
    on : date, optional
        The day, for the law; today where it is left out.

    Returns
    -------
    suitability : DataFrame
        Aligned with the region's roads: state (word), why. A road no car may use is ``not fine``;
        one whose guessed width is less than the outfit needs, or with a limit that could not be
        read, is ``unknown``.
    """
    system = road_system(region)
    costing = system.towing(outfit, weights, on=on or dt.date.today(), avoid=avoid)
    roads = system.roads
    frame = costing.limits.frame()
    state, why = frame["state"].to_numpy(object), frame["reason"].to_numpy(object)
    closed = ~(roads["car_forward"].to_numpy(bool) | roads["car_backward"].to_numpy(bool))
    state[closed], why[closed] = State.NOT_FINE.value, "not open to cars"
    fine = state == State.FINE.value

    stress = costing.roads.road_stress_s
    parts = np.stack([costing.roads.parts_s[name] for name in DISLIKES])
    most = parts.argmax(axis=0)
    look = fine & (stress > _LOOK_FRAC * costing.roads.time_s.min(axis=1))
    state[look] = State.LOOK.value
    why[look] = np.array([_WORDS[name] for name in DISLIKES], dtype=object)[most[look]]

    unread = (roads["unread_limits"] != "").to_numpy(dtype=bool)
    width = number(roads, "width_m")
    guessed = ~is_word(roads, "width_source", "tagged")
    tight = guessed & (width < needed_width_m(outfit))
    ferry = is_word(roads, "road_class", "ferry")
    unknown_width = np.isnan(width) & ~ferry
    open_to_us = fine | look
    for rows, text in (
        (unknown_width, "its width is not known"),
        (tight, "its width is guessed to be less than the outfit needs"),
        (unread, "a limit on it could not be read"),
    ):
        hit = rows & open_to_us
        state[hit], why[hit] = State.UNKNOWN.value, text
    return pd.DataFrame({"state": state, "why": why}, index=roads.index)
