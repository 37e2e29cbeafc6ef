"""The range of a sum whose parts are each known as low, likely and high."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy import fft

if TYPE_CHECKING:
    import numpy.typing as npt

_GRID = 4096


@dataclass(frozen=True)
class SumRange:
    """Where the sum of several uncertain amounts lies.

    Attributes
    ----------
    low, high : float
        The stated quantiles of the sum.
    mean, deviation : float
        Mean and standard deviation of the sum.
    """

    low: float
    high: float
    mean: float
    deviation: float


def triangular_mean(
    low: npt.ArrayLike, likely: npt.ArrayLike, high: npt.ArrayLike
) -> npt.NDArray[np.float64]:
    """Mean of triangular distributions: a third of the three figures' sum."""
    a, c, b = np.asarray(low, float), np.asarray(likely, float), np.asarray(high, float)
    return np.asarray((a + c + b) / 3)


def triangular_variance(
    low: npt.ArrayLike, likely: npt.ArrayLike, high: npt.ArrayLike
) -> npt.NDArray[np.float64]:
    """Variance of triangular distributions.

    References
    ----------
    .. [1] SciPy reference, ``scipy.stats.triang``: (a² + b² + c² - ab - ac - bc) / 18.
    """
    a, c, b = np.asarray(low, float), np.asarray(likely, float), np.asarray(high, float)
    return np.asarray(((b - a) ** 2 - (c - a) * (b - c)) / 18)


def _share_below(
    value: npt.NDArray[np.float64], low: float, likely: float, high: float
) -> npt.NDArray[np.float64]:
    """The share of a triangular distribution that lies below each value."""
    span, rise, fall = high - low, likely - low, high - likely
    inside = np.clip(value, low, high)
    with np.errstate(divide="ignore", invalid="ignore"):
        up = (inside - low) ** 2 / (span * rise)
        down = 1 - (high - inside) ** 2 / (span * fall)
    return np.where((inside <= likely) & (rise > 0) | (fall <= 0), up, down)


def sum_range(
    low: npt.ArrayLike, likely: npt.ArrayLike, high: npt.ArrayLike, *, share_frac: float = 0.8
) -> SumRange:
    """Quantiles of the sum of independent triangular amounts.

    Parameters
    ----------
    low, likely, high : array_like, shape (n,)
        The three figures of each amount, low <= likely <= high. [currency]
    share_frac : float
        Share of outcomes that lie between `low` and `high` of the result; the rest is split evenly
        above and below.

    Returns
    -------
    range : SumRange

    Notes
    -----
    The distributions are convolved on a grid of 4096 steps over the whole span, by Fourier
    transform: nothing is drawn at random, so that the same figures give the same range. The error
    of a quantile is about the width of a step, 1/4000 of the span.
    """
    a, c, b = (np.atleast_1d(np.asarray(x, float)) for x in (low, likely, high))
    mean = float(triangular_mean(a, c, b).sum())
    deviation = float(np.sqrt(triangular_variance(a, c, b).sum()))
    width = b - a
    wide = width > 1e-9 * max(1.0, float(np.abs(b).max(initial=0.0)))
    fixed = float(c[~wide].sum())
    if not wide.any():
        return SumRange(fixed, fixed, mean, deviation)
    a, c, b, width = a[wide], c[wide], b[wide], width[wide]
    step = float(width.sum()) / _GRID
    size = fft.next_fast_len(_GRID + 2 * len(a), real=True)
    product = np.ones(size // 2 + 1, dtype=complex)
    for first, peak, span in zip(a, c, width, strict=True):
        count = int(np.ceil(span / step)) + 1
        edges = first + step * (np.arange(count + 1) - 0.5)
        product *= fft.rfft(np.diff(_share_below(edges, first, peak, first + span)), size)
    mass = np.clip(fft.irfft(product, size), 0, None)
    cumulative = np.cumsum(mass) / mass.sum()
    edges = float(a.sum()) + step * (np.arange(size) + 0.5)
    tail = (1 - share_frac) / 2
    found = np.interp([tail, 1 - tail], cumulative, edges) + fixed
    return SumRange(float(found[0]), float(found[1]), mean, deviation)
