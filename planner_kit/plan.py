"""All the stages in order: from the files of a trip to everything that is known about it.

It stands after `costs` and before `pack` in the order of imports.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import datetime as dt
    from pathlib import Path

    import pandas as pd

    from planner_kit.costs.report import TripCost
    from planner_kit.outfit.report import OutfitReport
    from planner_kit.outings.report import OutingsReport
    from planner_kit.pitch.report import PitchReport
    from planner_kit.region import Region
    from planner_kit.sites.report import SitesReport
    from planner_kit.tow.leg import TowReport
    from planner_kit.trip.reading import TripInputs


@dataclass(frozen=True)
class TripFiles:
    """Everything that was read for a trip before anything is computed.

    Attributes
    ----------
    inputs : TripInputs
    region : Region
    sites, seasons, attractions, masts, tolls, prices : DataFrame
        The household's lists; empty frames with their columns where it keeps none.
    items : DataFrame or None
        The loading list.
    rides : tuple of Path
        GPX files.
    """

    inputs: TripInputs
    region: Region
    sites: pd.DataFrame
    seasons: pd.DataFrame
    attractions: pd.DataFrame
    masts: pd.DataFrame
    tolls: pd.DataFrame
    prices: pd.DataFrame
    items: pd.DataFrame | None
    rides: tuple[Path, ...]


@dataclass(frozen=True)
class TripPlan:
    """Everything that the stages found for a trip."""

    files: TripFiles
    planned_on: dt.date
    outfit: OutfitReport
    tow: TowReport
    pitches: tuple[PitchReport, ...]
    outings: tuple[OutingsReport, ...]
    sites: SitesReport
    cost: TripCost
