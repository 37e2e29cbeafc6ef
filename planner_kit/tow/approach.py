"""The last miles of a tow: each stretch, what to look at by eye, and from where to arrive."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from planner_kit.reference import constant
from planner_kit.region.projection import WGS84
from planner_kit.states import Check, State
from planner_kit.tow.passing import passing_width_m
from planner_kit.tow.whereabouts import METRIC, WIDTH_WORDS, road_kind
from planner_kit.trip.display import bearing, dimension, distance, gradient, metres

if TYPE_CHECKING:
    from collections.abc import Hashable

    from planner_kit.outfit.report import Outfit
    from planner_kit.tow.leg import Route
    from planner_kit.trip.household import Units

APPROACH_COLUMNS = (
    "from_end_km", "name", "road_class", "length_m", "width_m", "width_known", "steepest_pct",
    "gradient_error_pct", "bend_radius_m", "turn_deg", "beyond_road_m", "passing_places", "meets",
    "surface", "entrance", "state", "look_at", "lat", "lon",
)  # fmt: skip


@dataclass(frozen=True)
class Approach:
    """The end of a route, as somebody who has never been there needs it.

    Attributes
    ----------
    name : str
        Of the place where the route ends.
    length_km : float
        How much of the route is told. [km]
    stretches : DataFrame
        In driving order, one row for each road: from_end_km (where it begins, before the end),
        name, road_class, length_m, width_m, width_known (as tagged, derived ..., guessed ..., not
        known), steepest_pct, gradient_error_pct, bend_radius_m (inf for straight), turn_deg (of
        the turn into it, right positive), beyond_road_m (of its worst corner), passing_places
        (mapped), meets (yes, no, unknown: an oncoming car can pass), surface, entrance (bool: the
        last), state (word), look_at, lat, lon.
    look_at : tuple of str
        What to check by eye, in the order in which it comes.
    arrive_heading_deg : float or None
        The direction in which the outfit drives as it reaches the entrance. [deg]
    checks : tuple of Check
        One that says how safe the approach is; where it is not, what would be needed.
    """

    name: str
    length_km: float
    stretches: pd.DataFrame
    look_at: tuple[str, ...]
    arrive_heading_deg: float | None
    checks: tuple[Check, ...]


def _value(name: str) -> float:
    return constant("towing_costs", name).value


def approach_report(
    route: Route,
    roads: pd.DataFrame,
    outfit: Outfit,
    name: str,
    *,
    corners: pd.DataFrame | None = None,
    units: Units = METRIC,
    at_home: bool = False,
) -> Approach:
    """The last stretches of a route.

    Parameters
    ----------
    route : Route
    roads : DataFrame
        The region's roads.
    outfit : Outfit
    name : str
        Of the place where the route ends.
    corners : DataFrame, optional
        The table of `route_corners`, to tell those that the outfit does not get round.
    units : Units
        In which the sentences tell distances.
    at_home : bool
        The route ends at the household's own door, which it knows and no site can tell.

    Returns
    -------
    approach : Approach
        Nothing that the map does not say is shown as fine.
    """
    last_km = min(_value("approach_km"), route.length_km)
    stretches = _stretches(route, roads, outfit, last_km, corners, units)
    heading = _heading_deg(route)
    look_at = _in_order(stretches, heading, units)
    return Approach(
        name, last_km, stretches, look_at, heading,
        (_check(name, last_km, stretches, outfit, units, at_home),),
    )  # fmt: skip


def _stretches(
    route: Route,
    roads: pd.DataFrame,
    outfit: Outfit,
    last_km: float,
    corners: pd.DataFrame | None,
    units: Units,
) -> pd.DataFrame:
    steps = route.steps
    ends_km = steps["start_km"] + steps["length_m"] / 1000
    steps = steps[(ends_km > route.length_km - last_km) & (steps["road_class"] != "ferry")]
    if steps.empty:
        return pd.DataFrame(columns=list(APPROACH_COLUMNS))
    rows = roads.iloc[steps["road_id"].to_numpy()]
    forward = steps["forward"].to_numpy(dtype=bool)
    points = [
        line.interpolate(0.0 if way else 1.0, normalized=True)
        for line, way in zip(rows["geometry"].array, forward, strict=True)
    ]
    width = steps["width_m"].to_numpy(dtype=float)
    oneway = rows["oneway"].to_numpy() != 0
    vehicle = outfit.width_m if outfit.width_m is not None else _value("widest_lawful")
    passes = oneway | (width >= passing_width_m(vehicle))
    error = (
        rows["gradient_error_pct"].to_numpy(dtype=float, na_value=np.nan)
        if "gradient_error_pct" in rows
        else np.full(len(rows), np.nan)
    )
    both = steps[["steepest_up_pct", "steepest_down_pct"]].to_numpy(dtype=float)
    slope = np.fmax(both[:, 0], both[:, 1])
    label = [
        " ".join(word for word in (str(ref), str(street)) if word) or f"unnamed {road_kind(kind)}"
        for ref, street, kind in zip(steps["ref"], steps["name"], steps["road_class"], strict=True)
    ]
    frame = pd.DataFrame(
        {
            "from_end_km": route.length_km - steps["start_km"].to_numpy(dtype=float),
            "name": label,
            "road_class": steps["road_class"].to_numpy(),
            "length_m": steps["length_m"].to_numpy(dtype=float),
            "width_m": width,
            "width_known": [WIDTH_WORDS.get(str(s), str(s)) for s in steps["width_source"]],
            "steepest_pct": slope,
            "part_unknown": np.isnan(both).any(axis=1),
            "gradient_error_pct": error,
            "bend_radius_m": rows["bend_radius_m"].to_numpy(dtype=float),
            "turn_deg": steps["turn_deg"].to_numpy(dtype=float),
            "passing_places": rows["passing_places"].to_numpy(dtype=int),
            "meets": np.where(np.isnan(width) & ~oneway, "unknown", np.where(passes, "yes", "no")),
            "surface": rows["surface"].astype(str).to_numpy(),
            "entrance": np.arange(len(steps)) == len(steps) - 1,
            "lat": [round(point.y, 6) for point in points],
            "lon": [round(point.x, 6) for point in points],
        }
    )
    frame["beyond_road_m"] = _beyond_m(steps, corners)
    frame = _joined(frame)
    told = [_judged(row, vehicle, units) for row in frame.to_dict("records")]
    frame["state"] = [state.value for state, _ in told]
    frame["look_at"] = ["; ".join(words) for _, words in told]
    return frame[list(APPROACH_COLUMNS)]


def _beyond_m(steps: pd.DataFrame, corners: pd.DataFrame | None) -> list[float]:
    """By how much the worst corner of each step sweeps more than the road; 0 for none [m]."""
    if corners is None or corners.empty:
        return [0.0] * len(steps)
    worst = corners.groupby("at_km")["beyond_road_m"].max()
    return [float(m) for m in steps["start_km"].map(worst).fillna(0.0)]


def _joined(frame: pd.DataFrame) -> pd.DataFrame:
    """Pieces of one road with the same width, without a turn between them, as one stretch."""
    same = ["name", "road_class", "width_m", "width_known", "meets", "surface"]
    new = frame[same].ne(frame[same].shift()).any(axis=1) & ~(
        frame["width_m"].isna() & frame["width_m"].shift().isna() & frame["name"].eq(
            frame["name"].shift()
        )
    )  # fmt: skip
    new |= frame["turn_deg"].abs() >= _value("sharp_turn")
    new |= frame["beyond_road_m"] > 0
    grouped = frame.groupby(new.cumsum(), sort=False)
    first = grouped.first()
    first["width_m"] = grouped["width_m"].min()
    first["length_m"] = grouped["length_m"].sum()
    first["steepest_pct"] = grouped["steepest_pct"].max()
    first["part_unknown"] = grouped["part_unknown"].max()
    first["gradient_error_pct"] = grouped["gradient_error_pct"].max()
    first["bend_radius_m"] = grouped["bend_radius_m"].min()
    first["passing_places"] = grouped["passing_places"].sum()
    first["entrance"] = grouped["entrance"].max()
    return first.reset_index(drop=True)


def _judged(row: dict[Hashable, Any], vehicle_m: float, units: Units) -> tuple[State, list[str]]:
    """The state of a stretch, and what to look at on it."""
    words: list[str] = []
    state = State.FINE
    width, need = float(row["width_m"]), vehicle_m + _value("carriageway_margin")
    sure = row["width_known"] == WIDTH_WORDS["tagged"]
    if np.isnan(width):
        state, words = State.UNKNOWN, ["its width: none is mapped"]
    elif width < need:
        state = State.NOT_FINE if sure else State.UNKNOWN
        words.append(
            f"its width: {dimension(width, units, 'limit')}, {row['width_known']}; the outfit with "
            f"its margin needs {dimension(need, units)}"
        )
    elif row["meets"] == "no":
        places = int(row["passing_places"])
        room = f"passing places mapped: {places}" if places else "no passing place is mapped"
        state = State.LOOK if sure else State.UNKNOWN
        words.append(
            f"where to let an oncoming car by: {dimension(width, units, 'limit')} wide, "
            f"{row['width_known']}, {room}"
        )
    elif not sure:
        state = State.UNKNOWN
    slope = float(row["steepest_pct"])
    if np.isnan(slope):
        state = _graver(state, State.UNKNOWN)
        words.append("how steep it is: no gradient is known")
    elif slope >= _value("steep_check"):
        state = _graver(state, State.LOOK)
        words.append(f"the hill of up to {gradient(slope, units)}")
    if row["part_unknown"] and not np.isnan(slope):
        state = _graver(state, State.UNKNOWN)
        words.append("how steep the rest of it is: no gradient is known")
    radius = float(row["bend_radius_m"])
    if radius <= _value("bend_full"):
        state = _graver(state, State.LOOK)
        words.append(f"a bend of {metres(radius, units)} radius")
    turn = float(row["turn_deg"])
    if abs(turn) >= _value("sharp_turn"):
        state = _graver(state, State.LOOK)
        words.append(f"the sharp turn {'right' if turn > 0 else 'left'} into it")
    beyond = float(row["beyond_road_m"])
    if beyond > 0:
        state = _graver(state, State.LOOK if sure else State.UNKNOWN)
        words.append(
            f"a corner where the outfit sweeps {metres(beyond, units)} more than the road has"
        )
    if row["surface"] == "unknown" and row["road_class"] in ("track", "service"):
        state = _graver(state, State.UNKNOWN)
        words.append("its surface: none is mapped")
    return state, words


def _graver(one: State, other: State) -> State:
    order = (State.FINE, State.UNKNOWN, State.LOOK, State.NOT_FINE)
    return max(one, other, key=order.index)


def _heading_deg(route: Route) -> float | None:
    """The direction of the last 30 m of a route, clockwise from north [deg]."""
    points = np.asarray(route.geometry.coords)[:, :2]
    if len(points) < 2 or route.length_km == 0:
        return None
    share = max(0.0, 1 - 0.03 / route.length_km)
    before = route.geometry.interpolate(share, normalized=True)
    azimuth, _, metres = WGS84.inv(before.x, before.y, points[-1, 0], points[-1, 1])
    return None if metres < 0.5 else float(azimuth) % 360


def _in_order(stretches: pd.DataFrame, heading_deg: float | None, units: Units) -> tuple[str, ...]:
    told = [
        f"{distance(row['from_end_km'], units)} before the end, {row['name']}: {row['look_at']}."
        for row in stretches.to_dict("records")
        if row["look_at"]
    ]
    if stretches.empty:
        return tuple(told)
    last = stretches.iloc[-1]
    side = ""
    if abs(last["turn_deg"]) >= 30:
        side = f", turning {'right' if last['turn_deg'] > 0 else 'left'} into it"
    towards = "" if heading_deg is None else f" Arrive driving {bearing(heading_deg)}{side}."
    told.append(
        f"The entrance, on {last['name']}: how wide the gate is and whether it stands open, "
        "whether the outfit can swing in without blocking the road, and where to turn round."
        f"{towards}"
    )
    return tuple(told)


def _check(
    name: str,
    last_km: float,
    stretches: pd.DataFrame,
    outfit: Outfit,
    units: Units,
    at_home: bool,
) -> Check:
    subject = f"approach to {name}"
    if stretches.empty:
        return Check(
            subject, State.UNKNOWN, "Nothing is known about the way to the entrance.",
            source="OpenStreetMap tags and terrain model",
        )  # fmt: skip
    state = State.FINE
    for word in stretches["state"]:
        state = _graver(state, State(word))
    width = stretches["width_m"].to_numpy(dtype=float)
    slope = stretches["steepest_pct"].to_numpy(dtype=float)
    least = None if np.isnan(width).all() else float(np.nanmin(width))
    narrow = (
        "an unknown width"
        if least is None
        else f"{dimension(least, units, 'limit')} at the narrowest"
    )
    steep = (
        "unknown gradients"
        if np.isnan(slope).all()
        else f"{gradient(float(np.nanmax(slope)), units)} at the steepest"
    )
    unsure = stretches["width_known"] != WIDTH_WORDS["tagged"]
    metres = float(stretches.loc[unsure, "length_m"].sum())
    guess = f" {distance(metres / 1000, units)} of it has no measured width." if metres else ""
    verdict = {
        State.FINE: "Nothing on it comes near a limit.",
        State.LOOK: "Look at the places that are listed.",
        State.UNKNOWN: "The map does not say enough to call it safe: "
        + (
            "measure it, or go by what you know of it."
            if at_home
            else "ask the site how caravans arrive."
        ),
        State.NOT_FINE: _needed(stretches, outfit, units, at_home),
    }[state]
    worst = stretches.iloc[int(np.argmax([w == state.value for w in stretches["state"]]))]
    return Check(
        subject=subject,
        state=state,
        sentence=f"The last {distance(last_km, units)} have {narrow} and {steep}.{guess} {verdict}",
        figure=least,
        unit="m",
        rule="narrowest and steepest on the last stretch",
        source="OpenStreetMap tags and terrain model",
        lat=float(worst["lat"]),
        lon=float(worst["lon"]),
    )


def _needed(stretches: pd.DataFrame, outfit: Outfit, units: Units, at_home: bool) -> str:
    """Why there is no safe approach, and what would make one."""
    vehicle = outfit.width_m if outfit.width_m is not None else _value("widest_lawful")
    need = vehicle + _value("carriageway_margin")
    bad = stretches[stretches["state"] == State.NOT_FINE.value]
    least = float(bad["width_m"].min())
    return (
        f"There is no safe approach for this outfit: {', '.join(dict.fromkeys(bad['name']))} is "
        f"{dimension(least, units, 'limit')} wide and {dimension(need, units)} is needed, "
        f"{dimension(need - least, units)} more. "
        + (
            "Leave the caravan where it fits."
            if at_home
            else "Ask the site for another way in, or leave the caravan where it fits."
        )
    )
