"""Candidate sites out of the map and the household's list, matched to each other."""

from __future__ import annotations

import json
import re
import unicodedata
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.errors import PlanFileError, nearest_name
from planner_kit.reference import constant
from planner_kit.sites.site_list import FROM_MAP, SITE_COLUMNS
from planner_kit.trip.lists import ListColumn, read_list, row_numbers

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from numpy.typing import NDArray

    from planner_kit.region import Region

MATCH_COLUMNS = (
    ListColumn("site_id", "id", "a site of the site list", True),
    ListColumn("place_id", "id", "a place of the map, such as w123", True),
    ListColumn("same", "yes_no", "yes: they are one site; no: they are not", True),
)
FACT_COLUMNS = ["site_id", "fact", "value", "source", "as_of", "used", "disputed"]
# What a row is and who says so, which is no fact about the site.
_NO_FACTS = ("lat", "lon", "osm_ref", "source", "as_of", "notes")
_YES_NO = {
    "yes": True, "designated": True, "permissive": True, "no": False, "leashed": True,
    "wlan": True, "wired": False, "terminal": False, "limited": True,
}  # fmt: skip
_FLAGS = {
    "wifi": ("internet_access",),
    "dogs": ("dog", "dogs"),
    "playground": ("playground",),
    "dump_station": ("sanitary_dump_station",),
    "step_free": ("wheelchair",),
    "barbecue": ("bbq", "barbecue_grill"),
    "charging": ("car:charging", "charging_station"),
}
_TEXTS = {
    "opening_hours": ("opening_hours",),
    "phone": ("phone", "contact:phone"),
    "surface": ("surface",),
}


@dataclass(frozen=True)
class Gathered:
    """Candidates and where each fact about them comes from.

    Attributes
    ----------
    sites : DataFrame
        As `read_sites` gives them: the household's rows, their empty cells filled from the map,
        and below them the sites that only the map knows, by their place_id; ``from_map`` names the
        columns that were filled.
    matches : DataFrame
        site_id, site, place_id, place, distance_m, name_alike (0 to 1), verdict (sure, likely,
        look at this, told by you), why.
    facts : DataFrame
        site_id, fact, value, source, as_of, used (False where the household's own row holds), and
        disputed (the household's row and the map say different things).
    """

    sites: pd.DataFrame
    matches: pd.DataFrame
    facts: pd.DataFrame


def map_sites(region: Region) -> pd.DataFrame:
    """The caravan and camp sites of the map, as rows of a site list.

    Returns
    -------
    sites : DataFrame, indexed by place_id
        The columns of `SITE_COLUMNS`; whatever a place's tags do not say is missing.
    """
    places = region.places[region.places["kind"].isin(["caravan_site", "camp_site"])]
    day = str(region.manifest.get("data_date") or "")[:10]
    data_date = pd.to_datetime(day, errors="coerce")
    source = "OpenStreetMap"
    rows = []
    for place in places.itertuples():
        tags = json.loads(str(place.tags))
        rows.append(
            {
                "site_id": str(place.place_id),
                "name": str(place.name) or f"unnamed site {place.place_id}",
                "lat": float(place.lat),
                "lon": float(place.lon),
                "osm_ref": str(place.place_id),
                "source": source,
                "as_of": data_date,
                **_from_tags(tags),
            }
        )
    return _as_site_list(rows)


def _from_tags(tags: Mapping[str, str]) -> dict[str, object]:
    found: dict[str, object] = {}
    for column, keys in _FLAGS.items():
        said = next((tags[key] for key in keys if key in tags), None)
        if said in _YES_NO:
            found[column] = _YES_NO[said]
    for column, keys in _TEXTS.items():
        found[column] = next((tags[key] for key in keys if key in tags), "")
    power = tags.get("power_supply", "")
    if power == "no":
        found["hookup_a"] = 0.0
    elif tags.get("power_supply:maxcurrent"):
        found["hookup_a"] = _figure(tags["power_supply:maxcurrent"])
    water = tags.get("water_point", tags.get("drinking_water", ""))
    found["water_point"] = water
    found["max_outfit_length_m"] = _figure(tags.get("maxlength", ""))
    found["capacity"] = _figure(tags.get("capacity:caravans", tags.get("capacity", "")))
    found["fee"] = {"yes": True, "no": False}.get(tags.get("fee", ""))
    found["notes"] = "; ".join(
        f"{key}={tags[key]}" for key in ("power_supply", "fee", "tents", "caravans") if key in tags
    )
    return found


def _figure(text: str) -> float:
    hit = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(?:m|A)?\s*", text)
    return float(hit.group(1)) if hit else np.nan


def _as_site_list(rows: list[dict[str, object]]) -> pd.DataFrame:
    data = {}
    for column in SITE_COLUMNS:
        cells = [row.get(column.name) for row in rows]
        if column.kind == "number":
            data[column.name] = pd.Series([np.nan if c is None else c for c in cells], dtype=float)
        elif column.kind == "whole":
            clean = [None if c is None or c != c else int(float(str(c))) for c in cells]
            data[column.name] = pd.Series(clean, dtype="Int64")
        elif column.kind == "yes_no":
            data[column.name] = pd.Series(cells, dtype="boolean")
        elif column.kind == "date":
            data[column.name] = pd.Series(cells, dtype="datetime64[s]")
        else:
            data[column.name] = pd.Series(["" if c is None else c for c in cells], dtype="str")
    return pd.DataFrame(data).set_index("site_id")


