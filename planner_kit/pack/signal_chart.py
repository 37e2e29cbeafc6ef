"""Signals as drawings for paper: ground, cover, ray and first Fresnel zone; the hills around."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner_kit.pack.chart_frame import Chart, band, chart, draw_axes, line
from planner_kit.pitch.propagation import earth_bulge_m, effective_earth_radius_km
from planner_kit.trip.display import distance_in_units

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner_kit.pitch.dish import DishPath
    from planner_kit.pitch.signal_path import SignalPaths
    from planner_kit.pitch.skyline import Skyline
    from planner_kit.pitch.stay_signals import SignalNote, StaySignals
    from planner_kit.trip.household import Units

    Floats = NDArray[np.float64]

_ROOM = (0.075, 0.27, 0.915, 0.66)
_SIZE_MM = (180.0, 38.0)
_WINDS = [
    (45.0 * turn, name)
    for turn, name in enumerate(("N", "NE", "E", "SE", "S", "SW", "W", "NW", "N"))
]
_LEGEND = "dashed the signal's straight line, shaded the room that it needs"


def note_chart(heard: StaySignals, note: SignalNote, *, units: Units | None = None) -> str | None:
    """The drawing that goes with a note on a service; None where there is nothing to draw.

    Distances run in the unit of `units`, in kilometres without it.
    """
    if note.dish is not None:
        return dish_chart(note.dish, units=units)
    if note.sky is not None:
        return sky_chart(note.sky)
    paths = heard.survey.paths
    return (
        None if note.path is None or paths is None else signal_chart(paths, note.path, units=units)
    )


def has_chart(heard: StaySignals, note: SignalNote) -> bool:
    """Whether there is something to draw for a note; quicker than drawing it."""
    if note.dish is not None:
        return True
    if note.sky is not None:
        return bool(np.isfinite(note.sky.elevation_deg).any())
    paths = heard.survey.paths
    if note.path is None or paths is None:
        return False
    return bool(np.isfinite(paths.ray_m(note.path)).all())


def signal_chart(
    paths: SignalPaths,
    path: int,
    *,
    size_mm: tuple[float, float] = _SIZE_MM,
    units: Units | None = None,
) -> str | None:
    """A path from the pitch (left) to a mast (right) as SVG text; None where it is not known.

    The ground is drawn bent up by the earth, so that the ray is straight.
    """
    ray, fresnel = paths.ray_m(path)[::-1], paths.fresnel_m(path)[::-1]
    if not (np.isfinite(ray).all() and np.isfinite(fresnel).all()):
        return None
    total = paths.distance_km[path, -1]
    d = total - paths.distance_km[path, ::-1]
    bulge = earth_bulge_m(d, total - d, effective_earth_radius_km())
    ground = paths.height_m[path, ::-1] + bulge
    cover = ground + paths.cover_m[path, ::-1]
    straight = ray + bulge
    floor = min(0.0, float(ground.min()))
    along, unit = _in_units(d, units)
    top = float(max(straight.max(), cover.max())) * 1.08 + 10
    drawn = chart(size_mm, _ROOM, (0.0, floor, float(along[-1]), top))
    _profile(drawn, along, ground, straight, fresnel)
    band(drawn, along, ground, cover, 3, "#8fae8b")
    draw_axes(drawn, f"{unit} from the pitch; {_LEGEND}", "height in m")
    return drawn.drawing.svg()


def dish_chart(
    path: DishPath, *, size_mm: tuple[float, float] = _SIZE_MM, units: Units | None = None
) -> str:
    """The ground below the ray from a dish (left) to its satellite, as SVG text."""
    floor = min(0.0, float(path.height_m.min()))
    top = max(float(path.height_m.max()) * 1.25, float(path.height_m[0])) + 40
    # The ray soon leaves the drawing: it ends a little beyond the highest ground.
    shown = max(int(np.searchsorted(path.ray_m, top)), 2)
    along, unit = _in_units(path.distance_km, units)
    end = float(along[min(max(shown * 2, 20), len(along) - 1)])
    drawn = chart(size_mm, _ROOM, (0.0, floor, end, top))
    _profile(drawn, along, path.height_m, path.ray_m, path.fresnel_m)
    draw_axes(drawn, f"{unit} from the dish; {_LEGEND}", "height in m")
    return drawn.drawing.svg()


def sky_chart(ground: Skyline, *, size_mm: tuple[float, float] = _SIZE_MM) -> str | None:
    """The hills all round as SVG text, north at both ends; None where they are not known."""
    if not np.isfinite(ground.elevation_deg).any():
        return None
    around = np.append(ground.azimuth_deg, 360.0)
    height = np.append(ground.elevation_deg, ground.elevation_deg[0])
    hidden = np.isnan(height)
    top = max(10.0, float(np.nanmax(height)) * 1.2)
    drawn = chart(size_mm, _ROOM, (0.0, 0.0, 360.0, top))
    band(drawn, around, 0.0, np.where(hidden, 0, height), 1, "#e9e5dc")
    line(drawn, around, height, 2, stroke="#222222", width=0.9)
    gap = "; gaps are not known" if hidden.any() else ""
    draw_axes(drawn, f"hills around the pitch{gap}", "degrees up", named=_WINDS)
    return drawn.drawing.svg()


def _in_units(distance_km: Floats, units: Units | None) -> tuple[Floats, str]:
    """Distances in the household's unit, and its name."""
    if units is None:
        return distance_km, "km"
    return distance_km * distance_in_units(1.0, units), units.distance


def _profile(drawn: Chart, d: Floats, ground: Floats, ray: Floats, fresnel: Floats) -> None:
    band(drawn, d, ray - fresnel, ray + fresnel, 1, "#cfe8f7")
    band(drawn, d, drawn.limits[1], ground, 2, "#e9e5dc")
    line(drawn, d, ground, 4, stroke="#222222", width=0.9)
    line(drawn, d, ray, 4, stroke="#0072B2", width=1.1, dash=(3.7, 1.6))
