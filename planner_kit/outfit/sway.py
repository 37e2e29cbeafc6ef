"""Whether a loading lets the caravan swing: a linear model of car and trailer in the plane.

Two stiff bodies joined at the ball, one tyre for each axle, side forces in proportion to slip, no
steering, even speed. It ranks loadings of one outfit; it knows nothing of wind, ruts, steering,
stabilisers, roll, worn dampers or tyres at their limit, and it promises nothing.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.optimize import brentq

if TYPE_CHECKING:
    from numpy.typing import NDArray

_KMH = 3.6


@dataclass(frozen=True)
class SwayModel:
    """Car and caravan as the linear single-track model sees them.

    Attributes
    ----------
    car_kg, car_inertia_kg_m2 : float
        [kg], [kg m²]
    front_m, rear_m, ball_m : float
        From the car's centre of mass forward to the front axle, back to the rear axle, back to the
        ball. [m]
    caravan_kg, caravan_inertia_kg_m2 : float
        [kg], [kg m²]
    ball_to_centre_m, ball_to_axle_m : float
        From the ball back to the caravan's centre of mass and to its axle. [m]
    front_n_per_rad, rear_n_per_rad, caravan_n_per_rad : float
        Cornering stiffness of all tyres of an axle (or pair of axles) together. [N/rad]
    """

    car_kg: float
    car_inertia_kg_m2: float
    front_m: float
    rear_m: float
    ball_m: float
    caravan_kg: float
    caravan_inertia_kg_m2: float
    ball_to_centre_m: float
    ball_to_axle_m: float
    front_n_per_rad: float
    rear_n_per_rad: float
    caravan_n_per_rad: float


def state_matrix(model: SwayModel, speed_kmh: float) -> NDArray[np.float64]:
    """How the state changes with time at a steady speed.

    Parameters
    ----------
    model : SwayModel
    speed_kmh : float
        Above 0. [km/h]

    Returns
    -------
    matrix : ndarray, shape (4, 4)
        For the state: side speed of the car, yaw rate of the car, yaw rate of the caravan and the
        angle from caravan to car. [SI units]

    Raises
    ------
    ValueError
        If the speed is not above 0.

    References
    ----------
    .. [1] J. McDowell, "Kinetic Trailer Control", 2018, matrices of the linear single-track model
       of a car with one trailer (open source, read 2026-11-25).
    """
    if speed_kmh <= 0:
        raise ValueError("the speed must be above 0")
    m = model
    v = speed_kmh / _KMH
    # The motion has three coordinates: side speed of the car and the two yaw rates. A point of the
    # outfit moves sideways by its row times these; side forces act back by the same row.
    car, caravan = np.array([1.0, 0, 0]), np.array([1.0, -m.ball_m, -m.ball_to_centre_m])
    tyres = (
        (m.front_n_per_rad, np.array([1.0, m.front_m, 0]), 0.0),
        (m.rear_n_per_rad, np.array([1.0, -m.rear_m, 0]), 0.0),
        (m.caravan_n_per_rad, np.array([1.0, -m.ball_m, -m.ball_to_axle_m]), 1.0),
    )
    mass = (
        m.car_kg * np.outer(car, car)
        + m.caravan_kg * np.outer(caravan, caravan)
        + np.diag([0, m.car_inertia_kg_m2, m.caravan_inertia_kg_m2])
    )
    # The car's axes turn with it: each mass feels v times the car's yaw rate.
    turning = np.zeros((3, 3))
    turning[:, 1] = v * (m.car_kg * car + m.caravan_kg * caravan)
    forces = np.zeros((3, 4))
    for stiffness, row, behind_ball in tyres:
        # Behind the ball the wheels point along the caravan: its angle to the car adds slip.
        forces[:, :3] -= stiffness / v * np.outer(row, row)
        forces[:, 3] -= stiffness * behind_ball * row
    matrix = np.zeros((4, 4))
    matrix[:3, :3] = np.linalg.solve(mass, forces[:, :3] - turning)
    matrix[:3, 3] = np.linalg.solve(mass, forces[:, 3])
    matrix[3, 1], matrix[3, 2] = 1.0, -1.0
    return matrix


def swings(model: SwayModel, speed_kmh: float) -> NDArray[np.complex128]:
    """The four eigenvalues at a speed, least damped first. [1/s]."""
    values = np.linalg.eigvals(state_matrix(model, speed_kmh)).astype(complex)
    ordered: NDArray[np.complex128] = values[np.argsort(-values.real)]
    return ordered


def damping(model: SwayModel, speed_kmh: float) -> float:
    """The damping ratio of the swing that dies down slowest.

    Returns
    -------
    ratio : float
        1 or more would not swing at all; 0 swings for ever; below 0 the swing grows. A motion that
        grows without swinging counts as -1. [1]
    """
    values = swings(model, speed_kmh)
    ratios = np.where(np.abs(values) > 1e-9, -values.real / np.maximum(np.abs(values), 1e-9), 0.0)
    return float(ratios.min())


def critical_speed_kmh(model: SwayModel, *, most_kmh: float = 300.0) -> float | None:
    """The speed of the model above which a swing grows; None if there is none up to `most_kmh`.

    Parameters
    ----------
    model : SwayModel
    most_kmh : float
        Where the search ends. [km/h]

    Returns
    -------
    speed_kmh : float or None
        It serves to rank loadings, not to choose a speed. [km/h]
    """

    def growth(speed_kmh: float) -> float:
        return float(swings(model, speed_kmh)[0].real)

    speeds = np.arange(10.0, most_kmh + 10.0, 10.0)
    slower = speeds[0]
    for faster in speeds[1:]:
        if growth(float(faster)) > 0:
            if growth(float(slower)) > 0:
                return float(slower)
            return float(brentq(growth, slower, faster, xtol=1e-3))
        slower = faster
    return None
