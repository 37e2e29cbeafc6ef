"""Every place to go around a pitch: the list, the mapped places and the protected areas, joined."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from pyproj import Geod

from planner_kit.outings.attractions import ATTRACTION_COLUMNS, empty_attractions
from planner_kit.outings.place_words import plain_name, usual_of_kinds
from planner_kit.outings.protected_areas import areas_around, protected_areas
from planner_kit.reference import constant

if TYPE_CHECKING:
    from planner_kit.region import Region

_WGS84 = Geod(ellps="WGS84")
# Facts whose origin is kept, each in a column `<fact>_from`: own list, map, usual for the kind.
FACTS = (
    "position", "kind", "opening_hours", "adult_price", "rating", "indoor", "min_age",
    "time_needed_min", "dogs", "wheelchair",
)  # fmt: skip
OWN, MAP, USUAL = "own list", "map", "usual for the kind"
# Taken from the map where the list leaves them empty.
_FROM_MAP = (
    "kind", "osm_ref", "opening_hours", "adult_price", "currency", "indoor", "min_age", "dogs",
    "wheelchair",
)  # fmt: skip
_TEXT_COLUMNS = [c.name for c in ATTRACTION_COLUMNS if c.kind in ("id", "text", "choice")]
_CHARGE = re.compile(r"(\d+(?:[.]\d{1,2})?) ?([A-Z]{3})")


def gather_attractions(
    region: Region, own: pd.DataFrame, near: tuple[float, float]
) -> pd.DataFrame:
    """Every place to go around a pitch, the household's own facts before the map's.

    Parameters
    ----------
    region : Region
        Its `places` and protected `areas` are used.
    own : DataFrame
        From `read_attractions`; its rows are kept, however far.
    near : (lat, lon)
        The pitch. [deg]

    Returns
    -------
    attractions : DataFrame
        The columns of `ATTRACTION_COLUMNS`, then distance_km (straight line, to the edge of an
        area; NaN if its place is not known), own (is it in the household's list), also (other rows
        and map objects that are the same place), inside_area (protected areas that it lies in) and
        a column ``<fact>_from`` for each of `FACTS`: ``own list``, ``map``, ``usual for the kind``
        or empty where the fact is missing.

    Notes
    -----
    Two are one when osm_ref says so, or when their plain names agree and they lie within
    `match_distance_km` of each other (on the map also their kinds). Of two rows of the list the
    first is kept, and what it leaves empty is taken from the second.
    """
    mine = _merged(own.assign(also=""), own["attraction_id"], own["osm_ref"])
    mapped = _mapped(region.places, mine, near)
    partner = _partners(mine, mapped)
    pairs = mapped.loc[partner[partner >= 0]]
    pairs.index = mine.index[partner >= 0]
    for fact in FACTS:
        if fact != "position":
            mine[f"{fact}_from"] = np.where(_is_given(mine[fact]), OWN, "")
    mine["position_from"] = np.where(mine["lat"].notna() & mine["lon"].notna(), OWN, "")
    _fill_position(mine, pairs)
    for name in _FROM_MAP:
        other = pairs[name].reindex(mine.index)
        taken = ~_is_given(mine[name]) & _is_given(other)
        mine.loc[taken, name] = other[taken]
        if f"{name}_from" in mine:
            mine.loc[taken, f"{name}_from"] = MAP
    refs = pairs["also"].reindex(mine.index, fill_value="")
    mine["also"] = [", ".join(filter(None, two)) for two in zip(mine["also"], refs, strict=True)]
    mine["own"] = True
    rest = mapped[~mapped.index.isin(partner)]
    rest = rest[rest["kind"].isin(usual_of_kinds().index) & (rest["name"] != "")]
    rest = rest[rest["distance_km"] <= float(constant("outing_constants", "reach_km"))]
    joined = pd.concat([mine, rest], ignore_index=True) if len(rest) else mine
    joined = joined.reset_index(drop=True).assign(distance_km=_distance_km(joined, near))
    joined = _with_usual(_with_areas(joined, region, near))
    joined["attraction_id"] = joined["attraction_id"].astype("str")
    return joined


def _with_areas(places: pd.DataFrame, region: Region, near: tuple[float, float]) -> pd.DataFrame:
    """Places with the protected areas that they lie in, and those areas as places of their own.

    A place of the same name that lies within an area is the area: it is reached at its edge.
    """
    reach = float(constant("outing_constants", "reach_km"))
    areas, outlines = protected_areas(region, near, reach)
    lat, lon = places["lat"].to_numpy(dtype=float), places["lon"].to_numpy(dtype=float)
    places["inside_area"] = areas_around(areas, outlines, lat, lon)
    if not len(areas):
        return places
    rows_of: dict[str, list[Any]] = {}
    for row, name in places["name"].items():
        rows_of.setdefault(plain_name(str(name)), []).append(row)
    new: dict[str, dict[str, Any]] = {}
    for at, area in enumerate(areas.to_dict("records")):
        plain = plain_name(str(area["name"]))
        same = [
            row
            for row in rows_of.get(plain, ())
            if area["name"] in str(places.at[row, "inside_area"]).split(", ")
        ]
        if same:
            row = same[0]
            if not places.at[row, "own"]:
                places.loc[row, ["lat", "lon"]] = area["lat"], area["lon"]
                if area["kind"] != "nature_reserve":
                    places.loc[row, "kind"] = area["kind"]
            places.loc[row, "inside_area"] = ""
        elif plain not in new:
            new[plain] = {**{str(k): v for k, v in area.items()}, "attraction_id": f"area{at}"}
    if new:
        places = _with_rows(places, list(new.values()))
    return places.assign(distance_km=_distance_km(places, near))


def _with_rows(places: pd.DataFrame, areas: list[dict[str, Any]]) -> pd.DataFrame:
    """The places with further rows for areas that are on the map as nothing else."""
    frame = empty_attractions().reindex(range(len(areas)))
    frame[_TEXT_COLUMNS] = frame[_TEXT_COLUMNS].fillna("")
    given = pd.DataFrame(areas)
    for name in ("attraction_id", "name", "kind", "lat", "lon", "opening_hours", "dogs"):
        frame[name] = given[name].to_numpy()
    frame["wheelchair"] = given["wheelchair"].to_numpy()
    for name in ("adult_price", "child_price"):
        frame[name] = np.where(given["fee"] == "no", 0.0, np.nan)
    frame["source"] = "OpenStreetMap"
    frame["own"], frame["also"], frame["inside_area"] = False, "", ""
    for fact in FACTS:
        known = frame["lat"].notna() if fact == "position" else _is_given(frame[fact])
        frame[f"{fact}_from"] = np.where(known, MAP, "")
    return pd.concat([places, frame], ignore_index=True)


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
    charge = [_CHARGE.fullmatch(tag.get("charge", "").strip()) for tag in tags]
    price = np.array([np.nan if one is None else float(one[1]) for one in charge], dtype=float)
    frame["adult_price"] = np.where(free, 0.0, price)
    frame["child_price"] = np.where(free, 0.0, np.nan)
    frame["currency"] = ["" if one is None else one[2] for one in charge]
    indoor = [tag.get("indoor", "") for tag in tags]
    frame["indoor"] = [value if value in ("yes", "no") else "" for value in indoor]
    frame["min_age"] = pd.to_numeric(pd.Series([t.get("min_age") for t in tags]), errors="coerce")
    frame["dogs"] = [tag.get("dog", "") for tag in tags]
    frame["wheelchair"] = [tag.get("wheelchair", "") for tag in tags]
    frame["source"] = "OpenStreetMap"
    frame = _merged(frame.assign(also="", own=False), frame["kind"], frame["osm_ref"], own)
    for fact in FACTS:
        given = frame["lat"].notna() if fact == "position" else _is_given(frame[fact])
        frame[f"{fact}_from"] = np.where(given, MAP, "")
    frame["distance_km"] = _distance_km(frame, near)
    return frame


def _merged(
    frame: pd.DataFrame, kind: pd.Series, ref: pd.Series, own: pd.DataFrame | None = None
) -> pd.DataFrame:
    """Rows that are one place, by name and nearness, as one; the rest in their order.

    On the map (`own` given) only rows of one kind are, an outline goes before a point, and one that
    the list names by its osm_ref before both.
    """
    plain = frame["name"].map(plain_name)
    key = plain + (" |" + kind.astype("str") if own is not None else "")
    key = key.mask(plain == "", [f"?{n}" for n in range(len(frame))])
    if own is None:
        known = frame["osm_ref"] != ""
        first = frame.loc[known, "osm_ref"].map(key.loc[known].groupby(ref[known]).first())
        key = key.copy()
        key.loc[known] = first
    repeated = key[key.duplicated(keep=False)]
    limit_m = 1000 * float(constant("outing_constants", "match_distance_km"))
    rank = ref.str[:1].map({"r": 0, "w": 1}).fillna(2)
    if own is not None:
        rank = rank.mask(ref.isin(own["osm_ref"]), -1)
    gone: list[int] = []
    facts: Any = frame
    for rows in repeated.groupby(repeated, sort=False).groups.values():
        order = list(rows) if own is None else sorted(rows, key=lambda row: rank[row])
        kept: list[int] = []
        for row in order:
            same = next((one for one in kept if _one_place(frame, one, row, limit_m)), None)
            if same is None:
                kept.append(row)
                continue
            gone.append(row)
            empty = ~_is_given(facts.loc[same]) & _is_given(facts.loc[row])
            facts.loc[same, empty.index[empty]] = facts.loc[row, empty.index[empty]]
            also = (str(facts.at[same, "also"]), str(facts.at[row, "attraction_id"]))
            facts.loc[same, "also"] = ", ".join(filter(None, also))
    return frame.drop(index=gone).reset_index(drop=True) if gone else frame


def _one_place(frame: pd.DataFrame, one: int, other: int, limit_m: float) -> bool:
    """Whether two rows of one name lie close, or name the same object of the map."""
    ref, other_ref = str(frame.at[one, "osm_ref"]), str(frame.at[other, "osm_ref"])
    if ref and ref == other_ref:
        return True
    lat, lon = frame.loc[[one, other], "lat"], frame.loc[[one, other], "lon"]
    if lat.isna().any() or lon.isna().any():
        return False
    away_m = _WGS84.inv(lon.iloc[0], lat.iloc[0], lon.iloc[1], lat.iloc[1])[2]
    return bool(away_m <= limit_m)


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
