"""What the household's own readings of earlier stays say about a forecast."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant

if TYPE_CHECKING:
    import pandas as pd

READING_COLUMNS = ("operator", "site_id", "lat", "lon", "level_dbm")


@dataclass(frozen=True)
class SignalBias:
    """How far a forecast is expected to be off.

    Attributes
    ----------
    bias_db : float
        Added to the forecast level. [dB]
    deviation_db : float
        Standard deviation of what is left, without the spread from place to place. [dB]
    count : int
        Readings of the operator that were used.
    here : int
        Those of them from the same site.
    """

    bias_db: float
    deviation_db: float
    count: int
    here: int


def signal_bias(readings: pd.DataFrame, operator: str, site_id: str) -> SignalBias:
    """The best linear correction of a forecast by earlier readings.

    Parameters
    ----------
    readings : DataFrame
        One row for each reading, with operator, site_id, level_dbm (as read) and forecast_dbm (as
        the kit forecast it for that place without correction). Rows without both levels do not
        count.
    operator : str
        Whose forecast is corrected, whatever the case.
    site_id : str
        Where.

    Returns
    -------
    bias : SignalBias
        Without readings the bias is 0 and the deviation that of the method.

    Notes
    -----
    A forecast is off by a part of the operator (its powers and bands, this household's phones), a
    part of the site (trees, buildings) and a part of the moment; each is normal with mean 0 and the
    deviations of the reference table. Readings at the same site therefore count for more than
    others, and many readings at one site do not drown out the rest.

    References
    ----------
    .. [1] G. K. Robinson, "That BLUP is a good thing: the estimation of random effects",
       Statistical Science 6 (1), 1991.
    """
    of_operator, of_site, of_moment = (
        float(constant("signal_constants", name)) ** 2
        for name in ("operator_deviation", "site_deviation", "reading_deviation")
    )
    wanted = readings["operator"].astype(str).str.strip().str.casefold()
    rows = readings[wanted == operator.strip().casefold()].dropna(
        subset=["level_dbm", "forecast_dbm"]
    )
    if rows.empty:
        return SignalBias(0.0, float(np.sqrt(of_operator + of_site)), 0, 0)
    residual = rows["level_dbm"].to_numpy(dtype=float) - rows["forecast_dbm"].to_numpy(dtype=float)
    sites = rows["site_id"].astype(str).to_numpy()
    together = sites[:, None] == sites[None, :]
    covariance = of_operator + of_site * together + of_moment * np.eye(len(rows))
    here = sites == site_id
    toward = of_operator + of_site * here
    weights = np.linalg.solve(covariance, toward)
    left = of_operator + of_site - toward @ weights
    return SignalBias(
        float(weights @ residual), float(np.sqrt(max(left, 0.0))), len(rows), int(here.sum())
    )
