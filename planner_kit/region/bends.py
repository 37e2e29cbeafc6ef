"""How tight the bends of a road are."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant
from planner_kit.region.sampling import Lines, blocks, part, sample_lines

if TYPE_CHECKING:
    from numpy.typing import NDArray


def bend_radius_m(lines: Lines) -> NDArray[np.float64]:
    """Radius of the tightest bend of each line; inf when it is straight.

    Parameters
    ----------
    lines : Lines
        Roads in projected metres.

    Returns
    -------
    radius_m : ndarray of float, shape (lines,)
        [m]

    Notes
    -----
    Each line is resampled to points 5 m apart, and a circle is drawn through every point and the
    points 10 m before and after it: 1 m of sideways error in the map then reads as a bend of
    50 m, while a hairpin of 6 m still shows. Turns at a junction are no bends. Lines shorter than
    two steps have no bend to speak of.
    """
    step = constant("road_profile", "bend_step").value
    reach = round(constant("road_profile", "bend_chord").value / step)
    straight = constant("road_profile", "straight_radius").value
    radius = np.full(len(lines.start) - 1, np.inf)
    for run in blocks(lines, step):
        radius[run] = _tightest(part(lines, run), step, reach)
    radius[radius > straight] = np.inf
    return radius


def _tightest(lines: Lines, step: float, reach: int) -> NDArray[np.float64]:
    points = sample_lines(lines, step)
    n = np.diff(points.first)
    # Short lines use what they have; at least one point on either side.
    use = np.minimum(reach, (n - 1) // 2)
    here = np.arange(len(points.line))
    place = here - points.first[points.line]
    k = use[points.line]
    # A line shorter than two steps is too short to tell a bend from a slip of the mapper's hand.
    long_enough = (lines.length >= 2 * step - 1e-6)[points.line]
    inner = long_enough & (k > 0) & (place >= k) & (place < n[points.line] - k)
    b = here[inner]
    a, c = b - k[inner], b + k[inner]
    ax, ay, bx, by, cx, cy = (
        points.x[a],
        points.y[a],
        points.x[b],
        points.y[b],
        points.x[c],
        points.y[c],
    )
    ab, bc, ca = np.hypot(bx - ax, by - ay), np.hypot(cx - bx, cy - by), np.hypot(ax - cx, ay - cy)
    twice_area = np.abs((bx - ax) * (cy - ay) - (by - ay) * (cx - ax))
    with np.errstate(divide="ignore", invalid="ignore"):
        circle = ab * bc * ca / (2.0 * twice_area)
    # A road that turns straight back on itself has no area and no length: the chord is the bend.
    circle = np.where(ca < 1e-6, ab / 2.0, circle)
    circle = np.where(np.isnan(circle), np.inf, circle)
    tightest = np.full(len(n), np.inf)
    np.minimum.at(tightest, points.line[b], circle)
    return tightest