def read_matches(path: Path | None) -> pd.DataFrame:
    """The household's corrections of matches; empty when it keeps none.

    Raises
    ------
    PlanFileError
        See `read_list`.
    """
    if path is None:
        return pd.DataFrame(columns=[*(c.name for c in MATCH_COLUMNS), "where"])
    frame = read_list(path, MATCH_COLUMNS)
    frame["where"] = [f"{path}, row {row}" for row in row_numbers(path)]
    return frame


def name_alikeness(one: str, other: str) -> float:
    """How alike two names are, from 0 to 1, whatever their case, accents and order of words."""

    def plain(name: str) -> str:
        letters = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
        return " ".join(sorted(re.findall(r"[a-z0-9]+", letters.casefold())))

    return SequenceMatcher(None, plain(one), plain(other)).ratio()


def distance_m(lat: float, lon: float, lats: np.ndarray, lons: np.ndarray) -> np.ndarray:
    """Great-circle distances from one point to many, on a sphere of 6371 km, in metres."""
    a, b = np.radians(lat), np.radians(lats)
    half = np.sin((b - a) / 2) ** 2
    half = half + np.cos(a) * np.cos(b) * np.sin(np.radians(lons - lon) / 2) ** 2
    return np.asarray(2 * 6_371_000 * np.arcsin(np.sqrt(half)))


def match_sites(
    sites: pd.DataFrame, on_map: pd.DataFrame, corrections: pd.DataFrame | None = None
) -> pd.DataFrame:
    """Which of the household's sites is which place of the map.

    Parameters
    ----------
    sites, on_map : DataFrame
        See `read_sites` and `map_sites`.
    corrections : DataFrame, optional
        See `read_matches`.

    Returns
    -------
    matches : DataFrame
        See `Gathered.matches`; each site and each place at most once, the nearest pair first.

    Raises
    ------
    PlanFileError
        If a correction names a site or a place that is not there.
    """
    told = _told(sites, on_map, corrections)
    near = constant("site_matching", "near").value
    far = constant("site_matching", "far").value
    alike_enough = constant("site_matching", "name_alike").value
    lats, lons = on_map["lat"].to_numpy(float), on_map["lon"].to_numpy(float)
    pairs = []
    for site_id, site in sites.iterrows():
        away = distance_m(float(site["lat"]), float(site["lon"]), lats, lons)
        ref = _plain_ref(str(site["osm_ref"]))
        for place in np.flatnonzero((away <= far) | (on_map.index == ref)):
            other = on_map.iloc[place]
            alike = name_alikeness(str(site["name"]), str(other["name"]))
            verdict, why = _verdict(ref == other.name, away[place], alike, near, alike_enough)
            said = told.get((str(site_id), str(other.name)))
            if said is False or (verdict == "" and said is None):
                continue
            if said:
                verdict, why = "told by you", "your list of matches says so"
            pairs.append(
                (str(site_id), site["name"], str(other.name), other["name"],
                 round(float(away[place])), round(alike, 2), verdict, why)
            )  # fmt: skip
    paired = {(pair[0], pair[2]) for pair in pairs}
    for (a, b), same in told.items():
        if same and (a, b) not in paired:
            here, spot = sites.loc[[a]].iloc[0], on_map.loc[[b]]
            away = distance_m(
                float(here["lat"]), float(here["lon"]),
                spot["lat"].to_numpy(float), spot["lon"].to_numpy(float),
            )  # fmt: skip
            alike = name_alikeness(str(here["name"]), str(spot["name"].iloc[0]))
            pairs.append(
                (a, here["name"], b, spot["name"].iloc[0], round(float(away[0])), round(alike, 2),
                 "told by you", "your list of matches says so")
            )  # fmt: skip
    rank = {"told by you": 0, "sure": 1, "likely": 2, "look at this": 3}
    pairs.sort(key=lambda pair: (rank[pair[6]], -pair[5], pair[4]))
    used_sites: set[str] = set()
    used_places: set[str] = set()
    kept = []
    for pair in pairs:
        if pair[0] not in used_sites and pair[2] not in used_places:
            kept.append(pair)
            used_sites.add(pair[0])
            used_places.add(pair[2])
    columns = ["site_id", "site", "place_id", "place", "distance_m", "name_alike", "verdict", "why"]
    return pd.DataFrame(kept, columns=columns)


def _verdict(
    by_ref: bool, away_m: float, alike: float, near_m: float, alike_enough: float
) -> tuple[str, str]:
    if by_ref:
        return "sure", "your list names this object of the map"
    said = f"{away_m:.0f} m apart, names {alike * 100:.0f} % alike"
    if away_m <= near_m and alike >= alike_enough:
        return "sure", said
    if alike >= alike_enough:
        return "likely", said
    if away_m <= near_m:
        return "look at this", said + ": near, but the names differ"
    return "", said


