"""Printing the folder of a trip from its file: all of it, or the pages wanted."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from planner_kit.pack.folder import wanted_pages, write_pack
from planner_kit.pack.html_twin import write_html_twin
from planner_kit.plan import plan_trip
from planner_kit.trip_files import read_files

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from planner_kit.pack.folder import Paper
    from planner_kit.trip_files import TripFiles


def print_folder(
    trip_path: Path,
    to: Path | None = None,
    *,
    pages: Sequence[str] | None = None,
    paper: Paper | None = None,
    phone: bool = False,
    planned_on: dt.date | None = None,
    files: TripFiles | None = None,
) -> tuple[Path, ...]:
    """Plan a trip and write its folder, or some pages of it.

    Parameters
    ----------
    trip_path : Path
        A trip.toml.
    to : Path, optional
        Where the files are put; beside the trip file unless given.
    pages : sequence of str, optional
        Some of `planner_kit.pack.folder.PAGES`; all of them unless given.
    paper : str, optional
        ``A4`` or ``Letter``; the household's unless given.
    phone : bool
        Write the same pages as one HTML page too.
    planned_on : date, optional
        The day from which deadlines are counted; today if not given.
    files : TripFiles, optional
        What was read for the trip already, such as with what earlier trips taught.

    Returns
    -------
    written : tuple of Path
        ``pack.pdf``, and ``pack.html`` where it is wanted.

    Raises
    ------
    PlannerKitError
        If a page or paper is not known, or a file cannot be used.
    """
    wanted_pages(pages)
    plan = plan_trip(
        read_files(trip_path) if files is None else files,
        planned_on=planned_on or dt.date.today(),
    )
    folder = trip_path.resolve().parent if to is None else to
    written = [write_pack(plan, folder, pages=pages, paper=paper)]
    if phone:
        written.append(write_html_twin(plan, folder, pages=pages))
    return tuple(written)
