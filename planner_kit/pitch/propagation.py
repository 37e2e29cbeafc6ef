"""Radio in free space: loss, level and field strength, and the room that a path needs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

# Gain of a half-wave dipole over an isotropic antenna: turns ERP into EIRP. [dB]
DIPOLE_GAIN_DB = 2.15


def effective_earth_radius_km() -> float:
    """The radius at which a radio path over the curved earth is drawn as a straight line, in km."""
    factor = float(constant("signal_constants", "effective_earth_factor"))
    return factor * float(constant("signal_constants", "earth_radius"))


def free_space_loss_db(distance_km: ArrayLike, frequency_mhz: ArrayLike) -> NDArray[np.float64]:
    """Loss between two isotropic antennas with nothing in the way.

    Parameters
    ----------
    distance_km : array_like of float
        Straight-line distance, above 0. [km]
    frequency_mhz : array_like of float
        Carrier frequency, above 0. [MHz]

    Returns
    -------
    loss_db : ndarray of float
        Basic transmission loss in the shape of both inputs; NaN where an input is NaN. [dB]

    Raises
    ------
    ValueError
        If any distance or frequency is zero or negative.

    Notes
    -----
    The Recommendation prints the constant rounded to 32.4; it is 20 log10 of 4 pi km MHz / c,
    which is used here unrounded. Leaves out terrain, trees, buildings, reflection and ducting.

    References
    ----------
    .. [1] ITU-R, Recommendation P.525-5, "Calculation of free-space attenuation", point-to-point
       links: 32.4 + 20 log f + 20 log d.
    """
    distance = _above_zero(distance_km, "distance_km")
    frequency = _above_zero(frequency_mhz, "frequency_mhz")
    loss: NDArray[np.float64] = 20 * np.log10(4e9 * np.pi / 299_792_458.0 * distance * frequency)
    return loss


def field_strength_dbuv_m(
    eirp_dbm: ArrayLike, loss_db: ArrayLike, frequency_mhz: ArrayLike
) -> NDArray[np.float64]:
    """Field strength where a signal arrives after a basic transmission loss.

    Parameters
    ----------
    eirp_dbm : array_like of float
        Power radiated towards the receiver, over isotropic. [dBm]
    loss_db : array_like of float
        Basic transmission loss. [dB]
    frequency_mhz : array_like of float
        Above 0. [MHz]

    Returns
    -------
    field_dbuv_m : ndarray of float
        [dB over 1 microvolt a metre]

    References
    ----------
    .. [1] ITU-R, Recommendation P.525, conversion formulas: isotropically received power for a
       given field strength, Pr = E - 20 log f - 167.2 with f in GHz and Pr in dBW; 137.2 in dBm.
       With f in MHz the constant is 77.2.
    """
    frequency = _above_zero(frequency_mhz, "frequency_mhz")
    level_dbm = np.asarray(eirp_dbm, dtype=np.float64) - np.asarray(loss_db, dtype=np.float64)
    # 0 dBm into an isotropic antenna is a power flux of 4 pi f^2 / c^2 mW/m2; E^2 = 120 pi S.
    constant_db = 10 * np.log10(120 * np.pi * 4 * np.pi * 1e12 / 299_792_458.0**2 * 1e-3) + 120
    field: NDArray[np.float64] = level_dbm + 20 * np.log10(frequency) + constant_db
    return field


def eirp_of_erp_dbm(erp_w: ArrayLike) -> NDArray[np.float64]:
    """EIRP of a transmitter whose power is told against a half-wave dipole; NaN for 0 W, in dBm."""
    erp = np.asarray(erp_w, dtype=np.float64)
    usable = erp > 0
    return np.where(
        usable, 10 * np.log10(np.where(usable, erp, 1.0) * 1000) + DIPOLE_GAIN_DB, np.nan
    )


def fresnel_radius_m(
    from_one_km: ArrayLike, from_other_km: ArrayLike, frequency_mhz: ArrayLike
) -> NDArray[np.float64]:
    """Radius of the first Fresnel ellipsoid at a point between two antennas.

    Parameters
    ----------
    from_one_km, from_other_km : array_like of float
        Distance of the point from either end; their sum is above 0. [km]
    frequency_mhz : array_like of float
        [MHz]

    Returns
    -------
    radius_m : ndarray of float
        0 at the ends. [m]

    References
    ----------
    .. [1] ITU-R, Recommendation P.526-8 (2003), equation (2): R = sqrt(lambda d1 d2 / (d1 + d2));
       equation (3) prints it as 550 sqrt(d1 d2 / ((d1 + d2) f)).
    """
    one = np.asarray(from_one_km, dtype=np.float64)
    other = np.asarray(from_other_km, dtype=np.float64)
    wavelength_m = 299.792458 / _above_zero(frequency_mhz, "frequency_mhz")
    return np.sqrt(1000 * wavelength_m * one * other / (one + other))


def earth_bulge_m(
    from_one_km: ArrayLike, from_other_km: ArrayLike, earth_radius_km: float
) -> NDArray[np.float64]:
    """How far the curved earth stands above the straight line between two points on it, in m."""
    one = np.asarray(from_one_km, dtype=np.float64)
    other = np.asarray(from_other_km, dtype=np.float64)
    return 500 * one * other / earth_radius_km


def channel_frequency_mhz(channel: ArrayLike) -> NDArray[np.float64]:
    """Centre of a UHF television channel, 21 (474 MHz) to 69; NaN for any other, in MHz."""
    number = np.asarray(channel, dtype=np.float64)
    return np.where((number >= 21) & (number <= 69), 306.0 + 8.0 * number, np.nan)


def _above_zero(values: ArrayLike, name: str) -> NDArray[np.float64]:
    array = np.asarray(values, dtype=np.float64)
    if np.any(array <= 0):
        raise ValueError(f"{name} has the value {np.nanmin(array):g}; it must be above 0")
    return array
