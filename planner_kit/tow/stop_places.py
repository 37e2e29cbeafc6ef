"""The places beside a route at which an outfit may stop, and what each has."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import shapely
from pyproj import Transformer

from planner_kit.reference import constant
from planner_kit.region.projection import local_crs

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner_kit.outfit.report import Outfit
    from planner_kit.tow.leg import Route

REST_KINDS = ("services", "rest_area", "lay_by", "picnic_site")
FILL_KINDS = ("fuel", "charging_station")
STOP_KINDS = (*REST_KINDS, *FILL_KINDS, "parking")
# Places made for other things are places to rest only where it is known that the outfit fits.
_ONLY_WITH_ROOM = (*FILL_KINDS, "parking")
_FOOD_KINDS = ("restaurant", "cafe", "pub", "fast_food", "bakery")
_PLAY_KINDS = ("playground", "park", "toilets")
_BANS = ("caravan", "caravans", "trailer", "trailers", "access")
_INVITES = tuple(
    f"{before}{word}"
    for before in ("", "capacity:")
    for word in ("caravan", "caravans", "trailer", "trailers", "hgv")
)
_FUEL_TAGS = {
    "diesel": ("fuel:diesel", "fuel:HGV_diesel"),
    "petrol": ("fuel:octane_95", "fuel:octane_98", "fuel:e10", "fuel:octane_91"),
}
_POWER = re.compile(r"(\d+(?:\.\d+)?)\s*(k?W)", re.IGNORECASE)
STOP_COLUMNS = (
    "place_id", "name", "kind", "lat", "lon", "at_km", "away_m", "near_side", "room", "rests",
    "food", "play", "sells", "power_kw", "opening_hours",
)  # fmt: skip


def _value(name: str) -> float:
    return constant("rests", name).value


def room_for(tags: str, outfit: Outfit) -> str:
    """Whether a mapped place has room for the outfit: yes, no or unknown.

    Parameters
    ----------
    tags : str
        OpenStreetMap tags as a JSON object.
    outfit : Outfit
    """
    said: dict[str, Any] = json.loads(tags) if tags else {}
    if any(said.get(key) in ("no", "private") for key in _BANS):
        return "no"
    for key, need in (("maxlength", outfit.length_m), ("maxheight", outfit.height_m)):
        limit = _number(said.get(key))
        if limit is not None and (need is None or need > limit):
            return "no" if need is not None else "unknown"
    for key in _INVITES:
        answer = str(said.get(key, ""))
        if answer in ("yes", "designated") or (answer.isdigit() and int(answer) > 0):
            return "yes"
    return "unknown"


def _number(text: object) -> float | None:
    try:
        return float(str(text).removesuffix("m").strip())
    except ValueError:
        return None


def sells_fuel(tags: str, fuel: str) -> str:
    """Whether a filling station sells a fuel: yes, no or unknown."""
    said: dict[str, Any] = json.loads(tags) if tags else {}
    keys = _FUEL_TAGS["diesel" if fuel == "diesel" else "petrol"]
    answers = [said[key] for key in keys if key in said]
    if "yes" in answers:
        return "yes"
    return "no" if answers else "unknown"


def charging_power_kw(tags: str) -> float | None:
    """The most that a charging station gives, as tagged; None where nobody mapped it [kW]."""
    said: dict[str, Any] = json.loads(tags) if tags else {}
    powers = [
        float(found[1]) * (1.0 if found[2].lower() == "kw" else 0.001)
        for key, text in said.items()
        if key.endswith(":output") or key in ("charging_station:output", "maxpower")
        for found in _POWER.finditer(str(text))
    ]
    return max(powers, default=None)


def stops_beside(
    route: Route, places: pd.DataFrame, outfit: Outfit, *, keeps_left: bool, dual: NDArray[np.bool_]
) -> pd.DataFrame:
    """The places beside a route at which the outfit may stop, in driving order.

    Parameters
    ----------
    route : Route
    places : DataFrame
        The region's places.
    outfit : Outfit
    keeps_left : bool
        Traffic keeps left.
    dual : ndarray of bool, one for each step
        The carriageways are separate, so that a stop across the road cannot be reached.

    Returns
    -------
    stops : DataFrame
        place_id, name, kind, lat, lon, at_km, away_m, near_side (bool), room (yes or unknown),
        rests (bool: a place to rest at), food and play (bool: on the spot or close by), sells
        (yes, no, unknown: the car's fuel), power_kw (of charging; NaN where not mapped),
        opening_hours. Places that the outfit does not fit are left out.
    """
    kinds = places["kind"].astype(str)
    rows = places[kinds.isin(STOP_KINDS)].copy()
    if rows.empty or route.length_km == 0:
        return pd.DataFrame(columns=list(STOP_COLUMNS))
    west, south, east, north = route.geometry.bounds
    metres = Transformer.from_crs(4326, local_crs((west, south, east, north)), always_xy=True)
    line = shapely.transform(
        route.geometry, lambda xy: np.stack(metres.transform(xy[:, 0], xy[:, 1]), axis=1)
    )
    x, y = (np.asarray(v) for v in metres.transform(rows["lon"].to_numpy(float),
            rows["lat"].to_numpy(float)))  # fmt: skip
    points = shapely.points(x, y)
    away = shapely.distance(points, line)
    share = shapely.line_locate_point(line, points, normalized=True)
    rows["away_m"], rows["at_km"] = away, share * route.length_km
    rows["near_side"] = _on_left(line, share, x, y) == keeps_left
    rows["kind"] = rows["kind"].astype(str)
    step = np.searchsorted(route.steps["start_km"].to_numpy(), rows["at_km"], side="right") - 1
    across = dual[np.clip(step, 0, len(dual) - 1)] & ~rows["near_side"].to_numpy(bool)
    near = (away <= _value("reach")) & ~across
    rows, points = rows[near], points[near]
    tags = rows["tags"].astype(str)
    rows["room"] = [room_for(text, outfit) for text in tags]
    fits = rows["room"] == "yes"
    rows["rests"] = fits | ~rows["kind"].isin(_ONLY_WITH_ROOM)
    for column, others, own in (
        ("food", _FOOD_KINDS, ("services", "picnic_site")),
        ("play", _PLAY_KINDS, ("services", "picnic_site")),
    ):
        close = _close_to(points, places[kinds.isin(others)], metres)
        rows[column] = close | rows["kind"].isin(own)
    rows["play"] |= np.array(
        [json.loads(text or "{}").get("toilets") == "yes" for text in tags], dtype=bool
    )
    rows["sells"] = [
        sells_fuel(text, outfit.fuel) if kind == "fuel" else "no"
        for text, kind in zip(tags, rows["kind"], strict=True)
    ]
    rows["power_kw"] = [
        charging_power_kw(text) if kind == "charging_station" else None
        for text, kind in zip(tags, rows["kind"], strict=True)
    ]
    rows["power_kw"] = rows["power_kw"].astype("float64")
    keep = (rows["room"] != "no") & (rows["rests"] | rows["kind"].isin(FILL_KINDS))
    rows = rows[keep].sort_values(["at_km", "place_id"], kind="stable").reset_index(drop=True)
    return pd.DataFrame(rows[list(STOP_COLUMNS)])


def _close_to(
    points: NDArray[np.object_], others: pd.DataFrame, metres: Transformer
) -> NDArray[np.bool_]:
    """Whether each point has one of some places within a short walk."""
    if others.empty or len(points) == 0:
        return np.zeros(len(points), dtype=bool)
    x, y = metres.transform(others["lon"].to_numpy(float), others["lat"].to_numpy(float))
    tree = shapely.STRtree(shapely.points(x, y))
    found = tree.query(points, predicate="dwithin", distance=_value("walk"))
    return np.isin(np.arange(len(points)), found[0])


def _on_left(
    line: shapely.LineString,
    share: NDArray[np.float64],
    x: NDArray[np.float64],
    y: NDArray[np.float64],
) -> NDArray[np.bool_]:
    """Whether points lie to the left of a line, seen in its direction where they are nearest."""
    step = min(20.0 / max(line.length, 1.0), 0.5)
    a = shapely.get_coordinates(
        shapely.line_interpolate_point(line, np.clip(share - step, 0, 1), normalized=True)
    )
    b = shapely.get_coordinates(
        shapely.line_interpolate_point(line, np.clip(share + step, 0, 1), normalized=True)
    )
    cross = (b[:, 0] - a[:, 0]) * (y - a[:, 1]) - (b[:, 1] - a[:, 1]) * (x - a[:, 0])
    return np.asarray(cross > 0)
