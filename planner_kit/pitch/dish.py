"""Where a satellite dish must look, and what may stand in its way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from pyproj import Transformer

from planner_kit.pitch.magnetic import declination_deg, magnetic_bearing_deg
from planner_kit.reference import constant
from planner_kit.states import Check, State

if TYPE_CHECKING:
    import datetime as dt

    from planner_kit.pitch.skyline import Skyline

# Radius of the geostationary orbit. [m]
_ORBIT_M = 42_164_000.0
_TO_ECEF = Transformer.from_crs("EPSG:4979", "EPSG:4978", always_xy=True)


@dataclass(frozen=True)
class LookAngles:
    """Where a geostationary satellite stands in the sky.

    Attributes
    ----------
    azimuth_deg : float
        From true north, clockwise. [deg]
    elevation_deg : float
        Over the level; negative below the horizon. [deg]
    skew_deg : float
        How far the satellite's level polarisation plane is turned from the local level, clockwise
        positive when looking at the satellite. [deg]
    distance_km : float
        [km]
    """

    azimuth_deg: float
    elevation_deg: float
    skew_deg: float
    distance_km: float


def look_angles(lat: float, lon: float, orbit_deg: float, height_m: float = 0.0) -> LookAngles:
    """Azimuth, elevation and skew to a geostationary satellite.

    Parameters
    ----------
    lat, lon : float
        WGS 84. [deg]
    orbit_deg : float
        Orbital position, east positive. [deg]
    height_m : float
        Above the ellipsoid. [m]

    Returns
    -------
    angles : LookAngles

    Notes
    -----
    On the ellipsoid of WGS 84 with a satellite at 42 164 km over the equator.
    """
    here = np.array(_TO_ECEF.transform(lon, lat, height_m))
    orbit = np.radians(orbit_deg)
    there = _ORBIT_M * np.array([np.cos(orbit), np.sin(orbit), 0.0])
    ray = there - here
    north_rad, east_rad = np.radians(lat), np.radians(lon)
    east = np.array([-np.sin(east_rad), np.cos(east_rad), 0.0])
    up = np.array(
        [
            np.cos(north_rad) * np.cos(east_rad),
            np.cos(north_rad) * np.sin(east_rad),
            np.sin(north_rad),
        ]
    )
    north = np.cross(up, east)
    length = float(np.linalg.norm(ray))
    unit = ray / length
    azimuth = float(np.degrees(np.arctan2(unit @ east, unit @ north)) % 360)
    elevation = float(np.degrees(np.arcsin(unit @ up)))
    # The satellite's level lies along the orbit (east there), seen across the ray.
    along_orbit = np.array([-np.sin(orbit), np.cos(orbit), 0.0])
    # Looking along the ray, the level to the right and straight up across it.
    right = np.cross(unit, up)
    right /= np.linalg.norm(right)
    above = np.cross(right, unit)
    # The orbit runs east, to the left of somebody who looks south and to the right of one who
    # looks north; the smaller of both turns is the skew.
    turn = float(np.degrees(np.arctan2(along_orbit @ above, along_orbit @ right)))
    skew = -((turn + 90) % 180 - 90)
    return LookAngles(azimuth, elevation, skew, length / 1000)


def tree_distance_m(tree_m: float, elevation_deg: float, dish_m: float) -> float:
    """How far away a tree must stand for a dish to look over it.

    Parameters
    ----------
    tree_m : float
        Height of the tree above the pitch. [m]
    elevation_deg : float
        Of the satellite. [deg]
    dish_m : float
        Height of the dish above the pitch. [m]

    Returns
    -------
    distance_m : float
        With `dish_clearance` of the reference table to spare below the ray; 0 for a tree that is
        lower than the dish, infinite for a satellite on the horizon or below. [m]
    """
    spare = float(constant("signal_constants", "dish_clearance"))
    if elevation_deg <= spare:
        return float("inf")
    over = max(tree_m - dish_m, 0.0)
    return float(over / np.tan(np.radians(elevation_deg - spare)))


def move_away_m(tree_m: float, tree_away_m: float, elevation_deg: float, dish_m: float) -> float:
    """How far to move straight away from a tree in the way, in m; 0 where it is not in the way."""
    return max(tree_distance_m(tree_m, elevation_deg, dish_m) - tree_away_m, 0.0)


def check_dish(
    lat: float,
    lon: float,
    orbit_deg: float,
    on: dt.date,
    ground: Skyline | None,
    *,
    height_m: float = 0.0,
) -> tuple[Check, LookAngles]:
    """Whether the ground leaves the way to a satellite free, with where to point the dish."""
    angles = look_angles(lat, lon, orbit_deg, height_m)
    subject = f"satellite dish ({orbit_name(orbit_deg)})"
    source = "geometry on WGS 84; terrain of the region; World Magnetic Model 2025"
    dish_m = float(constant("signal_constants", "dish_height"))
    spare = float(constant("signal_constants", "dish_clearance"))
    if angles.elevation_deg <= 0:
        told = "The satellite stands below the horizon here and cannot be received."
        return Check(subject, State.NOT_FINE, told, source=source), angles
    compass = magnetic_bearing_deg(angles.azimuth_deg, declination_deg(lat, lon, on, height_m))
    magnetic = f", {compass:.0f}° by compass" if np.isfinite(compass) else ""
    tree = float(constant("signal_constants", "tree_height"))
    told = (
        f"Point it to {angles.azimuth_deg:.0f}° true{magnetic}, {angles.elevation_deg:.0f}° up, "
        f"turned {abs(angles.skew_deg):.0f}° "
        f"{'clockwise' if angles.skew_deg >= 0 else 'anticlockwise'} as seen from behind the dish; "
        f"a tree of {tree:.0f} m that way must be "
        f"{tree_distance_m(tree, angles.elevation_deg, dish_m):.0f} m away"
    )
    hill = float("nan") if ground is None else float(ground.at(angles.azimuth_deg))
    room = angles.elevation_deg - hill
    if not np.isfinite(hill):
        told += "; the ground in that direction is not known."
        state = State.UNKNOWN
    elif room <= 0:
        told += f"; but the ground rises to {hill:.0f}° there and hides the satellite."
        state = State.NOT_FINE
    elif room <= spare:
        told += f"; the ground rises to {hill:.0f}° there, which is close."
        state = State.LOOK
    else:
        told += "; the ground is clear, trees and caravans near by are not known."
        state = State.LOOK
    known = bool(np.isfinite(hill))
    check = Check(
        subject,
        state,
        told,
        figure=angles.elevation_deg,
        limit=hill if known else None,
        unit="deg",
        margin=room if known else None,
        rule=f"satellite over the ground by {spare:g}°",
        source=source,
    )
    return check, angles


def orbit_name(orbit_deg: float) -> str:
    """Such as ``28.2° east``."""
    return f"{abs(orbit_deg):g}° {'east' if orbit_deg >= 0 else 'west'}"
