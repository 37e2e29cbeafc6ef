"""A route in plain sentences: which way to turn, onto what road, signed where, and for how long."""

from __future__ import annotations

import bisect
from collections.abc import Hashable
from itertools import pairwise
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from planner_kit.reference import constant
from planner_kit.region.projection import WGS84
from planner_kit.tow.whereabouts import road_kind
from planner_kit.trip.display import clock, distance, gradient

if TYPE_CHECKING:
    from planner_kit.tow.leg import Leg, Route
    from planner_kit.trip.household import Units

Row = dict[Hashable, Any]
CARD_COLUMNS = ("at_km", "at", "instruction", "then_km", "then", "look_out", "lat", "lon")
_COMPASS = (
    "north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west",
)  # fmt: skip
# The direction in which one sets off is that of this first piece of the way.
_FIRST_KM = 0.05
_ORDINALS = {1: "1st", 2: "2nd", 3: "3rd"}
# Notes of a step that a passenger should know of before it comes.
_TOLD = ("tunnel", "toll", "ford")


def turn_words(turn_deg: float) -> str:
    """A change of direction in words, right positive."""
    size = abs(turn_deg)
    side = "right" if turn_deg > 0 else "left"
    if size < 30:
        return "go on"
    if size < 60:
        return f"bear {side}"
    return f"turn sharp {side}" if size >= 110 else f"turn {side}"


def route_card(route: Route, units: Units, *, leg: Leg | None = None) -> pd.DataFrame:
    """The instructions for a route.

    Parameters
    ----------
    route : Route
    units : Units
        Miles or kilometres.
    leg : Leg, optional
        The day's tow along it: its stops stand between the turns, and the arrival says where.

    Returns
    -------
    card : DataFrame
        at_km and at (text), instruction, then_km and then (text: how far until the next one),
        look_out (at the turn or before the next one: corners that need the whole road, narrow
        and steep parts, tolls, widths that are not mapped), lat, lon of the place; the last row is
        the arrival.
    """
    steps = route.steps.to_dict("records")
    if not steps:
        return pd.DataFrame(columns=list(CARD_COLUMNS))
    firsts, texts = [0], [f"Set off {_heading(route)}on {_label(steps[0])}{_signed(steps, 0)}"]
    for place, (before, step) in enumerate(pairwise(steps), start=1):
        text = _instruction(before, step)
        if text:
            firsts.append(place)
            texts.append(text + _signed(steps, place))
    starts = [*(float(steps[place]["start_km"]) for place in firsts), route.length_km]
    texts.append("Arrive" if leg is None else f"Arrive at {leg.to_name}")
    ends = [*firsts[1:], len(steps)]
    look_out = [_look_out(steps[a:b], units) for a, b in zip(firsts, ends, strict=True)] + [""]
    if leg is not None:
        for at, text in _corners(leg):
            place = max(bisect.bisect_right(starts, at + 1e-9) - 1, 0)
            said = look_out[place].split("; ") if look_out[place] else []
            look_out[place] = "; ".join(dict.fromkeys([text, *said]))
        for at, text in _stops(leg, units):
            place = min(bisect.bisect_right(starts, at), len(starts) - 1)
            starts.insert(place, min(at, route.length_km))
            texts.insert(place, text)
            # What lies before and behind the stop belongs to the row before it.
            look_out.insert(place, "")
    at_km = np.array(starts)
    then = np.append(np.diff(at_km), 0.0)
    share = np.clip(at_km / max(route.length_km, 1e-9), 0, 1)
    points = [route.geometry.interpolate(float(s), normalized=True) for s in share]
    return pd.DataFrame(
        {
            "at_km": at_km,
            "at": [distance(km, units) for km in at_km],
            "instruction": texts,
            "then_km": then,
            "then": [*(distance(km, units) for km in then[:-1]), ""],
            "look_out": look_out,
            "lat": [point.y for point in points],
            "lon": [point.x for point in points],
        },
        columns=list(CARD_COLUMNS),
    )


def _heading(route: Route) -> str:
    """Which way one sets off, as a word with a space; empty where it is not plain."""
    points = np.asarray(route.geometry.coords)[:, :2]
    share = min(1.0, _FIRST_KM / max(route.length_km, 1e-9))
    ahead = route.geometry.interpolate(share, normalized=True)
    azimuth, _, metres = WGS84.inv(points[0, 0], points[0, 1], ahead.x, ahead.y)
    return f"{_COMPASS[round(azimuth % 360 / 45) % 8]} " if metres > 5 else ""


