"""The forces that hold an outfit back, and how fast they let it climb.

Forces are newtons, speeds inside this module metres a second.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner_kit.outfit.report import Outfit


def load_value(name: str) -> float:
    """A value of the table of road loads."""
    return constant("fuel_road_load", name).value


@dataclass(frozen=True)
class RoadLoad:
    """What decides the forces on an outfit or a car.

    Attributes
    ----------
    mass_kg : float
        Of all that moves. [kg]
    rolling : float
        Rolling resistance coefficient, weighted by mass.
    drag_area_m2 : float
        Drag coefficient times frontal area. [m2]
    assumed : tuple of str
        What was assumed for want of a figure.
    """

    mass_kg: float
    rolling: float
    drag_area_m2: float
    assumed: tuple[str, ...]

    def force_n(
        self,
        speed_ms: NDArray[np.float64],
        gradient_frac: NDArray[np.float64],
        rough_frac: NDArray[np.float64],
    ) -> NDArray[np.float64]:
        """Force at the wheels at a steady speed; negative where it must be braked [N]."""
        angle = np.arctan(gradient_frac)
        weight = self.mass_kg * load_value("gravity")
        rolling = (self.rolling + rough_frac * load_value("rough_rolling")) * weight * np.cos(angle)
        air = 0.5 * load_value("air_density") * self.drag_area_m2 * speed_ms**2
        return np.asarray(rolling + air + weight * np.sin(angle), dtype=np.float64)


def road_load(outfit: Outfit, *, towing: bool) -> RoadLoad:
    """The road load of the outfit, or of its car alone.

    Parameters
    ----------
    outfit : Outfit
    towing : bool
        With the caravan.

    Returns
    -------
    load : RoadLoad
    """
    assumed: list[str] = []

    def known(value: float | None, name: str, what: str, unit: str) -> float:
        if value is not None:
            return value
        assumed.append(f"the {what} is not known and was taken as {load_value(name):g} {unit}")
        return load_value(name)

    car_kg = known(outfit.car_kg, "car_mass", "car's mass", "kg")
    car_width = known(outfit.car_width_m, "car_width", "car's width", "m")
    car_area = car_width * load_value("car_height") * load_value("area_frac")
    drag = load_value("drag_car") * car_area
    if not towing:
        return RoadLoad(car_kg, load_value("rolling_car"), drag, tuple(assumed))
    caravan_kg = known(outfit.caravan_kg, "caravan_mass", "caravan's mass", "kg")
    width = known(outfit.caravan_width_m, "caravan_width", "caravan's width", "m")
    height = known(outfit.height_m, "caravan_height", "outfit's height", "m")
    beyond = max(0.0, width * (height - load_value("caravan_clearance")) - car_area)
    rolling = (
        load_value("rolling_car") * car_kg + load_value("rolling_caravan") * caravan_kg
    ) / max(car_kg + caravan_kg, 1.0)
    return RoadLoad(
        mass_kg=car_kg + caravan_kg,
        rolling=rolling,
        drag_area_m2=drag + load_value("drag_caravan") * beyond,
        assumed=tuple(assumed),
    )


def climbing_speeds_kmh(gradient_pct: NDArray[np.float64], outfit: Outfit) -> NDArray[np.float64]:
    """The steady speed that the engine holds on a gradient.

    Parameters
    ----------
    gradient_pct : ndarray
        Uphill positive; NaN counts as level. [%]
    outfit : Outfit

    Returns
    -------
    speed_kmh : ndarray
        inf on the level and downhill, where the engine is not what limits. [km/h]
    """
    load = road_load(outfit, towing=True)
    if outfit.power_kw is None:
        power_w = constant("towing_costs", "power_assumed").value * load.mass_kg
    else:
        power_w = outfit.power_kw * 1000 * constant("towing_costs", "power_share").value
    grid = np.linspace(0, 0.4, 161)
    speed = np.full(grid.shape, 1.0)
    # Power rises with speed, so halving the interval finds the one speed that uses it all.
    low, high = np.full(grid.shape, 0.5), np.full(grid.shape, 80.0)
    for _ in range(40):
        speed = (low + high) / 2
        over = load.force_n(speed, grid, np.zeros_like(grid)) * speed > power_w
        low, high = np.where(over, low, speed), np.where(over, speed, high)
    slope = np.nan_to_num(gradient_pct) / 100
    return np.asarray(np.where(slope <= 0.005, np.inf, np.interp(slope, grid, speed * 3.6)))
