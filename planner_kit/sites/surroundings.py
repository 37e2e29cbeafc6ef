"""What lies round a candidate: the days out that were chosen, the masts, and earlier stays."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.errors import NoRouteError
from planner_kit.pitch.cover import cover_of
from planner_kit.pitch.receivers import receivers_of
from planner_kit.pitch.signals import signal_table
from planner_kit.states import State
from planner_kit.tow import drive_times

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from planner_kit.outings.report import OutingsReport
    from planner_kit.region import Region
    from planner_kit.trip.household import Household
    from planner_kit.trip.trip import Trip


@dataclass(frozen=True)
class Surroundings:
    """What lies round each candidate, by site id: see `outing_minutes` and `signal_shares`."""

    outing_min: pd.Series
    signals: pd.Series


_WORTH = {
    State.FINE.value: 1.0,
    State.LOOK.value: 0.5,
    State.NOT_FINE.value: 0.0,
    State.UNKNOWN.value: np.nan,
}


def outing_minutes(
    region: Region, sites: pd.DataFrame, outings: Sequence[OutingsReport], on: dt.date
) -> pd.Series:
    """The mean drive from each site to the days out that were chosen.

    Parameters
    ----------
    region : Region
    sites : DataFrame, n rows
        With lat and lon.
    outings : sequence of OutingsReport
    on : date

    Returns
    -------
    minutes : Series, n rows
        Of those that can be driven to; NaN where nothing was chosen or most of it cannot. [min]
    """
    chosen = [
        report.ranking[report.ranking["attraction_id"].isin(report.days["attraction_id"])]
        for report in outings
    ]
    empty = pd.Series(np.nan, index=sites.index, dtype=float)
    if not chosen:
        return empty
    places = pd.concat(chosen).drop_duplicates("attraction_id")
    if places.empty:
        return empty
    found = []
    for lat, lon in zip(sites["lat"].astype(float), sites["lon"].astype(float), strict=True):
        try:
            minutes = drive_times(region, (lat, lon), places, on=on)["minutes"]
            reached = minutes.notna().mean() > 0.5
            found.append(float(minutes.mean()) if reached else np.nan)
        except NoRouteError:
            found.append(np.nan)
    return pd.Series(found, index=sites.index, dtype=float)


def signal_shares(
    region: Region, sites: pd.DataFrame, household: Household, masts: pd.DataFrame | None
) -> pd.Series:
    """How much of what the household wants to receive is fine on each site, from 0 to 1.

    Each phone and the television count the same by their best mast; "look at this" counts half.
    NaN without masts or receivers, or where all is unknown.
    """
    receivers = receivers_of(household.phones, household.caravan)
    if masts is None or masts.empty or not receivers:
        return pd.Series(np.nan, index=sites.index, dtype=float)
    found = []
    for lat, lon in zip(sites["lat"].astype(float), sites["lon"].astype(float), strict=True):
        table = signal_table(lat, lon, receivers, masts, region.terrain, cover=cover_of(region))
        worth = table["state"].map(_WORTH)
        best = worth.groupby([table["service"], table["for_whom"]]).max()
        found.append(float(best.mean()) if best.notna().any() else np.nan)
    return pd.Series(found, index=sites.index, dtype=float)


def stays_before(sites: pd.DataFrame, trips: Sequence[Trip], before: dt.date) -> pd.Series:
    """How the household liked each site on earlier trips, from 0 to 1.

    Parameters
    ----------
    sites : DataFrame, n rows
        Indexed by site id, with their names.
    trips : sequence of Trip
    before : date
        Only trips that ended by then.

    Returns
    -------
    liked : Series, n rows
        Stars that were noted after the trip, out of five, the latest trip's; a half where the
        household was there and noted none, and where it never was.
    """
    liked = pd.Series(0.5, index=sites.index, dtype=float)
    for trip in sorted(trips, key=lambda trip: trip.end):
        if trip.end > before or trip.actuals is None:
            continue
        stars = {rating.place.casefold(): rating.stars for rating in trip.actuals.ratings}
        for stay in trip.stays:
            if stay.site in liked.index:
                name = str(sites.loc[stay.site, "name"]).casefold()
                given = stars.get(stay.site.casefold(), stars.get(name))
                liked[stay.site] = 0.5 if given is None else given / 5
    return liked
