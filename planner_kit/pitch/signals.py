"""Telephone and television on the pitch: which mast, where it stands and what should arrive."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from scipy.stats import norm

from planner_kit.pitch.horizon import Sight, sight_along
from planner_kit.pitch.magnetic import declination_deg, magnetic_bearing_deg
from planner_kit.pitch.masts import masts_from
from planner_kit.pitch.propagation import field_strength_dbuv_m, free_space_loss_db
from planner_kit.pitch.readings import SignalBias, signal_bias
from planner_kit.pitch.signal_path import SignalPaths, signal_paths
from planner_kit.pitch.signal_words import missing_words, signal_sentence
from planner_kit.pitch.television import is_overloaded, reception, television_advice
from planner_kit.reference import constant
from planner_kit.states import State

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner_kit.pitch.cover import Cover
    from planner_kit.pitch.horizon import Ground
    from planner_kit.pitch.receivers import Receiver
    from planner_kit.trip.household import Units

    Floats = NDArray[np.float64]

SIGNAL_COLUMNS = (
    "service", "for_whom", "operator", "mast_id", "mast", "distance_km", "bearing_deg",
    "line_of_sight", "state", "sentence", "clearance_share", "tightest_km", "free_space_dbm",
    "diffraction_db", "level", "level_needed", "level_unit", "margin_db", "spread_db",
    "polarisation", "frequency_mhz", "magnetic_deg", "level_inside", "calls_frac", "maps_frac",
    "video_frac", "inside_calls_frac", "inside_maps_frac", "inside_video_frac",
    "television_frac", "socket_dbuv", "advice", "bias_db", "readings", "assumed",
)  # fmt: skip
USES = ("calls", "maps", "video")
# The method holds between these frequencies. [MHz]
_LOWEST_MHZ, _HIGHEST_MHZ = 30.0, 6000.0
_UNNAMED_SHOWN = 3
_UNSURE_FRAC, _SURE_FRAC = 0.05, 0.95


def _c(name: str) -> float:
    return float(constant("signal_constants", name))


def spread_db() -> float:
    """How far the field may fall below the median at 95 of 100 places near by, in dB."""
    return _c("place_spread_deviation") * _c("place_spread_factor")


@dataclass(frozen=True)
class SignalSurvey:
    """Every mast that could serve each receiver, with the paths that were computed.

    Attributes
    ----------
    table : DataFrame
        The columns of `SIGNAL_COLUMNS`; row i belongs to path i.
    paths : SignalPaths or None
        None without terrain or without masts.
    """

    table: pd.DataFrame
    paths: SignalPaths | None


@dataclass(frozen=True)
class _Line:
    distance_m: Floats
    height_m: Floats


def signal_table(
    lat: float,
    lon: float,
    receivers: Sequence[Receiver],
    masts: pd.DataFrame,
    terrain: Ground | None,
    *,
    cover: Cover | None = None,
    on: dt.date | None = None,
    readings: pd.DataFrame | None = None,
    site_id: str = "",
) -> pd.DataFrame:
    """Every mast that could serve each receiver, nearest first; see `survey_signals`."""
    return survey_signals(
        lat, lon, receivers, masts, terrain,
        cover=cover, on=on, readings=readings, site_id=site_id,
    ).table  # fmt: skip


def survey_signals(
    lat: float,
    lon: float,
    receivers: Sequence[Receiver],
    masts: pd.DataFrame,
    terrain: Ground | None,
    *,
    cover: Cover | None = None,
    on: dt.date | None = None,
    readings: pd.DataFrame | None = None,
    site_id: str = "",
    units: Units | None = None,
) -> SignalSurvey:
    """Every mast that could serve each receiver, nearest first, with its forecast.

    Parameters
    ----------
    lat, lon : float
        The pitch, WGS 84. [deg]
    receivers : sequence of Receiver
    masts : DataFrame
        As `planner_kit.pitch.masts.read_masts` returns it.
    terrain : Ground or None
        Without it no path is known and every row is unknown.
    cover : Cover or None
        Trees, buildings and sea; bare inland ground without it.
    on : date, optional
        For the magnetic bearing; NaN without it.
    readings : DataFrame, optional
        Earlier readings with their forecasts, as `planner_kit.pitch.readings.signal_bias` takes
        them.
    site_id : str
        The site's id in `readings`.
    units : Units, optional
        How the sentences tell distances; kilometres without it.

    Returns
    -------
    survey : SignalSurvey
        `level` is what should arrive at the median place outside (dBm of one subcarrier for a
        phone, dBuV/m at the aerial for television), `margin_db` how far that is above
        `level_needed`, `spread_db` how much is wanted to hold at 95 of 100 places, the columns
        that end in ``_frac`` the share of places and cases in which a use works. A figure that the
        list lacks is assumed where the reference table has one; such a row stays unknown.

    References
    ----------
    .. [1] ITU-R P.525 (free space), P.526 (diffraction), P.1812-8 (the whole path).
    .. [2] Final Acts of RRC-06 (GE06), chapter 3: spread from place to place, least field.
    """
    seen = masts_from(masts, lat, lon)
    pairs = [
        (receiver, mast)
        for receiver in receivers
        for mast in _serving(seen, receiver).to_dict("records")
    ]
    if any(receiver.service == "phone" for receiver in receivers):
        somebody = replace(
            next(receiver for receiver in receivers if receiver.service == "phone"),
            for_whom="",
            operator="",
        )
        pairs += [(somebody, mast) for mast in _unnamed(seen).to_dict("records")]
    if not pairs:
        return SignalSurvey(pd.DataFrame(columns=list(SIGNAL_COLUMNS)), None)
    paths = None if terrain is None else _paths(lat, lon, pairs, terrain, cover)
    turn = float("nan") if on is None else declination_deg(lat, lon, on)
    biases = {
        receiver.operator: SignalBias(0.0, 0.0, 0, 0)
        if readings is None
        else signal_bias(readings, receiver.operator, site_id)
        for receiver, _ in pairs
    }
    rows = [
        _signal_row(
            receiver, mast, paths, number, turn, biases, mapped=cover is not None, units=units
        )
        for number, (receiver, mast) in enumerate(pairs)
    ]
    return SignalSurvey(pd.DataFrame(rows, columns=list(SIGNAL_COLUMNS)), paths)


def _serving(seen: pd.DataFrame, receiver: Receiver) -> pd.DataFrame:
    service = {"phone": "mobile", "television": "tv"}[receiver.service]
    wanted = (seen["service"] == service) & (seen["distance_km"] <= receiver.reach_km)
    if receiver.service == "phone":
        wanted &= _operators(seen) == receiver.operator.strip().casefold()
    return seen[wanted]


def _unnamed(seen: pd.DataFrame) -> pd.DataFrame:
    """The nearest mobile masts whose operator nobody wrote down."""
    near = seen["distance_km"] <= _c("phone_reach")
    return seen[(seen["service"] == "mobile") & (_operators(seen) == "") & near].head(
        _UNNAMED_SHOWN
    )


def _operators(seen: pd.DataFrame) -> pd.Series:
    return seen["operator"].fillna("").astype(str).str.strip().str.casefold()


def _height_m(mast: dict[Any, Any]) -> float:
    """As listed; the height of the reference table for a mobile mast whose height is not."""
    if not pd.isna(mast["height_m"]):
        return float(mast["height_m"])
    return _c("default_mobile_height") if mast["service"] == "mobile" else float("nan")


def _power_dbm(mast: dict[Any, Any]) -> float:
    if np.isfinite(mast["power_dbm"]):
        return float(mast["power_dbm"])
    return _c("default_mobile_eirp") if mast["service"] == "mobile" else float("nan")


def _paths(
    lat: float,
    lon: float,
    pairs: Sequence[tuple[Receiver, dict[Any, Any]]],
    terrain: Ground,
    cover: Cover | None,
) -> SignalPaths:
    frequency = np.array([float(mast["frequency_mhz"]) for _, mast in pairs])
    within = (frequency >= _LOWEST_MHZ) & (frequency <= _HIGHEST_MHZ)
    return signal_paths(
        (lat, lon),
        ([mast["lat"] for _, mast in pairs], [mast["lon"] for _, mast in pairs]),
        [receiver.height_m for receiver, _ in pairs],
        [_height_m(mast) for _, mast in pairs],
        np.where(within, frequency, np.nan),
        [str(mast["polarisation"]) == "vertical" for _, mast in pairs],
        terrain,
        cover,
    )


def _signal_row(
    receiver: Receiver,
    mast: dict[Any, Any],
    paths: SignalPaths | None,
    number: int,
    declination: float,
    biases: dict[str, SignalBias],
    *,
    mapped: bool,
    units: Units | None,
) -> dict[str, Any]:
    frequency, bearing = float(mast["frequency_mhz"]), float(mast["bearing_deg"])
    sight, loss_db, diffraction_db = Sight("unknown"), float("nan"), float("nan")
    if paths is not None:
        loss_db = float(paths.loss_db[number])
        diffraction_db = float(paths.diffraction_db[number])
        listed_m = float("nan") if pd.isna(mast["height_m"]) else float(mast["height_m"])
        total = paths.distance_km[number, -1]
        line = _Line((total - paths.distance_km[number, ::-1]) * 1000, paths.height_m[number, ::-1])
        sight = sight_along(line, receiver.height_m, listed_m, frequency)
    power_dbm = _power_dbm(mast)
    free_dbm = float("nan")
    if frequency > 0:
        away_km = max(float(mast["distance_km"]), 0.001)
        free_dbm = power_dbm - float(free_space_loss_db(away_km, frequency))
    missing = missing_words(receiver, mast, frequency, has_terrain=paths is not None)
    row: dict[str, Any] = {
        "service": receiver.service,
        "for_whom": receiver.for_whom,
        "operator": receiver.operator,
        "mast_id": mast["mast_id"],
        "mast": mast["name"] or mast["mast_id"],
        "distance_km": mast["distance_km"],
        "bearing_deg": bearing,
        "magnetic_deg": magnetic_bearing_deg(bearing, declination),
        "line_of_sight": sight.line_of_sight,
        "clearance_share": sight.clearance_share,
        "tightest_km": sight.tightest_km,
        "free_space_dbm": free_dbm,
        "diffraction_db": diffraction_db,
        "level_unit": receiver.unit,
        "spread_db": spread_db(),
        "polarisation": "" if pd.isna(mast["polarisation"]) else str(mast["polarisation"]),
        "frequency_mhz": frequency,
        "assumed": " and ".join(missing),
        "bias_db": 0.0,
        "readings": 0,
        "advice": "",
    }
    received_dbm = power_dbm - loss_db
    if receiver.service == "phone":
        row |= _phone_part(received_dbm, mast, biases[receiver.operator])
        best, worst = row["inside_calls_frac"], row["calls_frac"]
    else:
        row |= _television_part(receiver, received_dbm, frequency)
        best = worst = row["television_frac"]
    state = State.UNKNOWN
    if np.isfinite(best) and not missing:
        state = State.LOOK
        if best >= _SURE_FRAC and not row.pop("overloaded", False):
            state = State.FINE
        elif worst < _UNSURE_FRAC:
            state = State.NOT_FINE
    row["state"] = state.value
    row["sentence"] = signal_sentence(row, missing, mapped=mapped, units=units)
    return row


def _phone_part(received_dbm: float, mast: dict[Any, Any], bias: SignalBias) -> dict[str, Any]:
    bandwidth = mast.get("bandwidth_mhz")
    subcarriers = _c("carrier_subcarriers")
    if bandwidth is not None and not pd.isna(bandwidth):
        # 12 subcarriers of 15 kHz in each of 5 resource blocks of a megahertz.
        subcarriers = 60.0 * float(bandwidth)
    level = received_dbm - 10 * float(np.log10(subcarriers)) + bias.bias_db
    inside = level - _c("caravan_wall_loss")
    of_forecast = bias.deviation_db if bias.count else _c("forecast_deviation")
    deviation = float(np.hypot(_c("place_spread_deviation"), of_forecast))
    part: dict[str, Any] = {
        "level": level,
        "level_inside": inside,
        "level_needed": _c("calls_level"),
        "margin_db": level - _c("calls_level"),
        "bias_db": bias.bias_db,
        "readings": bias.count,
        "television_frac": float("nan"),
        "socket_dbuv": float("nan"),
    }
    for use in USES:
        needed = _c(f"{use}_level")
        part[f"{use}_frac"] = float(norm.cdf((level - needed) / deviation))
        part[f"inside_{use}_frac"] = float(norm.cdf((inside - needed) / deviation))
    return part


def _television_part(
    receiver: Receiver, received_dbm: float, frequency_mhz: float
) -> dict[str, Any]:
    field = float("nan")
    if frequency_mhz > 0:
        field = float(field_strength_dbuv_m(received_dbm, 0.0, frequency_mhz))
    got = reception(receiver, frequency_mhz, field)
    margin = field - got.needed_dbuv_m
    deviation = float(np.hypot(_c("place_spread_deviation"), _c("forecast_deviation")))
    none = dict.fromkeys([f"{where}{use}_frac" for where in ("", "inside_") for use in USES])
    return {
        **{name: float("nan") for name in none},
        "level": field,
        "level_inside": float("nan"),
        "level_needed": got.needed_dbuv_m,
        "margin_db": margin,
        "television_frac": float(norm.cdf(margin / deviation)),
        "socket_dbuv": got.socket_dbuv,
        "advice": television_advice(field, got, spread_db()),
        "overloaded": is_overloaded(got),
    }
