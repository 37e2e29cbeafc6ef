"""How tight the bends of a road are."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant
from planner_kit.region.sampling import Lines, Samples, blocks, part, sample_lines

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

    Where the map has one point only within such a window it is coarse, and a curve drawn with few
    points would read as a chain of corners. There the bend is the widest that keeps to the map:
    no wider than the circle through that point and its two neighbours, nowhere further from the
    drawn line than `map_error`, and done within its half of a piece that ends in a bend the other
    way. A corner of the map thus stays a corner.
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
    circle = np.maximum(
        circle, _widest(lines, points, b, k[inner] * points.spacing[points.line[b]])
    )
    tightest = np.full(len(n), np.inf)
    np.minimum.at(tightest, points.line[b], circle)
    return tightest


def _widest(
    lines: Lines, points: Samples, at: NDArray[np.int64], reach_m: NDArray[np.float64]
) -> NDArray[np.float64]:
    """The widest bend that keeps to the map where it has one vertex within reach; else 0 [m]."""
    # One running distance over all lines, as `sample_lines` has it.
    offset = np.concatenate([[0.0], np.cumsum(lines.length + 1.0)[:-1]])
    vertex_at = lines.along + np.repeat(offset, np.diff(lines.start))
    here = points.along[at] + offset[points.line[at]]
    first = np.searchsorted(vertex_at, here - reach_m + 1e-6)
    alone = np.searchsorted(vertex_at, here + reach_m - 1e-6) - first == 1
    found = np.zeros(len(at))
    if not alone.any():
        return found
    vertex, which = np.unique(first[alone], return_inverse=True)
    step = np.diff(lines.x), np.diff(lines.y)
    across = np.zeros(len(lines.x))  # sine of the turn at each vertex, times both steps
    across[1:-1] = step[0][:-1] * step[1][1:] - step[1][:-1] * step[0][1:]
    across[lines.start[:-1]] = across[lines.start[1:] - 1] = 0.0
    one, two = vertex - 1, vertex
    along = step[0][one] * step[0][two] + step[1][one] * step[1][two]
    turn = np.arctan2(np.abs(across[vertex]), along)
    chord = np.hypot(step[0][one] + step[0][two], step[1][one] + step[1][two])
    with np.errstate(divide="ignore", invalid="ignore"):
        widest = np.minimum(
            chord / (2.0 * np.sin(turn)),  # through the vertex and its neighbours
            constant("road_profile", "map_error").value / (1.0 / np.cos(turn / 2.0) - 1.0),
        )
        for leg, beside in ((one, vertex - 1), (two, vertex + 1)):
            # A bend the other way needs its half of the piece between them.
            half = np.hypot(step[0][leg], step[1][leg]) / 2.0 / np.tan(turn / 2.0)
            turns_back = across[beside] * across[vertex] < 0
            widest = np.where(turns_back, np.minimum(widest, half), widest)
    widest = np.where(turn < 1e-9, np.inf, widest)
    found[alone] = np.nan_to_num(widest, nan=0.0, posinf=np.inf)[which]
    return found
