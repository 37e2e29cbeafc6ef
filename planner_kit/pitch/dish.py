"""Where a satellite dish must look, and what may stand in its way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from pyproj import Transformer

from planner_kit.pitch.magnetic import declination_deg, magnetic_bearing_deg
from planner_kit.pitch.masts import compass_point
from planner_kit.pitch.signal_path import places_at
from planner_kit.pitch.skyline import rise_deg
from planner_kit.reference import constant
from planner_kit.states import Check, State

if TYPE_CHECKING:
    import datetime as dt

    from numpy.typing import NDArray

    from planner_kit.pitch.horizon import Ground
    from planner_kit.trip.household import Satellite

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
    spare = _c("dish_clearance")
    if elevation_deg <= spare:
        return float("inf")
    over = max(tree_m - dish_m, 0.0)
    return float(over / np.tan(np.radians(elevation_deg - spare)))


def move_away_m(tree_m: float, tree_away_m: float, elevation_deg: float, dish_m: float) -> float:
    """How far to move straight away from a tree in the way, in m; 0 where it is not in the way."""
    return max(tree_distance_m(tree_m, elevation_deg, dish_m) - tree_away_m, 0.0)


def tree_words(tree_m: float, tree_away_m: float, angles: LookAngles) -> str:
    """Whether a tree in the direction of a satellite is in the way, and how far to move from it."""
    dish_m = _c("dish_height")
    if angles.elevation_deg <= 0:
        return "The satellite is below the horizon: no place on this site helps."
    move = move_away_m(tree_m, tree_away_m, angles.elevation_deg, dish_m)
    needed = tree_distance_m(tree_m, angles.elevation_deg, dish_m)
    where = f"What stands {tree_m:g} m high, {tree_away_m:g} m away at {angles.azimuth_deg:.0f}°"
    if not np.isfinite(move):
        return f"{where}, hides so low a satellite wherever the dish stands."
    if move == 0:
        return f"{where}, leaves the satellite free: {needed:.0f} m are enough."
    return f"{where}, is in the way: move the dish {move:.0f} m straight away from it."


@dataclass(frozen=True)
class DishPath:
    """The ground in the direction of a satellite, and the ray to it.

    Attributes
    ----------
    distance_km, height_m, ray_m, fresnel_m : ndarray, shape (n,)
        From the dish; ground over the sea with the drop of the earth taken off, the ray over the
        sea, the radius of its first Fresnel zone. [km], [m], [m], [m]
    """

    distance_km: NDArray[np.float64]
    height_m: NDArray[np.float64]
    ray_m: NDArray[np.float64]
    fresnel_m: NDArray[np.float64]


def dish_path(
    terrain: Ground, lat: float, lon: float, angles: LookAngles, *, reach_km: float = 3.0
) -> DishPath | None:
    """The ground and the ray to a satellite; None below the horizon or on unknown ground."""
    along = np.linspace(0.0, reach_km, 151)
    lons, lats = places_at(lat, lon, angles.azimuth_deg, along)
    height = terrain.heights_m(lons, lats) - (along * 1000) ** 2 / (2 * 8_500_000.0)
    if angles.elevation_deg <= 0 or not np.isfinite(height).all():
        return None
    ray = height[0] + _c("dish_height") + along * 1000 * np.tan(np.radians(angles.elevation_deg))
    slant_m = along * 1000 / np.cos(np.radians(angles.elevation_deg))
    return DishPath(along, height, ray, np.sqrt(_c("dish_wavelength") * slant_m))


@dataclass(frozen=True)
class ClearSpot:
    """The nearest place from which the ground leaves a satellite free.

    Attributes
    ----------
    distance_m, bearing_deg : float
        From the pitch. [m], [deg]
    """

    distance_m: float
    bearing_deg: float


def clear_spot(
    terrain: Ground, lat: float, lon: float, angles: LookAngles, *, reach_m: float = 1500.0
) -> ClearSpot | None:
    """Where to move to for the ground not to hide a satellite; None where nothing near helps.

    Parameters
    ----------
    terrain : Ground
    lat, lon : float
        The pitch. [deg]
    angles : LookAngles
        From the pitch; over so short a way they hardly change. Places that lie much higher or
        lower are left out: nobody moves a caravan up a cliff.
    reach_m : float
        How far is looked. [m]
    """
    away = np.arange(50.0, reach_m + 1, 50.0)
    bearing = np.arange(0.0, 360.0, 22.5)
    lons, lats = places_at(lat, lon, bearing[None, :], away[:, None] / 1000)
    dish_m, spare = _c("dish_height"), _c("dish_clearance")
    hill = rise_deg(terrain, lats, lons, angles.azimuth_deg, eye_m=dish_m)
    climb = np.abs(terrain.heights_m(lons, lats) - terrain.heights_m(lon, lat)) / away[:, None]
    with np.errstate(invalid="ignore"):
        free = (angles.elevation_deg - hill > spare) & (climb < _c("move_grade"))
        row, column = np.nonzero(free)
    if not len(row):
        return None
    return ClearSpot(float(away[row[0]]), float(bearing[column[0]]))


def check_dish(
    lat: float,
    lon: float,
    satellite: Satellite,
    on: dt.date,
    terrain: Ground | None,
) -> tuple[Check, LookAngles]:
    """Whether the ground leaves the way to a satellite free, with where to point the dish."""
    height_m = 0.0 if terrain is None else float(terrain.heights_m(lon, lat))
    height_m = height_m if np.isfinite(height_m) else 0.0
    angles = look_angles(lat, lon, satellite.orbit_deg, height_m)
    subject = f"satellite dish ({satellite.name}, {orbit_name(satellite.orbit_deg)})"
    source = "geometry on WGS 84; terrain of the region; World Magnetic Model 2025"
    dish_m, spare = _c("dish_height"), _c("dish_clearance")
    if angles.elevation_deg <= 0:
        told = "The satellite stands below the horizon here and cannot be received."
        return Check(subject, State.NOT_FINE, told, source=source), angles
    told = _aim_words(lat, lon, on, height_m, angles, dish_m)
    hill = float("nan")
    if terrain is not None:
        hill = float(rise_deg(terrain, lat, lon, angles.azimuth_deg, eye_m=dish_m))
    room = angles.elevation_deg - hill
    if not np.isfinite(hill):
        told += "; the ground in that direction is not known."
        state = State.UNKNOWN
    elif room <= spare:
        hides = room <= 0
        told += f"; {'but ' if hides else ''}the ground rises to {hill:.0f}° there"
        told += " and hides the satellite" if hides else ", which is close"
        told += _move_words(None if terrain is None else clear_spot(terrain, lat, lon, angles))
        state = State.NOT_FINE if hides else State.LOOK
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


def _aim_words(
    lat: float, lon: float, on: dt.date, height_m: float, angles: LookAngles, dish_m: float
) -> str:
    compass = magnetic_bearing_deg(angles.azimuth_deg, declination_deg(lat, lon, on, height_m))
    magnetic = (
        f", {compass:.0f}° by compass"
        if np.isfinite(compass)
        else " (no compass bearing: the magnetic model stands for 2025 to 2029 only)"
    )
    tree = _c("tree_height")
    away = tree_distance_m(tree, angles.elevation_deg, dish_m)
    clear = (
        f"a tree of {tree:.0f} m that way must be {away:.0f} m away, or move away from it by what "
        "is missing"
        if np.isfinite(away)
        else "nothing may stand higher than the dish that way"
    )
    return (
        f"Point it to {angles.azimuth_deg:.0f}° true{magnetic}, {angles.elevation_deg:.0f}° up, "
        f"turned {abs(angles.skew_deg):.0f}° "
        f"{'clockwise' if angles.skew_deg >= 0 else 'anticlockwise'} as seen from behind the dish; "
        f"{clear}"
    )


def _move_words(spot: ClearSpot | None) -> str:
    if spot is None:
        return "; no place near by is known to be free of it."
    return (
        f"; the nearest place free of it lies about {spot.distance_m:.0f} m to the "
        f"{compass_point(spot.bearing_deg)}."
    )


def orbit_name(orbit_deg: float) -> str:
    """Such as ``28.2° east``."""
    return f"{abs(orbit_deg):g}° {'east' if orbit_deg >= 0 else 'west'}"


def _c(name: str) -> float:
    return float(constant("signal_constants", name))
