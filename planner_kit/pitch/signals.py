"""Telephone and television on the pitch: which mast, where it stands and what should arrive."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from planner_kit.pitch.diffraction import delta_bullington
from planner_kit.pitch.horizon import Sight, sight_along
from planner_kit.pitch.masts import compass_point, masts_from
from planner_kit.pitch.propagation import effective_earth_radius_km, free_space_loss_db
from planner_kit.reference import constant
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner_kit.pitch.horizon import Ground
    from planner_kit.trip.household import Caravan, Phone

SIGNAL_COLUMNS = (
    "service", "for_whom", "operator", "mast_id", "mast", "distance_km", "bearing_deg",
    "line_of_sight", "state", "sentence", "clearance_share", "tightest_km", "free_space_dbm",
    "diffraction_db", "level", "level_needed", "level_unit", "margin_db", "spread_db",
    "polarisation", "frequency_mhz",
)  # fmt: skip
# dBm into 75 ohm to dBuV: 10 log10(75 ohm x 1 mW / 1 uV^2) = 108.75.
_DBUV_OF_DBM_75_OHM = 10 * np.log10(75 * 1e-3 * 1e12)
_BARE = "over bare ground; trees, buildings and the caravan's walls take from it"


def _c(name: str) -> float:
    return float(constant("signal_constants", name))


def spread_db() -> float:
    """How far the field may fall below the median at 95 of 100 places near by, in dB."""
    return _c("place_spread_deviation") * _c("place_spread_factor")


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
        From the power at an isotropic antenna to the level that counts; NaN if not known. [dB]
    needed : float
        The level that is needed, in `unit`.
    unit : str
        ``dBm`` (reference signal of a phone) or ``dBuV`` (at the aerial socket).
    reach_km : float
        Masts further away are not looked at. [km]
    """

    service: str
    for_whom: str
    operator: str
    height_m: float
    gain_db: float
    needed: float
    unit: str
    reach_km: float


def phone_receiver(phone: Phone) -> Receiver:
    """A phone in the hand: its level is that of one subcarrier, as phones show it (RSRP)."""
    return Receiver(
        "phone",
        phone.owner,
        phone.operator,
        _c("phone_height"),
        -10 * float(np.log10(_c("carrier_subcarriers"))),
        _c("phone_reference_level"),
        "dBm",
        _c("phone_reach"),
    )


def television_receiver(caravan: Caravan) -> Receiver | None:
    """The caravan's aerial; None when it has none. An unknown aerial has an unknown gain."""
    if caravan.tv_aerial == "none":
        return None
    height = caravan.tv_aerial_height_m
    gain = float("nan")
    if caravan.tv_aerial is not None:
        gain = _c(f"aerial_gain_{caravan.tv_aerial}") - _c("aerial_cable_loss")
    return Receiver(
        "television",
        "everybody",
        "",
        _c("aerial_height") if height is None else height,
        gain + float(_DBUV_OF_DBM_75_OHM),
        _c("television_level") + _c("television_headroom"),
        "dBuV",
        _c("television_reach"),
    )


def receivers_of(phones: Sequence[Phone], caravan: Caravan) -> tuple[Receiver, ...]:
    """All phones and the television of a household."""
    television = television_receiver(caravan)
    return (
        *(phone_receiver(phone) for phone in phones),
        *(() if television is None else (television,)),
    )


def signal_table(
    lat: float,
    lon: float,
    receivers: Sequence[Receiver],
    masts: pd.DataFrame,
    terrain: Ground | None,
) -> pd.DataFrame:
    """Every mast that could serve each receiver, nearest first.

    Parameters
    ----------
    lat, lon : float
        The pitch, WGS 84. [deg]
    receivers : sequence of Receiver
    masts : DataFrame
        As `planner_kit.pitch.masts.read_masts` returns it.
    terrain : Ground or None
        Without it no path is known and every row is unknown.

    Returns
    -------
    table : DataFrame
        The columns of `SIGNAL_COLUMNS`. `level` is what should arrive at the median place over
        bare ground (free space less diffraction), `margin_db` how far that is above
        `level_needed`, `spread_db` how much is wanted to hold at 95 of 100 places.

    References
    ----------
    .. [1] ITU-R P.525 (free space), P.526 (diffraction, delta-Bullington).
    """
    seen = masts_from(masts, lat, lon)
    rows = [
        _signal_row(lat, lon, receiver, mast, terrain)
        for receiver in receivers
        for mast in _serving(seen, receiver).to_dict("records")
    ]
    return pd.DataFrame(rows, columns=list(SIGNAL_COLUMNS))


