"""Loss by diffraction over terrain and the round earth (ITU-R P.526, delta-Bullington).

All functions take many profiles at once: the last axis runs along the path, any axes before it
run over paths. Heights are above sea level.

References
----------
.. [1] ITU-R, Recommendation P.526-15 (2019), Annex 1: section 3.1 (first term over the horizon),
   3.2 (any distance), 4.1 (knife edge), 4.5.1 (Bullington), 4.5.2 (complete method). The same
   construction stands in Recommendation P.1812-8, section 4.3.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Floats = NDArray[np.float64]

Polarisation = Literal["horizontal", "vertical"]
# Relative permittivity and conductivity [S/m] of the ground, P.526 section 3.1.1.2 as P.1812.
_GROUND = {"land": (22.0, 0.003), "sea": (80.0, 5.0)}
_LIGHT_M_GHZ = 0.299792458


@dataclass(frozen=True)
class Diffraction:
    """The parts of a diffraction loss, each an array over the paths, in dB.

    Attributes
    ----------
    loss_db : ndarray
        The whole: `terrain_db` plus what the round earth adds over the smooth path.
    terrain_db : ndarray
        Bullington loss of the actual profile.
    smooth_db : ndarray
        Bullington loss of the smooth profile.
    spherical_db : ndarray
        Loss over a spherical earth.
    """

    loss_db: Floats
    terrain_db: Floats
    smooth_db: Floats
    spherical_db: Floats


def knife_edge_loss_db(nu: ArrayLike) -> Floats:
    """Loss over one sharp edge for the dimensionless parameter nu; 0 below -0.78.

    References
    ----------
    .. [1] ITU-R P.526-15, section 4.1.
    """
    v = np.asarray(nu, dtype=np.float64)
    shifted = np.maximum(v, -0.78) - 0.1
    loss = 6.9 + 20 * np.log10(np.sqrt(shifted**2 + 1) + shifted)
    return np.where(np.isnan(v), np.nan, np.where(v > -0.78, loss, 0.0))


def bullington_loss_db(
    distance_km: ArrayLike,
    height_m: ArrayLike,
    from_m: ArrayLike,
    to_m: ArrayLike,
    frequency_ghz: ArrayLike,
    earth_radius_km: float,
) -> Floats:
    """Loss over a profile by one equivalent knife edge.

    Parameters
    ----------
    distance_km : array_like, shape (..., n)
        From the first antenna, rising, from 0; at least 3 points. [km]
    height_m : array_like, shape (..., n)
        Of the ground. [m]
    from_m, to_m : array_like, shape (...)
        Heights of the antennas at the first and the last point. [m]
    frequency_ghz : array_like, shape (...)
        [GHz]
    earth_radius_km : float
        Effective earth radius. [km]

    Returns
    -------
    loss_db : ndarray, shape (...)
        NaN where a height is NaN. [dB]

    Raises
    ------
    ValueError
        If a profile has fewer than 3 points.

    References
    ----------
    .. [1] ITU-R P.526-15, section 4.5.1; ITU-R P.1812-8, up to equation (21).
    """
    d, h = np.broadcast_arrays(
        np.asarray(distance_km, dtype=np.float64), np.asarray(height_m, dtype=np.float64)
    )
    if d.shape[-1] < 3:
        raise ValueError(f"a profile has {d.shape[-1]} points; at least 3 are needed")
    total = d[..., -1]
    hts = np.broadcast_to(np.asarray(from_m, dtype=np.float64), total.shape)
    hrs = np.broadcast_to(np.asarray(to_m, dtype=np.float64), total.shape)
    wavelength = _LIGHT_M_GHZ / np.broadcast_to(
        np.asarray(frequency_ghz, dtype=np.float64), total.shape
    )
    di, rest = d[..., 1:-1], total[..., None] - d[..., 1:-1]
    raised = h[..., 1:-1] + 500 * di * rest / earth_radius_km
    # Steepest lines of sight from either end, in m/km.
    up_from = np.max((raised - hts[..., None]) / di, axis=-1)
    up_to = np.max((raised - hrs[..., None]) / rest, axis=-1)
    direct = (hrs - hts) / total
    sight = up_from < direct
    # With a line of sight: the point that comes nearest to it counts.
    line = (hts[..., None] * rest + hrs[..., None] * di) / total[..., None]
    nearest = np.max(
        (raised - line) * np.sqrt(0.002 * total[..., None] / (wavelength[..., None] * di * rest)),
        axis=-1,
    )
    # Without: where the two steepest lines meet stands the one edge.
    slopes = np.where(sight, 1.0, up_from + up_to)
    edge = np.where(sight, total / 2, (hrs - hts + up_to * total) / slopes)
    edge = np.clip(edge, total * 1e-9, total * (1 - 1e-9))
    over = hts + up_from * edge - (hts * (total - edge) + hrs * edge) / total
    beyond = over * np.sqrt(0.002 * total / (wavelength * edge * (total - edge)))
    loss = knife_edge_loss_db(np.where(sight, nearest, beyond))
    known = ~np.isnan(h[..., 1:-1]).any(axis=-1)
    whole = loss + (1 - np.exp(-loss / 6)) * (10 + 0.02 * total)
    return np.where(known, whole, np.nan)


def smooth_bullington_loss_db(
    distance_km: ArrayLike,
    from_m: ArrayLike,
    to_m: ArrayLike,
    frequency_ghz: ArrayLike,
    earth_radius_km: float,
) -> Floats:
    """Bullington loss over a smooth round earth, without a profile.

    Parameters
    ----------
    distance_km : array_like
        [km]
    from_m, to_m : array_like
        Heights of the antennas above the smooth earth, above 0. [m]
    frequency_ghz : array_like
        [GHz]
    earth_radius_km : float
        Effective earth radius. [km]

    Returns
    -------
    loss_db : ndarray
        What `bullington_loss_db` tends to over a profile of zeros with ever more points. [dB]

    References
    ----------
    .. [1] ITU-R P.1812-8, attachment 4 to annex 1, equations (105) to (112).
    """
    d, h1, h2, f = np.broadcast_arrays(
        *(np.asarray(x, dtype=np.float64) for x in (distance_km, from_m, to_m, frequency_ghz))
    )
    wavelength = _LIGHT_M_GHZ / f
    one, clear = _least_clearance(d, h1, h2, earth_radius_km)
    two = d - one
    seen = -clear * np.sqrt(0.002 * d / (wavelength * one * two))
    curve = 500 / earth_radius_km
    up_from, up_to = curve * d - 2 * np.sqrt(curve * h1), curve * d - 2 * np.sqrt(curve * h2)
    beyond = d >= np.sqrt(2 * earth_radius_km * 0.001) * (np.sqrt(h1) + np.sqrt(h2))
    edge = np.where(beyond, (h2 - h1 + up_to * d) / np.where(beyond, up_from + up_to, 1.0), d / 2)
    edge = np.clip(edge, d * 1e-9, d * (1 - 1e-9))
    over = h1 + up_from * edge - (h1 * (d - edge) + h2 * edge) / d
    hidden = over * np.sqrt(0.002 * d / (wavelength * edge * (d - edge)))
    loss = knife_edge_loss_db(np.where(beyond, hidden, seen))
    whole: Floats = loss + (1 - np.exp(-loss / 6)) * (10 + 0.02 * d)
    return whole


def _least_clearance(
    d: Floats, h1: Floats, h2: Floats, earth_radius_km: float
) -> tuple[Floats, Floats]:
    """Where the ray comes nearest to a smooth earth (km from the first antenna), and by how much.

    References
    ----------
    .. [1] ITU-R P.526-15, section 3.2; ITU-R P.1812-8, equations (23) and (24).
    """
    c = (h1 - h2) / (h1 + h2)
    m = 250 * d**2 / (earth_radius_km * (h1 + h2))
    inner = np.clip(3 * c / 2 * np.sqrt(3 * m / (m + 1) ** 3), -1, 1)
    b = 2 * np.sqrt((m + 1) / (3 * m)) * np.cos(np.pi / 3 + np.arccos(inner) / 3)
    one = np.clip(d / 2 * (1 + b), d * 1e-9, d * (1 - 1e-9))
    two = d - one
    clear = (
        (h1 - 500 * one**2 / earth_radius_km) * two + (h2 - 500 * two**2 / earth_radius_km) * one
    ) / d
    return one, clear


def smooth_earth_heights_m(distance_km: ArrayLike, height_m: ArrayLike) -> tuple[Floats, Floats]:
    """Heights at both ends of the straight line that best fits a profile, in m.

    References
    ----------
    .. [1] ITU-R P.526-15, section 4.5.2; ITU-R P.1812-8, equations (85) and (86).
    """
    d, h = np.broadcast_arrays(
        np.asarray(distance_km, dtype=np.float64), np.asarray(height_m, dtype=np.float64)
    )
    total = d[..., -1]
    step = np.diff(d, axis=-1)
    before_d, here_d, before_h, here_h = d[..., :-1], d[..., 1:], h[..., :-1], h[..., 1:]
    v1 = np.sum(step * (here_h + before_h), axis=-1)
    v2 = np.sum(
        step * (here_h * (2 * here_d + before_d) + before_h * (here_d + 2 * before_d)), axis=-1
    )
    return (2 * v1 * total - v2) / total**2, (v2 - v1 * total) / total**2


def obstructed_smooth_heights_m(
    distance_km: ArrayLike, height_m: ArrayLike, from_m: ArrayLike, to_m: ArrayLike
) -> tuple[Floats, Floats]:
    """The smooth line's ends, lowered where terrain stands above the direct line, in m.

    References
    ----------
    .. [1] ITU-R P.1812-8, equation (89).
    """
    d, h = np.broadcast_arrays(
        np.asarray(distance_km, dtype=np.float64), np.asarray(height_m, dtype=np.float64)
    )
    total = d[..., -1]
    hts = np.broadcast_to(np.asarray(from_m, dtype=np.float64), total.shape)
    hrs = np.broadcast_to(np.asarray(to_m, dtype=np.float64), total.shape)
    start, end = smooth_earth_heights_m(d, h)
    di, rest = d[..., 1:-1], total[..., None] - d[..., 1:-1]
    above = h[..., 1:-1] - (hts[..., None] * rest + hrs[..., None] * di) / total[..., None]
    worst = np.max(above, axis=-1)
    from_start, from_end = np.max(above / di, axis=-1), np.max(above / rest, axis=-1)
    blocked = worst > 0
    both = np.where(blocked, from_start + from_end, 1.0)
    lowered_start = np.where(blocked, start - worst * from_start / both, start)
    lowered_end = np.where(blocked, end - worst * from_end / both, end)
    return np.minimum(lowered_start, h[..., 0]), np.minimum(lowered_end, h[..., -1])


def spherical_earth_loss_db(
    distance_km: ArrayLike,
    from_m: ArrayLike,
    to_m: ArrayLike,
    frequency_ghz: ArrayLike,
    earth_radius_km: float,
    *,
    polarisation: Polarisation = "horizontal",
    sea_frac: ArrayLike = 0.0,
) -> Floats:
    """Loss over a smooth round earth at any distance.

    Parameters
    ----------
    distance_km : array_like
        Length of the path. [km]
    from_m, to_m : array_like
        Heights of the antennas above the smooth earth, above 0. [m]
    frequency_ghz : array_like
        [GHz]
    earth_radius_km : float
        Effective earth radius. [km]
    polarisation : str
    sea_frac : array_like
        Share of the path over sea, 0 to 1.

    Returns
    -------
    loss_db : ndarray
        [dB]

    References
    ----------
    .. [1] ITU-R P.526-15, section 3.2; ITU-R P.1812-8, up to equation (27).
    """
    d, h1, h2, f, sea = np.broadcast_arrays(
        *(
            np.asarray(x, dtype=np.float64)
            for x in (distance_km, from_m, to_m, frequency_ghz, sea_frac)
        )
    )
    roots = np.sqrt(h1) + np.sqrt(h2)
    horizon = np.sqrt(2 * earth_radius_km * 0.001) * roots
    beyond = _first_term_over(d, h1, h2, f, np.full(d.shape, earth_radius_km), polarisation, sea)
    one, clear = _least_clearance(d, h1, h2, earth_radius_km)
    needed = 17.456 * np.sqrt(np.maximum(one * (d - one), 0) * _LIGHT_M_GHZ / f / d)
    grazing_radius = 500 * (d / roots) ** 2
    grazing = np.maximum(_first_term_over(d, h1, h2, f, grazing_radius, polarisation, sea), 0.0)
    within = np.where(clear > needed, 0.0, (1 - clear / np.maximum(needed, 1e-12)) * grazing)
    return np.where(d >= horizon, np.maximum(beyond, 0.0), within)


def _first_term_over(
    d: Floats,
    h1: Floats,
    h2: Floats,
    f: Floats,
    radius_km: Floats,
    polarisation: Polarisation,
    sea_frac: Floats,
) -> Floats:
    land = _first_term(d, h1, h2, f, radius_km, polarisation, *_GROUND["land"])
    if not np.any(sea_frac > 0):
        return land
    sea = _first_term(d, h1, h2, f, radius_km, polarisation, *_GROUND["sea"])
    return sea_frac * sea + (1 - sea_frac) * land


def _first_term(
    d: Floats,
    h1: Floats,
    h2: Floats,
    f: Floats,
    radius_km: Floats,
    polarisation: Polarisation,
    permittivity: float,
    conductivity: float,
) -> Floats:
    """The first term of the residue series (P.526-15, section 3.1.1)."""
    loss_term = (18 * conductivity / f) ** 2
    k = 0.036 * (radius_km * f) ** (-1 / 3) * ((permittivity - 1) ** 2 + loss_term) ** (-1 / 4)
    if polarisation == "vertical":
        k = k * (permittivity**2 + loss_term) ** (1 / 2)
    beta = (1 + 1.6 * k**2 + 0.67 * k**4) / (1 + 4.5 * k**2 + 1.53 * k**4)
    x = 21.88 * beta * (f / radius_km**2) ** (1 / 3) * d
    far = np.maximum(x, 1.6)
    near = np.minimum(np.maximum(x, 1e-12), 1.6)
    along = np.where(
        x >= 1.6,
        11 + 10 * np.log10(far) - 17.6 * far,
        -20 * np.log10(near) - 5.6488 * near**1.425,
    )
    height_scale = 0.9575 * (f**2 / radius_km) ** (1 / 3)
    gains = np.zeros_like(d)
    for h in (h1, h2):
        b = beta * height_scale * h
        high, low = np.maximum(b, 2.0), np.minimum(np.maximum(b, 1e-12), 2.0)
        gain = np.where(
            b > 2,
            17.6 * np.sqrt(high - 1.1) - 5 * np.log10(high - 1.1) - 8,
            20 * np.log10(low + 0.1 * low**3),
        )
        gains = gains + np.maximum(gain, 2 + 20 * np.log10(k))
    return -along - gains


def delta_bullington(
    distance_km: ArrayLike,
    height_m: ArrayLike,
    from_m: ArrayLike,
    to_m: ArrayLike,
    frequency_ghz: ArrayLike,
    earth_radius_km: float,
    *,
    polarisation: Polarisation = "horizontal",
    sea_frac: ArrayLike = 0.0,
    bare_height_m: ArrayLike | None = None,
) -> Diffraction:
    """The complete loss by diffraction over a general path, with its parts.

    Parameters
    ----------
    distance_km, height_m, from_m, to_m, frequency_ghz, earth_radius_km
        As `bullington_loss_db`; `height_m` may include trees and buildings between the ends.
    polarisation, sea_frac
        As `spherical_earth_loss_db`.
    bare_height_m : array_like, shape (..., n), optional
        Heights of the bare ground, from which the smooth profile is drawn; `height_m` if left out.

    Returns
    -------
    diffraction : Diffraction

    Notes
    -----
    Antennas below the smooth profile are taken to be 0.1 m above it.

    References
    ----------
    .. [1] ITU-R P.526-15, section 4.5.2; ITU-R P.1812-8, equation (39).
    """
    d = np.asarray(distance_km, dtype=np.float64)
    bare = np.asarray(height_m if bare_height_m is None else bare_height_m, dtype=np.float64)
    terrain = bullington_loss_db(d, height_m, from_m, to_m, frequency_ghz, earth_radius_km)
    start, end = obstructed_smooth_heights_m(d, bare, from_m, to_m)
    above_start = np.maximum(np.asarray(from_m, dtype=np.float64) - start, 0.1)
    above_end = np.maximum(np.asarray(to_m, dtype=np.float64) - end, 0.1)
    flat = np.zeros(np.broadcast_shapes(d.shape, bare.shape))
    smooth = bullington_loss_db(d, flat, above_start, above_end, frequency_ghz, earth_radius_km)
    spherical = spherical_earth_loss_db(
        d[..., -1],
        above_start,
        above_end,
        frequency_ghz,
        earth_radius_km,
        polarisation=polarisation,
        sea_frac=sea_frac,
    )
    return Diffraction(terrain + np.maximum(spherical - smooth, 0.0), terrain, smooth, spherical)
