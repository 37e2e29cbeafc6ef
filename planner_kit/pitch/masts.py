"""The list of masts that a household or a region keeps, and where they stand from a pitch."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from pyproj import Geod

from planner_kit.pitch.propagation import channel_frequency_mhz, eirp_of_erp_dbm
from planner_kit.trip.lists import ListColumn, read_list

if TYPE_CHECKING:
    from pathlib import Path

    from planner_kit.region import Region

_WGS84 = Geod(ellps="WGS84")
# A mast of the map this close to a listed one is the same.
_SAME_MAST_M = 200.0

MAST_COLUMNS = (
    ListColumn("mast_id", "id", "a short name of its own", True),
    ListColumn("name", "text", "as people call it"),
    ListColumn("lat", "number", "WGS 84 [deg]", True, low=-90, high=90),
    ListColumn("lon", "number", "WGS 84 [deg]", True, low=-180, high=180),
    ListColumn("height_m", "number", "aerial above the ground [m]", low=0, high=1000),
    ListColumn("service", "choice", "what it sends", True, choices=("mobile", "tv")),
    ListColumn("operator", "text", "whose phones it serves; empty for television"),
    ListColumn("band_mhz", "number", "carrier frequency [MHz]", low=30, high=100_000),
    ListColumn(
        "eirp_dbm", "number", "power over isotropic of one carrier [dBm]", low=-30, high=120
    ),
    ListColumn("bandwidth_mhz", "number", "of the carrier; 10 MHz if empty", low=1, high=400),
    ListColumn("channel", "whole", "UHF television channel", low=21, high=69),
    ListColumn(
        "polarisation", "choice", "of the waves", choices=("horizontal", "vertical", "mixed")
    ),
    ListColumn("erp_w", "number", "power over a half-wave dipole [W]", low=0, high=10_000_000),
    ListColumn("notes", "text", "anything else"),
    ListColumn("source", "text", "where it was read"),
)


def read_masts(path: Path | None) -> pd.DataFrame:
    """The mast list; an empty frame of the same columns when there is none.

    Parameters
    ----------
    path : Path or None
        A CSV with the columns of `MAST_COLUMNS`; one row for each service and carrier.

    Returns
    -------
    masts : DataFrame
        Missing figures are NaN.

    Raises
    ------
    PlanFileError
        See `planner_kit.trip.lists.read_list`.
    """
    if path is None:
        return pd.DataFrame(columns=[column.name for column in MAST_COLUMNS])
    return read_list(path, MAST_COLUMNS)


def masts_from(masts: pd.DataFrame, lat: float, lon: float) -> pd.DataFrame:
    """The masts as seen from one position, nearest first.

    Parameters
    ----------
    masts : DataFrame
        As `read_masts` returns it.
    lat, lon : float
        WGS 84. [deg]

    Returns
    -------
    seen : DataFrame
        The rows of `masts` with distance_km (along the ellipsoid), bearing_deg (from true north,
        0 up to 360), frequency_mhz (the band, else the channel's centre) and power_dbm (EIRP, else
        made from ERP); NaN where missing.
    """
    seen = masts.reset_index(drop=True).copy()
    number = {
        name: seen[name].astype("Float64").to_numpy(dtype="float64", na_value=np.nan)
        for name in ("lat", "lon", "band_mhz", "channel", "eirp_dbm", "erp_w")
    }
    n = len(seen)
    bearing, _, metres = _WGS84.inv(np.full(n, lon), np.full(n, lat), number["lon"], number["lat"])
    seen["distance_km"] = np.asarray(metres, dtype=np.float64) / 1000
    seen["bearing_deg"] = np.asarray(bearing, dtype=np.float64) % 360
    band, eirp = number["band_mhz"], number["eirp_dbm"]
    seen["frequency_mhz"] = np.where(np.isnan(band), channel_frequency_mhz(number["channel"]), band)
    seen["power_dbm"] = np.where(np.isnan(eirp), eirp_of_erp_dbm(number["erp_w"]), eirp)
    return seen.sort_values("distance_km", kind="stable", ignore_index=True)


def region_masts(region: Region, masts: pd.DataFrame) -> pd.DataFrame:
    """The mast list with the map's masts that it does not name, as masts of unknown operator.

    Parameters
    ----------
    region : Region
    masts : DataFrame
        As `read_masts` returns it.

    Returns
    -------
    masts : DataFrame
        The rows of `masts`, then one for each mast of the map further than 200 m from all of them;
        only its position, and its height where the map gives it, are known.
    """
    places = region.places[region.places["kind"].astype(str) == "mast"]
    if places.empty:
        return masts
    lat, lon = places["lat"].to_numpy(), places["lon"].to_numpy()
    new = np.ones(len(places), dtype=bool)
    for mast_lat, mast_lon in zip(masts["lat"], masts["lon"], strict=True):
        n = len(places)
        _, _, metres = _WGS84.inv(
            lon, lat, np.full(n, float(mast_lon)), np.full(n, float(mast_lat))
        )
        new &= np.asarray(metres) > _SAME_MAST_M
    found = places[new]
    if found.empty:
        return masts
    tags = [json.loads(text) for text in found["tags"]]
    added = pd.DataFrame(
        {
            "mast_id": found["place_id"].astype(str),
            "name": [str(name) or "A mast of the map" for name in found["name"]],
            "lat": found["lat"].astype(float),
            "lon": found["lon"].astype(float),
            "height_m": [_tagged_m(tag.get("height", "")) for tag in tags],
            "service": "mobile",
            "operator": "",
            "notes": "operator unknown",
            "source": "OpenStreetMap",
        }
    ).reindex(columns=list(masts.columns))
    if masts.empty:
        return added.reset_index(drop=True)
    return pd.concat([masts, added.astype(masts.dtypes.to_dict())], ignore_index=True)


def _tagged_m(text: str) -> float:
    """A height tag in metres; NaN for feet or anything else that is not a plain number."""
    match = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*m?\s*", str(text))
    return float(match.group(1)) if match else float("nan")


def compass_point(bearing_deg: float) -> str:
    """One of sixteen points of the compass, such as ``north-north-east``."""
    points = (
        "north", "north-north-east", "north-east", "east-north-east",
        "east", "east-south-east", "south-east", "south-south-east",
        "south", "south-south-west", "south-west", "west-south-west",
        "west", "west-north-west", "north-west", "north-north-west",
    )  # fmt: skip
    return points[round(bearing_deg / 22.5) % 16]
