"""The rides and walks of a stay: the household's own GPX files and what the map holds nearby."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import shapely
from pyproj import Geod
from scipy.spatial import cKDTree

from planner_kit.errors import PlannerKitError
from planner_kit.outings.found_ride import FoundRide, escape_points, ride_profile
from planner_kit.outings.ride_effort import (
    difficulty_for_children,
    ride_energy_kj,
    ride_value,
    stretch_min,
)
from planner_kit.outings.ride_network import ways_home_m
from planner_kit.outings.ride_search import find_rides
from planner_kit.outings.ride_track import Track, climb_of, read_tracks, smooth_slope
from planner_kit.outings.ride_ways import ways_along
from planner_kit.trip.trip import RideWish

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from shapely import LineString

    from planner_kit.region import Region

_WGS84 = Geod(ellps="WGS84")
_COMPASS = (
    "north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west",
)  # fmt: skip
OWN, FOUND = "own GPX file", "found on the map"


@dataclass(frozen=True)
class StayRide:
    """A ride or walk near a pitch.

    Attributes
    ----------
    name : str
    origin : str
        ``own GPX file`` or ``found on the map``.
    file : str
        Name of the GPX file; empty for a ride found.
    mode : str
        ``bike`` or ``foot``.
    kind : str
        ``loop``, ``there and back`` or ``one way``.
    geometry : LineString
        EPSG:4326 (lon, lat).
    length_km : float
    climb_m : float
        NaN where heights are not known.
    heights_from : str
        ``terrain``, ``GPX file`` or ``unknown``.
    time_min : float
        In motion, at the pace of the slowest.
    energy_kj : float
        At the pedals of whoever sets the pace; NaN for a walk.
    shares : dict of str to float
        Of the length: traffic_free, quiet, some_traffic, busy, unpaved, surface_unknown, off_map.
    difficulty, why : str
        For children; see `difficulty_for_children`.
    escapes : DataFrame
        km, lat, lon, back_km: places from which the way to the start is short.
    profile : DataFrame
        km, height_m, lat, lon.
    start_away_km : float
        From the pitch to the start, in a straight line.
    unknowns : tuple of str
        What is not known of it, in sentences.
    recorded_min, halts_min : float
        In motion and halting when a GPX file was recorded; NaN without its times.
    same_as : tuple of str
        Other files that hold the same way.
    """

    name: str
    origin: str
    file: str
    mode: str
    kind: str
    geometry: LineString
    length_km: float
    climb_m: float
    heights_from: str
    time_min: float
    energy_kj: float
    shares: dict[str, float]
    difficulty: str
    why: str
    escapes: pd.DataFrame
    profile: pd.DataFrame
    start_away_km: float
    unknowns: tuple[str, ...] = ()
    recorded_min: float = float("nan")
    halts_min: float = float("nan")
    same_as: tuple[str, ...] = ()

    @property
    def at_pitch(self) -> bool:
        """Whether it starts so near the pitch (50 m) that nobody drives to it."""
        return self.start_away_km < 0.05


def plan_rides(
    region: Region,
    near: tuple[float, float],
    *,
    files: Sequence[Path] = (),
    wishes: Sequence[RideWish] = (),
    child: bool = False,
) -> tuple[tuple[StayRide, ...], tuple[str, ...]]:
    """The rides and walks of a stay, the household's own first, nearest start first.

    Two rides over the same way are one: the first of the household's own files before others, and
    its own before one found on the map.

    Parameters
    ----------
    region : Region
    near : (lat, lon)
        The pitch. [deg]
    files : sequence of Path, optional
        GPX files.
    wishes : sequence of RideWish, optional
        What to look for on the map; a bicycle loop and a walk of usual length if there are none.
    child : bool
        Whether a child sets the pace.

    Returns
    -------
    rides : tuple of StayRide
        For each wish the best that was found.
    unknowns : tuple of str
        A sentence for each wish that nothing was found for.

    Raises
    ------
    PlanFileError
        If a GPX file cannot be used.
    """
    own = _once([_own(region, track, near, child) for track in read_tracks(files)])
    found: list[StayRide] = []
    missing: list[str] = []
    for wish in wishes or usual_wishes():
        ride, told = wished_ride(region, near, wish, child)
        if ride is None:
            missing.append(told)
        else:
            of_map = from_found(region, ride, near, child)
            found.append(replace(of_map, unknowns=(*filter(None, (told,)), *of_map.unknowns)))
    own.sort(key=lambda ride: ride.start_away_km)
    return tuple(_once([*own, *found])), tuple(missing)


def _once(rides: Sequence[StayRide]) -> list[StayRide]:
    """The rides without those that go the way of one before them, which names their files."""
    kept: list[StayRide] = []
    for ride in rides:
        at = next((n for n, other in enumerate(kept) if is_same_way(ride, other)), None)
        if at is None:
            kept.append(ride)
        elif ride.file:
            kept[at] = replace(kept[at], same_as=(*kept[at].same_as, ride.file))
    return kept


def is_same_way(one: StayRide, other: StayRide) -> bool:
    """Whether two rides go the same way in the same mode, in whichever direction.

    Parameters
    ----------
    one, other : StayRide
    """
    together = ride_value("same_way_frac")
    lengths = sorted((one.length_km, other.length_km))
    if one.mode != other.mode or lengths[0] < together * lengths[1]:
        return False
    scale = float(np.cos(np.radians(one.profile["lat"].iloc[0])))
    lines = [
        111_200 * np.column_stack([ride.profile["lat"], ride.profile["lon"] * scale])
        for ride in (one, other)
    ]
    # Points stand apart along the line as well as across it.
    step_m = 1000 * max(float(np.median(np.diff(ride.profile["km"]))) for ride in (one, other))
    near_m = ride_value("track_match_m") + step_m / 2
    return all(
        float((cKDTree(line).query(points)[0] <= near_m).mean()) >= together
        for line, points in (lines, lines[::-1])
    )


def wished_ride(
    region: Region, near: tuple[float, float], wish: RideWish, child: bool
) -> tuple[FoundRide | None, str]:
    """The best ride for a wish; where there is none, one that gives up as little as it can.

    Parameters
    ----------
    region : Region
    near : (lat, lon)
        The pitch. [deg]
    wish : RideWish
    child : bool
        Whether a child sets the pace.

    Returns
    -------
    ride : FoundRide or None
    told : str
        What was given up, or why there is none; empty where the wish is met.
    """
    what = f"{'loop' if wish.loop else 'way out and back'} {_by(wish.mode)}"
    less = [("", wish.length_km, wish.loop, False)]
    if wish.loop:
        less += [
            ("this one is longer", 1.5 * wish.length_km, True, False),
            ("this one goes out and back", wish.length_km, False, False),
            ("this one has traffic beside it", wish.length_km, True, True),
        ]
    less.append(
        ("this one goes out and back and has traffic beside it", wish.length_km, False, True)
    )
    for given_up, length_km, loop, busy in less:
        try:
            rides = find_rides(
                region, near, length_km=length_km, mode=wish.mode, climb_m=wish.climb_m,
                loop=loop, smooth=wish.smooth, busy=busy, child=child, most=1,
            )  # fmt: skip
        except PlannerKitError as error:
            return None, f"A {what} was looked for in vain: {error}"
        if rides and given_up:
            return rides[0], f"Quiet ways hold no {what} of the length wished for: {given_up}."
        if rides:
            return rides[0], ""
    return None, f"The ways near the pitch hold no {what} of about the length wished for."


def usual_wishes() -> tuple[RideWish, ...]:
    """What is looked for where the trip does not say: a bicycle loop and a walk."""
    return (
        RideWish(mode="bike", length_km=ride_value("usual_bike_km")),
        RideWish(mode="foot", length_km=ride_value("usual_foot_km")),
    )


def _by(mode: str) -> str:
    return "by bicycle" if mode == "bike" else "on foot"


def from_found(region: Region, ride: FoundRide, near: tuple[float, float], child: bool) -> StayRide:
    """A ride found on the map, as a ride of a stay."""
    line = shapely.get_coordinates(ride.geometry)
    what = ("Bicycle" if ride.mode == "bike" else "Walking") + f" {ride.kind}".replace(
        " there and back", " way out and back"
    )
    unknowns = (
        [] if np.isfinite(ride.climb_m) else ["Its climb is not known: no terrain covers it."]
    )
    if ride.shares["surface_unknown"] > 0:
        share = round(100 * ride.shares["surface_unknown"])
        if share:
            unknowns.append(f"The surface of {share} % of it is not mapped.")
    return StayRide(
        name=f"{what} to the {_direction(line, near)}",
        origin=FOUND,
        file="",
        mode=ride.mode,
        kind=ride.kind,
        geometry=ride.geometry,
        length_km=ride.length_km,
        climb_m=ride.climb_m,
        heights_from="terrain" if np.isfinite(ride.climb_m) else "unknown",
        time_min=ride.time_min,
        energy_kj=ride_energy_kj(ride.time_min, ride.mode, child=child),
        shares={**ride.shares, "off_map": 0.0},
        difficulty=ride.difficulty,
        why=ride.why,
        escapes=ride.escapes,
        profile=ride.profile,
        start_away_km=ride.start_away_m / 1000,
        unknowns=tuple(unknowns),
    )


def _direction(line: np.ndarray, near: tuple[float, float]) -> str:
    """Where the farthest point of a line lies, seen from the pitch."""
    count = len(line)
    azimuth, _, away = _WGS84.inv(
        np.full(count, near[1]), np.full(count, near[0]), line[:, 0], line[:, 1]
    )
    return _COMPASS[round(float(azimuth[np.argmax(away)]) % 360 / 45) % 8]


def _own(region: Region, track: Track, near: tuple[float, float], child: bool) -> StayRide:
    """A GPX track with what the region knows of the ways and the ground under it."""
    profile = ride_profile(region, track.geometry)
    heights_from = "terrain"
    if profile["height_m"].isna().any():
        profile = track.profile_on(profile)
        heights_from = "GPX file" if profile["height_m"].notna().all() else "unknown"
    km = profile["km"].to_numpy()
    heights = profile["height_m"].to_numpy(dtype=float)
    climb = climb_of(heights)
    ways = ways_along(region, profile["lat"].to_numpy(), profile["lon"].to_numpy(), track.mode)
    step_m = np.diff(km) * 1000
    slope = smooth_slope(km, heights)
    unpaved = ways["unpaved"].to_numpy(dtype=bool)[1:]
    time = float(stretch_min(step_m, slope, unpaved, track.mode, child=child).sum())
    shares = ways_shares(ways)
    known = shares["surface_unknown"] < 0.5
    difficulty, why = difficulty_for_children(
        track.length_km,
        climb,
        shares["busy"] + shares["some_traffic"] if shares["off_map"] < 0.5 else np.nan,
        shares["unpaved"] if known else np.nan,
        track.mode,
    )
    line = shapely.get_coordinates(track.geometry)
    start = float(line[0, 1]), float(line[0, 0])
    return StayRide(
        name=track.name,
        origin=OWN,
        file=track.file,
        mode=track.mode,
        kind=track.kind,
        geometry=track.geometry,
        length_km=track.length_km,
        climb_m=climb,
        heights_from=heights_from,
        time_min=time,
        energy_kj=ride_energy_kj(time, track.mode, child=child),
        shares=shares,
        difficulty=difficulty,
        why=why,
        escapes=_own_escapes(region, track, start, profile),
        profile=profile,
        start_away_km=float(_WGS84.inv(near[1], near[0], start[1], start[0])[2]) / 1000,
        unknowns=_own_unknowns(track, heights_from, shares),
        recorded_min=track.recorded_min,
        halts_min=track.halts_min,
    )


def _own_escapes(
    region: Region, track: Track, start: tuple[float, float], profile: pd.DataFrame
) -> pd.DataFrame:
    reach = float(np.ceil(track.length_km / 2)) + 1
    try:
        back_m = ways_home_m(region, start, track.mode, reach, profile["lat"], profile["lon"])
    except PlannerKitError:  # the map has no way there: no way home is told
        back_m = np.full(len(profile), np.inf)
    lat, lon = (profile[name].to_numpy() for name in ("lat", "lon"))
    return escape_points(1000 * profile["km"].to_numpy(), back_m, lat, lon)


def _own_unknowns(track: Track, heights_from: str, shares: dict[str, float]) -> tuple[str, ...]:
    found = []
    if not track.has_times:
        found.append("The file holds no times: the time is reckoned, not what was ridden.")
    if heights_from == "unknown":
        found.append("Neither the file nor the terrain knows its heights: climb and slopes are not "
                     "known, the time is for level ground.")  # fmt: skip
    elif not track.has_heights:
        found.append("The file holds no heights: they are those of the terrain.")
    if shares["off_map"] > 0.1:
        found.append(f"{100 * shares['off_map']:.0f} % of it lies on no mapped way: traffic and "
                     "surface there are not known.")  # fmt: skip
    return tuple(found)


def ways_shares(ways: pd.DataFrame) -> dict[str, float]:
    """Shares of a line by what `ways_along` says of its points."""

    def share(mask: Any) -> float:
        return float(np.asarray(mask, dtype=float).mean())

    traffic = ways["traffic"]
    return {
        "traffic_free": share(traffic == "none"),
        "quiet": share(traffic == "quiet"),
        "some_traffic": share(traffic == "some"),
        "busy": share(traffic == "busy"),
        "unpaved": share(ways["unpaved"]),
        "surface_unknown": share(ways["surface_unknown"]),
        "off_map": share(traffic == ""),
    }


def ride_table(rides: Sequence[StayRide]) -> pd.DataFrame:
    """The rides as a frame: the attributes of `StayRide` but shapes, profiles and points."""
    columns = [
        "name", "origin", "file", "mode", "kind", "length_km", "climb_m", "time_min", "energy_kj",
        "difficulty", "why", "start_away_km",
    ]  # fmt: skip
    return pd.DataFrame([[getattr(ride, c) for c in columns] for ride in rides], columns=columns)
