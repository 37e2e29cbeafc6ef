"""Where the sun stands over a pitch, and what a solar panel brings on the days of a stay."""

from __future__ import annotations

import datetime as dt
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pvlib

from planner_kit.pitch.water import Amount
from planner_kit.reference import constant

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.pitch.skyline import Skyline
    from planner_kit.trip.household import Caravan

_STEP = "15min"
_STEPS_PER_HOUR = 4


def sun_position(lat: float, lon: float, times: pd.DatetimeIndex) -> pd.DataFrame:
    """Where the sun stands.

    Parameters
    ----------
    lat, lon : float
        WGS 84. [deg]
    times : DatetimeIndex
        With a time zone.

    Returns
    -------
    sun : DataFrame, indexed by times
        azimuth_deg (clockwise from north), elevation_deg (with the bending of the air).

    References
    ----------
    .. [1] Reda and Andreas, "Solar Position Algorithm for Solar Radiation Applications", NREL,
       2008, as pvlib has it.
    """
    found = pvlib.solarposition.get_solarposition(times, lat, lon)
    return pd.DataFrame(
        {
            "azimuth_deg": found["azimuth"].to_numpy(),
            "elevation_deg": found["apparent_elevation"].to_numpy(),
        },
        index=times,
    )


def clear_share(sun_frac: float) -> float:
    """Share of a clear day's light on a day with some of its sunshine.

    Parameters
    ----------
    sun_frac : float
        Share of the daylight with sunshine. [1]

    References
    ----------
    .. [1] FAO Irrigation and Drainage Paper 56, 1998, equation 35.
    """
    a, b = float(constant("solar", "angstrom_a")), float(constant("solar", "angstrom_b"))
    return (a + b * sun_frac) / (a + b)


def solar_days(
    lat: float,
    lon: float,
    days: Sequence[dt.date],
    zone: str,
    caravan: Caravan,
    *,
    height_m: float = 0.0,
    skyline: Skyline | None = None,
    sun_frac: Amount | None = None,
    air_c: float = 15.0,
) -> pd.DataFrame:
    """What the caravan's panels bring into the battery on each day.

    Parameters
    ----------
    lat, lon : float
        WGS 84. [deg]
    days : sequence of date
    zone : str
        Time zone of the site.
    caravan : Caravan
        Its solar_w, solar_tilt_deg and solar_facing_deg.
    height_m : float
        Above the sea. [m]
    skyline : Skyline, optional
        What hills hide; the sun behind them gives only the sky's light. Directions that are not
        known hide nothing in the high figure and everything in the low one.
    sun_frac : Amount, optional
        Share of the daylight with sunshine; where the trip says nothing, from none to all.
    air_c : float
        Temperature by day. [deg C]

    Returns
    -------
    yields : DataFrame, one row for each day
        day, clear_kwh (a cloudless day), low_kwh (overcast), likely_kwh, high_kwh,
        hidden_frac (share of the cloudless yield that hills take).

    References
    ----------
    .. [1] Ineichen and Perez, "A new airmass independent formulation for the Linke turbidity
       coefficient", Solar Energy 73, 2002 (clear sky); Hay and Davies, 1980 (tilted panel);
       Dobos, "PVWatts Version 5 Manual", NREL/TP-6A20-62641, 2014 (power); all as pvlib has them.
    """
    if not days:
        return pd.DataFrame(
            columns=["day", "clear_kwh", "low_kwh", "likely_kwh", "high_kwh", "hidden_frac"]
        )
    stated = constant("solar", "sun_frac")
    sunny = sun_frac or Amount(stated.low, stated.value, stated.high)
    losses = constant("solar", "panel_losses")
    sun, sky = _cloudless(lat, lon, min(days), max(days), zone, height_m)
    times = pd.DatetimeIndex(sun.index)
    free = _panel_w(sky, sun, caravan, air_c)
    hills = np.zeros(len(times)) if skyline is None else skyline.at(sun["azimuth"].to_numpy())
    height = sun["apparent_elevation"].to_numpy()
    unknown = ~np.isfinite(hills)
    behind = (height < np.where(unknown, 0.0, hills)) & (height > 0)
    doubted = behind | (unknown & (height > 0))
    seen = _panel_w(_shaded(sky, behind), sun, caravan, air_c) if behind.any() else free
    careful = seen
    if (doubted != behind).any():
        careful = _panel_w(_shaded(sky, doubted), sun, caravan, air_c)
    frame = (
        pd.DataFrame({"free": free, "seen": seen, "careful": careful}, index=times)
        .groupby(times.date)
        .sum()
        / _STEPS_PER_HOUR
        / 1000
    ).reindex(list(days))
    clear = frame["seen"].to_numpy()
    with np.errstate(invalid="ignore", divide="ignore"):
        hidden = np.where(frame["free"] > 0, 1 - clear / frame["free"], 0.0)
    return pd.DataFrame(
        {
            "day": list(days),
            "clear_kwh": clear * losses.value,
            "low_kwh": frame["careful"].to_numpy() * losses.low * clear_share(sunny.low),
            "likely_kwh": clear * losses.value * clear_share(sunny.likely),
            "high_kwh": clear * losses.high * clear_share(sunny.high),
            "hidden_frac": hidden,
        }
    )


