"""Gradients of roads from the terrain, from tags, and across bridges and tunnels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.sparse.linalg import spsolve

from planner_kit.reference import constant
from planner_kit.region.sampling import Lines, blocks, part, sample_lines

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Heights = Callable[[NDArray[np.float64], NDArray[np.float64]], NDArray[np.float64]]

GRADIENT_COLUMNS = (
    "gradient_pct",
    "steepest_up_pct",
    "steepest_down_pct",
    "climb_m",
    "descent_m",
    "gradient_error_pct",
)
SOURCES = ("terrain", "tag", "structure", "unknown")


@dataclass(frozen=True)
class Stretches:
    """Roads as stretches of longer lines.

    Attributes
    ----------
    lines : Lines
        Whole ways in projected metres.
    line : ndarray of int, shape (roads,)
        The line that each road is cut from; roads of a line follow each other.
    begin, end : ndarray of float, shape (roads,)
        Where the road starts and ends along its line. [m]
    """

    lines: Lines
    line: NDArray[np.int64]
    begin: NDArray[np.float64]
    end: NDArray[np.float64]


def fitted_profile(
    height: NDArray[np.float64], first: NDArray[np.int64], spacing: NDArray[np.float64], reach: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Heights and slopes of the straight line that fits best around each sample.

    Parameters
    ----------
    height : ndarray of float, shape (samples,)
        Heights of evenly spaced samples, line after line; NaN where unknown. [m]
    first : ndarray of int, shape (lines + 1,)
        Where the samples of each line begin.
    spacing : ndarray of float, shape (lines,)
        Distance between samples. [m]
    reach : int
        Samples taken on either side; at the ends of a line the same number, all inside it.

    Returns
    -------
    fitted_m : ndarray of float, shape (samples,)
        NaN where fewer than two heights of the window are known. [m]
    slope : ndarray of float, shape (samples,)
        Rise over run.
    """
    n = np.diff(first)
    line = np.repeat(np.arange(len(n)), n)
    here = np.arange(len(height))
    low, high = first[line], first[line + 1] - 1
    begin = np.clip(here - reach, low, np.maximum(high - 2 * reach, low))
    s0, s1, s2, sh, s1h = (np.zeros(len(height)) for _ in range(5))
    for k in range(2 * reach + 1):
        at = np.minimum(begin + k, high)
        known = (begin + k <= high) & ~np.isnan(height[at])
        u = np.where(known, (at - here).astype(np.float64), 0.0)
        h = np.where(known, height[at], 0.0)
        s0 += known
        s1 += u
        s2 += u * u
        sh += h
        s1h += u * h
    spread = s0 * s2 - s1 * s1
    with np.errstate(divide="ignore", invalid="ignore"):
        per_sample = (s0 * s1h - s1 * sh) / spread
        fitted = (sh - per_sample * s1) / s0
        step = spacing[line]
        slope = np.where(step > 0, per_sample / step, 0.0)
    bad = (s0 < 2) | (spread <= 0)
    fitted[bad], slope[bad] = np.nan, np.nan
    return fitted, slope


def unknown_gradients(roads: int) -> pd.DataFrame:
    """The gradient columns of so many roads, all of them unknown."""
    blank = np.full((roads, len(GRADIENT_COLUMNS)), np.nan)
    return pd.DataFrame(blank, columns=list(GRADIENT_COLUMNS))


def side_slope(
    x: NDArray[np.float64],
    y: NDArray[np.float64],
    first: NDArray[np.int64],
    heights: Heights,
    aside_m: float,
) -> NDArray[np.float64]:
    """How steeply the ground falls across the road at each sample, as rise over run (>= 0).

    Parameters
    ----------
    x, y : ndarray of float, shape (samples,)
        Samples, line after line. [m]
    first : ndarray of int, shape (lines + 1,)
        Where the samples of each line begin.
    heights : callable
        Heights at x, y. [m]
    aside_m : float
        Distance to either side at which the ground is read. [m]
    """
    line = np.repeat(np.arange(len(first) - 1), np.diff(first))
    here = np.arange(len(x))
    before = np.maximum(here - 1, first[line])
    after = np.minimum(here + 1, first[line + 1] - 1)
    dx, dy = x[after] - x[before], y[after] - y[before]
    run = np.maximum(np.hypot(dx, dy), 1e-9)
    across_x, across_y = -dy / run * aside_m, dx / run * aside_m
    left = heights(x + across_x, y + across_y)
    right = heights(x - across_x, y - across_y)
    return np.asarray(np.abs(left - right) / (2 * aside_m))


