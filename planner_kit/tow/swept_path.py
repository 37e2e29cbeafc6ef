"""The ground that car and caravan sweep in a turn: off-tracking, steady and while it builds up.

At walking pace wheels do not slip, so an axle follows the point that draws it along a tractrix:
the front axle draws the rear axle of the car, and the tow ball draws the caravan's axle.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner_kit.outfit.report import Outfit

# Pieces into which an arc, and the straight behind it, are cut.
_ARC_STEPS, _OUT_STEPS = 36, 18


@dataclass(frozen=True)
class Turning:
    """What decides how an outfit goes round a corner.

    Attributes
    ----------
    wheelbase_m : float
        Of the car. [m]
    front_m : float
        From the car's front axle to its front end. [m]
    hitch_m : float
        From the car's rear axle back to the ball. [m]
    drawbar_m : float
        From the ball to the caravan's axle, or the middle of its axles. [m]
    tail_m : float
        From that axle to the caravan's rear end. [m]
    car_width_m, caravan_width_m : float
        [m]
    radius_m : float
        Smallest radius that the middle of the front axle can drive. [m]
    assumed : tuple of str
        What was assumed for want of a figure.
    """

    wheelbase_m: float
    front_m: float
    hitch_m: float
    drawbar_m: float
    tail_m: float
    car_width_m: float
    caravan_width_m: float
    radius_m: float
    assumed: tuple[str, ...] = ()


def turning_of(outfit: Outfit) -> Turning | None:
    """What an outfit's turning hangs on; None where a length that it needs is not known."""
    wheelbase, hitch = outfit.car_wheelbase_m, outfit.ball_behind_rear_axle_m
    drawbar, tail = outfit.ball_to_axle_m, outfit.axle_to_tail_m
    wide = outfit.caravan_width_m if outfit.caravan_width_m is not None else outfit.width_m
    if wheelbase is None or hitch is None or drawbar is None or tail is None or wide is None:
        return None
    assumed: list[str] = []

    def known(value: float | None, name: str, what: str) -> float:
        if value is not None:
            return value
        taken = constant("turning", name).value
        assumed.append(f"the car's {what} is not known and was taken as {taken:g} m")
        return taken

    car_width = known(outfit.car_width_m, "car_width", "width")
    circle = known(outfit.turning_circle_m, "turning_circle", "turning circle")
    front = constant("turning", "front_overhang").value
    if outfit.car_length_m is not None:
        clearance = constant("outfit", "ball_clearance").value
        front = max(0.3, outfit.car_length_m - wheelbase - (hitch - clearance))
    # The circle of the papers is that of the outer front wheel.
    rear_outer = np.sqrt(max((circle / 2) ** 2 - wheelbase**2, 1.0))
    rear = max(rear_outer - 0.5 * constant("turning", "track_frac").value * car_width, 0.5)
    return Turning(
        wheelbase, front, hitch, drawbar, tail, car_width, wide,
        float(np.hypot(rear, wheelbase)), tuple(assumed),
    )  # fmt: skip


