"""One tow of a trip as its files have it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from IPython.display import HTML

from planner_kit.diary import files_with_lessons
from planner_kit.errors import PlanFileError
from planner_kit.outfit import outfit_of
from planner_kit.tow import plan_tow
from planner_kit.views.record import show_tow

if TYPE_CHECKING:
    import datetime as dt
    from pathlib import Path

    from planner_kit.outfit import Outfit
    from planner_kit.trip_files import TripFiles


def show_tow_plan(folder: Path, *, trip: str, leg: int = 1) -> HTML:
    """One tow of a trip with the weights as they stand in the files: rests, fuel, card, checks.

    Parameters
    ----------
    folder, trip, leg
        As for `planner_kit.views.tow.tune_tow`.

    Raises
    ------
    PlanFileError
        If the trip or one of its files cannot be used, or it has no such leg.
    NoRouteError
        If the outfit cannot be brought to a stay.
    """
    files = files_with_lessons(folder / trip)
    tow = plan_tow(
        files.inputs,
        files.region,
        outfit_on(files, files.inputs.trip.start),
        files.sites,
        tolls=files.tolls,
        prices=files.prices,
    )
    check_leg(leg, len(tow.legs))
    # The notebook shows the cautions once, at its end.
    return show_tow(files, replace(tow, legs=tow.legs[leg - 1 : leg], cautions=()))


def check_leg(leg: int, legs: int) -> None:
    """Refuse the number of a leg that a trip has not.

    Raises
    ------
    PlanFileError
        If it is below 1 or above `legs`.
    """
    if not 1 <= leg <= legs:
        raise PlanFileError(f"the trip has no tow {leg}", "the parameter leg", f"use 1 to {legs}")


def outfit_on(files: TripFiles, on: dt.date) -> Outfit:
    """The outfit of a trip on a day."""
    household = files.inputs.household
    return outfit_of(household, items=files.items, on=on, party=files.inputs.trip.party)