def terrain_gradients(
    stretches: Stretches, heights: Heights, *, cell_m: float = 0.0
) -> pd.DataFrame:
    """Gradient columns of every road as the terrain has it.

    Parameters
    ----------
    stretches : Stretches
        The roads.
    heights : callable
        Takes x and y in the system of the lines and returns heights, NaN where unknown. [m]
    cell_m : float
        Distance between the heights of the terrain's grid, which decides the error. [m]

    Returns
    -------
    frame : DataFrame
        The columns of `GRADIENT_COLUMNS`, one row for each road; NaN where the terrain is not
        known along the whole road.

    Notes
    -----
    Heights are read every 25 m or less along the whole way, and around each of them a straight
    line is fitted by least squares to 100 m of road (all of it on a shorter way). Its slope is the
    gradient there. Terrain grids of 30 to 90 m flatten short ramps and read the hillside beside a
    road that is cut into it: with a side slope s and heights that belong to a place within half a
    cell c of the road (standard deviation c / sqrt(12)), a gradient over the window w has a
    standard error of about s c / sqrt(12) sqrt(2) / w, the ``gradient_error_pct`` of the road's
    worst place. On a mountainside it is as large as the gradient itself.
    """
    step = constant("road_profile", "height_step").value
    window = constant("road_profile", "gradient_window").value
    reach = round(window / step / 2)
    out = np.full((len(stretches.line), len(GRADIENT_COLUMNS)), np.nan)
    for run in blocks(stretches.lines, step):
        a, b = np.searchsorted(stretches.line, [run.start, run.stop])
        lines = part(stretches.lines, run)
        samples = sample_lines(lines, step)
        known = heights(samples.x, samples.y)
        fitted, slope = fitted_profile(known, samples.first, samples.spacing, reach)
        across = side_slope(samples.x, samples.y, samples.first, heights, max(cell_m / 2, step))
        error = across * cell_m / 12**0.5 * 2**0.5 / window
        out[a:b] = _road_figures(
            samples.first,
            samples.along,
            (fitted, slope, error),
            lines.length,
            (stretches.line[a:b] - run.start, stretches.begin[a:b], stretches.end[a:b]),
        )
    return pd.DataFrame(out, columns=list(GRADIENT_COLUMNS))


def _road_figures(
    first: NDArray[np.int64],
    along: NDArray[np.float64],
    profile: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]],
    length: NDArray[np.float64],
    roads: tuple[NDArray[np.int64], NDArray[np.float64], NDArray[np.float64]],
) -> NDArray[np.float64]:
    """Figures of each road from the profile of its line, shape (roads, 6)."""
    line, begin, end = roads
    fitted, slope, error = profile
    offset = np.concatenate([[0.0], np.cumsum(length + 1.0)[:-1]])
    sample_line = np.repeat(np.arange(len(length)), np.diff(first))
    at = along + offset[sample_line]
    # Ends that are the ends of the line are its first and last sample to the last bit.
    lo = np.where(begin < 1e-6, at[first[line]], begin + offset[line])
    hi = np.where(end > length[line] - 1e-6, at[first[line + 1] - 1], end + offset[line])
    # The points of each road: its start, the samples strictly inside, its end.
    i0 = np.searchsorted(at, lo + 1e-6, side="right")
    i1 = np.maximum(np.searchsorted(at, hi - 1e-6, side="left"), i0)
    n = i1 - i0 + 2
    start = np.concatenate([[0], np.cumsum(n)])
    road = np.repeat(np.arange(len(n)), n)
    place = np.arange(start[-1]) - start[road]
    where = at[np.clip(i0[road] + place - 1, 0, len(at) - 1)]
    where = np.where(place == 0, lo[road], np.where(place == n[road] - 1, hi[road], where))
    h, s = np.interp(where, at, fitted), np.interp(where, at, slope)
    rise = np.diff(h, append=np.nan)
    rise[start[1:] - 1] = 0.0
    metres = np.maximum(hi - lo, 0.0)
    net = h[start[1:] - 1] - h[start[:-1]]
    with np.errstate(divide="ignore", invalid="ignore"):
        gradient = np.where(metres > 0, 100.0 * net / metres, 0.0)
    up = np.maximum.reduceat(100.0 * np.maximum(s, 0.0), start[:-1])
    down = np.maximum.reduceat(100.0 * np.maximum(-s, 0.0), start[:-1])
    climb = np.add.reduceat(np.maximum(rise, 0.0), start[:-1])
    descent = np.add.reduceat(np.maximum(-rise, 0.0), start[:-1])
    table = np.column_stack([gradient, up, down, climb, descent])
    doubt = np.maximum.reduceat(100.0 * np.interp(where, at, error), start[:-1])
    table[np.isnan(table).any(axis=1)] = np.nan
    doubt[np.isnan(table[:, 0])] = np.nan
    return np.column_stack([table, doubt])


