"""The heights along a tow as a drawing for paper, with the steep parts hatched."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import shapely

from planner_kit.pack.chart_frame import band, bands, chart, draw_axes, line
from planner_kit.reference import constant
from planner_kit.trip.display import distance_in_units
from planner_kit.trip.household import Units

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner_kit.region.terrain import Terrain
    from planner_kit.tow.leg import Route

_FOOT_MM, _HEAD_MM = 9.5, 3.5  # for the figures below the chart, and above it
_POINTS = 400


def profile_chart(
    route: Route,
    terrain: Terrain | None,
    *,
    size_mm: tuple[float, float] = (180.0, 45.0),
    units: Units | None = None,
) -> str | None:
    """The profile of a tow as SVG text.

    Parameters
    ----------
    route : Route
        Its `steps` say where it is steep; its geometry says where to read the heights.
    terrain : Terrain or None
        Where the heights come from.
    size_mm : tuple of float
        Width and height on paper. [mm]
    units : Units, optional
        Whether the distance runs in miles or kilometres.

    Returns
    -------
    svg : str or None
        None where no height is known; a gap where some are not. The same text for the same input.
    """
    if terrain is None or route.geometry.is_empty or route.length_km <= 0:
        return None
    share = np.linspace(0.0, 1.0, _POINTS)
    position = shapely.get_coordinates(
        shapely.line_interpolate_point(route.geometry, share, normalized=True)
    )
    height_m = terrain.heights_m(position[:, 0], position[:, 1])
    if not np.isfinite(height_m).any():
        return None
    shown = units or Units()
    along = share * distance_in_units(route.length_km, shown)
    steep_pct = constant("pack", "steep_shown_from_pct").value
    steep = _is_steep(route, share * route.length_km, steep_pct)
    return heights_chart(along, height_m, shown, size_mm=size_mm, steep=steep)


def heights_chart(
    along: NDArray[np.float64],
    height_m: NDArray[np.float64],
    units: Units,
    *,
    size_mm: tuple[float, float],
    steep: NDArray[np.bool_] | None = None,
) -> str:
    """Heights along a way as SVG text.

    Parameters
    ----------
    along : ndarray, shape (n,)
        Distance from the start. [household's unit]
    height_m : ndarray, shape (n,)
        NaN where it is not known: the line has a gap there. [m]
    units : Units
    size_mm : tuple of float
        Width and height on paper. [mm]
    steep : ndarray of bool, shape (n,), optional
        Where it is hatched.
    """
    floor = min(0.0, float(np.nanmin(height_m)))
    top = max(float(np.nanmax(height_m)) * 1.12, floor + 60.0)
    tall = size_mm[1]
    room = (0.075, _FOOT_MM / tall, 0.915, 1 - (_FOOT_MM + _HEAD_MM) / tall)
    drawn = chart(size_mm, room, (0.0, floor, float(along[-1]), top))
    band(drawn, along, floor, height_m, 1, "#e9e5dc")
    if steep is not None:
        drawn.drawing.hatched(
            bands(drawn, along, floor, height_m, steep), 2,
            fill="#d8b9a0", line="#5b2a12", width=0.7, edge=False,
        )  # fmt: skip
    line(drawn, along, height_m, 3, stroke="#222222", width=1.2)
    draw_axes(drawn, f"{units.distance} from the start", "height in m", most_up=4)
    return drawn.drawing.svg()


def _is_steep(route: Route, at_km: NDArray[np.float64], steep_pct: float) -> NDArray[np.bool_]:
    """Whether the road at each distance rises or falls by `steep_pct` or more; unknown is not."""
    steps = route.steps
    start_km = steps["start_km"].to_numpy(dtype=np.float64)
    row = np.clip(np.searchsorted(start_km, at_km, side="right") - 1, 0, len(steps) - 1)
    steepest = steps[["steepest_up_pct", "steepest_down_pct"]].astype("float64").max(axis=1)
    return np.asarray(steepest.to_numpy()[row] >= steep_pct)
