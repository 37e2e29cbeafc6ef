"""The level of one mast over a whole terrain grid, ray by ray.

Each ray from the mast to the edge of the grid is read once; what the loss needs of the ground
before a point is carried along the ray, so that a cell costs one pass over the ground between it
and the mast and nothing more.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from pyproj import Geod

from planner_kit.pitch.diffraction import (
    knife_edge_loss_db,
    smooth_bullington_loss_db,
    spherical_earth_loss_db,
)
from planner_kit.pitch.propagation import effective_earth_radius_km, free_space_loss_db

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from planner_kit.pitch.cover import Cover
    from planner_kit.pitch.diffraction import Polarisation
    from planner_kit.region.terrain import Terrain

    Floats = NDArray[np.float64]
    Singles = NDArray[np.float32]

_WGS84 = Geod(ellps="WGS84")
_RAYS_AT_ONCE = 128
# Positions are computed for every so many samples and drawn straight between; over 16 samples of
# 100 m a geodesic leaves that line by less than 0.1 m.
_BETWEEN = 16
# The longest ray has no more samples than this; on a wide grid they stand wider apart than cells.
_MOST_SAMPLES = 1000
_LIGHT_M_GHZ = 0.299792458


@dataclass(frozen=True)
class _Sender:
    lat: float
    lon: float
    height_m: float
    frequency_ghz: float
    receiver_m: float
    polarisation: Polarisation


def coverage_map(
    mast_lat: float,
    mast_lon: float,
    mast_height_m: float,
    power_dbm: float,
    frequency_mhz: float,
    terrain: Terrain,
    *,
    cover: Cover | None = None,
    receiver_height_m: float = 1.5,
    polarisation: Polarisation = "vertical",
    step_m: float | None = None,
    workers: int = 2,
    progress: Callable[[float], None] | None = None,
) -> Floats:
    """What should arrive at an isotropic antenna over every cell of a terrain, by the median.

    Parameters
    ----------
    mast_lat, mast_lon : float
        On the terrain, WGS 84. [deg]
    mast_height_m : float
        Above the ground. [m]
    power_dbm : float
        EIRP, the same in all directions. [dBm]
    frequency_mhz : float
        [MHz]
    terrain : Terrain
    cover : Cover, optional
        Trees and buildings between mast and cell.
    receiver_height_m : float
        Above the ground. [m]
    polarisation : str
    step_m : float, optional
        Spacing of the heights read along a ray; the longer side of a cell if left out. [m]
    workers : int
        Threads.
    progress : callable, optional
        Told the share done, from 0 to 1.

    Returns
    -------
    level_dbm : ndarray, shape of `terrain.grid`
        NaN where any ground on the way is not known, and everywhere if the mast is not on the
        terrain. [dBm]

    Notes
    -----
    Free space and the delta-Bullington loss on the median effective earth over land. Ducting and
    scatter, which at half of the time matter beyond the horizon only, are left out. A cell takes
    the ray that passes nearest, at most about half a cell away.

    References
    ----------
    .. [1] ITU-R P.526-15, section 4.5; the smooth path's loss by P.1812-8, attachment 4 to annex 1.
    """
    rows, columns = terrain.grid.shape
    level = np.full((rows, columns), np.nan)
    here = float(terrain.heights_m(mast_lon, mast_lat))
    if not (np.isfinite(here) and np.isfinite(mast_height_m) and frequency_mhz > 0):
        return level
    azimuth_deg, distance_km = _polar(terrain, mast_lat, mast_lon)
    rim = np.zeros((rows, columns), dtype=bool)
    rim[[0, -1], :] = True
    rim[:, [0, -1]] = True
    order = np.argsort(azimuth_deg[rim])
    ray_azimuth, ray_km = azimuth_deg[rim][order], distance_km[rim][order]
    if step_m is None:
        north = np.pi / 180 * 6_371_000.0
        east = north * np.cos(np.radians(mast_lat))
        step_m = float(max(terrain.step_lat_deg * north, terrain.step_lon_deg * east))
    step_km = max(step_m / 1000, float(ray_km.max()) / _MOST_SAMPLES)
    samples = np.ceil(ray_km / step_km).astype(np.intp) + 2
    sender = _Sender(
        mast_lat, mast_lon, mast_height_m, frequency_mhz / 1000, receiver_height_m, polarisation
    )
    loss = np.full((len(ray_km), int(samples.max())), np.nan, dtype=np.float32)
    by_length = np.argsort(-samples)
    batches = [
        by_length[first : first + _RAYS_AT_ONCE]
        for first in range(0, len(by_length), _RAYS_AT_ONCE)
    ]
    work = np.array([float(samples[batch].max()) ** 2 for batch in batches])

    def one(batch: NDArray[np.intp]) -> None:
        n = int(samples[batch].max())
        loss[batch, :n] = _ray_losses(sender, ray_azimuth[batch], n, step_km, terrain, cover)

    with ThreadPoolExecutor(max_workers=max(workers, 1)) as pool:
        done = 0.0
        for amount, _ in zip(work, pool.map(one, batches), strict=True):
            done += float(amount)
            if progress is not None:
                progress(min(done / float(work.sum()), 1.0))
    middle = (ray_azimuth[1:] + ray_azimuth[:-1]) / 2
    ray = np.searchsorted(middle, azimuth_deg)
    sample = np.clip(np.rint(distance_km / step_km).astype(np.intp), 1, loss.shape[1] - 1)
    away_km = np.maximum(distance_km, 0.001)
    level = power_dbm - free_space_loss_db(away_km, frequency_mhz) - loss[ray, sample]
    own = terrain.grid == terrain.void
    return np.where(own, np.nan, level)


def _polar(terrain: Terrain, lat: float, lon: float) -> tuple[Floats, Floats]:
    """Azimuth (deg) and distance (km) of every cell from a place, by Gauss's mid-latitude formula.

    Within 100 km it is good to some metres.
    """
    rows, columns = terrain.grid.shape
    row_lat = terrain.north_deg - np.arange(rows) * terrain.step_lat_deg
    column_lon = terrain.west_deg + np.arange(columns) * terrain.step_lon_deg
    middle = np.radians((row_lat + lat) / 2)[:, None]
    flattening = _WGS84.f
    squared = flattening * (2 - flattening)
    w = 1 - squared * np.sin(middle) ** 2
    across, along = _WGS84.a / np.sqrt(w), _WGS84.a * (1 - squared) / w**1.5
    turn = np.radians(column_lon - lon)[None, :]
    east = across * np.cos(middle) * turn
    north = along * np.radians(row_lat - lat)[:, None] * np.cos(turn / 2)
    azimuth = np.degrees(np.arctan2(east, north) - turn * np.sin(middle) / 2) % 360
    return azimuth, np.hypot(east, north) / 1000


def _ray_losses(
    sender: _Sender,
    azimuth_deg: Floats,
    n: int,
    step_km: float,
    terrain: Terrain,
    cover: Cover | None,
) -> Singles:
    """Diffraction loss at every sample of some rays; NaN behind ground that is not known, in dB."""
    lon, lat = _onto_grid(terrain, *_ray_places(sender, azimuth_deg, n, step_km))
    bare = terrain.heights_m(lon, lat)
    known = np.isfinite(bare)
    known = np.logical_and.accumulate(known, axis=1)
    bare = np.where(known, bare, 0.0)
    covered = bare if cover is None else bare + cover.heights_m(lon, lat)
    d: Floats = np.arange(n, dtype=np.float64) * np.float64(step_km)
    radius = effective_earth_radius_km()
    hts = bare[:, :1] + sender.height_m
    hrs = bare + sender.receiver_m
    with np.errstate(divide="ignore", invalid="ignore"):
        direct = (hrs - hts) / d
        bend = 500 * d / radius
        up = np.maximum.accumulate((covered[:, 1:] - hts) / d[1:] - bend[1:], axis=1)
        rise = np.maximum.accumulate((bare[:, 1:] - hts) / d[1:], axis=1)
    # What stands before sample k are the samples 1 to k - 1.
    stim, over = np.full(bare.shape, -np.inf), np.full(bare.shape, -np.inf)
    stim[:, 2:] = up[:, :-1] + bend[2:]
    over[:, 2:] = rise[:, :-1] - direct[:, 2:]
    nearest, srim, worst, back = _looking_back(
        covered, bare, hts, hrs, d, stim < direct, over > 0, radius, sender.frequency_ghz
    )
    wavelength = _LIGHT_M_GHZ / sender.frequency_ghz
    total = np.maximum(d, step_km)
    sight = stim < direct
    edge = np.where(sight, total / 2, (hrs - hts + srim * total) / np.where(sight, 1, stim + srim))
    edge = np.clip(edge, total * 1e-9, total * (1 - 1e-9))
    top = hts + np.where(sight, 0.0, stim) * edge - (hts * (total - edge) + hrs * edge) / total
    beyond = top * np.sqrt(0.002 * total / (wavelength * edge * (total - edge)))
    sharp = knife_edge_loss_db(np.where(sight, nearest, beyond))
    terrain_db = sharp + (1 - np.exp(-sharp / 6)) * (10 + 0.02 * total)
    start, end = _smooth_ends(bare, d, over, worst, back)
    above_start, above_end = np.maximum(hts - start, 0.1), np.maximum(hrs - end, 0.1)
    smooth = smooth_bullington_loss_db(total, above_start, above_end, sender.frequency_ghz, radius)
    round_db = spherical_earth_loss_db(
        total, above_start, above_end, sender.frequency_ghz, radius,
        polarisation=sender.polarisation,
    )  # fmt: skip
    loss = terrain_db + np.maximum(round_db - smooth, 0.0)
    loss[:, :2] = 0.0
    return np.where(known, loss, np.nan).astype(np.float32)


def _onto_grid(terrain: Terrain, lon: Floats, lat: Floats) -> tuple[Floats, Floats]:
    """Places less than a cell beyond the grid, moved onto its edge, so that its cells are met."""
    rows, columns = terrain.grid.shape
    found = []
    for values, first, step, count in (
        (lon, terrain.west_deg, terrain.step_lon_deg, columns),
        (lat, terrain.north_deg - (rows - 1) * terrain.step_lat_deg, terrain.step_lat_deg, rows),
    ):
        last = first + (count - 1) * step
        near = (values > first - step) & (values < last + step)
        found.append(np.where(near, np.clip(values, first, last), values))
    return found[0], found[1]


def _ray_places(
    sender: _Sender, azimuth_deg: Floats, n: int, step_km: float
) -> tuple[Floats, Floats]:
    knots = np.arange(0, n + _BETWEEN, _BETWEEN)
    count = len(azimuth_deg)
    lon, lat, _ = _WGS84.fwd(
        np.full(count * len(knots), sender.lon),
        np.full(count * len(knots), sender.lat),
        np.repeat(azimuth_deg, len(knots)),
        np.tile(knots * step_km * 1000, count),
    )
    share = (np.arange(n) % _BETWEEN) / _BETWEEN
    low = np.arange(n) // _BETWEEN
    found = []
    for values in (lon, lat):
        at = np.asarray(values, dtype=np.float64).reshape(count, len(knots))
        found.append(at[:, low] * (1 - share) + at[:, low + 1] * share)
    return found[0], found[1]


def _looking_back(
    covered: Floats,
    bare: Floats,
    hts: Floats,
    hrs: Floats,
    d: Floats,
    sight: NDArray[np.bool_],
    obstructed: NDArray[np.bool_],
    radius_km: float,
    frequency_ghz: float,
) -> tuple[Floats, Floats, Floats, Floats]:
    """What depends on the ground as the receiver sees it, for each sample of some rays.

    Returns
    -------
    nearest : ndarray
        Greatest diffraction parameter, where there is a line of sight.
    srim : ndarray
        Steepest slope back from the receiver, where there is none. [m/km]
    worst, back : ndarray
        Greatest height of bare ground over the line between the antennas, and its steepest slope
        from the receiver, where ground stands over that line.
    """
    # On ground bent down by the earth, rays are straight lines. Single precision is enough for
    # heights of some km: it is good to less than a millimetre.
    bent = (covered - 500 * d**2 / radius_km).astype(np.float32)
    flat = bare.astype(np.float32)
    mast = hts.astype(np.float32)
    high = hrs.astype(np.float32)
    far = d.astype(np.float32)
    nearest, srim, worst, back = (np.zeros(bare.shape) for _ in range(4))
    wavelength = _LIGHT_M_GHZ / frequency_ghz
    for k in range(2, len(d)):
        inner = far[1:k]
        rest = far[k] - inner
        inverse = 1 / rest
        receiver = high[:, k : k + 1] - np.float32(500 * d[k] ** 2 / radius_km)
        seen = np.flatnonzero(sight[:, k])
        if len(seen):
            slope = (receiver[seen] - mast[seen]) / far[k]
            weight = np.sqrt(np.float32(0.002 * d[k] / wavelength) / (inner * rest))
            room = slope * inner
            np.subtract(bent[seen, 1:k], room, out=room)
            room -= mast[seen]
            room *= weight
            nearest[seen, k] = room.max(axis=1)
        hidden = np.flatnonzero(~sight[:, k])
        if len(hidden):
            climb = bent[hidden, 1:k] - receiver[hidden]
            climb *= inverse
            srim[hidden, k] = climb.max(axis=1) - 500 * d[k] / radius_km
        over = np.flatnonzero(obstructed[:, k])
        if len(over):
            ground = flat[over, 1:k]
            slope = (high[over, k : k + 1] - mast[over]) / far[k]
            line = slope * inner
            line += mast[over]
            line = ground - line
            worst[over, k] = line.max(axis=1)
            line *= inverse
            back[over, k] = line.max(axis=1)
    return nearest, srim, worst, back


def _smooth_ends(
    bare: Floats, d: Floats, over: Floats, worst: Floats, back: Floats
) -> tuple[Floats, Floats]:
    """Ends of the smooth profile of the ground up to each sample, lowered where it is obstructed.

    References
    ----------
    .. [1] ITU-R P.1812-8, equations (85), (86) and (89).
    """
    step = np.diff(d)
    first, second = np.zeros(bare.shape), np.zeros(bare.shape)
    before, here = bare[:, :-1], bare[:, 1:]
    first[:, 1:] = np.cumsum(step * (here + before), axis=1)
    second[:, 1:] = np.cumsum(
        step * (here * (2 * d[1:] + d[:-1]) + before * (d[1:] + 2 * d[:-1])), axis=1
    )
    total = np.maximum(d, step[0])
    start = (2 * first * total - second) / total**2
    end = (second - first * total) / total**2
    blocked = over > 0
    both = np.where(blocked, over + back, 1.0)
    start = np.where(blocked, start - worst * np.where(blocked, over, 0) / both, start)
    end = np.where(blocked, end - worst * back / both, end)
    return np.minimum(start, bare[:, :1]), np.minimum(end, bare)