def steady_radii_m(
    turning: Turning, front_axle_m: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The inner and the outer radius that an outfit sweeps on a circle that goes on and on.

    Parameters
    ----------
    turning : Turning
    front_axle_m : ndarray
        Radius that the middle of the car's front axle drives. [m]

    Returns
    -------
    inner, outer : ndarray
        NaN for the inner radius where the caravan would be pulled round on the spot. [m]

    Notes
    -----
    Every axle lies on the radius through the centre, so squares of lengths add and subtract:
    the caravan's axle runs at the root of R² - wheelbase² + hitch² - drawbar².

    References
    ----------
    .. [1] The sum-of-squares formula of low-speed off-tracking, as reviewed by Sayers, "Vehicle
       offtracking models", Transportation Research Record 1052 (1986), 53-62.
    """
    rear2 = np.maximum(front_axle_m**2 - turning.wheelbase_m**2, 0.0)
    axle2 = rear2 + turning.hitch_m**2 - turning.drawbar_m**2
    axle = np.sqrt(np.where(axle2 > 0, axle2, np.nan))
    rear = np.sqrt(rear2)
    nose = np.hypot(rear + turning.car_width_m / 2, turning.wheelbase_m + turning.front_m)
    tail = np.hypot(axle + turning.caravan_width_m / 2, turning.tail_m)
    return axle - turning.caravan_width_m / 2, np.fmax(nose, tail)


def turned_rad(
    length_m: float, step_m: NDArray[np.float64], off_rad: NDArray[np.float64]
) -> NDArray[np.float64]:
    """How far a drawn axle turns while the point that draws it goes one straight step.

    Parameters
    ----------
    length_m : float
        From the axle to the point that draws it. [m]
    step_m : ndarray
        Length of the step. [m]
    off_rad : ndarray
        Direction of the step less the direction from axle to point. [rad]

    References
    ----------
    .. [1] Haws, "Theory" of a program for turning vehicles, hawsedc.com/gnu/turntheo.php, read on
       2026-11-25: 2 atan(sin a / (2 L / S - cos a)), where a is the angle between the step and
       the way back to the axle.
    """
    return 2 * np.arctan2(
        np.sin(off_rad), 2 * length_m / np.maximum(step_m, 1e-9) + np.cos(off_rad)
    )


@dataclass(frozen=True)
class Sweep:
    """Where the corners of an outfit are while it turns to the left, shape (steps, turns) each.

    x runs along the road on which it comes, y to the left; the front axle's arc begins at (0, 0).

    Attributes
    ----------
    nose_x, nose_y : ndarray
        Right front corner of the car. [m]
    tail_x, tail_y : ndarray
        Right rear corner of the caravan. [m]
    inner_x, inner_y : ndarray
        The caravan's left side at its axle. [m]
    bent_rad : ndarray
        The angle between car and caravan. [rad]
    """

    nose_x: NDArray[np.float64]
    nose_y: NDArray[np.float64]
    tail_x: NDArray[np.float64]
    tail_y: NDArray[np.float64]
    inner_x: NDArray[np.float64]
    inner_y: NDArray[np.float64]
    bent_rad: NDArray[np.float64]


def sweep(turning: Turning, radius_m: NDArray[np.float64], angle_rad: NDArray[np.float64]) -> Sweep:
    """The path of an outfit whose front axle drives an arc and then straight on.

    Parameters
    ----------
    turning : Turning
    radius_m, angle_rad : ndarray, shape (turns,)
        Of the arc of the middle of the front axle; to the left, above 0. [m], [rad]

    Returns
    -------
    path : Sweep
        From the beginning of the arc, where car and caravan are in line, until the caravan has
        come round.

    References
    ----------
    .. [1] Sayers, "Exact equations for tractrix curves associated with vehicle offtracking",
       Vehicle System Dynamics 20 (1991), 297-308.
    """
    radius, angle = np.broadcast_arrays(
        np.asarray(radius_m, dtype=float), np.asarray(angle_rad, dtype=float)
    )
    out_m = turning.wheelbase_m + turning.hitch_m + turning.drawbar_m + turning.tail_m
    share = np.linspace(0, 1, _ARC_STEPS + 1)[:, None]
    on_arc = share * angle
    x, y = radius * np.sin(on_arc), radius * (1 - np.cos(on_arc))
    beyond = np.linspace(0, 1, _OUT_STEPS + 1)[1:, None] * out_m
    x = np.concatenate([x, x[-1] + beyond * np.cos(angle)])
    y = np.concatenate([y, y[-1] + beyond * np.sin(angle)])
    car, caravan = np.zeros(x.shape), np.zeros(x.shape)
    ball_x, ball_y = np.zeros(x.shape), np.zeros(x.shape)
    back = turning.wheelbase_m + turning.hitch_m
    ball_x[0], ball_y[0] = x[0] - back, y[0]
    for step in range(1, len(x)):
        before = step - 1
        dx, dy = x[step] - x[before], y[step] - y[before]
        car[step] = car[before] + turned_rad(
            turning.wheelbase_m, np.hypot(dx, dy), np.arctan2(dy, dx) - car[before]
        )
        ball_x[step] = x[step] - back * np.cos(car[step])
        ball_y[step] = y[step] - back * np.sin(car[step])
        dx, dy = ball_x[step] - ball_x[before], ball_y[step] - ball_y[before]
        caravan[step] = caravan[before] + turned_rad(
            turning.drawbar_m, np.hypot(dx, dy), np.arctan2(dy, dx) - caravan[before]
        )
    cos, sin = np.cos(car), np.sin(car)
    half, front = turning.car_width_m / 2, turning.front_m
    away_cos, away_sin = np.cos(caravan), np.sin(caravan)
    axle_x = ball_x - turning.drawbar_m * away_cos
    axle_y = ball_y - turning.drawbar_m * away_sin
    side = turning.caravan_width_m / 2
    return Sweep(
        nose_x=x + front * cos + half * sin,
        nose_y=y + front * sin - half * cos,
        tail_x=axle_x - turning.tail_m * away_cos + side * away_sin,
        tail_y=axle_y - turning.tail_m * away_sin - side * away_cos,
        inner_x=axle_x - side * away_sin,
        inner_y=axle_y + side * away_cos,
        bent_rad=car - caravan,
    )
