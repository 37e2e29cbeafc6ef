"""What a ride or a walk asks of people: speed from power and slope, time, and how hard it is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from planner_kit.reference import constant

if TYPE_CHECKING:
    from collections.abc import Iterable

_GRAVITY_M_S2 = 9.80665
_HALVINGS = 50
_FASTEST_M_S = 40.0


def ride_value(name: str) -> float:
    """A figure of the reference table `ride_constants`."""
    return float(constant("ride_constants", name))


def riding_speed_kmh(
    power_w: Any,
    slope_frac: Any,
    *,
    mass_kg: float,
    rolling: Any,
    drag_area_m2: float,
    air_density_kg_m3: float,
    drivetrain_frac: float = 1.0,
) -> np.ndarray:
    """Steady speed of a bicycle at some power.

    Parameters
    ----------
    power_w : array_like of float
        At the pedals, 0 or more. [W]
    slope_frac : array_like of float
        Rise over run, uphill positive; NaN gives NaN.
    mass_kg : float
        Rider, bicycle and load. [kg]
    rolling : array_like of float
        Coefficient of rolling resistance.
    drag_area_m2 : float
        Drag coefficient times frontal area. [m2]
    air_density_kg_m3 : float
    drivetrain_frac : float
        Share of the power that reaches the wheel.

    Returns
    -------
    speed_kmh : ndarray of float
        Up to 144 km/h. [km/h]

    Notes
    -----
    Without wind, bends and brakes.

    References
    ----------
    .. [1] Martin, Milliken, Cobb, McFadden, Coggan, "Validation of a mathematical model for road
       cycling power", Journal of Applied Biomechanics 14(3), 1998, pp. 276-291.
    """
    power, slope, rolls = np.broadcast_arrays(
        *(np.asarray(one, dtype=float) for one in (power_w, slope_frac, rolling))
    )
    angle = np.arctan(slope)
    force = mass_kg * _GRAVITY_M_S2 * (np.sin(angle) + rolls * np.cos(angle))
    low, high = np.zeros(slope.shape), np.full(slope.shape, _FASTEST_M_S)
    for _ in range(_HALVINGS):  # of the highest speed that needs no more than the power
        middle = (low + high) / 2
        needs = (force + 0.5 * air_density_kg_m3 * drag_area_m2 * middle**2) * middle
        able = needs <= power * drivetrain_frac
        low, high = np.where(able, middle, low), np.where(able, high, middle)
    speed: np.ndarray = np.where(np.isnan(slope), np.nan, low * 3.6)
    return speed


def walking_speed_kmh(slope_frac: Any) -> np.ndarray:
    """Speed on foot, on a path.

    Parameters
    ----------
    slope_frac : array_like of float
        Rise over run, uphill positive.

    Returns
    -------
    speed_kmh : ndarray of float
        [km/h]

    References
    ----------
    .. [1] Tobler, "Three presentations on geographical analysis and modeling", National Center for
       Geographic Information and Analysis, technical report 93-1, 1993: 6 exp(-3.5 |S + 0.05|).
    """
    speed: np.ndarray = 6 * np.exp(-3.5 * np.abs(np.asarray(slope_frac, dtype=float) + 0.05))
    return speed


def stretch_min(
    length_m: np.ndarray, slope_frac: np.ndarray, unpaved: np.ndarray, mode: str, *, child: bool
) -> np.ndarray:
    """Minutes in motion over each stretch; a slope that is not known is taken to be level.

    Parameters
    ----------
    length_m, slope_frac : ndarray of float, shape (n,)
    unpaved : ndarray of bool, shape (n,)
    mode : str
        ``bike`` or ``foot``.
    child : bool
        Whether a child sets the pace.

    Returns
    -------
    minutes : ndarray of float, shape (n,)
    """
    slope = np.nan_to_num(np.asarray(slope_frac, dtype=float))
    if mode == "foot":
        pace = ride_value("child_pace_frac") if child else 1.0
        speed = walking_speed_kmh(slope) * pace
    else:
        who = "child" if child else "adult"
        speed = riding_speed_kmh(
            ride_value(f"{who}_power_w"),
            slope,
            mass_kg=ride_value(f"{who}_ride_kg"),
            rolling=np.where(unpaved, ride_value("rolling_unpaved"), ride_value("rolling_paved")),
            drag_area_m2=ride_value(f"{who}_drag_area_m2"),
            air_density_kg_m3=ride_value("air_density_kg_m3"),
            drivetrain_frac=ride_value("drivetrain_frac"),
        )
        speed = np.clip(speed, ride_value("push_kmh"), ride_value("fastest_kmh"))
    minutes: np.ndarray = np.asarray(length_m) / 1000 / speed * 60
    return minutes


def moving_min(
    length_m: np.ndarray, slope_frac: np.ndarray, unpaved: np.ndarray, mode: str, *, child: bool
) -> float:
    """Minutes in motion over some stretches together; see `stretch_min`."""
    return float(stretch_min(length_m, slope_frac, unpaved, mode, child=child).sum())


def ride_energy_kj(time_min: float, mode: str, *, child: bool) -> float:
    """Work at the pedals of whoever sets the pace; NaN for a walk, which has none.

    Parameters
    ----------
    time_min : float
        In motion. [min]
    mode : str
        ``bike`` or ``foot``.
    child : bool
        Whether a child sets the pace.

    Returns
    -------
    energy_kj : float
        Power times time; freewheeling downhill is counted as if one pedalled. [kJ]
    """
    if mode != "bike":
        return float("nan")
    return ride_value(f"{'child' if child else 'adult'}_power_w") * time_min * 60 / 1000


def difficulty_for_children(
    length_km: float, climb_m: float, busy_frac: float, rough_frac: float, mode: str
) -> tuple[str, str]:
    """How hard a ride or walk is for children, and what makes it so.

    Parameters
    ----------
    length_km : float
    climb_m : float
        NaN where it is not known: it is then never called easy.
    busy_frac, rough_frac : float
        Shares beside traffic and unpaved, 0 to 1; NaN where not known.
    mode : str
        ``bike`` or ``foot``.

    Returns
    -------
    difficulty : str
        ``easy``, ``moderate``, ``hard`` or, where a figure is missing and nothing else makes it
        hard, ``unknown``.
    why : str
    """
    climb = climb_m / length_km if length_km > 0 else np.nan
    looked = [
        ("its length", length_km, f"{mode}_easy_km", f"{mode}_hard_km"),
        ("its climbs", climb, "easy_climb_m_per_km", "hard_climb_m_per_km"),
        ("traffic", busy_frac, "easy_busy_frac", "hard_busy_frac"),
    ]
    if mode == "bike":
        looked.append(("its surface", rough_frac, "easy_rough_frac", "hard_rough_frac"))
    grades: dict[str, list[str]] = {"easy": [], "moderate": [], "hard": [], "unknown": []}
    for what, figure, easy, hard in looked:
        if np.isnan(figure):
            grades["unknown"].append(what)
        elif figure > ride_value(hard):
            grades["hard"].append(what)
        else:
            grades["moderate" if figure > ride_value(easy) else "easy"].append(what)
    if grades["hard"]:
        return "hard", f"for {_joined(grades['hard'])}"
    if grades["unknown"]:
        return "unknown", f"{_joined(grades['unknown'])} not known"
    if grades["moderate"]:
        return "moderate", f"for {_joined(grades['moderate'])}"
    return "easy", "short, gentle and away from traffic"


def _joined(words: Iterable[str]) -> str:
    return " and ".join(words)
