"""Television on the pitch: which help an aerial needs, if any."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from planner_kit.pitch.receivers import minimum_field_dbuv_m
from planner_kit.reference import constant
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

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
    if is_overloaded(got):
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
    return "no amplifier makes a signal where there is none"


def is_overloaded(got: Reception) -> bool:
    """Whether the level at the socket is above what receivers are made for."""
    return got.socket_dbuv > float(_c("television_overload"))


def check_television_choice(
    best: Mapping[str, Any] | None, socket: bool | None, dishes: Sequence[Check]
) -> Check:
    """What to watch with: own aerial, amplifier, the site's socket, the dish, or nothing.

    Parameters
    ----------
    best : mapping or None
        The row of the signal table that serves the caravan's aerial best; None without an aerial
        or a transmitter in reach.
    socket : bool or None
        Whether the site has television sockets at its pitches.
    dishes : sequence of Check
        As `planner_kit.pitch.dish.check_dish` gives them for the household's satellites.

    Returns
    -------
    check : Check
        Never fine by guess: unknown where the aerial's forecast is, and nothing else is certain.
    """
    free = [dish for dish in dishes if dish.state in (State.FINE, State.LOOK)]
    known = best is not None and not best["assumed"] and np.isfinite(best["margin_db"])
    margin = float(best["margin_db"]) if best is not None and known else float("nan")
    works = known and best is not None and best["state"] != State.NOT_FINE.value and margin >= 0
    if works and best is not None:
        state, words = State(best["state"]), str(best["advice"])
    elif known and best is not None and str(best["advice"]).startswith("your own aerial"):
        state, words = State.LOOK, str(best["advice"])
    elif socket:
        state = State.LOOK
        words = "a long cable from the site's television socket, which needs no aerial of yours"
    elif free:
        state, words = State.LOOK, f"the dish: {free[0].subject}"
    elif known or (best is None and socket is False):
        state, words = State.NOT_FINE, "none of it: neither aerial nor dish reaches a signal here"
    else:
        state, words = State.UNKNOWN, "not to be told: too little is known of the transmitters"
    if socket is None and not works:
        words += "; ask whether the pitches have a television socket (the site list is silent)"
    return Check(
        "what to watch television with",
        state,
        f"{words[0].upper()}{words[1:]}.",
        rule="a booster only makes up for cable; it makes no signal",
        source="forecast over the region's terrain; site list",
    )


def _c(name: str) -> float:
    return float(constant("signal_constants", name))
