"""The demo: an invented island, an invented family, and two of its trips."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path
from typing import TYPE_CHECKING

from planner_kit.errors import PlanFileError
from planner_kit.files import whole_folder, write_whole
from planner_kit.reference import shipped_folder
from planner_kit.region import build_region
from planner_kit.tow import prepare_once

if TYPE_CHECKING:
    from planner_kit.diary import Record
    from planner_kit.region import Region

DEMO_NAME = "planner-kit-demo"
THIS_YEAR = "trip_2027.toml"
LAST_YEAR = "trip_2026.toml"
# The demo is planned on this day, so that it always finds the same deadlines.
PLANNED_ON = dt.date(2027, 1, 9)


def usual_demo_folder() -> Path:
    """Where the demo lies: in this folder or one above it, or beside the kit's own notebooks."""
    here = Path.cwd()
    for folder in (here, *here.parents):
        if (folder / DEMO_NAME).is_dir():
            return folder / DEMO_NAME
    return (here.parent if here.name == "notebooks" else here) / DEMO_NAME


def planning_folder(folder: str | Path = "") -> Path:
    """A household's own folder, or the demo's when none is named.

    Raises
    ------
    PlanFileError
        If there is no such folder.
    """
    if not str(folder):
        return demo_folder()
    if not Path(folder).is_dir():
        raise PlanFileError("there is no such folder", str(folder), "check the name")
    return Path(folder)


def demo_folder(folder: Path | None = None, *, progress: bool = True) -> Path:
    """The demo's own copy of its files, with the island's region built; made if it is missing.

    Parameters
    ----------
    folder : Path, optional
        Where it lies; `usual_demo_folder` if not given.
    progress : bool
        Whether to show a progress bar while the region is built.

    Returns
    -------
    folder : Path
        Holds household.toml, the two trips, the lists and ``region/``.

    Raises
    ------
    PlanFileError
        If the folder cannot be written to.
    """
    folder = (folder or usual_demo_folder()).resolve()
    shipped = shipped_folder("data") / "demo"
    if not (folder / THIS_YEAR).exists():
        with whole_folder(folder) as beside:
            shutil.copytree(shipped, beside, dirs_exist_ok=True)
    region = build_region(
        folder / "sallowey.osm.pbf",
        sorted(folder.glob("*.hgt.zip")),
        folder / "region",
        progress=progress,
    )
    prepare_once(region, progress=progress)
    return folder


def use_island(folder: Path, *, progress: bool = True) -> Region:
    """Build the invented island into a planning folder, and put its lists there.

    Parameters
    ----------
    folder : Path
        A list that is there already stays as it is.
    progress : bool
        Whether to show a progress bar.

    Returns
    -------
    region : Region
        In ``folder/region``.

    Raises
    ------
    PlanFileError
        If the folder cannot be written to.
    """
    shipped = shipped_folder("data") / "demo"
    for path in sorted(shipped.glob("*.csv")):
        if path.name != "items.csv" and not (folder / path.name).exists():
            write_whole(folder / path.name, path.read_bytes())
    extract, tiles = shipped / "sallowey.osm.pbf", sorted(shipped.glob("*.hgt.zip"))
    region = build_region(extract, tiles, folder / "region", progress=progress)
    prepare_once(region, progress=progress)
    return region


def run_demo(folder: Path | None = None, *, progress: bool = True) -> tuple[Record, Record]:
    """Record last year's trip of the demo family, then this year's.

    Parameters
    ----------
    folder : Path, optional
        Where the demo's files and records lie; `usual_demo_folder` if not given.
    progress : bool
        Whether to show progress bars.

    Returns
    -------
    last_year, this_year : Record
    """
    from planner_kit.diary import record_trip

    folder = demo_folder(folder, progress=progress)
    records = folder / "records"
    last_year = record_trip(
        folder / LAST_YEAR, records, planned_on=dt.date(2026, 10, 3), progress=progress
    )
    this_year = record_trip(folder / THIS_YEAR, records, planned_on=PLANNED_ON, progress=progress)
    return last_year, this_year
