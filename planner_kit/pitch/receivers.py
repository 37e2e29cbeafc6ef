"""What a household receives signals with: phones in the hand and the caravan's aerial."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.pitch.propagation import DIPOLE_GAIN_DB
from planner_kit.reference import constant

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.trip.household import Caravan, Phone

# Boltzmann's constant times 290 K, in dB over 1 W/Hz.
_NOISE_DBW_HZ = 10 * np.log10(1.380649e-23 * 290)
_DVB_T_BANDWIDTH_HZ = 7.61e6


def _c(name: str) -> float:
    return float(constant("signal_constants", name))


@dataclass(frozen=True)
class Receiver:
    """What a signal is to be received with.

    Attributes
    ----------
    service : str
        ``phone`` or ``television``.
    for_whom, operator : str
        Whose phone, and its operator; for television ``everybody`` and empty.
    height_m : float
        Above the pitch. [m]
    gain_db : float
        Of the aerial over isotropic; NaN if not known; 0 for a phone. [dB]
    cable_loss_db : float
        Between aerial and receiver. [dB]
    unit : str
        ``dBm`` (reference signal of a phone) or ``dBuV/m`` (field at the aerial).
    reach_km : float
        Masts further away are not looked at. [km]
    """

    service: str
    for_whom: str
    operator: str
    height_m: float
    gain_db: float
    cable_loss_db: float
    unit: str
    reach_km: float


def phone_receiver(phone: Phone) -> Receiver:
    """A phone in the hand: its level is that of one subcarrier, as phones show it (RSRP)."""
    return Receiver(
        "phone", phone.owner, phone.operator, _c("phone_height"), 0.0, 0.0, "dBm",
        _c("phone_reach"),
    )  # fmt: skip


def television_receiver(caravan: Caravan) -> Receiver | None:
    """The caravan's aerial; None when it has none. An unknown aerial has an unknown gain."""
    if caravan.tv_aerial == "none":
        return None
    height = caravan.tv_aerial_height_m
    gain = float("nan") if caravan.tv_aerial is None else _c(f"aerial_gain_{caravan.tv_aerial}")
    return Receiver(
        "television",
        "everybody",
        "",
        _c("aerial_height") if height is None else height,
        gain,
        _c("aerial_cable_loss"),
        "dBuV/m",
        _c("television_reach"),
    )


def receivers_of(phones: Sequence[Phone], caravan: Caravan) -> tuple[Receiver, ...]:
    """All phones and the television of a household."""
    television = television_receiver(caravan)
    return (
        *(phone_receiver(phone) for phone in phones),
        *(() if television is None else (television,)),
    )


def minimum_field_dbuv_m(
    frequency_mhz: float, gain_db: float, cable_loss_db: float, *, noise_figure_db: float
) -> float:
    """Least field at an aerial with which a digital television service is received.

    Parameters
    ----------
    frequency_mhz : float
        [MHz]
    gain_db : float
        Of the aerial over isotropic. [dB]
    cable_loss_db : float
        [dB]
    noise_figure_db : float
        Of the first amplifier or the receiver. [dB]

    Returns
    -------
    field_dbuv_m : float
        [dB over 1 microvolt a metre]

    References
    ----------
    .. [1] Final Acts of RRC-06 (GE06), chapter 3, calculation of minimum median field strengths:
       Pn = F + 10 log(k T0 B); Ps = C/N + Pn; Aa = G + 10 log(1.64 lambda^2 / 4 pi);
       phi = Ps - Aa + Lf; E = phi + 145.8.
    """
    wavelength_m = 299.792458 / frequency_mhz
    noise_dbw = noise_figure_db + _NOISE_DBW_HZ + 10 * np.log10(_DVB_T_BANDWIDTH_HZ)
    power_dbw = _c("television_carrier_to_noise") + noise_dbw
    opening_db = gain_db - DIPOLE_GAIN_DB + 10 * np.log10(1.64 * wavelength_m**2 / (4 * np.pi))
    return float(power_dbw - opening_db + cable_loss_db + 145.8)
