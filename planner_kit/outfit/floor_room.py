"""Where the discs of a floor picture go so that none covers another."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

# A disc's radius for a square root of a kilogram, tried from large to small, and the least radius.
_LARGE_M, _SHRINKS, _SMALLEST_M = 0.07, (1.0, 0.85, 0.7, 0.55, 0.4, 0.25), 0.12
_GAP_M, _WALL_M = 0.025, 0.1
# How far a disc may stand beside its place along the floor, and in what steps places are tried.
_ASIDE_M, _STEP_M = 0.4, 0.05
# A step along the floor is worth as much as this many across it: the noseweight hangs on it.
_ALONG = 4.0


@dataclass(frozen=True)
class Spot:
    """Where a disc is drawn.

    Attributes
    ----------
    x_m, y_m : float
        In front of the axle, and right of the middle. [m]
    radius_m : float
        [m]
    aside_m : float
        How far along the floor it stands from where the thing lies. [m]
    """

    x_m: float
    y_m: float
    radius_m: float
    aside_m: float


def room_for(items: pd.DataFrame, *, width_m: float) -> list[Spot]:
    """A spot for each thing, none covering another.

    Parameters
    ----------
    items : DataFrame
        With total_kg, x_m and, where it is known, y_m; heaviest first.
    width_m : float
        Of the floor. [m]

    Returns
    -------
    spots : list of Spot
        In the order of `items`; shorter than it where even small discs find no room, so that what
        is left out is the lightest.
    """
    mass = items["total_kg"].to_numpy(float)
    x = items["x_m"].to_numpy(float)
    y = items["y_m"].to_numpy(float) if "y_m" in items.columns else np.full(len(items), np.nan)
    best: list[Spot] = []
    for shrink in _SHRINKS:
        radius = np.maximum(_LARGE_M * shrink * np.sqrt(mass), _SMALLEST_M)
        spots = _laid(x, y, np.minimum(radius, width_m / 2 - _WALL_M), width_m)
        if len(spots) == len(items):
            return spots
        best = max(best, spots, key=len)
    return best


def _laid(
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    radius: NDArray[np.float64],
    width_m: float,
) -> list[Spot]:
    """Spots one after another, each the free one nearest to its place; up to the first without."""
    along = np.arange(-_ASIDE_M, _ASIDE_M + _STEP_M / 2, _STEP_M)
    taken = np.empty((0, 3))
    spots: list[Spot] = []
    for place, side, r in zip(x, y, radius, strict=True):
        reach = max(width_m / 2 - _WALL_M - r, 0.0)
        across = np.linspace(-reach, reach, max(int(2 * reach / _STEP_M), 1) + 1)
        aside, up = (grid.ravel() for grid in np.meshgrid(along, across))
        wanted, pull = (0.0, 1.0) if np.isnan(side) else (float(side), _ALONG)
        cost = _ALONG * np.abs(aside) + pull * np.abs(up - wanted)
        far = np.hypot(place + aside[:, None] - taken[None, :, 0], up[:, None] - taken[None, :, 1])
        free = (far >= taken[None, :, 2] + r + _GAP_M).all(axis=1)
        if not free.any():
            return spots
        chosen = int(np.argmin(np.where(free, cost, np.inf)))
        spots.append(Spot(place + aside[chosen], float(up[chosen]), float(r), float(aside[chosen])))
        taken = np.vstack([taken, [spots[-1].x_m, spots[-1].y_m, r]])
    return spots
