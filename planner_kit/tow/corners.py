"""Will it go round: the turns and tight bends of a route against what the outfit sweeps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from planner_kit.reference import constant
from planner_kit.states import Check, State
from planner_kit.tow.swept_path import steady_radii_m, sweep, turning_of
from planner_kit.tow.whereabouts import METRIC, WIDTH_WORDS, PlaceNames, Way
from planner_kit.trip.display import distance

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
_OFFSETS, _RADII = 6, 6


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
    steps, rows = way.steps, way.rows
    ring = rows["roundabout"].to_numpy(dtype=bool)
    turn = steps["turn_deg"].to_numpy(dtype=float)
    sharp = (np.abs(turn) >= _value("turn_from")) & (np.abs(turn) < 172)
    sharp[:1] = False
    sharp[1:] &= ~(ring[1:] | ring[:-1] | way.ferry[1:] | way.ferry[:-1])
    at = np.flatnonzero(sharp)
    if len(at) == 0:
        return pd.DataFrame()
    width = steps["width_m"].to_numpy(dtype=float)
    oneway = rows["oneway"].to_numpy() != 0
    inner_side = (turn[at] < 0) == keeps_left
    spaces = _Spaces(
        angle_rad=np.radians(np.abs(turn[at])),
        width_in_m=width[at - 1],
        width_out_m=width[at],
        kerb_m=_kerb_m(way, at),
        oneway_in=oneway[at - 1],
        oneway_out=oneway[at],
        own_is_inner=inner_side,
    )
    own, bent = _beyond(turning, spaces, own_half=True)
    whole, bent_whole = _beyond(turning, spaces, own_half=False)
    bent = np.where(own > 0, bent_whole, bent)
    source = steps["width_source"].to_numpy()
    known = [_less_sure(str(source[p - 1]), str(source[p])) for p in at.tolist()]
    return _table(
        way, at, "turn", turn[at], np.full(len(at), np.nan), spaces.width_in_m, spaces.width_out_m,
        known, own, np.minimum(own, whole), bent,
    )  # fmt: skip


def _kerb_m(way: Way, at: NDArray[np.int64]) -> NDArray[np.float64]:
    """The usual radius of the inner kerb of each turn [m]."""
    kind = way.steps["road_class"].to_numpy()
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


@dataclass(frozen=True)
class _Spaces:
    """The room at some turns, all as if they went to the left; shape (turns,) each."""

    angle_rad: NDArray[np.float64]
    width_in_m: NDArray[np.float64]
    width_out_m: NDArray[np.float64]
    kerb_m: NDArray[np.float64]
    oneway_in: NDArray[np.bool_]
    oneway_out: NDArray[np.bool_]
    own_is_inner: NDArray[np.bool_]


def _beyond(
    turning: Turning, spaces: _Spaces, *, own_half: bool
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """How far the best line leaves the room at each turn [m], and the bend of the outfit [deg].

    Parameters
    ----------
    turning : Turning
    spaces : _Spaces
    own_half : bool
        Whether only the outfit's half of a two-way road is its room, before and after the turn.
    """
    turns = len(spaces.angle_rad)
    radius = turning.radius_m * np.geomspace(1.0, 4.0, _RADII)
    angle = np.repeat(spaces.angle_rad[:, None], _RADII, axis=1)
    path = sweep(turning, np.tile(radius, turns), angle.ravel())
    least, bent = np.full(turns, np.inf), np.zeros(turns)
    shape = (-1, turns, _RADII)
    sin, cos = np.sin(angle), np.cos(angle)
    aside = radius * (1 - cos)
    bends = np.degrees(np.abs(path.bent_rad)).max(axis=0).reshape(turns, _RADII)

    def across_out(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
        across: NDArray[np.float64] = cos * y.reshape(shape) - sin * x.reshape(shape) + aside
        return across

    inner_in, inner_out = path.inner_y.reshape(shape), across_out(path.inner_x, path.inner_y)
    outer_in = np.minimum(path.nose_y, path.tail_y).reshape(shape).min(axis=0)
    outer_out = np.minimum(
        across_out(path.nose_x, path.nose_y), across_out(path.tail_x, path.tail_y)
    ).min(axis=0)
    low_in, high_in = _room(spaces.width_in_m, spaces.oneway_in, spaces, own_half)
    low_out, high_out = _room(spaces.width_out_m, spaces.oneway_out, spaces, own_half)
    for begin in _places(low_in, high_in, turning):
        for end in _places(low_out, high_out, turning):
            corner = _into_land(
                inner_in + begin[:, None] - high_in[:, None],
                inner_out + end[:, None] - high_out[:, None],
                angle,
                spaces.kerb_m[:, None],
            )
            far = np.maximum(
                low_in[:, None] - outer_in - begin[:, None],
                low_out[:, None] - outer_out - end[:, None],
            )
            over = np.maximum(corner.max(axis=0), far)
            best = over.argmin(axis=1)
            found = over[np.arange(turns), best]
            better = found < least
            least = np.where(better, found, least)
            bent = np.where(better, bends[np.arange(turns), best], bent)
    unknown = np.isnan(spaces.width_in_m) | np.isnan(spaces.width_out_m)
    least = np.where(least < _value("beyond_told"), 0.0, least)
    return np.where(unknown, np.nan, least), bent


def _room(
    width_m: NDArray[np.float64], oneway: NDArray[np.bool_], spaces: _Spaces, own_half: bool
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Right and left edge of the room on a road, from its middle, left positive [m]."""
    half = width_m / 2
    if not own_half:
        return -half, half
    low = np.where(spaces.own_is_inner & ~oneway, 0.0, -half)
    high = np.where(~spaces.own_is_inner & ~oneway, 0.0, half)
    return low, high


