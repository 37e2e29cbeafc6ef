"""Where to stop on the way, so that no stint at the wheel is longer than it should be."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import shapely
from pyproj import Transformer

from planner_kit.reference import constant
from planner_kit.region.projection import local_crs
from planner_kit.states import Check, State

if TYPE_CHECKING:
    import datetime as dt

    from numpy.typing import NDArray

    from planner_kit.outfit.report import Outfit
    from planner_kit.tow.leg import Route

STOP_KINDS = ("services", "rest_area", "lay_by", "picnic_site", "fuel", "parking")
# Places made for other things are stops only where it is known that the outfit fits.
_ONLY_WITH_ROOM = ("fuel", "parking")
REST_COLUMNS = (
    "place_id", "name", "kind", "lat", "lon", "at_km", "arrive", "leave", "minutes", "room", "why",
)  # fmt: skip
_BANS = ("caravan", "caravans", "trailer", "trailers", "access")
_INVITES = tuple(
    f"{before}{word}"
    for before in ("", "capacity:")
    for word in ("caravan", "caravans", "trailer", "trailers", "hgv")
)
_RULE = "The Highway Code (GB), rule 91"


def _value(name: str) -> float:
    return constant("rests", name).value


@dataclass(frozen=True)
class Rests:
    """The stops of a drive.

    Attributes
    ----------
    stops : DataFrame
        `REST_COLUMNS`, in driving order; minutes is all that the stop adds, the way there too.
    extra_min : float
        What the stops add to the drive. [min]
    longest_stint_min : float
        The longest time at the wheel without a break. [min]
    check : Check
    """

    stops: pd.DataFrame
    extra_min: float
    longest_stint_min: float
    check: Check


def choose_stops(
    at_min: NDArray[np.float64], cost: NDArray[np.float64], total_min: float, limit_min: float
) -> list[int]:
    """The stops that keep every stint within a limit at the least cost.

    Parameters
    ----------
    at_min : ndarray
        Time at the wheel at which each stop is passed, in order. [min]
    cost : ndarray
        What each stop costs, at least 0.
    total_min : float
        Time at the wheel of the whole drive. [min]
    limit_min : float
        Longest stint. [min]

    Returns
    -------
    chosen : list of int
        Places in `at_min`. Where no choice keeps the limit, the one with the fewest minutes over
        it, and of those the cheapest.

    Notes
    -----
    Exact: a dynamic programme over the stops, with the pair (minutes over, cost) as its value.
    """
    times = np.concatenate([[0.0], at_min, [total_min]])
    costs = np.concatenate([[0.0], cost, [0.0]])
    best: list[tuple[float, float]] = [(0.0, 0.0)]
    came = [-1]
    for here in range(1, len(times)):
        over = np.maximum(times[here] - times[:here] - limit_min, 0.0)
        over = np.where(over < 1e-9, 0.0, over)
        ways = [
            (round(best[k][0] + float(over[k]), 6), best[k][1] + float(costs[here]), k)
            for k in range(here)
        ]
        first = min(ways)
        best.append(first[:2])
        came.append(first[2])
    chosen = []
    place = came[-1]
    while place > 0:
        chosen.append(place - 1)
        place = came[place]
    return chosen[::-1]


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
        place_id, name, kind, lat, lon, at_km, away_m, near_side (bool), room, cost.
    """
    rows = places[places["kind"].astype(str).isin(STOP_KINDS)].copy()
    columns = ["place_id", "name", "kind", "lat", "lon", "at_km", "away_m", "near_side", "room"]
    if rows.empty or route.length_km == 0:
        return pd.DataFrame(columns=[*columns, "cost"])
    west, south, east, north = route.geometry.bounds
    metres = Transformer.from_crs(4326, local_crs((west, south, east, north)), always_xy=True)
    line = shapely.transform(
        route.geometry, lambda xy: np.stack(metres.transform(xy[:, 0], xy[:, 1]), axis=1)
    )
    x, y = metres.transform(rows["lon"].to_numpy(float), rows["lat"].to_numpy(float))
    points = shapely.points(x, y)
    away = shapely.distance(points, line)
    share = shapely.line_locate_point(line, points, normalized=True)
    rows["away_m"], rows["at_km"] = away, share * route.length_km
    rows["near_side"] = _on_left(line, share, np.asarray(x), np.asarray(y)) == keeps_left
    rows["kind"] = rows["kind"].astype(str)
    rows["room"] = [room_for(str(tags), outfit) for tags in rows["tags"]]
    step = np.searchsorted(route.steps["start_km"].to_numpy(), rows["at_km"], side="right") - 1
    across = dual[np.clip(step, 0, len(dual) - 1)] & ~rows["near_side"].to_numpy(bool)
    keep = (away <= _value("reach")) & (rows["room"] != "no").to_numpy(bool) & ~across
    keep &= (rows["room"] == "yes").to_numpy(bool) | ~rows["kind"].isin(_ONLY_WITH_ROOM).to_numpy(
        bool
    )
    rows = rows[keep].sort_values(["at_km", "place_id"], kind="stable").reset_index(drop=True)
    rows["cost"] = (
        _stop_min(rows["away_m"])
        + _value("stop_cost")
        + np.where(rows["room"] == "yes", 0.0, _value("room_unknown_cost"))
        + np.where(rows["near_side"].astype(bool), 0.0, _value("wrong_side_cost"))
    )
    return pd.DataFrame(rows[[*columns, "cost"]])


