"""Television on the pitch: which help an aerial needs, if any."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.pitch.receivers import minimum_field_dbuv_m
from planner_kit.reference import constant

if TYPE_CHECKING:
    from planner_kit.pitch.receivers import Receiver

# dBm into 75 ohm to dBuV: 10 log10(75 ohm x 1 mW / 1 uV^2) = 108.75.
_DBUV_OF_DBM_75_OHM = 10 * np.log10(75 * 1e-3 * 1e12)


@dataclass(frozen=True)
class Reception:
    """How a television service arrives at an aerial.

    Attributes
    ----------
    needed_dbuv_m : float
        Least field without an amplifier. [dBuV/m]
    with_amplifier_dbuv_m : float
        Least field with an amplifier at the aerial. [dBuV/m]
    socket_dbuv : float
        Level at the socket without an amplifier. [dBuV]
    """

    needed_dbuv_m: float
    with_amplifier_dbuv_m: float
    socket_dbuv: float


def reception(receiver: Receiver, frequency_mhz: float, field_dbuv_m: float) -> Reception:
    """Field needed and level given by an aerial; NaN where its gain or the frequency is missing."""
    if not (frequency_mhz > 0 and np.isfinite(receiver.gain_db)):
        return Reception(float("nan"), float("nan"), float("nan"))
    plain = minimum_field_dbuv_m(
        frequency_mhz, receiver.gain_db, receiver.cable_loss_db,
        noise_figure_db=_c("television_noise_figure"),
    )  # fmt: skip
    helped = minimum_field_dbuv_m(
        frequency_mhz, receiver.gain_db, 0.0, noise_figure_db=_c("amplifier_noise_figure")
    )
    # A field of 0 dBuV/m gives an isotropic aerial -77.2 - 20 log f dBm (P.525, f in MHz).
    isotropic_dbm = field_dbuv_m - 77.2158 - 20 * np.log10(frequency_mhz)
    socket = isotropic_dbm + receiver.gain_db - receiver.cable_loss_db + _DBUV_OF_DBM_75_OHM
    return Reception(plain, helped, float(socket))


def television_advice(field_dbuv_m: float, got: Reception, spread_db: float) -> str:
    """What to do about television, in one clause.

    Parameters
    ----------
    field_dbuv_m : float
        Expected field at the aerial. [dBuV/m]
    got : Reception
    spread_db : float
        What is wanted above the least field to hold at 95 of 100 places. [dB]

    Returns
    -------
    advice : str
        An amplifier is advised only where it makes up for what the lead loses: not where the field
        itself is missing, and not where the signal is strong already.
    """
    margin = field_dbuv_m - got.needed_dbuv_m
    helped = field_dbuv_m - got.with_amplifier_dbuv_m
    if not np.isfinite(margin):
        return "no advice: not enough is known"
    if got.socket_dbuv > constant("signal_constants", "television_level").high:
        return (
            "your own aerial, with no amplifier: so strong a signal would overload it, and may "
            "want an attenuator"
        )
    if margin >= spread_db:
        return "your own aerial; an amplifier adds nothing"
    if margin >= 0:
        return "your own aerial; an amplifier at the aerial makes up for the lead and may steady it"
    if helped >= 0:
        return (
            "your own aerial with an amplifier at the aerial, which makes up for the lead; behind "
            "the lead it would not help"
        )
    return (
        "no amplifier makes a signal where there is none: a site socket with a long lead, or a "
        "dish where the sky is open, or none"
    )


def _c(name: str) -> float:
    return float(constant("signal_constants", name))
