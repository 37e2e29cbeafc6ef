"""Whether fuel or charge lasts with its reserve, and where it is filled up on the way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.states import Check, State
from planner_kit.tow.whereabouts import METRIC
from planner_kit.trip.display import distance

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from planner_kit.tow.leg import FuelUse
    from planner_kit.trip.household import Car, Units


@dataclass(frozen=True)
class Supply:
    """What is in the tank or battery, and what each step of the drive takes from it.

    Attributes
    ----------
    unit : str
        ``l`` or ``kWh``.
    holds : float or None
        What the tank or battery holds; None where the household did not say. [l or kWh]
    at_start_frac, reserve_frac : float
        How full it is at the start, and what should always be left, as shares of the whole.
    by_step : ndarray, shape (steps,)
        Use of each step at the upper end of its range. [l or kWh]
    """

    unit: str
    holds: float | None
    at_start_frac: float
    reserve_frac: float
    by_step: NDArray[np.float64]

    @property
    def lasts(self) -> bool:
        """Whether it lasts the whole drive with the reserve untouched."""
        if self.holds is None:
            return True
        usable = self.holds * (self.at_start_frac - self.reserve_frac)
        return bool(np.cumsum(self.by_step).max(initial=0.0) <= usable)


def supply_of(
    fuel: FuelUse,
    used: NDArray[np.float64],
    car: Car,
    *,
    at_start_frac: float,
    reserve_frac: float,
) -> Supply:
    """The supply for a drive.

    Parameters
    ----------
    fuel : FuelUse
        For the whole drive.
    used : ndarray, shape (steps,)
        By the model, from `use_by_step`; scaled here to the upper end of `fuel`. [l or kWh]
    car : Car
    at_start_frac, reserve_frac : float
    """
    total = float(used.sum())
    scaled = used * (fuel.high / total) if total > 0 else np.zeros(len(used))
    holds = car.battery_kwh if fuel.unit == "kWh" else car.tank_l
    return Supply(fuel.unit, holds, at_start_frac, reserve_frac, scaled)


def check_range(
    fuel: FuelUse,
    supply: Supply,
    length_km: float,
    stops: pd.DataFrame,
    short: float,
    *,
    units: Units = METRIC,
) -> Check:
    """Whether what is in the tank or battery lasts with a reserve, filled up on the way if need be.

    Parameters
    ----------
    fuel : FuelUse
    supply : Supply
    length_km : float
        Of the drive. [km]
    stops : DataFrame
        The stops chosen: name, kind, at_km, filled, room.
    short : float
        By how much the best stops still touch the reserve. [l or kWh]
    units : Units
    """
    electric = fuel.unit == "kWh"
    store, what = ("battery", "charge") if electric else ("tank", "fuel")
    subject = f"range on the {store} at the start"
    if supply.holds is None:
        return Check(
            subject=subject,
            state=State.UNKNOWN,
            sentence=f"The size of the {store} is not known; the drive needs {fuel.low:.0f} to "
            f"{fuel.high:.0f} {fuel.unit}.",
            figure=fuel.likely,
            unit=fuel.unit,
            source=fuel.source,
        )
    usable = max(0.0, supply.holds * (supply.at_start_frac - supply.reserve_frac))
    reach = distance(length_km * usable / fuel.high if fuel.high > 0 else length_km, units)
    fills = stops[stops["filled"] > 0]
    at = "; ".join(
        f"{row['filled']:.0f} {fuel.unit} at {row['name'] or str(row['kind']).replace('_', ' ')} "
        f"after {distance(row['at_km'], units)}"
        for row in fills.to_dict("records")
    )
    unsure = bool((fills["room"] != "yes").any())
    if short > 1e-6:
        state = State.NOT_FINE if usable < fuel.low else State.LOOK
        where = f" The best that the map has: {at}." if at else ""
        sentence = (
            f"It does not last with the reserve: {what} before {reach}, and no mapped place that "
            f"is open and has room keeps the reserve whole; {short:.0f} {fuel.unit} are missing."
            f"{where}"
        )
    elif len(fills):
        state = State.LOOK
        sentence = f"It does not last with the reserve, so fill up on the way: {at}."
        if unsure:
            sentence += (
                " Whether car and caravan fit there is not mapped: be ready to unhitch, or fill "
                "up before you hitch."
            )
    else:
        state, sentence = State.FINE, "It lasts with the reserve untouched."
    return Check(
        subject=subject,
        state=state,
        sentence=sentence,
        figure=fuel.likely,
        limit=usable,
        unit=fuel.unit,
        margin=usable - fuel.likely,
        rule=f"{supply.at_start_frac:.0%} full at the start, {supply.reserve_frac:.0%} kept in "
        "reserve, reckoned at the upper end of the use",
        source=fuel.source,
    )
