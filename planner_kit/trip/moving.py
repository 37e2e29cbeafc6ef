"""Last year's trip with new dates."""

from __future__ import annotations

from typing import TYPE_CHECKING

import tomlkit

from planner_kit.errors import PlanFileError
from planner_kit.trip.trip import Booking, Trip

if TYPE_CHECKING:
    import datetime as dt
    from pathlib import Path


def moved_trip(trip: Trip, start: dt.date) -> Trip:
    """The trip with a new first day and nothing booked.

    What was booked, paid or spent belongs to the old dates and is left behind. Roads that the
    household never wants to tow again, told after the trip, are avoided from now on.

    Parameters
    ----------
    trip : Trip
    start : date
        The new first day.

    Returns
    -------
    moved : Trip
    """
    stays = tuple(stay.model_copy(update={"booking": Booking()}) for stay in trip.stays)
    tow = trip.tow
    if trip.actuals is not None and trip.actuals.never_again:
        known = set(tow.avoid)
        new = tuple(road for road in trip.actuals.never_again if road not in known)
        tow = tow.model_copy(update={"avoid": tow.avoid + new})
    # What is pinned to the third day stays on the third day.
    pinned = {name: day + (start - trip.start) for name, day in trip.outings.pinned.items()}
    return trip.model_copy(
        update={
            "start": start,
            "stays": stays,
            "tow": tow,
            "actuals": None,
            "deadlines_from": None,
            "outings": trip.outings.model_copy(update={"pinned": pinned}),
        }
    )


def moved_trip_text(path: Path, start: dt.date) -> str:
    """The text of a trip file with a new first day and nothing booked, its comments kept.

    Parameters
    ----------
    path : Path
        A trip.toml that `read_trip` accepts.
    start : date
        The new first day.

    Returns
    -------
    text : str
        TOML.

    Raises
    ------
    PlanFileError
        If the file cannot be read.
    """
    try:
        return moved_text(path.read_text(encoding="utf-8-sig"), start)
    except (OSError, tomlkit.exceptions.TOMLKitError, UnicodeDecodeError) as error:
        raise PlanFileError(f"it cannot be read ({error})", str(path), "mend it") from error


def moved_text(text: str, start: dt.date) -> str:
    """The same as `moved_trip_text`, for a text that was read already."""
    document = tomlkit.parse(text)
    actuals = document.pop("actuals", {})
    document.pop("deadlines_from", None)
    pinned = document.get("outings", {}).get("pinned", {})
    for name, day in list(pinned.items()):
        pinned[name] = day + (start - document["start"])
    document["start"] = start
    for stay in document["stays"]:
        if isinstance(stay, dict):
            stay.pop("booking", None)
    never_again = actuals.get("never_again", [])
    if never_again:
        tow = document.setdefault("tow", tomlkit.table())
        avoid = tow.setdefault("avoid", tomlkit.aot())
        for road in never_again:
            if road not in avoid:
                avoid.append(road)
    return tomlkit.dumps(document)
