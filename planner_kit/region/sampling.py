"""Points at even distances along many lines at once."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray


@dataclass(frozen=True)
class Lines:
    """Many lines as flat arrays.

    Attributes
    ----------
    x, y : ndarray of float, shape (points,)
        Vertices of all lines, one line after the other. [m]
    start : ndarray of int, shape (lines + 1,)
        Line i has the vertices from ``start[i]`` up to ``start[i + 1]``.
    along : ndarray of float, shape (points,)
        Distance from the first vertex of its line. [m]
    """

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    start: NDArray[np.int64]
    along: NDArray[np.float64]

    @property
    def length(self) -> NDArray[np.float64]:
        """Length of each line, in metres."""
        return self.along[self.start[1:] - 1]


def lines_from(x: NDArray[np.float64], y: NDArray[np.float64], start: NDArray[np.int64]) -> Lines:
    """`Lines` with the distances along each measured from the vertices."""
    step = np.zeros(len(x))
    if len(x):
        step[1:] = np.hypot(np.diff(x), np.diff(y))
        step[start[:-1]] = 0.0
    total = np.cumsum(step)
    along = total - np.repeat(total[start[:-1]], np.diff(start))
    # Rounding of the running total must not make a line go backwards.
    return Lines(x, y, start, np.maximum(along, 0.0))


@dataclass(frozen=True)
class Samples:
    """Evenly spaced points on each line of a `Lines`, first and last vertex included.

    Attributes
    ----------
    first : ndarray of int, shape (lines + 1,)
        Line i has the points from ``first[i]`` up to ``first[i + 1]``.
    line : ndarray of int, shape (samples,)
        Which line each point is on.
    along : ndarray of float, shape (samples,)
        Distance from the start of its line. [m]
    spacing : ndarray of float, shape (lines,)
        Distance between points of each line. [m]
    x, y : ndarray of float, shape (samples,)
        Positions. [m]
    """

    first: NDArray[np.int64]
    line: NDArray[np.int64]
    along: NDArray[np.float64]
    spacing: NDArray[np.float64]
    x: NDArray[np.float64]
    y: NDArray[np.float64]


def sample_lines(lines: Lines, step_m: float) -> Samples:
    """Points no further apart than `step_m` along every line.

    Parameters
    ----------
    lines : Lines
        In a projected system.
    step_m : float
        The widest spacing. [m]
    """
    length = lines.length
    n = np.maximum(np.ceil(length / step_m - 1e-9).astype(np.int64), 1) + 1
    first = np.concatenate([[0], np.cumsum(n)])
    line = np.repeat(np.arange(len(n)), n)
    spacing = length / (n - 1)
    along = (np.arange(first[-1]) - first[line]) * spacing[line]
    # One running distance for all lines, with a gap of 1 m between them, so that one
    # interpolation serves all.
    offset = np.concatenate([[0.0], np.cumsum(length + 1.0)[:-1]]) if len(n) else np.zeros(0)
    vertex_at = lines.along + np.repeat(offset, np.diff(lines.start))
    wanted = along + offset[line]
    return Samples(
        first,
        line,
        along,
        spacing,
        np.interp(wanted, vertex_at, lines.x),
        np.interp(wanted, vertex_at, lines.y),
    )


def blocks(lines: Lines, step_m: float, most: int = 2_000_000) -> Iterator[slice]:
    """Runs of lines whose samples number about `most`, so that memory stays level."""
    count = np.cumsum(lines.length / step_m + 2)
    begin = 0
    while begin < len(count):
        base = count[begin - 1] if begin else 0.0
        end = max(int(np.searchsorted(count, base + most)), begin + 1)
        yield slice(begin, end)
        begin = end


def part(lines: Lines, which: slice) -> Lines:
    """A run of lines of a `Lines`."""
    a, b = lines.start[which.start], lines.start[which.stop]
    start = lines.start[which.start : which.stop + 1] - a
    return Lines(lines.x[a:b], lines.y[a:b], start, lines.along[a:b])
