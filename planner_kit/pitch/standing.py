"""How the caravan stands: level, door side, awning, wind, and the sun at breakfast and evening."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.pitch.solar import sun_position
from planner_kit.reference import constant
from planner_kit.states import Check, State
from planner_kit.trip.display import bearing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.pitch.climate import StayClimate
    from planner_kit.pitch.horizon import Ground
    from planner_kit.pitch.skyline import Skyline
    from planner_kit.trip.household import Caravan

_DEGREE_M = 111_320.0
SUN_COLUMNS = ("day", "when", "time", "azimuth_deg", "elevation_deg", "skyline_deg", "sun")


@dataclass(frozen=True)
class Slope:
    """How the ground falls at a pitch, as coarse terrain has it.

    Attributes
    ----------
    pct : float
        Steepest fall. [%]
    downhill_deg : float
        Where it falls to, clockwise from north. [deg]
    """

    pct: float
    downhill_deg: float


def ground_slope(terrain: Ground | None, lat: float, lon: float) -> Slope | None:
    """The fall of the ground; None without terrain.

    Notes
    -----
    Terrain cells are tens of metres wide: a terrace, bank or hollow of the pitch is not in them.
    """
    if terrain is None:
        return None
    span = constant("standing", "terrain_span").value
    north = span / _DEGREE_M
    east = north / math.cos(math.radians(lat))
    heights = terrain.heights_m(
        np.array([lon - east, lon + east, lon, lon]), np.array([lat, lat, lat - north, lat + north])
    )
    if not np.isfinite(heights).all():
        return None
    rise_east, rise_north = (heights[1] - heights[0], heights[3] - heights[2])
    pct = 100 * math.hypot(rise_east, rise_north) / (2 * span)
    downhill = math.degrees(math.atan2(-rise_east, -rise_north)) % 360
    return Slope(float(pct), float(downhill))


def track_width_m(caravan: Caravan) -> tuple[float, bool] | None:
    """Distance between the wheels, and whether it is only guessed; None without any width."""
    if caravan.track_width_m is not None:
        return caravan.track_width_m, False
    if caravan.width_m is None:
        return None
    return caravan.width_m * constant("standing", "track_share").value, True


def block_height_m(cross_slope_pct: float, track_m: float) -> float:
    """How much the lower wheel has to be raised, in m.

    Parameters
    ----------
    cross_slope_pct : float
        Fall from wheel to wheel. [%]
    track_m : float
        [m]
    """
    return track_m * abs(cross_slope_pct) / 100


def check_level(caravan: Caravan, slope: Slope | None) -> Check:
    """Levelling blocks for the worst way round; never fine on coarse terrain alone.

    Returns
    -------
    check : Check
        Look at this when blocks are needed, not fine when the slope is more than usual ramps take,
        otherwise unknown: terrain cannot tell that a pitch is level.
    """
    subject = "levelling"
    track = track_width_m(caravan)
    source = constant("standing", "track_share").source
    if slope is None or track is None:
        gap = "the terrain" if slope is None else "the caravan's width"
        return Check(
            subject,
            State.UNKNOWN,
            f"Not known: {gap}; bring ramps and a spirit level.",
            source=source,
            basis="common practice",
        )
    raise_m = block_height_m(slope.pct, track[0])
    most = constant("standing", "ramp_height")
    around = f"The terrain falls about {slope.pct:.1f} % to the {bearing(slope.downhill_deg)}"
    if slope.pct <= constant("standing", "level_within").value:
        state = State.UNKNOWN
        words = "nearly level, but its cells are wider than a pitch; bring ramps and a spirit level"
    else:
        state = State.LOOK if raise_m <= most.high else State.NOT_FINE
        words = (
            f"standing across it, the lower wheel needs {100 * raise_m:.0f} cm; with the hitch "
            "uphill or downhill the jockey wheel takes it"
        )
        if state is State.NOT_FINE:
            words += f"; that is above usual ramps of {100 * most.high:.0f} cm: do not stand across"
    return Check(
        subject,
        state,
        f"{around}: {words}. Chock the wheels before you unhitch.",
        figure=100 * raise_m,
        limit=100 * most.high,
        unit="cm",
        margin=100 * (most.high - raise_m),
        source=source,
        basis="common practice",
    )


def sun_at_meals(
    lat: float, lon: float, days: Sequence[dt.date], zone: str, skyline: Skyline | None
) -> pd.DataFrame:
    """Where the sun stands at breakfast and in the evening, over the hills around.

    Parameters
    ----------
    lat, lon : float
        WGS 84. [deg]
    days : sequence of date
    zone : str
        Time zone of the site.
    skyline : Skyline or None
        None where no terrain is known.

    Returns
    -------
    sun : DataFrame
        Two rows for each day: day, when (breakfast, evening), time (local), azimuth_deg [deg],
        elevation_deg [deg], skyline_deg [deg] (NaN if not known), sun (``up``, ``behind hills``,
        ``down`` or ``unknown``).
    """
    clock = {name: constant("standing", name).value for name in ("breakfast", "evening")}
    named = [(day, name) for day in days for name in clock]
    times = pd.DatetimeIndex(
        [
            pd.Timestamp.combine(day, dt.time(int(clock[name]), round(clock[name] % 1 * 60)))
            for day, name in named
        ]
    ).tz_localize(zone, nonexistent="shift_forward", ambiguous=True)
    sun = sun_position(lat, lon, times)
    azimuth, height = sun["azimuth_deg"].to_numpy(), sun["elevation_deg"].to_numpy()
    hills = np.full(len(times), np.nan) if skyline is None else skyline.at(azimuth)
    word = np.select(
        [height <= 0, ~np.isfinite(hills), height < hills],
        ["down", "unknown", "behind hills"],
        "up",
    )
    return pd.DataFrame(
        {
            "day": [day for day, _ in named],
            "when": [name for _, name in named],
            "time": times,
            "azimuth_deg": azimuth,
            "elevation_deg": height,
            "skyline_deg": hills,
            "sun": word,
        },
        columns=list(SUN_COLUMNS),
    )


def door_faces_deg(wind_from_deg: float | None, sun: pd.DataFrame) -> tuple[float, str] | None:
    """Where the door should look to, and why; None if neither wind nor sun is known.

    Parameters
    ----------
    wind_from_deg : float or None
        [deg]
    sun : DataFrame
        As `sun_at_meals` returns it.
    """
    if wind_from_deg is not None:
        return (wind_from_deg + 180) % 360, "away from the wind"
    up = sun[(sun["when"] == "evening") & (sun["elevation_deg"] > 0)]
    if up.empty:
        return None
    angle = np.radians(up["azimuth_deg"].to_numpy())
    mean = math.degrees(math.atan2(np.sin(angle).mean(), np.cos(angle).mean())) % 360
    return mean, "to the evening sun"


def hitch_points_deg(door_faces: float, door_side: str) -> float:
    """Where the hitch points when the door looks somewhere, in deg.

    Parameters
    ----------
    door_faces : float
        [deg]
    door_side : str
        ``left`` or ``right``, seen looking forward to the hitch.
    """
    return (door_faces + (90 if door_side == "left" else -90)) % 360


def check_awning(
    caravan: Caravan, climate: StayClimate, sun: pd.DataFrame, *, awning: bool
) -> Check:
    """Whether the awning stands, and which way to turn the caravan."""
    subject = "awning and door"
    look, down = constant("standing", "awning_look"), constant("standing", "awning_down")
    gust = climate.gust_kmh
    faces = door_faces_deg(climate.wind_from_deg, sun)
    parts = []
    if faces is not None:
        side = caravan.door_side
        turn = (
            f", so point the hitch {bearing(hitch_points_deg(faces[0], side))}"
            if side is not None
            else " (the file does not say on which side the door is)"
        )
        parts.append(f"Turn the door {bearing(faces[0])}, {faces[1]}{turn}")
    if not awning:
        state = State.FINE
        parts.append("no awning on this stay")
    elif gust is None:
        state = State.UNKNOWN
        parts.append(
            "the trip file names no gusts: take the awning down before force 6, and never leave it "
            "up unwatched in wind"
        )
    elif gust >= down.value:
        state = State.NOT_FINE
        parts.append(f"gusts of {gust:g} km/h tear an awning: do not put it up")
    elif gust >= look.value:
        state = State.LOOK
        parts.append(f"gusts of {gust:g} km/h: storm straps, and down with it when it blows")
    else:
        state = State.FINE
        parts.append(f"gusts of {gust:g} km/h are within what a well pegged awning stands")
    sentence = "; ".join(parts)
    return Check(
        subject,
        state,
        f"{sentence[0].upper()}{sentence[1:]}.",
        figure=gust,
        limit=look.value,
        unit="km/h",
        margin=None if gust is None else look.value - gust,
        rule="common practice: an awning comes down by force 6",
        source=look.source,
        basis="published",
    )
