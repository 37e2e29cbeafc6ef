"""The way of a signal as a drawing for paper: ground, cover, ray and first Fresnel zone."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure

from planner_kit.pack.print_map import svg_of
from planner_kit.pitch.propagation import earth_bulge_m, effective_earth_radius_km

if TYPE_CHECKING:
    from planner_kit.pitch.signal_path import SignalPaths

_MM_PER_INCH = 25.4


def signal_chart(
    paths: SignalPaths, path: int, *, size_mm: tuple[float, float] = (180.0, 38.0)
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
    figure = Figure(figsize=(size_mm[0] / _MM_PER_INCH, size_mm[1] / _MM_PER_INCH))
    axes = figure.add_axes((0.075, 0.27, 0.915, 0.66))
    floor = min(0.0, float(ground.min()))
    axes.fill_between(d, straight - fresnel, straight + fresnel, facecolor="#cfe8f7", lw=0)
    axes.fill_between(d, floor, ground, facecolor="#e9e5dc", lw=0)
    axes.fill_between(d, ground, cover, facecolor="#8fae8b", lw=0)
    axes.plot(d, ground, color="#222222", lw=0.9)
    axes.plot(d, straight, color="#0072B2", lw=1.1, ls="--")
    axes.set_xlim(0, float(total))
    axes.set_ylim(floor, float(max(straight.max(), cover.max())) * 1.08 + 10)
    axes.tick_params(labelsize=6.5, length=2.5, width=0.5, colors="#333333")
    for side, spine in axes.spines.items():
        spine.set_visible(side in ("left", "bottom"))
        spine.set_linewidth(0.5)
    axes.set_xlabel(
        "km from the pitch; dashed the ray, shaded its first Fresnel zone", fontsize=6.5
    )
    axes.set_ylabel("height in m", fontsize=6.5)
    return svg_of(figure)
