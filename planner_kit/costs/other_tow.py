"""What the tow would cost on another way, or to another site."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner_kit.errors import NoRouteError
from planner_kit.reference import constant
from planner_kit.tow import plan_tow

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd

    from planner_kit.outfit.report import Outfit
    from planner_kit.region import Region
    from planner_kit.tow.leg import TowReport
    from planner_kit.trip.household import TowWeights
    from planner_kit.trip.reading import TripInputs

WAYS = ("as planned", "the quickest way", "an easier way", "without tolls and ferries")


def weights_of(way: str, own: TowWeights) -> TowWeights:
    """The dislikes that make one of `WAYS`.

    Parameters
    ----------
    way : str
        One of `WAYS`.
    own : TowWeights
        The household's.
    """
    dislikes = ("narrow", "steep", "rough", "town", "bends", "unlit", "ferry", "toll")
    if way == "the quickest way":
        return own.model_copy(update=dict.fromkeys(dislikes, 0.0))
    if way == "an easier way":
        times, most = constant("what_if", "easier_times").value, 3600.0
        easy = ("narrow", "steep", "rough", "town", "bends")
        return own.model_copy(update={name: min(getattr(own, name) * times, most) for name in easy})
    if way == "without tolls and ferries":
        dislike = constant("what_if", "toll_dislike").value
        hour = constant("what_if", "toll_money_per_hour").value
        return own.model_copy(update={"toll": dislike, "ferry": dislike, "money_per_hour": hour})
    return own


def other_tows(
    inputs: TripInputs,
    region: Region,
    outfit: Outfit,
    sites: pd.DataFrame,
    choices: Iterable[tuple[str, str]],
    *,
    tolls: pd.DataFrame,
    prices: pd.DataFrame,
    stay: int = 0,
) -> dict[tuple[str, str], TowReport | str]:
    """The whole tow for several choices of way and site.

    Parameters
    ----------
    inputs : TripInputs
    region : Region
    outfit : Outfit
    sites : DataFrame
        See `planner_kit.sites.read_sites`.
    choices : iterable of (str, str)
        One of `WAYS`, and the site of the stay.
    tolls, prices : DataFrame
        See `planner_kit.tow.plan_tow`.
    stay : int
        Which stay is at the other site, from 0.

    Returns
    -------
    tows : dict of (str, str) to TowReport or str
        Where there is no way for the outfit, why not, in a sentence.
    """
    found: dict[tuple[str, str], TowReport | str] = {}
    trip, household = inputs.trip, inputs.household
    for way, site_id in choices:
        stays = list(trip.stays)
        stays[stay] = stays[stay].model_copy(update={"site": site_id})
        wishes = household.preferences.model_copy(
            update={"tow": weights_of(way, household.preferences.tow)}
        )
        changed = replace(
            inputs,
            trip=trip.model_copy(update={"stays": tuple(stays)}),
            household=household.model_copy(update={"preferences": wishes}),
        )
        try:
            found[way, site_id] = plan_tow(
                changed, region, outfit, sites, tolls=tolls, prices=prices
            )
        except NoRouteError as error:
            found[way, site_id] = str(error)
    return found
