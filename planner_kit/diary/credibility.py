"""One estimator for all that is learnt: what was assumed, moved by what the trips say.

A quantity has a prior (mean and variance) and observations whose variances are known. The posterior
mean is the prior drawn towards the observations by a credibility factor that grows with how much
was observed and falls with how much the observations scatter.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray


@dataclass(frozen=True)
class Posterior:
    """What is known after the observations.

    Attributes
    ----------
    mean, sd : float
    weight_frac : float
        The credibility factor: 0 the prior alone, 1 the observations alone.
    """

    mean: float
    sd: float
    weight_frac: float


def shrunk_mean(
    observed: ArrayLike, observed_sd: ArrayLike, *, prior: float, prior_sd: float
) -> Posterior:
    """The posterior of a mean with a normal prior and normal observations of known spread.

    Parameters
    ----------
    observed : array_like, shape (n,)
        May be empty.
    observed_sd : array_like, shape (n,) or scalar
        Spread of each observation about the mean, above 0.
    prior, prior_sd : float
        Mean and spread before anything was observed.

    Returns
    -------
    posterior : Posterior

    Raises
    ------
    ValueError
        If a spread is not above 0.

    Notes
    -----
    With ``observed_sd = sqrt(EPV / m)`` for exposures ``m`` and ``prior_sd = sqrt(VHM)`` it is the
    Buhlmann-Straub credibility premium with ``Z = sum(m) / (sum(m) + EPV / VHM)``.

    References
    ----------
    .. [1] Gelman et al., "Bayesian Data Analysis", 3rd ed., 2013, section 2.5, normal data with
       known variance.
    .. [2] Buhlmann and Straub, "Glaubwuerdigkeit fuer Schadensaetze", 1970.
    """
    y = np.asarray(observed, dtype=float).ravel()
    sd = np.broadcast_to(np.asarray(observed_sd, dtype=float), y.shape)
    if prior_sd <= 0 or (sd <= 0).any():
        raise ValueError("every spread must be above 0")
    precision = 1 / sd**2
    total = float(precision.sum())
    weight = total / (total + prior_sd**-2)
    mean = prior if not len(y) else weight * float(precision @ y) / total + (1 - weight) * prior
    return Posterior(mean, (total + prior_sd**-2) ** -0.5, weight)


def shrunk_factors(
    shares: ArrayLike, totals: ArrayLike, totals_sd: ArrayLike, *, prior: float, prior_sd: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The posterior of several factors of which only the totals of trips were observed.

    Each total is the sum of its trip's shares times the factors, and a normal error.

    Parameters
    ----------
    shares : array_like, shape (trips, factors)
        What each factor multiplies: minutes reckoned on each road class.
    totals, totals_sd : array_like, shape (trips,)
        What was observed and its spread, above 0.
    prior, prior_sd : float
        The same for every factor, independent of each other.

    Returns
    -------
    factors, sd : ndarray, shape (factors,)

    References
    ----------
    .. [1] Bishop, "Pattern Recognition and Machine Learning", 2006, equations 3.49 to 3.51:
       Bayesian linear regression with a Gaussian prior.
    """
    x = np.atleast_2d(np.asarray(shares, dtype=float))
    y, sd = np.asarray(totals, dtype=float), np.asarray(totals_sd, dtype=float)
    scaled = x / sd[:, None] ** 2
    precision = np.eye(x.shape[1]) / prior_sd**2 + scaled.T @ x
    right = np.full(x.shape[1], prior / prior_sd**2) + scaled.T @ y
    return np.linalg.solve(precision, right), np.sqrt(np.diag(np.linalg.inv(precision)))
