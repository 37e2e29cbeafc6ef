"""The heights along a tow as a drawing for paper, with the steep parts hatched."""

from __future__ import annotations

from typing import TYPE_CHECKING

import matplotlib as mpl
import numpy as np
import shapely
from matplotlib.figure import Figure

from planner_kit.pack.svg import svg_of
from planner_kit.reference import constant
from planner_kit.trip.display import distance_in_units
from planner_kit.trip.household import Units

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner_kit.region.terrain import Terrain
    from planner_kit.tow.leg import Route

_MM_PER_INCH = 25.4
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
    figure = Figure(figsize=(size_mm[0] / _MM_PER_INCH, size_mm[1] / _MM_PER_INCH))
    axes = figure.add_axes((0.075, 0.24, 0.915, 0.66))
    floor = min(0.0, float(np.nanmin(height_m)))
    axes.fill_between(along, floor, height_m, facecolor="#e9e5dc", lw=0)
    if steep is not None:
        with mpl.rc_context({"hatch.linewidth": 0.7}):
            axes.fill_between(
                along, floor, height_m, where=steep.tolist(), facecolor="#d8b9a0",
                edgecolor="#5b2a12", hatch="////", lw=0,
            )  # fmt: skip
    axes.plot(along, height_m, color="#222222", lw=1.2)
    axes.set_xlim(0, float(along[-1]))
    axes.set_ylim(floor, max(float(np.nanmax(height_m)) * 1.12, floor + 60.0))
    axes.tick_params(labelsize=6.5, length=2.5, width=0.5, colors="#333333")
    for side, spine in axes.spines.items():
        spine.set_visible(side in ("left", "bottom"))
        spine.set_linewidth(0.5)
    axes.yaxis.set_major_locator(mpl.ticker.MaxNLocator(4, integer=True))
    axes.set_xlabel(f"{units.distance} from the start", fontsize=6.5, labelpad=1.5)
    axes.set_ylabel("height in m", fontsize=6.5, labelpad=2)
    return svg_of(figure)


def _is_steep(route: Route, at_km: NDArray[np.float64], steep_pct: float) -> NDArray[np.bool_]:
    """Whether the road at each distance rises or falls by `steep_pct` or more; unknown is not."""
    steps = route.steps
    start_km = steps["start_km"].to_numpy(dtype=np.float64)
    row = np.clip(np.searchsorted(start_km, at_km, side="right") - 1, 0, len(steps) - 1)
    steepest = steps[["steepest_up_pct", "steepest_down_pct"]].astype("float64").max(axis=1)
    return np.asarray(steepest.to_numpy()[row] >= steep_pct)