def _places(
    low_m: NDArray[np.float64], high_m: NDArray[np.float64], turning: Turning
) -> list[NDArray[np.float64]]:
    """Places across a road where the outfit may drive, from its right to its left edge [m]."""
    side = max(turning.car_width_m, turning.caravan_width_m) / 2 + _value("edge_room")
    first, last = low_m + side, high_m - side
    middle = (low_m + high_m) / 2
    tight = first > last
    first, last = np.where(tight, middle, first), np.where(tight, middle, last)
    return [first + share * (last - first) for share in np.linspace(0, 1, _OFFSETS)]


def _into_land(
    beyond_in: NDArray[np.float64],
    beyond_out: NDArray[np.float64],
    angle_rad: NDArray[np.float64],
    kerb_m: NDArray[np.float64],
) -> NDArray[np.float64]:
    """How deep points lie in the land inside a corner whose kerb is rounded [m].

    Parameters
    ----------
    beyond_in, beyond_out : ndarray
        How far beyond the inner edge of the road in and of the road out they lie. [m]
    angle_rad : ndarray
        By which the road turns. [rad]
    kerb_m : ndarray
        Radius of the kerb. [m]
    """
    sin, cos = np.sin(angle_rad), np.cos(angle_rad)
    along_in = (beyond_out - beyond_in * cos) / sin
    along_out = (beyond_in - beyond_out * cos) / sin
    touch = kerb_m * np.tan(angle_rad / 2)
    rounded = (along_in < touch) & (along_out < touch)
    centre = np.hypot(beyond_in - kerb_m, along_in - touch)
    depth = np.where(rounded, kerb_m - centre, np.minimum(beyond_in, beyond_out))
    depth = np.where((beyond_in > 0) & (beyond_out > 0), depth, np.minimum(beyond_in, beyond_out))
    return np.asarray(depth, dtype=np.float64)


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
    width = way.steps["width_m"].to_numpy(dtype=float)[at]
    oneway = way.rows["oneway"].to_numpy()[at] != 0
    whole = _beyond_bend(turning, radius[at], width)
    # On its half of the road the outfit has the outer or the inner lane; the inner is tighter.
    own = np.where(oneway, whole, _beyond_bend(turning, radius[at] - width / 4, width / 2))
    source = way.steps["width_source"].to_numpy()
    known = [WIDTH_WORDS.get(str(source[p]), str(source[p])) for p in at]
    nothing = np.full(len(at), np.nan)
    return _table(
        way, at, "bend", nothing, radius[at], width, width, known, own, np.minimum(own, whole),
        nothing,
    )  # fmt: skip


def _beyond_bend(
    turning: Turning, radius_m: NDArray[np.float64], width_m: NDArray[np.float64]
) -> NDArray[np.float64]:
    """How far an outfit on the outer edge of a circular bend reaches beyond the inner edge [m]."""
    room = _value("edge_room")
    outer = radius_m + width_m / 2 - room
    # The nose runs along the outer edge; the front axle follows from it.
    reach = turning.wheelbase_m + turning.front_m
    rear = np.sqrt(np.maximum(outer**2 - reach**2, 0.01)) - turning.car_width_m / 2
    front = np.hypot(np.maximum(rear, 0.0), turning.wheelbase_m)
    inner, _ = steady_radii_m(turning, front)
    short = np.maximum(turning.radius_m - front, 0.0)
    inner = np.where(np.isnan(inner), -turning.caravan_width_m / 2, inner)
    over = np.maximum(radius_m - width_m / 2 - inner, short)
    over = np.where(over < _value("beyond_told"), 0.0, over)
    return np.where(np.isnan(width_m), np.nan, over)


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
    parts = [f"{looked}: {int(over.sum())} sweep more than the road"]
    if len(half):
        parts.append(f"{len(half)} need the other half of it, so wait until nothing comes")
    if unknown.any():
        parts.append(f"at {int(unknown.sum())} no width is known")
    if turning.assumed:
        parts.append("; ".join(turning.assumed))
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
        what = f"a bend of {float(str(row['radius_m'])):.0f} m radius on {row['where']}"
    wide = f"{float(str(row['width_in_m'])):.1f} m"
    if row["kind"] == "turn":
        wide += f" and {float(str(row['width_out_m'])):.1f} m"
    reach = (
        f"the outfit sweeps {beyond:.1f} m more than the road has"
        if beyond > 0
        else f"car and caravan are bent by {float(str(row['bent_deg'])):.0f} degrees"
    )
    return Check(
        subject=f"{row['kind']} {'into' if row['kind'] == 'turn' else 'on'} {row['where']}",
        state=State(str(row["state"])),
        sentence=f"At {at}, {what}: {reach} ({wide} wide, {row['width_known']}) even when it "
        "swings wide over the whole of it. Look at the place before you commit, or come another "
        "way.",
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