@lru_cache(maxsize=16)
def _cloudless(
    lat: float, lon: float, first: dt.date, last: dt.date, zone: str, height_m: float
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Sun and cloudless sky through some days, as pvlib has them; kept, so not to be changed."""
    times = pd.date_range(
        first, last + dt.timedelta(days=1), freq=_STEP, tz=zone, inclusive="left"
    ) + pd.Timedelta(minutes=30 / _STEPS_PER_HOUR)
    place = pvlib.location.Location(lat, lon, tz=zone, altitude=height_m)
    sun = place.get_solarposition(times)
    return sun, place.get_clearsky(times, solar_position=sun)


def yield_words(yields: pd.DataFrame) -> pd.DataFrame:
    """The yields of `solar_days` with figures as people read them; hidden is a percentage."""
    return yields.assign(
        **{
            name: [f"{kwh:.2f}" for kwh in yields[name]]
            for name in ("low_kwh", "likely_kwh", "high_kwh")
        },
        hidden=[f"{100 * share:.0f} %" for share in yields["hidden_frac"]],
    )


def _shaded(sky: pd.DataFrame, behind: np.ndarray) -> pd.DataFrame:
    """The sky with the sun itself taken away where it is hidden."""
    dark = sky.copy()
    dark.loc[behind, "dni"] = 0.0
    dark.loc[behind, "ghi"] = dark.loc[behind, "dhi"]
    return dark


def _panel_w(sky: pd.DataFrame, sun: pd.DataFrame, caravan: Caravan, air_c: float) -> np.ndarray:
    """Power of the panels before losses, in W."""
    light = pvlib.irradiance.get_total_irradiance(
        caravan.solar_tilt_deg,
        caravan.solar_facing_deg,
        sun["apparent_zenith"].to_numpy(),
        sun["azimuth"].to_numpy(),
        sky["dni"].to_numpy(),
        sky["ghi"].to_numpy(),
        sky["dhi"].to_numpy(),
        dni_extra=pvlib.irradiance.get_extra_radiation(sky.index).to_numpy(),
        model="haydavies",
    )["poa_global"]
    light = np.nan_to_num(light)
    # A panel glued flat to a roof is warm: the Sandia model's insulated back.
    model = pvlib.temperature.TEMPERATURE_MODEL_PARAMETERS["sapm"]["insulated_back_glass_polymer"]
    cell = pvlib.temperature.sapm_cell(light, air_c, 1.0, **model)
    power = pvlib.pvsystem.pvwatts_dc(
        light, cell, caravan.solar_w, float(constant("solar", "power_per_k"))
    )
    return np.maximum(np.asarray(power, dtype=np.float64), 0.0)