def _corners(leg: Leg) -> list[tuple[float, str]]:
    """Turns and bends for which the outfit needs more than its half of the road, last first."""
    if leg.corners is None:
        return []
    told = []
    for corner in leg.corners.table.to_dict("records")[::-1]:
        name = "turn" if corner["kind"] == "turn" else "bend"
        if corner["beyond_road_m"] > 0:
            told.append((float(corner["at_km"]), f"{name} may not fit: look first"))
        elif corner["beyond_own_half_m"] > 0:
            told.append((float(corner["at_km"]), f"{name} takes the whole road: wait"))
    return told


def _stops(leg: Leg, units: Units) -> list[tuple[float, str]]:
    """The stops of a day: how far from the start, and what to do there."""
    told = []
    for stop in leg.rests.to_dict("records"):
        name = str(stop["name"]) or f"the {str(stop['kind']).replace('_', ' ')}"
        about = clock(stop["arrive"], units)
        told.append(
            (float(stop["at_km"]), f"Stop at {name}, about {about}: {stop.get('does', 'break')}")
        )
    return told


def _label(step: Row) -> str:
    words = [str(step["ref"]), str(step["name"])]
    shown = " ".join(word for word in words if word)
    if shown:
        return shown
    kind = str(step["road_class"])
    return "the ferry" if kind == "ferry" else f"the unnamed {road_kind(kind)}"


def _same_road(before: Row, step: Row) -> bool:
    """Whether the road keeps its number, or, where it has none, its name and kind."""
    if before["ref"] or step["ref"]:
        return bool(before["ref"] == step["ref"])
    return bool(before["name"] == step["name"] and before["road_class"] == step["road_class"])


def _instruction(before: Row, step: Row) -> str:
    """What to do on entering a step; empty where there is nothing to do."""
    notes, came = str(step["note"]).split("; "), str(before["note"]).split("; ")
    for note in notes:
        if note.startswith("turn round"):
            return note.capitalize()
        if note.startswith("exit "):
            number = note.removeprefix("exit ")
            nth = _ORDINALS.get(int(number), f"{number}th")
            return f"At the roundabout take the {nth} exit onto {_label(step)}"
    if "roundabout" in notes:
        return ""
    if ("ferry" in notes) != ("ferry" in came):
        return f"Board {_label(step)}" if "ferry" in notes else f"Leave the ferry on {_label(step)}"
    turn = float(str(step["turn_deg"]))
    if _same_road(before, step):
        return (
            "" if abs(turn) < 60 else f"{turn_words(turn).capitalize()} to stay on {_label(step)}"
        )
    junction = f"At junction {step['exit_ref']} " if step.get("exit_ref") else ""
    if str(step["road_class"]).endswith("_link") and not str(before["road_class"]).endswith(
        "_link"
    ):
        side = "" if abs(turn) < 5 else " on the " + ("right" if turn > 0 else "left")
        return _capital(f"{junction}take the slip road{side}")
    if abs(turn) < 30 and not step["ref"] and not step["name"]:
        return ""
    joined = "into" if abs(turn) >= 30 else "onto"
    return _capital(f"{junction}{turn_words(turn)} {joined} {_label(step)}")


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _signed(steps: list[Row], place: int) -> str:
    """What signposts say on the road that is entered, to follow its name; empty for nothing."""
    entered = str(steps[place]["ref"]), str(steps[place]["name"])
    for step in steps[place:]:
        if (str(step["ref"]), str(step["name"])) != entered:
            break
        signs = [word for word in str(step.get("signs") or "").split("; ") if word]
        told = [word for word in signs if word not in entered]
        if told:
            return f", signed {', '.join(told)}"
    return ""


def _look_out(part: list[Row], units: Units) -> str:
    """What a passenger should know of on a piece of the way, in the order of what matters."""
    said = []
    for column, way in (("steepest_up_pct", "up"), ("steepest_down_pct", "down")):
        slopes = [float(step[column]) for step in part if step[column] == step[column]]
        if slopes and max(slopes) >= constant("towing_costs", "steep_card").value:
            said.append(f"{gradient(max(slopes), units)} {way}")
    tight_km = sum(float(step["length_m"]) for step in part if step.get("tight")) / 1000
    if tight_km >= constant("towing_costs", "narrow_check").value:
        said.append(f"narrow for {distance(tight_km, units)}: a car cannot pass")
    for word in _TOLD:
        if any(word in str(step["note"]).split("; ") for step in part):
            said.append(word)
    if any(step["width_m"] != step["width_m"] and step["road_class"] != "ferry" for step in part):
        said.append("width not mapped")
    return "; ".join(said)
