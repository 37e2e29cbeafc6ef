"""Fuel or energy for a drive, from the forces along it and the household's own figures."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from planner_kit.reference import constant
from planner_kit.tow.leg import FuelUse
from planner_kit.tow.road_load import RoadLoad, load_value, road_load

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from planner_kit.outfit.report import Outfit
    from planner_kit.trip.household import Car
    from planner_kit.trip.learnt import Learnt


def _used(
    load: RoadLoad,
    fuel: str,
    length_m: NDArray[np.float64],
    time_s: NDArray[np.float64],
    speed_kmh: NDArray[np.float64],
    gradient_pct: NDArray[np.float64],
    rough_frac: NDArray[np.float64],
    stop_frac: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Litres (kWh for an electric car) on each step by the model alone."""
    speed_ms = speed_kmh / 3.6
    work_j = load.force_n(speed_ms, np.nan_to_num(gradient_pct) / 100, rough_frac) * length_m
    regained = load_value("regained_electric") if fuel == "electric" else 0.0
    # Speed lost at a stop is made good from the fuel; part of it comes back where a motor brakes.
    starts = load_value("stops_per_km") * length_m / 1000 * stop_frac
    starts_j = starts * 0.5 * load.mass_kg * speed_ms**2 * (1 - regained)
    driven = np.maximum(work_j, 0) + np.minimum(work_j, 0) * regained + starts_j
    heat_mj = driven / load_value(f"efficiency_{fuel}") / 1e6
    idle = load_value(f"idle_{fuel}") * time_s / 3600
    return np.asarray(heat_mj / load_value(f"heat_{fuel}") + idle, dtype=np.float64)


def model_per_100km(outfit: Outfit, *, towing: bool, speed_kmh: float) -> float:
    """What the model says for 100 km of level, smooth road at a steady speed.

    Returns
    -------
    used : float
        [l/100 km, or kWh/100 km for an electric car]
    """
    one = np.ones(1)
    used = _used(
        road_load(outfit, towing=towing),
        outfit.fuel,
        one * 100_000,
        one * 100 / speed_kmh * 3600,
        one * speed_kmh,
        one * 0,
        one * 0,
        one,
    )
    return float(used[0])


def _own_figure(car: Car, *, towing: bool) -> float | None:
    if car.fuel == "electric":
        return car.towing_kwh_per_100km if towing else car.solo_kwh_per_100km
    return car.towing_l_per_100km if towing else car.solo_l_per_100km


def calibration(
    outfit: Outfit, car: Car, *, towing: bool, learnt: Learnt | None = None
) -> tuple[float, float, str]:
    """By how much the household's own figure, or what its trips taught, differs from the model.

    Returns
    -------
    factor : float
        The model's result is multiplied by it.
    spread_frac : float
        How far a trip may lie from the result, as a share of it.
    source : str
    """
    taught = None
    if learnt is not None and car.fuel != "electric":
        taught = learnt.towing_l_per_100km if towing else learnt.solo_l_per_100km
    if taught is not None:
        speed = load_value("typical_tow_speed" if towing else "typical_solo_speed")
        factor = taught.value / model_per_100km(outfit, towing=towing, speed_kmh=speed)
        trips = f"{taught.trips} trip" + ("" if taught.trips == 1 else "s")
        source = (
            f"road-load model set to the {taught.value:.1f} l/100 km learnt from {trips} "
            f"(plus or minus {100 * taught.sd / taught.value:.0f} %)"
        )
        spread = load_value("spread_measured_frac")
        return factor, max(spread, taught.sd / taught.value), source
    kinds = ((towing, "towing" if towing else "solo"), (not towing, "solo" if towing else "towing"))
    for same, (with_caravan, word) in zip(
        (True, False), ((k[0], k[1]) for k in kinds), strict=True
    ):
        own = _own_figure(car, towing=with_caravan)
        if own is None:
            continue
        speed = load_value("typical_tow_speed" if with_caravan else "typical_solo_speed")
        factor = own / model_per_100km(outfit, towing=with_caravan, speed_kmh=speed)
        spread = load_value("spread_measured_frac" if same else "spread_model_frac")
        return factor, spread, f"road-load model set to the household's own {word} figure"
    return 1.0, load_value("spread_model_frac"), "road-load model; the household gave no figure"


def fuel_use(
    steps: pd.DataFrame,
    outfit: Outfit,
    car: Car,
    *,
    towing: bool = True,
    rough_frac: NDArray[np.float64] | None = None,
    learnt: Learnt | None = None,
) -> FuelUse:
    """Fuel or energy for a drive.

    Parameters
    ----------
    steps : DataFrame
        Of a route: length_m, time_s, speed_kmh, gradient_pct, road_class.
    outfit : Outfit
    car : Car
        For the household's own consumption.
    towing : bool
        With the caravan.
    rough_frac : ndarray, optional
        Roughness of each step, 0 to 1.
    learnt : Learnt, optional
        What earlier trips used; it stands before the household's own figure.

    Returns
    -------
    fuel : FuelUse
        Litres, or kWh for an electric car. A ferry uses none.

    See Also
    --------
    use_by_step : the same, step by step.

    Notes
    -----
    Wind, a cold engine and the height above the sea are not reckoned with; the range is meant to
    hold them.
    """
    used = use_by_step(steps, outfit, towing=towing, rough_frac=rough_frac)
    factor, spread, source = calibration(outfit, car, towing=towing, learnt=learnt)
    unit: Literal["l", "kWh"] = "kWh" if outfit.fuel == "electric" else "l"
    likely = max(0.0, float(used.sum())) * factor
    return FuelUse(likely * (1 - spread), likely, likely * (1 + spread), unit, source)


def use_by_step(
    steps: pd.DataFrame,
    outfit: Outfit,
    *,
    towing: bool = True,
    rough_frac: NDArray[np.float64] | None = None,
) -> NDArray[np.float64]:
    """Fuel or energy of each step of a route by the model alone, not yet calibrated.

    Parameters
    ----------
    steps, outfit, towing, rough_frac
        See `fuel_use`.

    Returns
    -------
    used : ndarray, shape (steps,)
        0 on a ferry; below 0 where a motor puts more back than it uses. [l or kWh]
    """
    aboard = steps["road_class"].to_numpy() == "ferry"
    drive = steps[~aboard]
    rough = np.zeros(len(steps)) if rough_frac is None else rough_frac
    stops = np.where(drive["road_class"].astype(str).str.startswith("motorway"), 0.1, 1.0)
    used = np.zeros(len(steps))
    used[~aboard] = _used(
        road_load(outfit, towing=towing),
        outfit.fuel,
        drive["length_m"].to_numpy(dtype=float),
        drive["time_s"].to_numpy(dtype=float),
        drive["speed_kmh"].to_numpy(dtype=float),
        drive["gradient_pct"].to_numpy(dtype=float),
        rough[~aboard],
        stops,
    )
    return used


def price_item(fuel: str) -> str:
    """The row of the price list that a car's fuel is bought by."""
    return {"diesel": "diesel_l", "electric": "kwh_public"}.get(fuel, "petrol_l")


def heat_source(fuel: str) -> str:
    """Where the heating value of a fuel comes from."""
    return constant("fuel_road_load", f"heat_{fuel}").source
