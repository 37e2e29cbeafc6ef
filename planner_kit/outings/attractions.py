"""Places to go: the household's own list and the region's mapped places, joined."""

from __future__ import annotations

import json
import re
import unicodedata
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from pyproj import Geod

from planner_kit.errors import PlanFileError
from planner_kit.reference import constant, read_table
from planner_kit.trip.lists import ListColumn, read_list

if TYPE_CHECKING:
    from pathlib import Path

    from planner_kit.region import Region

_WGS84 = Geod(ellps="WGS84")

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
    ListColumn("notes", "text", "anything else"),
    ListColumn("source", "text", "where the facts were read"),
    ListColumn("as_of", "date", "the day they were read"),
)
# Facts whose origin is kept, each in a column `<fact>_from`: own list, map, usual for the kind.
FACTS = (
    "position", "kind", "opening_hours", "adult_price", "rating", "indoor", "min_age",
    "time_needed_min", "dogs",
)  # fmt: skip
OWN, MAP, USUAL = "own list", "map", "usual for the kind"


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
        (frame["rating"] > scale, "rating", "it is above its scale", "write rating_scale"),
        (frame["min_age"] > frame["max_age"], "min_age", "it is above max_age", "swap them"),
    )
    for wrong, column, what, remedy in faults:
        rows = np.flatnonzero(wrong.to_numpy())
        if rows.size:
            row = frame.iloc[rows[0]]
            where = f"{path}, attraction {row['attraction_id']}, column {column}"
            raise PlanFileError(what, where, remedy)
    return frame


@lru_cache
def usual_of_kinds() -> pd.DataFrame:
    """What is usual for each kind of place: kind (index), indoor, time_needed_min, words."""
    table = read_table("outing_kinds").set_index("kind")
    return table.assign(time_needed_min=pd.to_numeric(table["time_needed_min"]))


def plain_name(name: str) -> str:
    """A name without case, accents, articles and signs, to compare by."""
    letters = unicodedata.normalize("NFKD", name).casefold()
    words = re.findall(r"[a-z0-9]+", "".join(c for c in letters if not unicodedata.combining(c)))
    return " ".join(word for word in words if word not in ("the", "of", "and", "at"))


def gather_attractions(
    region: Region, own: pd.DataFrame, near: tuple[float, float]
) -> pd.DataFrame:
    """Every place to go around a pitch, the household's own facts before the map's.

    Parameters
    ----------
    region : Region
        Its `places` are used.
    own : DataFrame
        From `read_attractions`; all its rows are kept, however far.
    near : (lat, lon)
        The pitch. [deg]

    Returns
    -------
    attractions : DataFrame
        The columns of `ATTRACTION_COLUMNS`, then distance_km (straight line; NaN if its place is
        not known), own (is it in the household's list), wheelchair (the map's tag), and a column
        ``<fact>_from`` for each of `FACTS`: ``own list``, ``map``, ``usual for the kind`` or empty
        where the fact is missing.

    Notes
    -----
    A row of the list and a place on the map are one when osm_ref says so, or when their plain
    names agree and they lie within `match_distance_km` of each other.
    """
    mapped = _mapped(region.places, own, near)
    mine = own.copy()
    partner = _partners(mine, mapped)
    pairs = mapped.loc[partner[partner >= 0]]
    pairs.index = mine.index[partner >= 0]
    for fact in FACTS:
        if fact != "position":
            mine[f"{fact}_from"] = np.where(_is_given(mine[fact]), OWN, "")
    mine["position_from"] = np.where(mine["lat"].notna() & mine["lon"].notna(), OWN, "")
    mine["wheelchair"] = pairs["wheelchair"].reindex(mine.index, fill_value="")
    _fill_position(mine, pairs)
    for name in ("kind", "osm_ref", "opening_hours", "adult_price", "indoor", "min_age", "dogs"):
        taken = ~_is_given(mine[name]) & _is_given(pairs[name].reindex(mine.index))
        mine.loc[taken, name] = pairs[name].reindex(mine.index)[taken]
        if f"{name}_from" in mine:
            mine.loc[taken, f"{name}_from"] = MAP
    mine["own"] = True
    rest = mapped[~mapped.index.isin(partner)]
    rest = rest[rest["kind"].isin(usual_of_kinds().index) & (rest["name"] != "")]
    rest = rest[rest["distance_km"] <= float(constant("outing_constants", "reach_km"))]
    joined = pd.concat([mine, rest], ignore_index=True) if len(rest) else mine
    joined = _with_usual(joined.reset_index(drop=True))
    joined["distance_km"] = _distance_km(joined, near)
    joined["attraction_id"] = joined["attraction_id"].astype("str")
    return joined


def _is_given(values: pd.Series) -> pd.Series:
    return values.notna() & (values.astype("str") != "")


def _fill_position(mine: pd.DataFrame, pairs: pd.DataFrame) -> None:
    taken = (mine["position_from"] == "") & mine.index.isin(pairs.index)
    for name in ("lat", "lon"):
        mine.loc[taken, name] = pairs[name].reindex(mine.index)[taken]
    mine.loc[taken, "position_from"] = MAP


