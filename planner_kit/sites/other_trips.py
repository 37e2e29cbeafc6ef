"""The other trips that lie in the planning folder: for clashes, earlier stays and the year."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.errors import PlanFileError
from planner_kit.trip.reading import read_trip

if TYPE_CHECKING:
    from pathlib import Path

    from planner_kit.trip.trip import Trip


def read_trips(folder: Path) -> tuple[dict[Path, Trip], tuple[str, ...]]:
    """Every trip file of a folder.

    Parameters
    ----------
    folder : Path
        Trip files are those called ``trip*.toml``.

    Returns
    -------
    trips : dict of Path to Trip
        By first day.
    faults : tuple of str
        One sentence for each file that cannot be used; the others are read all the same.
    """
    trips: dict[Path, Trip] = {}
    faults = []
    for path in sorted(folder.glob("trip*.toml")):
        try:
            trips[path] = read_trip(path)
        except PlanFileError as error:
            faults.append(str(error))
    return dict(sorted(trips.items(), key=lambda pair: pair[1].start)), tuple(faults)


def other_trips(
    trip_path: Path, trip: Trip
) -> tuple[tuple[Trip, ...], tuple[str, ...], tuple[Path, ...]]:
    """The trips beside a trip file that are not the same trip.

    Another file is the same trip if it has its id and shares days with it; last year's trip of the
    same id is another trip.

    Returns
    -------
    others : tuple of Trip
    faults : tuple of str
        One sentence for each file that is not understood.
    read : tuple of Path
        The files of `others`.
    """
    here = trip_path.resolve()
    trips, faults = read_trips(here.parent)
    others = {
        path: other
        for path, other in trips.items()
        if path.resolve() != here and not _same(other, trip)
    }
    left = tuple(fault for fault in faults if str(trip_path) not in fault)
    return tuple(others.values()), left, tuple(others)


def _same(one: Trip, other: Trip) -> bool:
    return one.id == other.id and one.start < other.end and other.start < one.end