def structure_heights_m(
    from_node: NDArray[np.int64],
    to_node: NDArray[np.int64],
    length_m: NDArray[np.float64],
    structure: NDArray[np.bool_],
    node_height_m: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Heights of the nodes, those within a bridge or tunnel drawn straight between its ends.

    Parameters
    ----------
    from_node, to_node : ndarray of int, shape (roads,)
        Ends of each road.
    length_m : ndarray of float, shape (roads,)
        Lengths. [m]
    structure : ndarray of bool, shape (roads,)
        The road is a bridge, a tunnel or a ferry.
    node_height_m : ndarray of float, shape (nodes,)
        Terrain heights. [m]

    Returns
    -------
    height_m : ndarray of float, shape (nodes,)
        A node whose every road is a structure, other than a dead end, gets the mean of its
        neighbours weighed by nearness, which along a single bridge is the straight line.
    """
    nodes = len(node_height_m)
    height = node_height_m.copy()
    on_ground = np.zeros(nodes, dtype=bool)
    on_ground[from_node[~structure]] = True
    on_ground[to_node[~structure]] = True
    a, b = from_node[structure], to_node[structure]
    weight = 1.0 / np.maximum(length_m[structure], 0.1)
    degree = np.bincount(a, minlength=nodes) + np.bincount(b, minlength=nodes)
    aloft = (degree >= 2) & ~on_ground
    if not aloft.any():
        return height
    # A group of structures that nowhere touches the ground keeps the terrain's heights.
    graph = coo_matrix((np.ones(len(a)), (a, b)), shape=(nodes, nodes))
    _, group = connected_components(graph, directed=False)
    anchored = np.zeros(group.max() + 1, dtype=bool)
    anchored[group[(degree > 0) & ~aloft]] = True
    aloft &= anchored[group]
    free = np.flatnonzero(aloft)
    if not len(free):
        return height
    index = np.full(nodes, -1)
    index[free] = np.arange(len(free))
    diagonal, right = np.zeros(len(free)), np.zeros(len(free))
    rows, columns, values = [], [], []
    for here, there in ((a, b), (b, a)):
        own = index[here] >= 0
        np.add.at(diagonal, index[here[own]], weight[own])
        inner = own & (index[there] >= 0)
        rows.append(index[here[inner]])
        columns.append(index[there[inner]])
        values.append(-weight[inner])
        edge = own & (index[there] < 0)
        np.add.at(right, index[here[edge]], weight[edge] * height[there[edge]])
    rows.append(np.arange(len(free)))
    columns.append(np.arange(len(free)))
    values.append(diagonal)
    matrix = coo_matrix(
        (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))),
        shape=(len(free), len(free)),
    ).tocsc()
    height[free] = spsolve(matrix, right)
    return height


def combine_gradients(
    terrain: pd.DataFrame,
    incline_pct: NDArray[np.float64],
    structure: NDArray[np.bool_],
    ends_m: tuple[NDArray[np.float64], NDArray[np.float64]],
    length_m: NDArray[np.float64],
) -> pd.DataFrame:
    """The gradient columns with their source: a tag wins, then the ends of a structure.

    Parameters
    ----------
    terrain : DataFrame
        From `terrain_gradients`.
    incline_pct : ndarray of float, shape (roads,)
        The incline tag, NaN where it gives no number. [%]
    structure : ndarray of bool, shape (roads,)
        Bridges, tunnels and ferries.
    ends_m : pair of ndarray of float
        Heights of the two ends of each road. [m]
    length_m : ndarray of float, shape (roads,)
        Lengths. [m]
    """
    frame = terrain.copy()
    with np.errstate(divide="ignore", invalid="ignore"):
        between = np.where(length_m > 0, 100.0 * (ends_m[1] - ends_m[0]) / length_m, 0.0)
    tagged = ~np.isnan(incline_pct)
    straight = np.where(tagged, incline_pct, between)
    flat = tagged | structure
    frame.loc[flat, "gradient_pct"] = straight[flat]
    # The error is that of the terrain; nobody says how far a tag or a bridge's ends are out.
    frame.loc[flat, "gradient_error_pct"] = np.nan
    frame.loc[flat, "steepest_up_pct"] = np.maximum(straight, 0.0)[flat]
    frame.loc[flat, "steepest_down_pct"] = np.maximum(-straight, 0.0)[flat]
    frame.loc[flat, "climb_m"] = (np.maximum(straight, 0.0) * length_m / 100.0)[flat]
    frame.loc[flat, "descent_m"] = (np.maximum(-straight, 0.0) * length_m / 100.0)[flat]
    known = frame["gradient_pct"].notna().to_numpy()
    source = np.select(
        [tagged, known & structure, known], ["tag", "structure", "terrain"], "unknown"
    )
    frame[list(GRADIENT_COLUMNS)] = frame[list(GRADIENT_COLUMNS)].astype(np.float32)
    frame["gradient_source"] = pd.Categorical(source, categories=list(SOURCES))
    return frame
