"""The room that a corner has, and how far an outfit leaves it at its best line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant
from planner_kit.tow.swept_path import steady_radii_m, sweep

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner_kit.tow.swept_path import Turning

# Places across the road, and radii, that are tried at each turn.
_OFFSETS, _RADII = 6, 6


def _value(name: str) -> float:
    return constant("turning", name).value


@dataclass(frozen=True)
class Spaces:
    """The room at some turns, all as if they went to the left; shape (turns,) each."""

    angle_rad: NDArray[np.float64]
    width_in_m: NDArray[np.float64]
    width_out_m: NDArray[np.float64]
    kerb_m: NDArray[np.float64]
    oneway_in: NDArray[np.bool_]
    oneway_out: NDArray[np.bool_]
    own_is_inner: NDArray[np.bool_]


def beyond_turn_m(
    turning: Turning, spaces: Spaces, *, own_half: bool
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """How far the best line leaves the room at each turn [m], and the bend of the outfit [deg].

    Parameters
    ----------
    turning : Turning
    spaces : Spaces
    own_half : bool
        Whether only the outfit's half of a two-way road is its room, before and after the turn.
    """
    turns = len(spaces.angle_rad)
    radius = turning.radius_m * np.geomspace(1.0, 4.0, _RADII)
    angle = np.repeat(spaces.angle_rad[:, None], _RADII, axis=1)
    path = sweep(turning, np.tile(radius, turns), angle.ravel())
    least, bent = np.full(turns, np.inf), np.zeros(turns)
    shape = (-1, turns, _RADII)
    sin, cos = np.sin(angle), np.cos(angle)
    aside = radius * (1 - cos)
    bends = np.degrees(np.abs(path.bent_rad)).max(axis=0).reshape(turns, _RADII)

    def across_out(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
        across: NDArray[np.float64] = cos * y.reshape(shape) - sin * x.reshape(shape) + aside
        return across

    inner_in, inner_out = path.inner_y.reshape(shape), across_out(path.inner_x, path.inner_y)
    outer_in = np.minimum(path.nose_y, path.tail_y).reshape(shape).min(axis=0)
    outer_out = np.minimum(
        across_out(path.nose_x, path.nose_y), across_out(path.tail_x, path.tail_y)
    ).min(axis=0)
    low_in, high_in = _room(spaces.width_in_m, spaces.oneway_in, spaces, own_half)
    low_out, high_out = _room(spaces.width_out_m, spaces.oneway_out, spaces, own_half)
    for begin in _places(low_in, high_in, turning):
        for end in _places(low_out, high_out, turning):
            corner = depth_in_land_m(
                inner_in + begin[:, None] - high_in[:, None],
                inner_out + end[:, None] - high_out[:, None],
                angle,
                spaces.kerb_m[:, None],
            )
            far = np.maximum(
                low_in[:, None] - outer_in - begin[:, None],
                low_out[:, None] - outer_out - end[:, None],
            )
            over = np.maximum(corner.max(axis=0), far)
            best = over.argmin(axis=1)
            found = over[np.arange(turns), best]
            better = found < least
            least = np.where(better, found, least)
            bent = np.where(better, bends[np.arange(turns), best], bent)
    unknown = np.isnan(spaces.width_in_m) | np.isnan(spaces.width_out_m)
    least = np.where(least < _value("beyond_told"), 0.0, least)
    return np.where(unknown, np.nan, least), bent


def _room(
    width_m: NDArray[np.float64], oneway: NDArray[np.bool_], spaces: Spaces, own_half: bool
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Right and left edge of the room on a road, from its middle, left positive [m]."""
    half = width_m / 2
    if not own_half:
        return -half, half
    low = np.where(spaces.own_is_inner & ~oneway, 0.0, -half)
    high = np.where(~spaces.own_is_inner & ~oneway, 0.0, half)
    return low, high


def _places(
    low_m: NDArray[np.float64], high_m: NDArray[np.float64], turning: Turning
) -> list[NDArray[np.float64]]:
    """Places across a road where the outfit may drive, from its right to its left edge [m]."""
    side = max(turning.car_width_m, turning.caravan_width_m) / 2 + _value("edge_room")
    first, last = low_m + side, high_m - side
    middle = (low_m + high_m) / 2
    tight = first > last
    first, last = np.where(tight, middle, first), np.where(tight, middle, last)
    return [first + share * (last - first) for share in np.linspace(0, 1, _OFFSETS)]


def depth_in_land_m(
    beyond_in: NDArray[np.float64],
    beyond_out: NDArray[np.float64],
    angle_rad: NDArray[np.float64],
    kerb_m: NDArray[np.float64],
) -> NDArray[np.float64]:
    """How deep points lie in the land inside a corner whose kerb is rounded [m].

    Parameters
    ----------
    beyond_in, beyond_out : ndarray
        How far beyond the inner edge of the road in and of the road out they lie. [m]
    angle_rad : ndarray
        By which the road turns. [rad]
    kerb_m : ndarray
        Radius of the kerb. [m]
    """
    sin, cos = np.sin(angle_rad), np.cos(angle_rad)
    along_in = (beyond_out - beyond_in * cos) / sin
    along_out = (beyond_in - beyond_out * cos) / sin
    touch = kerb_m * np.tan(angle_rad / 2)
    rounded = (along_in < touch) & (along_out < touch)
    centre = np.hypot(beyond_in - kerb_m, along_in - touch)
    depth = np.where(rounded, kerb_m - centre, np.minimum(beyond_in, beyond_out))
    depth = np.where((beyond_in > 0) & (beyond_out > 0), depth, np.minimum(beyond_in, beyond_out))
    return np.asarray(depth, dtype=np.float64)


def beyond_bend_m(
    turning: Turning, radius_m: NDArray[np.float64], width_m: NDArray[np.float64]
) -> NDArray[np.float64]:
    """How far an outfit on the outer edge of a circular bend reaches beyond the inner edge [m]."""
    room = _value("edge_room")
    outer = radius_m + width_m / 2 - room
    # The nose runs along the outer edge; the front axle follows from it.
    reach = turning.wheelbase_m + turning.front_m
    rear = np.sqrt(np.maximum(outer**2 - reach**2, 0.01)) - turning.car_width_m / 2
    front = np.hypot(np.maximum(rear, 0.0), turning.wheelbase_m)
    inner, _ = steady_radii_m(turning, front)
    short = np.maximum(turning.radius_m - front, 0.0)
    inner = np.where(np.isnan(inner), -turning.caravan_width_m / 2, inner)
    over = np.maximum(radius_m - width_m / 2 - inner, short)
    over = np.where(over < _value("beyond_told"), 0.0, over)
    return np.where(np.isnan(width_m), np.nan, over)