def _serving(seen: pd.DataFrame, receiver: Receiver) -> pd.DataFrame:
    service = {"phone": "mobile", "television": "tv"}[receiver.service]
    wanted = (seen["service"] == service) & (seen["distance_km"] <= receiver.reach_km)
    if receiver.service == "phone":
        names = seen["operator"].fillna("").astype(str).str.strip().str.casefold()
        wanted &= names == receiver.operator.strip().casefold()
    return seen[wanted]


def _signal_row(
    lat: float, lon: float, receiver: Receiver, mast: Mapping[Any, Any], terrain: Ground | None
) -> dict[str, Any]:
    frequency = float(mast["frequency_mhz"])
    mast_m = float("nan") if pd.isna(mast["height_m"]) else float(mast["height_m"])
    polarisation = "" if pd.isna(mast["polarisation"]) else str(mast["polarisation"])
    sight, loss_db = Sight("unknown"), float("nan")
    distance = max(float(mast["distance_km"]), 0.001)
    if terrain is not None:
        profile = terrain.profile(
            lon, lat, mast["lon"], mast["lat"], step_m=max(50.0, distance * 2)
        )
        sight = sight_along(profile, receiver.height_m, mast_m, frequency)
        height = np.asarray(profile.height_m, dtype=np.float64)
        if frequency > 0 and np.isfinite(mast_m) and np.isfinite(height).all():
            loss_db = 0.0
            if len(height) > 2:
                part = delta_bullington(
                    np.asarray(profile.distance_m) / 1000,
                    height,
                    height[0] + receiver.height_m,
                    height[-1] + mast_m,
                    frequency / 1000,
                    effective_earth_radius_km(),
                    polarisation="vertical" if polarisation == "vertical" else "horizontal",
                )
                loss_db = float(part.loss_db)
    free_dbm = float("nan")
    if frequency > 0 and np.isfinite(mast["power_dbm"]):
        free_dbm = float(mast["power_dbm"]) - float(free_space_loss_db(distance, frequency))
    level = free_dbm - loss_db + receiver.gain_db
    margin = level - receiver.needed
    missing = _missing(receiver, mast, mast_m, frequency, terrain)
    state = _state(sight, margin)
    return {
        "service": receiver.service,
        "for_whom": receiver.for_whom,
        "operator": receiver.operator,
        "mast_id": mast["mast_id"],
        "mast": mast["name"] or mast["mast_id"],
        "distance_km": mast["distance_km"],
        "bearing_deg": mast["bearing_deg"],
        "line_of_sight": sight.line_of_sight,
        "state": state.value,
        "sentence": _sentence(receiver, mast, sight, state, level, margin, missing, polarisation),
        "clearance_share": sight.clearance_share,
        "tightest_km": sight.tightest_km,
        "free_space_dbm": free_dbm,
        "diffraction_db": loss_db,
        "level": level,
        "level_needed": receiver.needed,
        "level_unit": receiver.unit,
        "margin_db": margin,
        "spread_db": spread_db(),
        "polarisation": polarisation,
        "frequency_mhz": frequency,
    }


def _state(sight: Sight, margin_db: float) -> State:
    if sight.line_of_sight == "no":
        return State.LOOK
    if sight.line_of_sight == "unknown" or not np.isfinite(margin_db):
        return State.UNKNOWN
    return State.FINE if margin_db >= spread_db() else State.LOOK


