"""The household's own list of sites: a site of the map is written into it when it is chosen."""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING

from planner_kit.errors import PlanFileError
from planner_kit.files import read_words, write_whole
from planner_kit.sites.site_list import SITE_COLUMNS, read_sites
from planner_kit.spreadsheet import as_words
from planner_kit.trip.display import is_missing

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

_FIRST_COLUMNS = ("site_id", "name", "lat", "lon", "osm_ref", "phone", "notes", "source", "as_of")


def add_site(path: Path, site: pd.Series) -> str:
    """Write a site below a household's list, which is made if it is missing.

    Parameters
    ----------
    path : Path
        A sites.csv; its lines stay as they are.
    site : Series
        A row as `planner_kit.sites.gathering.map_sites` gives it, with the site_id as its name.
        Cells for which the list has no column are left out: the map still says them.

    Returns
    -------
    site_id : str
        The id by which trips name it; nothing is written where the list has it already.

    Raises
    ------
    PlanFileError
        If the list cannot be read or written.
    """
    site_id = str(site.name)
    if not path.exists():
        kinds = {column.name for column in SITE_COLUMNS}
        header, text = [name for name in _FIRST_COLUMNS if name in kinds], ""
        text = _line(header)
    else:
        if site_id in read_sites(path).index:
            return site_id
        text = read_words(path, most_mb=20)
        if path.suffix.lower() != ".csv":
            raise PlanFileError(
                "only a CSV list can be written to", str(path), "add the site to it by hand"
            )
        header = [name.strip() for name in next(csv.reader(io.StringIO(text)))]
    cells = {"site_id": site_id, **{str(name): _cell(value) for name, value in site.items()}}
    ended = text if text.endswith("\n") else text + "\n"
    write_whole(path, ended + _line([cells.get(name, "") for name in header]))
    return site_id


def _cell(value: object) -> str:
    if is_missing(value):
        return ""
    if hasattr(value, "date"):
        return str(value.date())
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(as_words(" ".join(str(value).split())))


def _line(cells: list[str]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow(cells)
    return out.getvalue()
