"""Where the weight goes: ball, axles of the caravan and axles of the car, by statics.

Distances are metres in front of the middle of the caravan's axle or axles, or behind the front
axle of the car. Forces are read in kilograms, as on a weighbridge.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True)
class BeamLoads:
    """What a caravan rests on.

    Attributes
    ----------
    nose_kg : float
        On the ball; negative when the nose would lift. [kg]
    axles_kg : tuple of float
        On each axle, from the front. [kg]
    """

    nose_kg: float
    axles_kg: tuple[float, ...]


def beam_loads(
    masses_kg: ArrayLike,
    in_front_of_axle_m: ArrayLike,
    *,
    ball_to_axle_m: float,
    axle_spacing_m: float = 0.0,
    nose_down_m: float = 0.0,
    stiffness_kg_per_m: float = 0.0,
) -> BeamLoads:
    """The loads of a caravan on its ball and axles.

    Parameters
    ----------
    masses_kg, in_front_of_axle_m : array_like, same shape
        The masses and where they lie. [kg], [m]
    ball_to_axle_m : float
        From the ball to the middle of the axle or axles. [m]
    axle_spacing_m : float
        Between two axles; 0 for a single axle. [m]
    nose_down_m : float
        How much lower the ball stands than on a level caravan; two axles only. [m]
    stiffness_kg_per_m : float
        Of the springs of one axle; two axles only. [kg/m]

    Returns
    -------
    loads : BeamLoads

    Raises
    ------
    ValueError
        If the ball is not in front of the axles.

    Notes
    -----
    One axle and a ball are a beam on two supports: forces and moments settle the loads. Two axles
    and a ball are three supports; the two sprung axles are taken to carry the same on a level
    caravan, and a caravan that leans forward by ``nose_down_m`` puts
    ``stiffness * spacing * lean / ball_to_axle`` from the rear axle on the front one, half of it
    up and half of it down. That couple takes weight off the ball.
    """
    if ball_to_axle_m <= axle_spacing_m / 2:
        raise ValueError("the ball must stand in front of the axles")
    mass, place = np.asarray(masses_kg, float), np.asarray(in_front_of_axle_m, float)
    moment = float(mass @ place) if mass.ndim else float(mass * place)
    total = float(np.sum(mass))
    if not axle_spacing_m:
        nose = moment / ball_to_axle_m
        return BeamLoads(nose, (total - nose,))
    shift = stiffness_kg_per_m * axle_spacing_m * nose_down_m / ball_to_axle_m / 2
    nose = (moment - shift * axle_spacing_m) / ball_to_axle_m
    half = (total - nose) / 2
    return BeamLoads(nose, (half + shift, half - shift))


@dataclass(frozen=True)
class CarAxles:
    """What the two axles of a car carry. [kg]."""

    front_kg: float
    rear_kg: float


def ball_on_car(nose_kg: float, *, wheelbase_m: float, ball_behind_rear_axle_m: float) -> CarAxles:
    """What a noseweight adds to the axles of the car; it lifts the front one.

    Parameters
    ----------
    nose_kg : float
        [kg]
    wheelbase_m, ball_behind_rear_axle_m : float
        [m]

    Returns
    -------
    axles : CarAxles
        Changes; the front one is negative. [kg]
    """
    lifted = nose_kg * ball_behind_rear_axle_m / wheelbase_m
    return CarAxles(-lifted, nose_kg + lifted)


def load_on_car(
    masses_kg: ArrayLike, behind_front_axle_m: ArrayLike, *, wheelbase_m: float
) -> CarAxles:
    """What masses in a car add to its axles.

    Parameters
    ----------
    masses_kg, behind_front_axle_m : array_like, same shape
        [kg], [m]
    wheelbase_m : float
        [m]

    Returns
    -------
    axles : CarAxles
        Changes. [kg]
    """
    mass, place = np.asarray(masses_kg, float), np.asarray(behind_front_axle_m, float)
    rear = float(np.sum(mass * place)) / wheelbase_m
    return CarAxles(float(np.sum(mass)) - rear, rear)


def centre_m(nose_kg: float, mass_kg: float, ball_to_axle_m: float) -> float:
    """How far in front of the axle the caravan's centre of mass lies. [m]."""
    return nose_kg * ball_to_axle_m / mass_kg


def yaw_inertia_kg_m2(
    empty_kg: float,
    empty_centre_m: float,
    body_length_m: float,
    body_width_m: float,
    masses_kg: ArrayLike,
    in_front_of_axle_m: ArrayLike,
) -> float:
    """The caravan's moment of inertia about the upright axis through its centre of mass.

    Parameters
    ----------
    empty_kg, empty_centre_m : float
        The empty caravan and its centre, in front of the axle. [kg], [m]
    body_length_m, body_width_m : float
        [m]
    masses_kg, in_front_of_axle_m : array_like, same shape
        What is loaded, each thing taken as a point. [kg], [m]

    Returns
    -------
    inertia : float
        [kg m²]

    Notes
    -----
    The empty caravan counts as an even box, ``m (l² + w²) / 12``; the rest by the theorem of
    parallel axes. Heavy things at the ends count with the square of their distance.
    """
    mass: NDArray[np.float64] = np.append(np.asarray(masses_kg, float), empty_kg)
    place = np.append(np.asarray(in_front_of_axle_m, float), empty_centre_m)
    centre = float(mass @ place) / float(mass.sum())
    box = empty_kg * (body_length_m**2 + body_width_m**2) / 12
    return box + float(mass @ (place - centre) ** 2)
