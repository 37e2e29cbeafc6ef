"""Fuel or energy for a drive, from the forces along it and the household's own figures."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from planner_kit.reference import constant
from planner_kit.states import Check, State
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
) -> float:
    """Litres (kWh for an electric car) by the model alone."""
    speed_ms = speed_kmh / 3.6
    work_j = load.force_n(speed_ms, np.nan_to_num(gradient_pct) / 100, rough_frac) * length_m
    regained = load_value("regained_electric") if fuel == "electric" else 0.0
    # Speed lost at a stop is made good from the fuel; part of it comes back where a motor brakes.
    starts = load_value("stops_per_km") * length_m / 1000 * stop_frac
    starts_j = starts * 0.5 * load.mass_kg * speed_ms**2 * (1 - regained)
    driven = np.maximum(work_j, 0) + np.minimum(work_j, 0) * regained + starts_j
    heat_mj = float(driven.sum()) / load_value(f"efficiency_{fuel}") / 1e6
    idle = load_value(f"idle_{fuel}") * float(time_s.sum()) / 3600
    return max(0.0, heat_mj / load_value(f"heat_{fuel}") + idle)


def model_per_100km(outfit: Outfit, *, towing: bool, speed_kmh: float) -> float:
    """What the model says for 100 km of level, smooth road at a steady speed.

    Returns
    -------
    used : float
        [l/100 km, or kWh/100 km for an electric car]
    """
    one = np.ones(1)
    return _used(
        road_load(outfit, towing=towing),
        outfit.fuel,
        one * 100_000,
        one * 100 / speed_kmh * 3600,
        one * speed_kmh,
        one * 0,
        one * 0,
        one,
    )


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
            f"(plus or minus {taught.sd:.1f})"
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

    Notes
    -----
    Wind, a cold engine and the height above the sea are not reckoned with; the range is meant to
    hold them.
    """
    aboard = steps["road_class"].to_numpy() == "ferry"
    drive = steps[~aboard]
    rough = np.zeros(len(steps)) if rough_frac is None else rough_frac
    stops = np.where(drive["road_class"].astype(str).str.startswith("motorway"), 0.1, 1.0)
    used = _used(
        road_load(outfit, towing=towing),
        outfit.fuel,
        drive["length_m"].to_numpy(dtype=float),
        drive["time_s"].to_numpy(dtype=float),
        drive["speed_kmh"].to_numpy(dtype=float),
        drive["gradient_pct"].to_numpy(dtype=float),
        rough[~aboard],
        stops,
    )
    factor, spread, source = calibration(outfit, car, towing=towing, learnt=learnt)
    unit: Literal["l", "kWh"] = "kWh" if outfit.fuel == "electric" else "l"
    likely = used * factor
    return FuelUse(likely * (1 - spread), likely, likely * (1 + spread), unit, source)


def check_range(
    fuel: FuelUse, car: Car, length_km: float, *, at_start_frac: float, reserve_frac: float
) -> Check:
    """Whether what is in the tank or battery at the start lasts, with a reserve.

    Parameters
    ----------
    fuel : FuelUse
    car : Car
    length_km : float
        Of the drive. [km]
    at_start_frac, reserve_frac : float
        How full it is at the start, and what should be left at the end, as shares of the whole.
    """
    holds = car.battery_kwh if fuel.unit == "kWh" else car.tank_l
    store = "battery" if fuel.unit == "kWh" else "tank"
    what = "charge" if fuel.unit == "kWh" else "fuel"
    if holds is None:
        return Check(
            subject=f"range on the {store} at the start",
            state=State.UNKNOWN,
            sentence=f"The size of the {store} is not known; the drive needs {fuel.low:.0f} to "
            f"{fuel.high:.0f} {fuel.unit}.",
            figure=fuel.likely,
            unit=fuel.unit,
            source=fuel.source,
        )
    usable = max(0.0, holds * (at_start_frac - reserve_frac))
    reach_km = length_km * usable / fuel.high if fuel.high > 0 else float("inf")
    if fuel.high <= usable:
        state, sentence = State.FINE, "It lasts with the reserve untouched."
    elif fuel.likely <= usable:
        state = State.LOOK
        sentence = (
            f"It should last, but in wind or traffic the reserve may be touched: {what} before "
            f"{reach_km:.0f} km."
        )
    else:
        stops = int(np.ceil(fuel.likely / max(holds * (1 - reserve_frac), 1e-9)))
        state = State.NOT_FINE if usable < fuel.low else State.LOOK
        sentence = f"It does not last: stop for {what} before {reach_km:.0f} km" + (
            f", and about {stops} times in all." if stops > 1 else "."
        )
    return Check(
        subject=f"range on the {store} at the start",
        state=state,
        sentence=sentence,
        figure=fuel.likely,
        limit=usable,
        unit=fuel.unit,
        margin=usable - fuel.likely,
        rule=f"{at_start_frac:.0%} full at the start, {reserve_frac:.0%} kept in reserve",
        source=fuel.source,
    )


def price_item(fuel: str) -> str:
    """The row of the price list that a car's fuel is bought by."""
    return {"diesel": "diesel_l", "electric": "kwh_public"}.get(fuel, "petrol_l")


def heat_source(fuel: str) -> str:
    """Where the heating value of a fuel comes from."""
    return constant("fuel_road_load", f"heat_{fuel}").source