def _missing(
    receiver: Receiver,
    mast: Mapping[Any, Any],
    mast_m: float,
    frequency: float,
    terrain: Ground | None,
) -> tuple[str, ...]:
    gaps = (
        (terrain is None, "terrain for this region"),
        (not np.isfinite(mast_m), "the mast's height"),
        (not np.isfinite(frequency), "its frequency or channel"),
        (not np.isfinite(mast["power_dbm"]), "its power"),
        (not np.isfinite(receiver.gain_db), "the kind of aerial on the caravan"),
    )
    return tuple(words for gap, words in gaps if gap)


def _sentence(
    receiver: Receiver,
    mast: Mapping[Any, Any],
    sight: Sight,
    state: State,
    level: float,
    margin: float,
    missing: tuple[str, ...],
    polarisation: str,
) -> str:
    bearing = float(mast["bearing_deg"])
    where = (
        f"{mast['name'] or mast['mast_id']} stands {mast['distance_km']:.1f} km to the "
        f"{compass_point(bearing)} ({bearing:.0f}° true)"
    )
    if receiver.service == "television" and polarisation in ("horizontal", "vertical"):
        where += f", aerial rods {polarisation}"
    lacks = f"{' and '.join(missing)} not known" if missing else ""
    told = f"about {level:.0f} {receiver.unit} should arrive, {abs(margin):.0f} dB " + (
        "above" if margin >= 0 else "below"
    )
    told += f" what is needed, {_BARE}"
    if receiver.unit == "dBuV" and level > constant("signal_constants", "television_level").high:
        told += "; so strong a signal may want an attenuator"
    if sight.line_of_sight == "no":
        hidden = f"the ground hides it {sight.tightest_km:.1f} km from the pitch"
        return f"{where}; {hidden}; {told if np.isfinite(margin) else lacks or 'no level'}."
    if state is State.UNKNOWN:
        return f"{where}; not to be told: {lacks or 'part of the ground between is not known'}."
    view = "in sight"
    if sight.clearance_share < _c("clearance_share"):
        view = f"in sight, but the ground comes close {sight.tightest_km:.1f} km from the pitch"
    return f"{where}, {view}; {told}."


def signal_checks(table: pd.DataFrame, receivers: Sequence[Receiver]) -> tuple[Check, ...]:
    """One check for each receiver, by the mast that serves it best.

    A receiver without a mast in the list is unknown: a list may have gaps.
    """
    return tuple(_receiver_check(table, receiver) for receiver in receivers)


_BEST_FIRST = {State.FINE.value: 0, State.LOOK.value: 1, State.UNKNOWN.value: 2}


def _receiver_check(table: pd.DataFrame, receiver: Receiver) -> Check:
    subject = (
        "television"
        if receiver.service == "television"
        else f"phone of {receiver.for_whom} ({receiver.operator})"
    )
    source = "ITU-R P.525 and P.526 over the region's terrain"
    rows = table[
        (table["service"] == receiver.service)
        & (table["for_whom"] == receiver.for_whom)
        & (table["operator"] == receiver.operator)
    ]
    if rows.empty:
        return Check(
            subject,
            State.UNKNOWN,
            f"No mast for it within {receiver.reach_km:.0f} km stands in the mast list; the list "
            "may have gaps.",
            source=source,
        )
    order = rows.assign(
        _rank=rows["state"].map(_BEST_FIRST), _margin=rows["margin_db"].fillna(-np.inf)
    ).sort_values(["_rank", "_margin", "distance_km"], ascending=[True, False, True], kind="stable")
    best = order.iloc[0]
    known = bool(np.isfinite(best["margin_db"]))
    return Check(
        subject,
        State(best["state"]),
        str(best["sentence"]),
        figure=float(best["level"]) if known else None,
        limit=receiver.needed,
        unit=receiver.unit,
        margin=float(best["margin_db"]) if known else None,
        rule=f"median level above the one needed by {spread_db():.0f} dB",
        source=source,
    )
