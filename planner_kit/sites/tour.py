"""Which sites, in which order and for how long: the best tour of a list of candidates, exactly."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from scipy import optimize, sparse

from planner_kit.errors import NoRouteError, PlannerKitError
from planner_kit.tow import find_route

if TYPE_CHECKING:
    from planner_kit.outfit.report import Outfit
    from planner_kit.region import Region
    from planner_kit.trip.reading import TripInputs

HOME = "home"


@dataclass(frozen=True)
class TourLimits:
    """What a tour has to keep to.

    Attributes
    ----------
    nights : int
        Nights away in all.
    most_tow_min : float
        Longest tow in a day, without breaks. [min]
    budget : float or None
        For all sites together.
    least_nights, most_nights : int
        Nights on one site.
    most_stays : int or None
    must : tuple of str
        Sites that have to be in it.
    tow_hour_costs : float
        How many night-points an hour of towing costs: at 0.1 a tow of an hour more is worth it for
        a site whose score is 0.1 better on one night.
    """

    nights: int
    most_tow_min: float
    budget: float | None = None
    least_nights: int = 2
    most_nights: int = 14
    most_stays: int | None = None
    must: tuple[str, ...] = ()
    tow_hour_costs: float = 0.1


@dataclass(frozen=True)
class Tour:
    """The best tour found, which no other keeps to the limits and beats.

    Attributes
    ----------
    stays : DataFrame
        site_id, arrive, leave, nights, price, points (score x nights), tow_min (the tow to it).
    home_tow_min : float
        The tow home. [min]
    points : float
        Sum of score x nights, less what the towing costs.
    price, tow_min : float
    why : tuple of str
        What each limit cost, in sentences.
    """

    stays: pd.DataFrame
    home_tow_min: float
    points: float
    price: float
    tow_min: float
    why: tuple[str, ...]


def start_days(start: dt.date, nights: int, length: int) -> list[dt.date]:
    """The days on which a stay of `length` nights can begin in a tour of `nights`."""
    return [start + dt.timedelta(days=day) for day in range(nights - length + 1)]


def plan_tour(
    scores: pd.Series,
    tow_min: pd.DataFrame,
    prices: dict[int, pd.DataFrame],
    start: dt.date,
    limits: TourLimits,
) -> Tour:
    """The tour with the most points that keeps to the limits.

    Parameters
    ----------
    scores : Series, n sites
        How good each site is, 0 to 1; see `rank_sites`.
    tow_min : DataFrame, (n + 1) rows and columns
        Tow between sites, and ``home``; NaN where there is no way. [min]
    prices : dict of int to DataFrame
        For each length of stay, price by site (row) and day of arrival (column); NaN where not
        known or not possible: such a stay is in no tour.
    start : date
        The first night.
    limits : TourLimits

    Returns
    -------
    tour : Tour

    Raises
    ------
    PlannerKitError
        If no tour keeps to the limits; the sentence names a limit without which there is one.

    Notes
    -----
    A network of days: one variable for each stay (site, first and last night) and each tow between
    sites on a day, solved to the optimum as a mixed-integer linear programme [1]_.

    References
    ----------
    .. [1] HiGHS, as called by ``scipy.optimize.milp``.
    """
    best = _solved(scores, tow_min, prices, start, limits)
    if best is None:
        raise PlannerKitError(_no_tour(scores, tow_min, prices, start, limits))
    return replace(best, why=_why(best, scores, tow_min, prices, start, limits))


def _solved(
    scores: pd.Series,
    tow_min: pd.DataFrame,
    prices: dict[int, pd.DataFrame],
    start: dt.date,
    limits: TourLimits,
) -> Tour | None:
    sites, nights = list(scores.index), limits.nights
    stays = []
    for length in range(limits.least_nights, min(limits.most_nights, nights) + 1):
        if length in prices:
            days = start_days(start, nights, length)
            costs = prices[length].loc[sites, days].to_numpy(float)
            stays += [
                (int(s), int(a), int(a) + length, float(costs[s, a]))
                for s, a in np.argwhere(~np.isnan(costs))
            ]
    minutes = tow_min.loc[[*sites, HOME], [*sites, HOME]].to_numpy(float)
    near = minutes <= limits.most_tow_min
    home = len(sites)
    moves = [
        (s, t, day)
        for s in range(home + 1)
        for t in range(home + 1)
        for day in ((0,) if s == home else (nights,) if t == home else range(1, nights))
        if s != t and near[s, t]
    ]
    if not stays or not moves:
        return None
    gain = [-float(scores.iloc[s]) * (b - a) for s, a, b, _ in stays]
    gain += [minutes[s, t] / 60 * limits.tow_hour_costs for s, t, _ in moves]
    found = optimize.milp(
        np.array(gain),
        constraints=_constraints(sites, stays, moves, limits),
        integrality=np.ones(len(gain)),
        bounds=optimize.Bounds(0, 1),
    )
    if found.x is None:
        return None
    chosen = np.flatnonzero(found.x > 0.5)
    taken = sorted((stays[n] for n in chosen if n < len(stays)), key=lambda one: one[1])
    rows, before, towed = [], home, 0.0
    for s, a, b, price in taken:
        towed += minutes[before, s]
        rows.append(
            {
                "site_id": sites[s],
                "arrive": start + dt.timedelta(days=a),
                "leave": start + dt.timedelta(days=b),
                "nights": b - a,
                "price": price,
                "points": float(scores.iloc[s]) * (b - a),
                "tow_min": minutes[before, s],
            }
        )
        before = s
    back = float(minutes[before, home])
    frame = pd.DataFrame(rows)
    return Tour(frame, back, -float(found.fun), float(frame["price"].sum()), towed + back, ())


def _constraints(
    sites: list[str],
    stays: list[tuple[int, int, int, float]],
    moves: list[tuple[int, int, int]],
    limits: TourLimits,
) -> list[optimize.LinearConstraint]:
    """Every night somewhere, every stay towed to and from, each site once, and the limits."""
    home, offset, total = len(sites), len(stays), len(stays) + len(moves)
    entries: list[tuple[int, int, float]] = []
    low: list[float] = []
    high: list[float] = []

    def row(columns: dict[int, float], least: float, most: float) -> None:
        entries.extend((len(low), column, value) for column, value in columns.items())
        low.append(least)
        high.append(most)

    arriving: dict[tuple[int, int], dict[int, float]] = {}
    leaving: dict[tuple[int, int], dict[int, float]] = {}
    for column, (s, a, b, _) in enumerate(stays):
        arriving.setdefault((s, a), {})[column] = -1.0
        leaving.setdefault((s, b), {})[column] = -1.0
    for number, (s, t, day) in enumerate(moves):
        if t != home:
            arriving.setdefault((t, day), {})[offset + number] = 1.0
        if s != home:
            leaving.setdefault((s, day), {})[offset + number] = 1.0
    for columns in (*arriving.values(), *leaving.values()):
        row(columns, 0, 0)
    row({offset + n: 1.0 for n, (s, _, _) in enumerate(moves) if s == home}, 1, 1)
    for s, site in enumerate(sites):
        once = {column: 1.0 for column, stay in enumerate(stays) if stay[0] == s}
        if once or site in limits.must:
            row(once, 1 if site in limits.must else 0, 1)
    if limits.budget is not None:
        row({column: stay[3] for column, stay in enumerate(stays)}, -np.inf, limits.budget)
    if limits.most_stays is not None:
        row(dict.fromkeys(range(offset), 1.0), 0, limits.most_stays)
    rows, columns_, values = zip(*entries, strict=True)
    matrix = sparse.csr_array((values, (rows, columns_)), shape=(len(low), total))
    return [optimize.LinearConstraint(matrix, np.array(low), np.array(high))]


def _without(limits: TourLimits) -> dict[str, TourLimits]:
    """The same limits, each time with one left out."""
    eased = {"the longest tow in a day": replace(limits, most_tow_min=np.inf)}
    if limits.budget is not None:
        eased["the budget"] = replace(limits, budget=None)
    if limits.least_nights > 1:
        eased["the fewest nights on a site"] = replace(limits, least_nights=1)
    if limits.most_stays is not None:
        eased["the most stays"] = replace(limits, most_stays=None)
    if limits.must:
        eased["the sites that have to be in it"] = replace(limits, must=())
    return eased


def _why(
    best: Tour,
    scores: pd.Series,
    tow_min: pd.DataFrame,
    prices: dict[int, pd.DataFrame],
    start: dt.date,
    limits: TourLimits,
) -> tuple[str, ...]:
    count = len(best.stays)
    said = [
        f"{count} {'stay earns' if count == 1 else 'stays earn'} "
        f"{best.stays['points'].sum():.2f} night-points; "
        f"{best.tow_min / 60:.1f} h of towing costs "
        f"{best.tow_min / 60 * limits.tow_hour_costs:.2f} of them."
    ]
    for name, eased in _without(limits).items():
        other = _solved(scores, tow_min, prices, start, eased)
        if other is not None and other.points > best.points + 1e-6:
            sites = ", ".join(f"{r.site_id} {r.nights}" for r in other.stays.itertuples())
            said.append(
                f"Without {name} it would be {sites} nights, {other.points - best.points:.2f} "
                f"points better, for {other.price:,.2f} and {other.tow_min / 60:.1f} h of towing."
            )
        else:
            said.append(f"{name[0].upper()}{name[1:]} costs nothing.")
    return tuple(said)


def _no_tour(
    scores: pd.Series,
    tow_min: pd.DataFrame,
    prices: dict[int, pd.DataFrame],
    start: dt.date,
    limits: TourLimits,
) -> str:
    helps = [
        name
        for name, eased in _without(limits).items()
        if _solved(scores, tow_min, prices, start, eased) is not None
    ]
    if helps:
        return f"No tour keeps to all limits; there is one without {' or without '.join(helps)}."
    return (
        f"No tour of {limits.nights} nights can be made of these {len(scores)} sites: their prices "
        "are not known, they are shut, or no tow leads to them."
    )


def tow_minutes_between(
    inputs: TripInputs, region: Region, outfit: Outfit, sites: pd.DataFrame
) -> pd.DataFrame:
    """The tow between every two sites and home, without breaks.

    Parameters
    ----------
    inputs : TripInputs
    region : Region
    outfit : Outfit
    sites : DataFrame, n rows
        With lat and lon.

    Returns
    -------
    minutes : DataFrame, (n + 1) rows and columns
        From row to column, ``home`` last; NaN where no way is open to the outfit. [min]
    """
    trip, household = inputs.trip, inputs.household
    points = {
        str(site_id): (float(lat), float(lon))
        for site_id, lat, lon in zip(sites.index, sites["lat"], sites["lon"], strict=True)
    }
    points[HOME] = (household.home.lat, household.home.lon)
    avoid = (*household.avoid_roads, *trip.tow.avoid)
    table = pd.DataFrame(np.nan, index=list(points), columns=list(points))
    for start, here in points.items():
        for end, there in points.items():
            if start == end:
                continue
            try:
                route = find_route(
                    region, outfit, here, there, weights=household.preferences.tow, avoid=avoid,
                    on=trip.start,
                )  # fmt: skip
                table.loc[start, end] = route.time_min
            except NoRouteError:
                table.loc[start, end] = np.nan
    return table
