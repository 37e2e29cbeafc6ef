"""The trip and the stay that a notebook's parameters name."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.diary import files_with_lessons
from planner_kit.errors import PlannerKitError
from planner_kit.plan import plan_trip
from planner_kit.sites import site_of as site_named
from planner_kit.trip_files import read_files
from planner_kit.views.dates import day_of

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

    from planner_kit.plan import TripPlan
    from planner_kit.trip_files import TripFiles


def files_of_stay(folder: Path, trip: str, stay: int) -> tuple[TripFiles, int]:
    """The files of a trip and the index of one of its stays.

    Parameters
    ----------
    folder : Path
        The planning folder.
    trip : str
        The trip file in it.
    stay : int
        Which stay of the trip, from 1.

    Returns
    -------
    files : TripFiles
    number : int
        From 0.

    Raises
    ------
    PlannerKitError
        If the trip or one of its files cannot be used, or has no such stay.
    """
    files = read_files(folder / trip)
    stays = len(files.inputs.trip.stays)
    if not 1 <= stay <= stays:
        raise PlannerKitError(f"The trip has {stays} stays, not a stay {stay}: give 1 to {stays}.")
    return files, stay - 1


def plan_of(folder: Path, trip: str, planned_on: str) -> TripPlan:
    """A trip planned as its record would plan it, with what earlier trips taught.

    Parameters
    ----------
    folder : Path
        The planning folder.
    trip : str
        The trip file in it.
    planned_on : str
        The day of planning, ISO 8601; empty for today.

    Raises
    ------
    PlannerKitError
        If the day, the trip or one of its files cannot be used.
    """
    return plan_trip(files_with_lessons(folder / trip), planned_on=day_of(planned_on))


def site_of(files: TripFiles, number: int) -> pd.Series:
    """The site of a stay, counted from 0: its row of the list."""
    name = files.inputs.trip.stays[number].site
    return site_named(files.sites, name, str(files.inputs.trip_path))