def _mapped(places: pd.DataFrame, own: pd.DataFrame, near: tuple[float, float]) -> pd.DataFrame:
    """The map's places in the columns of the list; the row's position is its index."""
    kinds = places["kind"].astype("str")
    wanted = kinds.isin(usual_of_kinds().index) | places["place_id"].isin(own["osm_ref"])
    chosen = places[wanted.to_numpy()]
    tags = [json.loads(text) if text else {} for text in chosen["tags"]]
    frame = empty_attractions().reindex(range(len(chosen)))
    frame[_TEXT_COLUMNS] = frame[_TEXT_COLUMNS].fillna("")
    for name in ("name", "opening_hours"):
        frame[name] = chosen[name].astype("str").to_numpy()
    frame["kind"] = chosen["kind"].astype("str").to_numpy()
    frame["attraction_id"] = chosen["place_id"].astype("str").to_numpy()
    frame["osm_ref"] = frame["attraction_id"]
    frame["lat"], frame["lon"] = chosen["lat"].to_numpy(), chosen["lon"].to_numpy()
    free = np.array([tag.get("fee") == "no" for tag in tags], dtype=bool)
    frame["adult_price"] = np.where(free, 0.0, np.nan)
    frame["child_price"] = np.where(free, 0.0, np.nan)
    indoor = [tag.get("indoor", "") for tag in tags]
    frame["indoor"] = [value if value in ("yes", "no") else "" for value in indoor]
    frame["min_age"] = pd.to_numeric(pd.Series([t.get("min_age") for t in tags]), errors="coerce")
    frame["dogs"] = [tag.get("dog", "") for tag in tags]
    frame["wheelchair"] = [tag.get("wheelchair", "") for tag in tags]
    frame["source"] = "OpenStreetMap"
    frame["own"] = False
    for fact in FACTS:
        given = frame["lat"].notna() if fact == "position" else _is_given(frame[fact])
        frame[f"{fact}_from"] = np.where(given, MAP, "")
    frame["distance_km"] = _distance_km(frame, near)
    return frame


_TEXT_COLUMNS = [c.name for c in ATTRACTION_COLUMNS if c.kind in ("id", "text", "choice")]


def _partners(own: pd.DataFrame, mapped: pd.DataFrame) -> np.ndarray:
    """For each row of the list the row of `mapped` that is the same place, or -1."""
    by_ref = {ref: row for row, ref in enumerate(mapped["osm_ref"])}
    by_name: dict[str, list[int]] = {}
    for row, name in enumerate(mapped["name"]):
        by_name.setdefault(plain_name(name), []).append(row)
    limit_m = 1000 * float(constant("outing_constants", "match_distance_km"))
    found = np.full(len(own), -1)
    taken: set[int] = set()
    for at, (ref, name, lat, lon) in enumerate(
        zip(own["osm_ref"], own["name"], own["lat"], own["lon"], strict=True)
    ):
        row = by_ref.get(ref, -1) if ref else -1
        same = by_name.get(plain_name(name), []) if plain_name(name) else []
        if row < 0 and same and np.isfinite(lat) and np.isfinite(lon):
            lats, lons = mapped["lat"].to_numpy()[same], mapped["lon"].to_numpy()[same]
            away = _WGS84.inv(np.full(len(same), lon), np.full(len(same), lat), lons, lats)[2]
            nearest = int(np.argmin(away))
            row = same[nearest] if away[nearest] <= limit_m else -1
        if row >= 0 and row not in taken:
            found[at] = row
            taken.add(row)
    return found


def _with_usual(frame: pd.DataFrame) -> pd.DataFrame:
    usual = usual_of_kinds()
    for name in ("indoor", "time_needed_min"):
        of_kind = frame["kind"].map(usual[name])
        taken = ~_is_given(frame[name]) & _is_given(of_kind)
        frame[name] = frame[name].where(~taken, of_kind)
        frame.loc[taken, f"{name}_from"] = USUAL
    frame["time_needed_min"] = frame["time_needed_min"].astype("float64")
    return frame


def _distance_km(frame: pd.DataFrame, near: tuple[float, float]) -> np.ndarray:
    lat, lon = frame["lat"].to_numpy(dtype=float), frame["lon"].to_numpy(dtype=float)
    known = np.isfinite(lat) & np.isfinite(lon)
    away = np.full(len(frame), np.nan)
    count = int(known.sum())
    if count:
        starts = np.full(count, near[1]), np.full(count, near[0])
        away[known] = _WGS84.inv(*starts, lon[known], lat[known])[2] / 1000
    return away


def named(frame: pd.DataFrame, names: tuple[str, ...]) -> np.ndarray:
    """Which rows a person means by some names or ids; bool, one for each row."""
    wanted = {plain_name(name) for name in names}
    by_name = frame["name"].map(plain_name).isin(wanted).to_numpy()
    return by_name | frame["attraction_id"].isin(names).to_numpy()