def _plain_ref(ref: str) -> str:
    """``way/123`` and ``w123`` as the map's place_id."""
    return re.sub(r"^(n|w|r)(?:ode|ay|elation)?/?", r"\1", ref.strip())


def _told(
    sites: pd.DataFrame, on_map: pd.DataFrame, corrections: pd.DataFrame | None
) -> dict[tuple[str, str], bool]:
    told: dict[tuple[str, str], bool] = {}
    if corrections is None:
        return told
    for row in corrections.to_dict("records"):
        for column, known in (("site_id", sites.index), ("place_id", on_map.index)):
            if row[column] not in known:
                raise PlanFileError(
                    f"'{row[column]}' is not known",
                    f"{row['where']}, column {column}",
                    nearest_name(str(row[column]), [str(one) for one in known]),
                )
        told[(str(row["site_id"]), str(row["place_id"]))] = bool(row["same"])
    return told


def gather_sites(
    region: Region, sites: pd.DataFrame, corrections: pd.DataFrame | None = None
) -> Gathered:
    """The household's sites and the map's, put together.

    Parameters
    ----------
    region : Region
    sites : DataFrame
        See `read_sites`.
    corrections : DataFrame, optional
        See `read_matches`.

    Returns
    -------
    gathered : Gathered
        The household's own cells win over the map's, and `facts` says so. A match that is only
        "look at this" fills no cell until the household says that it is one.
    """
    on_map = map_sites(region)
    matches = match_sites(sites, on_map, corrections)
    firm = matches[matches["verdict"] != "look at this"]
    place_of = pd.Series(firm["place_id"].to_numpy(), index=firm["site_id"].to_numpy())
    mapped = on_map.reindex(place_of.reindex(sites.index).to_numpy())
    mapped.index = sites.index
    merged = sites.reindex(columns=on_map.columns).copy()
    rest = on_map[~on_map.index.isin(matches["place_id"])].copy()
    no_own, no_map = _missing(merged), _missing(mapped)
    take, both = no_own & ~no_map, ~no_own & ~no_map
    other = both & (merged.astype(str).to_numpy() != mapped.astype(str).to_numpy())
    left = ~_missing(rest)
    told: list[_Told] = []
    filled = [""] * len(sites)
    for at, column in enumerate(on_map.columns):
        taken = np.flatnonzero(take[:, at])
        if column not in _NO_FACTS:
            told += [
                _Told(merged, column, ~no_own[:, at], other[:, at], used=True),
                _Told(mapped, column, take[:, at], other[:, at], used=True),
                _Told(mapped, column, both[:, at], other[:, at], used=False),
                _Told(rest, column, left[:, at], None, used=True),
            ]
            for row in taken:
                filled[row] += f" {column}"
        if len(taken):
            merged[column] = merged[column].where(~take[:, at], mapped[column])
    facts = _facts_of(told, [*sites.index, *rest.index])
    merged[FROM_MAP] = pd.Series([columns.strip() for columns in filled], sites.index, dtype="str")
    rest[FROM_MAP] = ""
    together = merged if rest.empty else pd.concat([merged, rest])
    return Gathered(together, matches, facts)


def _missing(frame: pd.DataFrame) -> NDArray[np.bool_]:
    """Which cells say nothing, row by row."""
    return (frame.isna() | (frame.astype(object) == "")).to_numpy(dtype=bool)


@dataclass(frozen=True)
class _Told:
    """The rows of a frame that tell something by one column, and where others say otherwise."""

    frame: pd.DataFrame
    column: str
    rows: NDArray[np.bool_]
    other: NDArray[np.bool_] | None
    used: bool


def _facts_of(told: Sequence[_Told], order: Sequence[object]) -> pd.DataFrame:
    """One row for each fact, site by site."""
    cells: dict[str, list[object]] = {name: [] for name in FACT_COLUMNS}
    for one in told:
        places = np.flatnonzero(one.rows)
        if not len(places):
            continue
        cells["site_id"] += one.frame.index[places].astype(str).tolist()
        cells["fact"] += [one.column] * len(places)
        cells["value"] += one.frame[one.column].iloc[places].astype(str).tolist()
        cells["source"] += one.frame["source"].iloc[places].tolist()
        cells["as_of"] += one.frame["as_of"].iloc[places].tolist()
        cells["used"] += [one.used] * len(places)
        disputed = [False] * len(places) if one.other is None else one.other[places].tolist()
        cells["disputed"] += disputed
    facts = pd.DataFrame(cells)
    facts["source"] = facts["source"].replace("", "site list, no source given")
    facts["as_of"] = pd.to_datetime(facts["as_of"])
    rank = {str(site_id): place for place, site_id in enumerate(order)}
    by_site = np.argsort(facts["site_id"].map(rank).to_numpy(), kind="stable")
    return facts.iloc[by_site].reset_index(drop=True)
