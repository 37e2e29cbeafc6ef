"""Will it go round: the turns and tight bends of a route against what the outfit sweeps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from planner_kit.reference import constant
from planner_kit.states import Check, State
from planner_kit.tow.corner_room import Spaces, beyond_bend_m, beyond_turn_m
from planner_kit.tow.swept_path import turning_of
from planner_kit.tow.whereabouts import METRIC, WIDTH_WORDS, PlaceNames, Way
from planner_kit.trip.display import dimension, distance, metres
from planner_kit.trip.wording import with_feet

if TYPE_CHECKING:
    from collections.abc import Hashable

    from numpy.typing import NDArray

    from planner_kit.outfit.report import Outfit
    from planner_kit.tow.leg import Route
    from planner_kit.tow.swept_path import Turning
    from planner_kit.trip.household import Units

CORNER_COLUMNS = (
    "at_km", "kind", "where", "turn_deg", "radius_m", "width_in_m", "width_out_m", "width_known",
    "beyond_own_half_m", "beyond_road_m", "bent_deg", "state", "lat", "lon",
)  # fmt: skip
_SOURCE = "off-tracking by tractrix (Sayers 1986, 1991) on OpenStreetMap geometry and widths"


@dataclass(frozen=True)
class Corners:
    """The corners of a route that an outfit sweeps more of than it has.

    Attributes
    ----------
    table : DataFrame
        One row for each turn at a junction and each tight bend that was looked at, in driving
        order: at_km, kind (turn or bend), where, turn_deg (right positive; NaN for a bend),
        radius_m (of a bend), width_in_m, width_out_m, width_known, beyond_own_half_m (how far the
        swept path leaves the outfit's half of the road at the best line; 0 for not at all),
        beyond_road_m (the same for the whole road), bent_deg (most between car and caravan),
        state (word), lat, lon.
    checks : tuple of Check
        Those that exceed the road, and a count of those that need the other half of it.
    """

    table: pd.DataFrame
    checks: tuple[Check, ...]


def _value(name: str) -> float:
    return constant("turning", name).value


def route_corners(
    route: Route,
    roads: pd.DataFrame,
    outfit: Outfit,
    *,
    keeps_left: bool,
    names: PlaceNames | None = None,
    units: Units = METRIC,
) -> Corners:
    """The turns and tight bends of a route, and whether the outfit goes round them.

    Parameters
    ----------
    route : Route
    roads : DataFrame
        The region's roads.
    outfit : Outfit
    keeps_left : bool
        Traffic keeps left.
    names : PlaceNames, optional
        Settlements, to say where a corner is.
    units : Units
        In which the sentences tell distances.

    Returns
    -------
    corners : Corners

    Notes
    -----
    At a junction the front axle drives straight, an arc and straight again; of several arcs and
    places on the road the best is taken. The inner corner is rounded by a usual kerb radius,
    because the map has none; room that other arms of the junction give is left out. A tight bend
    is taken as a circle that goes on, which sweeps more than the bend does.
    """
    empty = pd.DataFrame(columns=list(CORNER_COLUMNS))
    turning = turning_of(outfit)
    if turning is None:
        return Corners(empty, (_unknown_outfit(),))
    way = Way(roads, route.steps, names or PlaceNames(pd.DataFrame(columns=["kind", "name", "lat",
              "lon"])), units)  # fmt: skip
    parts = [_turns(way, turning, keeps_left), _bends(way, turning)]
    parts = [part for part in parts if not part.empty]
    if not parts:
        return Corners(empty, ())
    table = pd.concat(parts, ignore_index=True).sort_values("at_km", kind="stable")
    table = table[list(CORNER_COLUMNS)].reset_index(drop=True)
    return Corners(table, _checks(table, turning, units))


def _turns(way: Way, turning: Turning, keeps_left: bool) -> pd.DataFrame:
    rows = way.rows
    ring = rows["roundabout"].to_numpy(dtype=bool)
    turn = way.numbers("turn_deg")
    sharp = (np.abs(turn) >= _value("turn_from")) & (np.abs(turn) < 172)
    sharp[:1] = False
    sharp[1:] &= ~(ring[1:] | ring[:-1] | way.ferry[1:] | way.ferry[:-1])
    at = np.flatnonzero(sharp)
    if len(at) == 0:
        return pd.DataFrame()
    width = way.numbers("width_m")
    oneway = rows["oneway"].to_numpy() != 0
    inner_side = (turn[at] < 0) == keeps_left
    spaces = Spaces(
        angle_rad=np.radians(np.abs(turn[at])),
        width_in_m=width[at - 1],
        width_out_m=width[at],
        kerb_m=_kerb_m(way, at),
        oneway_in=oneway[at - 1],
        oneway_out=oneway[at],
        own_is_inner=inner_side,
    )
    own, bent = beyond_turn_m(turning, spaces, own_half=True)
    whole, bent_whole = beyond_turn_m(turning, spaces, own_half=False)
    bent = np.where(own > 0, bent_whole, bent)
    source = np.asarray(way.steps["width_source"])
    known = [_less_sure(str(source[p - 1]), str(source[p])) for p in at.tolist()]
    return _table(
        way, at, "turn", turn[at], np.full(len(at), np.nan), spaces.width_in_m, spaces.width_out_m,
        known, own, np.minimum(own, whole), bent,
    )  # fmt: skip


def _kerb_m(way: Way, at: NDArray[np.int64]) -> NDArray[np.float64]:
    """The usual radius of the inner kerb of each turn [m]."""
    kind = np.asarray(way.steps["road_class"])
    minor = np.isin(kind, ["service", "track", "living_street"])
    town = (
        pd.Series(way.roads["built_up"].array[way.road], dtype="boolean")
        .fillna(False)
        .to_numpy(bool)
    )
    lane = np.isin(kind, ["unclassified", "residential"])
    either = minor[at] | minor[at - 1]
    in_town = town[at] | town[at - 1] | lane[at] | lane[at - 1]
    usual = np.where(in_town, _value("kerb_radius_town"), _value("kerb_radius"))
    return np.asarray(np.where(either, _value("kerb_radius_minor"), usual), dtype=np.float64)


def _less_sure(one: str, other: str) -> str:
    for source in ("unknown", "class", "lanes"):
        if source in (one, other):
            return WIDTH_WORDS[source]
    return WIDTH_WORDS["tagged"]


def _bends(way: Way, turning: Turning) -> pd.DataFrame:
    radius = way.rows["bend_radius_m"].to_numpy(dtype=float)
    ring = way.rows["roundabout"].to_numpy(dtype=bool)
    at = np.flatnonzero((radius <= _value("bend_from")) & ~way.ferry & ~ring)
    if len(at) == 0:
        return pd.DataFrame()
    width = way.numbers("width_m")[at]
    oneway = way.rows["oneway"].to_numpy()[at] != 0
    whole = beyond_bend_m(turning, radius[at], width)
    # On its half of the road the outfit has the outer or the inner lane; the inner is tighter.
    own = np.where(oneway, whole, beyond_bend_m(turning, radius[at] - width / 4, width / 2))
    source = np.asarray(way.steps["width_source"])
    known = [WIDTH_WORDS.get(str(source[p]), str(source[p])) for p in at]
    nothing = np.full(len(at), np.nan)
    return _table(
        way, at, "bend", nothing, radius[at], width, width, known, own, np.minimum(own, whole),
        nothing,
    )  # fmt: skip


def _table(
    way: Way,
    at: NDArray[np.int64],
    kind: str,
    turn_deg: NDArray[np.float64],
    radius_m: NDArray[np.float64],
    width_in_m: NDArray[np.float64],
    width_out_m: NDArray[np.float64],
    known: list[str],
    own_m: NDArray[np.float64],
    road_m: NDArray[np.float64],
    bent_deg: NDArray[np.float64],
) -> pd.DataFrame:
    bent = np.nan_to_num(bent_deg) > _value("bent_most")
    states = [
        _state(float(road), float(own), sure == WIDTH_WORDS["tagged"], bool(too_bent))
        for road, own, sure, too_bent in zip(road_m, own_m, known, bent, strict=True)
    ]
    told = [state is not State.FINE for state in states]
    spots = [way.position(int(place), middle=kind == "bend") for place in at]
    return pd.DataFrame(
        {
            "at_km": way.start_km[at],
            "kind": kind,
            "where": [
                way.where(int(place)) if tell else "" for place, tell in zip(at, told, strict=True)
            ],
            "turn_deg": turn_deg,
            "radius_m": radius_m,
            "width_in_m": width_in_m,
            "width_out_m": width_out_m,
            "width_known": known,
            "beyond_own_half_m": own_m,
            "beyond_road_m": road_m,
            "bent_deg": bent_deg,
            "state": [state.value for state in states],
            "lat": [spot["lat"] for spot in spots],
            "lon": [spot["lon"] for spot in spots],
        }
    )


def _state(road_m: float, own_m: float, sure: bool, too_bent: bool) -> State:
    if np.isnan(road_m):
        return State.UNKNOWN
    if road_m > 0 or too_bent:
        if not sure:
            return State.UNKNOWN
        return State.NOT_FINE if road_m > _value("over_sure") else State.LOOK
    return State.LOOK if own_m > 0 else State.FINE


def _checks(table: pd.DataFrame, turning: Turning, units: Units) -> tuple[Check, ...]:
    over = (table["beyond_road_m"] > 0) | (table["bent_deg"] > _value("bent_most"))
    unknown = table["beyond_road_m"].isna()
    checks = [_over_check(row, units) for row in table[over].to_dict("records")]
    half = table[~over & ~unknown & (table["beyond_own_half_m"] > 0)]
    looked = f"{len(table)} turns and tight bends were looked at"
    wide = {0: "none sweeps", 1: "1 sweeps"}.get(int(over.sum()), f"{int(over.sum())} sweep")
    parts = [f"{looked}: {wide} more than the road"]
    if len(half):
        need = "1 needs" if len(half) == 1 else f"{len(half)} need"
        parts.append(f"{need} the other half of it, so wait until nothing comes")
    if unknown.any():
        parts.append(f"at {int(unknown.sum())} no width is known")
    if turning.assumed:
        parts.append(with_feet("; ".join(turning.assumed), units))
    guessed = bool((table["width_known"] != WIDTH_WORDS["tagged"]).any())
    state = State.FINE
    if unknown.any() or (guessed and not len(half)):
        state = State.UNKNOWN
    if len(half) or over.any():
        state = State.LOOK
    told = "; ".join(parts) + "."
    if guessed:
        told += " Widths that nobody measured and kerbs of a usual radius were reckoned with."
    checks.append(
        Check(
            subject="going round the corners",
            state=state,
            sentence=told,
            figure=float(over.sum()),
            unit="corners",
            rule="the path that car and caravan sweep stays on the road",
            source=_SOURCE,
        )
    )
    return tuple(checks)


def _over_check(row: dict[Hashable, Any], units: Units) -> Check:
    beyond, at = float(row["beyond_road_m"]), distance(float(row["at_km"]), units)
    turn = float(row["turn_deg"])
    if row["kind"] == "turn":
        side = "right" if turn > 0 else "left"
        what = f"the turn of {abs(turn):.0f} degrees to the {side} into {row['where']}"
    else:
        radius = metres(float(str(row["radius_m"])), units)
        what = f"a bend of {radius} radius on {row['where']}"
    wide = dimension(float(str(row["width_in_m"])), units, "limit")
    if row["kind"] == "turn":
        wide += f" and {dimension(float(str(row['width_out_m'])), units, 'limit')}"
    reach = (
        f"the outfit sweeps {metres(beyond, units)} more than the road has"
        if beyond > 0
        else f"car and caravan are bent by {float(str(row['bent_deg'])):.0f} degrees"
    )
    return Check(
        subject=f"{row['kind']} {'into' if row['kind'] == 'turn' else 'on'} {row['where']}",
        state=State(str(row["state"])),
        sentence=f"At {at}, {what}: the road is {wide} wide, {row['width_known']}; even when it "
        f"swings over the whole of it, {reach}. Look at the place before you commit, or come "
        "another way.",
        figure=beyond,
        limit=0.0,
        unit="m",
        margin=-beyond,
        rule="the path that car and caravan sweep stays on the road; kerbs of a usual radius",
        source=_SOURCE,
        lat=float(row["lat"]),
        lon=float(row["lon"]),
    )


def _unknown_outfit() -> Check:
    return Check(
        subject="going round the corners",
        state=State.UNKNOWN,
        sentence="Whether the outfit goes round the corners is not known: the car's wheelbase and "
        "rear overhang, the caravan's width and its length from ball to axle and tail are needed.",
        rule="the path that car and caravan sweep stays on the road",
        source="household.toml",
    )
