"""Whether the outfit can be brought to a site at all, and how long the tow takes."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.errors import NoRouteError
from planner_kit.states import State, worst_state
from planner_kit.tow import find_route

if TYPE_CHECKING:
    from planner_kit.outfit.report import Outfit
    from planner_kit.region import Region
    from planner_kit.trip.reading import TripInputs

REACH_COLUMNS = ("tow_min", "stress_min", "reach", "reach_why")


def tow_reach(
    inputs: TripInputs, region: Region, outfit: Outfit, sites: pd.DataFrame
) -> pd.DataFrame:
    """The tow from home to each site.

    Parameters
    ----------
    inputs : TripInputs
        For home, the household's dislikes and the roads to avoid.
    region : Region
    outfit : Outfit
    sites : DataFrame, n rows
        With the columns lat and lon.

    Returns
    -------
    reach : DataFrame, n rows, indexed like `sites`
        tow_min (without breaks; NaN where there is no way), stress_min (what the household's
        dislikes add), reach (state word: ``not fine`` where
        no way is open to the outfit, else the gravest of the places near a limit), reach_why.
    """
    trip, household = inputs.trip, inputs.household
    home = (household.home.lat, household.home.lon)
    rows = []
    for lat, lon in zip(sites["lat"].astype(float), sites["lon"].astype(float), strict=True):
        try:
            route = find_route(
                region, outfit, home, (lat, lon), weights=household.preferences.tow,
                avoid=(*household.avoid_roads, *trip.tow.avoid), on=trip.start,
            )  # fmt: skip
        except NoRouteError as error:
            rows.append((math.nan, math.nan, State.NOT_FINE.value, str(error)))
            continue
        state = worst_state(check.state for check in route.near_limits)
        if not route.near_limits:
            state = State.FINE
        grave = [check.sentence for check in route.near_limits if check.state is state]
        why = " ".join(grave) if state is not State.FINE else ""
        rows.append((route.time_min, route.stress_min, state.value, why))
    return pd.DataFrame(rows, columns=list(REACH_COLUMNS), index=sites.index)
