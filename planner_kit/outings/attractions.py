"""The household's own list of places to go."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.errors import PlanFileError
from planner_kit.trip.lists import ListColumn, read_list

if TYPE_CHECKING:
    from pathlib import Path

ATTRACTION_COLUMNS = (
    ListColumn("attraction_id", "id", "the household's own short name for it", True),
    ListColumn("name", "text", "as people call it", True),
    ListColumn("lat", "number", "WGS 84; empty where osm_ref finds it [deg]", low=-90, high=90),
    ListColumn("lon", "number", "WGS 84; empty where osm_ref finds it [deg]", low=-180, high=180),
    ListColumn("kind", "text", "a kind of place, such as castle or museum"),
    ListColumn("osm_ref", "text", "n, w or r and the OpenStreetMap number, such as w123"),
    ListColumn("adult_price", "number", "for one adult", low=0, high=10_000),
    ListColumn("child_price", "number", "for one child", low=0, high=10_000),
    ListColumn("family_price", "number", "for a family ticket", low=0, high=10_000),
    ListColumn("currency", "text", "ISO 4217 code of the prices"),
    ListColumn("parking_price", "number", "for one car", low=0, high=1000),
    ListColumn("free_with", "text", "ids of memberships that open it, separated by semicolons"),
    ListColumn("rating", "number", "mean rating of visitors", low=0, high=100),
    ListColumn("rating_count", "whole", "how many rated it", low=0, high=1e9),
    ListColumn("rating_scale", "number", "the best possible rating; 5 if empty", low=1, high=100),
    ListColumn("indoor", "choice", "under a roof", choices=("yes", "no", "part")),
    ListColumn("min_age", "number", "youngest it is for [years]", low=0, high=120),
    ListColumn("max_age", "number", "oldest it is for [years]", low=0, high=120),
    ListColumn("time_needed_min", "number", "a visit [min]", low=1, high=2880),
    ListColumn("opening_hours", "text", "as OpenStreetMap writes it"),
    ListColumn("last_entry_min", "number", "last entry before closing [min]", low=0, high=1440),
    ListColumn("dogs", "text", "yes, no, on a lead, ..."),
    ListColumn("wheelchair", "text", "yes, limited or no, as OpenStreetMap writes it"),
    ListColumn("notes", "text", "anything else"),
    ListColumn("source", "text", "where the facts were read"),
    ListColumn("as_of", "date", "the day they were read"),
)


def empty_attractions() -> pd.DataFrame:
    """A list without a row, with the columns and types of `read_attractions`."""
    dtypes = {"number": "float64", "whole": "Int64", "date": "datetime64[s]"}
    return pd.DataFrame(
        {c.name: pd.Series([], dtype=dtypes.get(c.kind, "str")) for c in ATTRACTION_COLUMNS}
    )


def read_attractions(path: Path | None) -> pd.DataFrame:
    """The household's list of places to go.

    Parameters
    ----------
    path : Path or None
        A CSV with the columns of `ATTRACTION_COLUMNS`; None gives an empty frame.

    Returns
    -------
    attractions : DataFrame
        One row for each place; missing is NaN, NA or the empty string.

    Raises
    ------
    PlanFileError
        See `planner_kit.trip.lists.read_list`; also for a row that says neither where it is nor
        its osm_ref, an osm_ref of another form, a rating above its scale, or ages that cross.
    """
    if path is None:
        return empty_attractions()
    frame = read_list(path, ATTRACTION_COLUMNS, key="attraction_id")
    scale = frame["rating_scale"].fillna(5)
    placeless = frame["lat"].isna() | frame["lon"].isna()
    faults = (
        (
            placeless & (frame["osm_ref"] == ""),
            "lat",
            "neither lat and lon nor osm_ref is given",
            "write one of them",
        ),
        (
            (frame["osm_ref"] != "") & ~frame["osm_ref"].str.fullmatch(r"[nwr]\d{1,19}"),
            "osm_ref",
            "it is not n, w or r and a number",
            "write it such as w123",
        ),
        (
            frame["rating"] > scale,
            "rating",
            "it is above its scale (5 where rating_scale is empty)",
            "write the best possible rating as rating_scale, such as 10",
        ),
        (frame["min_age"] > frame["max_age"], "min_age", "it is above max_age", "swap them"),
    )
    for wrong, column, what, remedy in faults:
        rows = np.flatnonzero(wrong.to_numpy())
        if rows.size:
            row = frame.iloc[rows[0]]
            where = f"{path}, attraction {row['attraction_id']}, column {column}"
            raise PlanFileError(what, where, remedy)
    return frame