def _stop_min(away_m: pd.Series) -> pd.Series:
    """What a stop adds beside the break itself [min]."""
    return 2 * away_m / 1000 / _value("detour_speed") * 60 + _value("stop_overhead")


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


def plan_rests(
    route: Route,
    places: pd.DataFrame,
    outfit: Outfit,
    depart: dt.datetime,
    *,
    stint_min: float,
    break_min: float,
    keeps_left: bool,
    dual: NDArray[np.bool_],
) -> Rests:
    """The breaks of a drive.

    Parameters
    ----------
    route : Route
    places : DataFrame
        The region's places.
    outfit : Outfit
    depart : datetime
    stint_min, break_min : float
        Longest stint and length of a break that the household wants. [min]
    keeps_left : bool
    dual : ndarray of bool, one for each step

    Returns
    -------
    rests : Rests
        A ferry counts as a break of its own and is not listed.
    """
    stops = stops_beside(route, places, outfit, keeps_left=keeps_left, dual=dual)
    ferry = route.steps["road_class"].to_numpy() == "ferry"
    minutes = route.steps["time_s"].to_numpy(dtype=float) / 60
    edges_km = np.append(route.steps["start_km"].to_numpy(dtype=float), route.length_km)
    wheel = np.append(0.0, np.cumsum(np.where(ferry, 0.0, minutes)))
    clock = np.append(0.0, np.cumsum(minutes))
    at_km = stops["at_km"].to_numpy(dtype=float)
    at_wheel = np.interp(at_km, edges_km, wheel)
    # Each stretch between ferries is planned by itself: the crossing is a rest.
    ends = [*np.unique(wheel[1:][ferry]).tolist(), float(wheel[-1])]
    chosen: list[int] = []
    longest, begin = 0.0, 0.0
    for end in ends:
        inside = np.flatnonzero((at_wheel > begin) & (at_wheel < end))
        cost = stops["cost"].to_numpy(dtype=float)[inside]
        picked = inside[choose_stops(at_wheel[inside] - begin, cost, end - begin, stint_min)]
        chosen.extend(int(place) for place in picked)
        stints = np.diff(np.concatenate([[begin], at_wheel[picked], [end]]))
        longest, begin = max(longest, float(stints.max(initial=0.0))), end
    frame, extra = _with_times(stops.iloc[chosen], np.interp(at_km[chosen], edges_km, clock),
                               depart, break_min, stint_min)  # fmt: skip
    return Rests(frame, extra, longest, _check(frame, longest, stint_min, break_min))


def _with_times(
    stops: pd.DataFrame,
    clock_min: NDArray[np.float64],
    depart: dt.datetime,
    break_min: float,
    stint_min: float,
) -> tuple[pd.DataFrame, float]:
    extra = 0.0
    rows = []
    for (_, stop), at in zip(stops.iterrows(), clock_min, strict=True):
        added = break_min + float(_stop_min(pd.Series([stop["away_m"]])).iloc[0])
        arrive = depart + pd.Timedelta(minutes=at + extra + (added - break_min) / 2)
        extra += added
        doubt = [] if stop["room"] == "yes" else ["nobody mapped whether the outfit has room here"]
        if not stop["near_side"]:
            doubt.append("it lies across the road")
        rows.append(
            {
                **{key: stop[key] for key in ("place_id", "name", "kind", "lat", "lon", "at_km")},
                "arrive": arrive,
                "leave": arrive + pd.Timedelta(minutes=break_min),
                "minutes": added,
                "room": stop["room"],
                "why": "; ".join([f"keeps stints within {stint_min:.0f} min", *doubt]),
            }
        )
    return pd.DataFrame(rows, columns=list(REST_COLUMNS)), extra


def _check(stops: pd.DataFrame, longest: float, stint_min: float, break_min: float) -> Check:
    advised, advised_break = _value("stint_max"), _value("break_min")
    unsure = int((stops["room"] != "yes").sum())
    if longest > stint_min + 1e-6:
        state = State.NOT_FINE
        sentence = (
            f"No mapped stop keeps you within {stint_min:.0f} min at the wheel: the longest stint "
            f"is {longest:.0f} min. Plan a break of your own, in a safe place."
        )
    elif longest > advised or break_min < advised_break:
        state = State.LOOK
        sentence = (
            f"The longest stint is {longest:.0f} min with breaks of {break_min:.0f} min; advised "
            f"is a break of at least {advised_break:.0f} min every {advised / 60:.0f} hours."
        )
    elif unsure:
        state = State.LOOK
        sentence = (
            f"{len(stops)} break(s), longest stint {longest:.0f} min; at {unsure} of them nobody "
            "mapped whether the outfit has room, so have another in mind."
        )
    else:
        state = State.FINE
        sentence = f"{len(stops)} break(s); the longest stint is {longest:.0f} min."
    return Check(
        subject="breaks",
        state=state,
        sentence=sentence,
        figure=longest,
        limit=min(stint_min, advised),
        unit="min",
        margin=min(stint_min, advised) - longest,
        rule="a break of 15 min after every two hours of driving is recommended",
        source=_RULE,
        basis="published",
    )
