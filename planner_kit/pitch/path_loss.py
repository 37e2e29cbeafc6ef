"""Basic transmission loss over a terrain profile: the whole procedure of ITU-R P.1812.

All functions take many profiles at once: the last axis runs along the path from the transmitter to
the receiver, any axes before it run over paths. Every intermediate value is handed on, so that it
can be shown and checked.

References
----------
.. [1] ITU-R, Recommendation P.1812-8, Annex 1: "A path-specific propagation prediction method for
   point-to-area terrestrial services in the frequency range 30 MHz to 6 000 MHz". Equation numbers
   in the comments are those of the intermediate results that go with its validation profiles.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.pitch.diffraction import delta_bullington, smooth_earth_heights_m

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from planner_kit.pitch.diffraction import Diffraction, Polarisation

    Floats = NDArray[np.float64]

SEA, COASTAL, INLAND = 1, 3, 4
_EARTH_KM = 6371.0
_LIGHT_M_GHZ = 0.299792458


@dataclass(frozen=True)
class Climate:
    """What the air and the place do to a path.

    Attributes
    ----------
    lapse_n_km : float
        Mean fall of refractivity through the lowest kilometre, positive. [N-units/km]
    surface_n : float
        Refractivity at sea level. [N-units]
    latitude_deg : float or ndarray
        Of the middle of the path. [deg]
    """

    lapse_n_km: float
    surface_n: float
    latitude_deg: ArrayLike


@dataclass(frozen=True)
class PathLoss:
    """A basic transmission loss with every value on the way to it; arrays over the paths.

    Attributes
    ----------
    loss_db : ndarray
        Not exceeded for the share of time, at the median place (Lbc, and Lb where larger). [dB]
    free_space_db, line_of_sight_db, line_of_sight_beta_db : ndarray
        Lbfs, Lb0p, Lb0beta. [dB]
    median, rare : Diffraction
        Diffraction on the median effective earth and on the one exceeded for beta0 of the time.
    diffraction_db, diffraction_median_db, diffraction_beta_db : ndarray
        Ldp, Ld50, Ldbeta. [dB]
    with_median_diffraction_db, with_diffraction_db : ndarray
        Lbd50, Lbd. [dB]
    least_sight_db, ducting_db, least_ducting_db : ndarray
        Lminb0p, Lba, Lminbap. [dB]
    with_ducting_db, modified_db, scatter_db, combined_db : ndarray
        Lbda, Lbam, Lbs, Lbc. [dB]
    time_factor, angle_factor, distance_factor : ndarray
        Fi, Fj, Fk. [1]
    horizon : Horizons
    sea_frac, longest_land_km, longest_inland_km, beta0_pct : ndarray
        Omega, dtm, dlm, beta0.
    earth_radius_km : float
        Median effective radius. [km]
    """

    loss_db: Floats
    free_space_db: Floats
    line_of_sight_db: Floats
    line_of_sight_beta_db: Floats
    median: Diffraction
    rare: Diffraction
    diffraction_db: Floats
    diffraction_median_db: Floats
    diffraction_beta_db: Floats
    with_median_diffraction_db: Floats
    with_diffraction_db: Floats
    least_sight_db: Floats
    ducting_db: Floats
    least_ducting_db: Floats
    with_ducting_db: Floats
    modified_db: Floats
    scatter_db: Floats
    combined_db: Floats
    time_factor: Floats
    angle_factor: Floats
    distance_factor: Floats
    horizon: Horizons
    sea_frac: Floats
    longest_land_km: Floats
    longest_inland_km: Floats
    beta0_pct: Floats
    earth_radius_km: float


@dataclass(frozen=True)
class Horizons:
    """Where each end's radio horizon stands, and the effective heights for ducting.

    Attributes
    ----------
    from_km, to_km : ndarray
        Distance of each end's horizon, dlt and dlr. [km]
    from_mrad, to_mrad, path_mrad : ndarray
        Elevation angles of the horizons and the angular distance of the path. [mrad]
    from_effective_m, to_effective_m : ndarray
        Heights above the smooth earth, hte and hre. [m]
    roughness_m : ndarray
        hm. [m]
    blocked : ndarray of bool
        The path goes beyond the horizon.
    """

    from_km: Floats
    to_km: Floats
    from_mrad: Floats
    to_mrad: Floats
    path_mrad: Floats
    from_effective_m: Floats
    to_effective_m: Floats
    roughness_m: Floats
    blocked: NDArray[np.bool_]


def path_loss(
    distance_km: ArrayLike,
    height_m: ArrayLike,
    from_above_m: ArrayLike,
    to_above_m: ArrayLike,
    frequency_ghz: ArrayLike,
    climate: Climate,
    *,
    cover_m: ArrayLike = 0.0,
    zone: ArrayLike = INLAND,
    time_pct: float = 50.0,
    polarisation: Polarisation = "horizontal",
    from_coast_km: ArrayLike = 500.0,
    to_coast_km: ArrayLike = 500.0,
) -> PathLoss:
    """Basic transmission loss not exceeded for a share of time at the median place.

    Parameters
    ----------
    distance_km : array_like, shape (..., n)
        From the transmitter, rising, from 0; at least 3 points. [km]
    height_m : array_like, shape (..., n)
        Of the bare ground above sea level; a path with NaN has a loss of NaN. [m]
    from_above_m, to_above_m : array_like, shape (...)
        Heights of the transmitter and the receiver above the ground. [m]
    frequency_ghz : array_like, shape (...)
        0.03 to 6. [GHz]
    climate : Climate
    cover_m : array_like, shape (..., n)
        Representative height of trees and buildings; not used at the two ends. [m]
    zone : array_like of int, shape (..., n)
        1 sea, 3 coastal land, 4 inland.
    time_pct : float
        1 to 50. [%]
    polarisation : str
    from_coast_km, to_coast_km : array_like, shape (...)
        Distance over land from either end to the coast along the path. [km]

    Returns
    -------
    loss : PathLoss

    Raises
    ------
    ValueError
        If a profile has fewer than 3 points or `time_pct` is not within 1 to 50.
    """
    if not 1 <= time_pct <= 50:
        raise ValueError(f"time_pct is {time_pct}; it must be from 1 to 50")
    d, h, cover, kind = np.broadcast_arrays(
        *(np.asarray(x, dtype=np.float64) for x in (distance_km, height_m, cover_m, zone))
    )
    known = np.isfinite(h).all(axis=-1)
    h = np.where(known[..., None], h, 0.0)
    total = d[..., -1]
    shape = total.shape
    above_from, above_to, f, dct, dcr, latitude = (
        np.broadcast_to(np.asarray(x, dtype=np.float64), shape)
        for x in (
            from_above_m, to_above_m, frequency_ghz, from_coast_km, to_coast_km,
            climate.latitude_deg,
        )
    )  # fmt: skip
    dct = np.where(kind[..., 0] == SEA, 0.0, dct)
    dcr = np.where(kind[..., -1] == SEA, 0.0, dcr)
    hts, hrs = h[..., 0] + above_from, h[..., -1] + above_to
    covered = h.copy()
    covered[..., 1:-1] += cover[..., 1:-1]
    radius = _EARTH_KM * 157 / (157 - climate.lapse_n_km)  # (6), (7a)
    sea_frac = _share(d, kind == SEA)
    land_km = _longest_run_km(d, kind != SEA)
    inland_km = _longest_run_km(d, kind == INLAND)
    beta0 = _beta0_pct(latitude, land_km, inland_km)
    horizon = _horizons(d, h, hts, hrs, f, radius)

    def diffraction(radius_km: float) -> Diffraction:
        return delta_bullington(
            d, covered, hts, hrs, f, radius_km,
            polarisation=polarisation, sea_frac=sea_frac, bare_height_m=h,
        )  # fmt: skip

    median, rare = diffraction(radius), diffraction(3 * _EARTH_KM)
    quantile = _inverse_normal(np.array(time_pct / 100)) / _inverse_normal(beta0 / 100)
    time_factor = np.where(time_pct > beta0, quantile, 1.0)  # (40)
    ld50, ldb = median.loss_db, rare.loss_db
    ldp = ld50 + time_factor * (ldb - ld50)  # (41)

    free = 92.4 + 20 * np.log10(f) + 10 * np.log10(total**2 + ((hts - hrs) / 1000) ** 2)  # (8)
    focus = 2.6 * (1 - np.exp(-0.1 * (horizon.from_km + horizon.to_km)))
    lb0p = free + focus * np.log10(time_pct / 50)  # (10)
    lb0b = free + focus * np.log10(beta0 / 50)  # (11)
    lbd50, lbd = free + ld50, lb0p + ldp  # (42), (43)
    least = np.where(
        time_pct >= beta0,
        lbd50 + (lb0b + (1 - sea_frac) * ldp - lbd50) * time_factor,
        lb0p + (1 - sea_frac) * ldp,
    )  # (59)
    duct = _ducting_db(
        total, horizon, (dct, dcr), inland_km, hts, hrs, f, time_pct, sea_frac, radius, beta0
    )
    least_duct = 2.5 * np.logaddexp(duct / 2.5, lb0p / 2.5)  # (60)
    far = 1 - 0.5 * (1 + np.tanh(3 * 0.5 * (total - 20) / 20))  # (58)
    wide = 1 - 0.5 * (1 + np.tanh(3 * 0.8 * (horizon.path_mrad - 0.3) / 0.3))  # (57)
    lbda = np.where(least_duct > lbd, lbd, least_duct + (lbd - least_duct) * far)  # (61)
    lbam = lbda + (least - lbda) * wide  # (62)
    scatter = (
        190.1 + 25 * np.log10(f) - 2.5 * np.log10(f / 2) ** 2 + 20 * np.log10(total)
        + 0.573 * horizon.path_mrad - 0.15 * climate.surface_n
        - 10.125 * np.log10(50 / time_pct) ** 0.7
    )  # (44), (45)  # fmt: skip
    combined = -5 * np.log10(10 ** (-0.2 * scatter) + 10 ** (-0.2 * lbam))  # (63)
    return PathLoss(
        loss_db=np.where(known, np.maximum(lb0p, combined), np.nan),
        free_space_db=free,
        line_of_sight_db=lb0p,
        line_of_sight_beta_db=lb0b,
        median=median,
        rare=rare,
        diffraction_db=ldp,
        diffraction_median_db=ld50,
        diffraction_beta_db=ldb,
        with_median_diffraction_db=lbd50,
        with_diffraction_db=lbd,
        least_sight_db=least,
        ducting_db=duct,
        least_ducting_db=least_duct,
        with_ducting_db=lbda,
        modified_db=lbam,
        scatter_db=scatter,
        combined_db=combined,
        time_factor=np.broadcast_to(time_factor, shape),
        angle_factor=wide,
        distance_factor=far,
        horizon=horizon,
        sea_frac=sea_frac,
        longest_land_km=land_km,
        longest_inland_km=inland_km,
        beta0_pct=beta0,
        earth_radius_km=radius,
    )


def _weights(d: Floats) -> Floats:
    """The length of path that each point stands for: half of the gap to either side."""
    half = np.diff(d, axis=-1) / 2
    weight = np.zeros(d.shape)
    weight[..., 1:] += half
    weight[..., :-1] += half
    return weight


def _share(d: Floats, inside: NDArray[np.bool_]) -> Floats:
    result: Floats = np.sum(_weights(d) * inside, axis=-1) / d[..., -1]
    return result


def _longest_run_km(d: Floats, inside: NDArray[np.bool_]) -> Floats:
    """Length of the longest unbroken stretch of points inside."""
    summed = np.cumsum(_weights(d) * inside, axis=-1)
    before = np.maximum.accumulate(np.where(inside, 0.0, summed), axis=-1)
    longest: Floats = np.max(np.where(inside, summed - before, 0.0), axis=-1)
    return longest


def _beta0_pct(latitude_deg: Floats, land_km: Floats, inland_km: Floats) -> Floats:
    """Share of time with a refractivity gradient of over 100 N-units/km near the ground."""
    tau = _inland_factor(inland_km)
    mu1 = np.minimum(
        (10 ** (-land_km / (16 - 6.6 * tau)) + 10 ** (-5 * (0.496 + 0.354 * tau))) ** 0.2, 1.0
    )  # (2)
    north = np.abs(latitude_deg)
    mild = 10 ** (-0.015 * north + 1.67) * mu1 * mu1 ** (-0.935 + 0.0176 * north)
    polar = 4.17 * mu1 * mu1**0.3
    return np.where(north <= 70, mild, polar)  # (4), (5)


def _inland_factor(inland_km: Floats) -> Floats:
    result: Floats = 1 - np.exp(-(4.12e-4 * inland_km**2.41))  # (3)
    return result


def _horizons(
    d: Floats, h: Floats, hts: Floats, hrs: Floats, f: Floats, radius_km: float
) -> Horizons:
    total = d[..., -1]
    di, hi = d[..., 1:-1], h[..., 1:-1]
    rest = total[..., None] - di
    up = 1000 * np.arctan((hi - hts[..., None]) / (1000 * di) - di / (2 * radius_km))
    direct = 1000 * np.arctan((hrs - hts) / (1000 * total) - total / (2 * radius_km))
    back = 1000 * np.arctan((hts - hrs) / (1000 * total) - total / (2 * radius_km))
    up_from = np.max(up, axis=-1)
    blocked = up_from > direct
    down = 1000 * np.arctan((hi - hrs[..., None]) / (1000 * rest) - rest / (2 * radius_km))
    line = (hts[..., None] * rest + hrs[..., None] * di) / total[..., None]
    nu = (hi + 500 * di * rest / radius_km - line) * np.sqrt(
        0.002 * total[..., None] / (_LIGHT_M_GHZ / f[..., None] * di * rest)
    )
    near = np.argmax(nu, axis=-1)
    first = np.where(blocked, np.argmax(up, axis=-1), near)
    last = np.where(blocked, np.argmax(down, axis=-1), near)

    def at(place: NDArray[np.intp]) -> Floats:
        taken: Floats = np.take_along_axis(di, place[..., None], axis=-1)[..., 0]
        return taken

    from_mrad = np.maximum(up_from, direct)
    to_mrad = np.where(blocked, np.max(down, axis=-1), back)
    start, end = smooth_earth_heights_m(d, h)
    start, end = np.minimum(start, h[..., 0]), np.minimum(end, h[..., -1])  # (90)
    smooth = start[..., None] + ((end - start) / total)[..., None] * di
    place = np.arange(di.shape[-1])
    between = (place >= first[..., None]) & (place <= last[..., None])
    return Horizons(
        from_km=at(first),
        to_km=total - at(last),
        from_mrad=from_mrad,
        to_mrad=to_mrad,
        path_mrad=1000 * total / radius_km + from_mrad + to_mrad,  # (82)
        from_effective_m=hts - start,
        to_effective_m=hrs - end,
        roughness_m=np.max(np.where(between, hi - smooth, -np.inf), axis=-1),  # (93)
        blocked=blocked,
    )


def _ducting_db(
    total: Floats,
    horizon: Horizons,
    coast_km: tuple[Floats, Floats],
    inland_km: Floats,
    hts: Floats,
    hrs: Floats,
    f: Floats,
    time_pct: float,
    sea_frac: Floats,
    radius_km: float,
    beta0_pct: Floats,
) -> Floats:
    """Loss during ducting and layer reflection, equations (46) to (56)."""
    low = np.where(f < 0.5, 45.375 - 137.0 * f + 92.5 * f * f, 0.0)  # (47a)
    ends = (
        (horizon.from_mrad, horizon.from_km, coast_km[0], hts),
        (horizon.to_mrad, horizon.to_km, coast_km[1], hrs),
    )
    shielding, coupling = np.zeros(total.shape), np.zeros(total.shape)
    path_mrad = 1000 * total / radius_km
    for angle, away_km, coast, height in ends:
        over = np.maximum(angle - 0.1 * away_km, 0.0)  # (48a)
        shielding = shielding + (
            20 * np.log10(1 + 0.361 * over * np.sqrt(f * away_km)) + 0.264 * over * np.cbrt(f)
        )  # (48)
        near_sea = (coast <= 5) & (coast <= away_km) & (sea_frac >= 0.75)
        coupled = -3 * np.exp(-0.25 * coast * coast) * (1 + np.tanh(0.07 * (50 - height)))
        coupling = coupling + np.where(near_sea, coupled, 0.0)  # (49)
        path_mrad = path_mrad + np.minimum(angle, 0.1 * away_km)  # (52)
    fixed = (
        102.45 + 20 * np.log10(f) + 20 * np.log10(horizon.from_km + horizon.to_km)
        + low + shielding + coupling
    )  # (47)  # fmt: skip
    inner = np.minimum(total - horizon.from_km - horizon.to_km, 40.0)
    rough = horizon.roughness_m
    mu3 = np.where(rough > 10, np.exp(-4.6e-5 * (np.maximum(rough, 10) - 10) * (43 + 6 * inner)), 1)
    alpha = np.maximum(-0.6 - 3.5e-9 * total**3.1 * _inland_factor(inland_km), -3.4)  # (55a)
    roots = np.sqrt(horizon.from_effective_m) + np.sqrt(horizon.to_effective_m)
    mu2 = np.minimum((500 / radius_km * total**2 / roots**2) ** alpha, 1.0)  # (55)
    beta = np.maximum(beta0_pct * mu2 * mu3, 1e-300)  # (54)
    log_beta = np.log10(beta)
    gamma = (
        1.076 / (2.0058 - log_beta) ** 1.012
        * np.exp(-(9.51 - 4.8 * log_beta + 0.198 * log_beta**2) * 1e-6 * total**1.13)
    )  # (53a)  # fmt: skip
    ratio = time_pct / beta
    varying = -12 + (1.2 + 3.7e-3 * total) * np.log10(ratio) + 12 * ratio**gamma  # (53)
    result: Floats = fixed + 5e-5 * radius_km * np.cbrt(f) * path_mrad + varying  # (50), (51)
    return result


def _inverse_normal(share: Floats) -> Floats:
    """Inverse complementary cumulative normal distribution, as Attachment 2 approximates it."""
    x = np.clip(np.asarray(share, dtype=np.float64), 1e-6, 1 - 1e-6)
    t = np.sqrt(-2 * np.log(np.where(x <= 0.5, x, 1 - x)))
    c = ((0.010328 * t + 0.802853) * t + 2.515516698) / (
        ((0.001308 * t + 0.189269) * t + 1.432788) * t + 1
    )
    result: Floats = np.where(x <= 0.5, t - c, c - t)
    return result
