"""How long a car takes from one place to many, and how far that is, without a path for each.

Two sweeps of the hierarchy tell both. The first finds the cost of the best way to each place. In
the second every cost counts `Measure.steps` times, and the length and the penalties of the road are
added to it. What the second finds beyond `steps` times the first is then the length and the
penalties of that way: they are too small beside a step to change which way is best, except among
ways whose costs are equal to some hundredths of a second, of which the shorter is told.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.reference import constant
from planner_kit.tow.costing import road_system
from planner_kit.tow.ends import RoadEnd
from planner_kit.tow.search import NEVER, UNITS_PER_S, whole_units
from planner_kit.tow.stages import (
    Position,
    ends_near,
    first_turns,
    one_drive,
    private_at,
    share_before,
)

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner_kit.region.region import Region
    from planner_kit.tow.costing import Costing, RoadSystem
    from planner_kit.tow.route import Drive

# A step of the length, and how many of them a hundredth of a second outweighs.
_LENGTH_M, _OUTWEIGHED = 2.0, 16
# So many penalties on one way are told apart: more than five times those of any one turn.
_LEAST_PENALTIES, _TURNS = 16, 5


@dataclass(frozen=True)
class _Measure:
    """How lengths and penalties are put into the costs of the second sweep.

    Attributes
    ----------
    penalty_s : float
        All penalties of turns are whole numbers of this. [s]
    penalties : int
        As many are told apart; a step of length counts for as many.
    """

    penalty_s: float
    penalties: int

    @property
    def steps(self) -> int:
        """How often a cost counts."""
        return _OUTWEIGHED * self.penalties

    def extra(
        self, length_m: NDArray[np.floating], penalty_s: NDArray[np.floating]
    ) -> NDArray[np.int64]:
        """A length and a penalty in one whole number."""
        steps = np.rint(np.asarray(length_m) / _LENGTH_M).astype(np.int64)
        count = np.rint(penalty_s / self.penalty_s).astype(np.int64)
        return np.asarray(steps * self.penalties + count)

    def read(self, extra: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Length and penalty of a way [m, s]."""
        steps, count = np.divmod(extra, self.penalties)
        return steps * _LENGTH_M, count * self.penalty_s

    @property
    def most_units(self) -> float:
        """The costliest way that the second sweep can hold."""
        return 0.9 * NEVER / self.steps


def _measure(costing: Costing) -> _Measure:
    """The coarsest measure that tells the penalties of the turns apart."""
    found = costing.turns.stress_steps_s
    common = int(np.gcd.reduce(found)) or 1
    most = _TURNS * int(found.max(initial=0)) // common
    return _Measure(float(common), max(_LEAST_PENALTIES, 1 << most.bit_length()))


def _units(system: RoadSystem, costing: Costing, measure: _Measure) -> NDArray[np.int64]:
    """The cost of every turn in the second sweep."""
    cost = whole_units(costing.arc_cost_s)
    length = system.facts.length_m[system.turns.coming // 2]
    whole = cost * measure.steps + measure.extra(length, costing.turns.stress_s)
    return np.where(cost >= NEVER, NEVER, np.minimum(whole, NEVER - 1))


def drive_times(
    region: Region, start: Position, targets: pd.DataFrame, *, on: dt.date | None = None
) -> pd.DataFrame:
    """How long a car alone takes from one place to many, and how far it is.

    Parameters
    ----------
    region : Region
    start : (float, float)
        lat, lon. [deg]
    targets : DataFrame
        With the columns lat and lon; any index.
    on : date, optional
        The day, for the law; today where it is left out.

    Returns
    -------
    times : DataFrame
        Aligned with `targets`: minutes, km; NaN where no way is known. Each road is counted to a
        hundredth of a second and to two metres.

    Raises
    ------
    NoRouteError
        If the start is far from any road.
    """
    day = on or dt.date.today()
    system = road_system(region)
    costing = system.driving(on=day, opened=private_at(system, [start]))
    begins = ends_near(system, costing, start, "start")
    minutes, km = np.full(len(targets), np.nan), np.full(len(targets), np.nan)
    row, road, frac = _ends_of(system, costing, targets)
    # Most places are reached by the road nearest to them, from the nearest to the start; only
    # those that are not are looked for along the others.
    nearest = np.arange(len(row)) == np.searchsorted(row, row)
    for begin in begins:
        for which in (nearest, ~nearest):
            asked = np.flatnonzero(which & np.isnan(minutes[row]))
            if not len(asked):
                continue
            cost, metres, penalty_s = _swept(system, costing, begin, road[asked], frac[asked])
            # Of the roads beside a place, the nearest to which there is a way counts.
            found = np.flatnonzero(np.isfinite(cost))[::-1]
            at = row[asked[found]]
            minutes[at] = (cost[found] / UNITS_PER_S - penalty_s[found]) / 60
            km[at] = metres[found] / 1000
        if np.isfinite(minutes).any():
            break
    return pd.DataFrame({"minutes": minutes, "km": km}, index=targets.index)


def _ends_of(
    system: RoadSystem, costing: Costing, targets: pd.DataFrame
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.float64]]:
    """The open roads beside each place: its row, the road and the share of its length."""
    lat, lon = (
        targets[name].to_numpy(dtype=np.float64, na_value=np.nan) for name in ("lat", "lon")
    )
    row, road, frac = system.index.beside(
        lat,
        lon,
        within_m=constant("towing_costs", "reach_road").value,
        beyond_m=constant("towing_costs", "beside_road").value,
    )
    open_ = np.flatnonzero(~costing.limits.roads_shut[road])
    row, road, frac = row[open_], road[open_], frac[open_]
    tried = np.arange(len(row)) - np.searchsorted(row, row) < int(
        constant("towing_costs", "join_tries").value
    )
    return row[tried], road[tried], frac[tried]


def _swept(
    system: RoadSystem,
    costing: Costing,
    begin: RoadEnd,
    road: NDArray[np.int64],
    frac: NDArray[np.float64],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Cost [units], length [m] and penalties [s] of the ways to points on roads; inf for none."""
    measure = _measure(costing)
    search, length_m = system.search, system.facts.length_m
    slot, lengths = costing.slot, f"{costing.slot}, lengths"
    search.customise(slot, costing.key, costing.arc_cost_s)
    search.customise_units(lengths, costing.key, lambda: _units(system, costing, measure))
    way = np.stack([2 * road, 2 * road + 1], axis=1).ravel()
    before = np.stack([frac, 1 - frac], axis=1).ravel()
    states, place = system.network.all_states_of(way)
    pins, pin = np.unique(states, return_inverse=True)
    last = np.rint(costing.road_cost_s[way] * before * UNITS_PER_S)[place]
    last_extra = measure.extra(length_m[way // 2] * before, np.zeros(len(way)))[place]
    sources = first_turns(system, costing, begin)
    first, first_extra = _first_units(system, costing, measure, begin, sources)
    points = place // 2
    least = search.units_to(slot, list(zip(sources, first, strict=True)), pins)
    cost = _least(least[pin] + last, points, len(road))
    metres, penalty_s = np.full(len(road), np.nan), np.full(len(road), np.nan)
    followed = road == begin.road
    if not (followed | np.isfinite(cost)).any():
        return cost, metres, penalty_s
    more = [units * measure.steps + extra for units, extra in zip(first, first_extra, strict=True)]
    both = search.units_to(lengths, list(zip(sources, more, strict=True)), pins)
    both = _least(both[pin] + last * measure.steps + last_extra, points, len(road))
    held = cost <= measure.most_units
    metres[held], penalty_s[held] = measure.read(both[held] - cost[held] * measure.steps)
    # Drives on along the first road, and those too long for the second sweep, are few.
    followed |= np.isfinite(cost) & ~held
    for at in np.flatnonzero(followed).tolist():
        end = RoadEnd(int(road[at]), float(frac[at]), 0.0)
        drive = one_drive(system, slot, costing, begin, end, None)
        if drive is not None:
            cost[at], metres[at], penalty_s[at] = _along(system, costing, drive)
    return cost, metres, penalty_s


def _first_units(
    system: RoadSystem,
    costing: Costing,
    measure: _Measure,
    begin: RoadEnd,
    sources: dict[int, tuple[float, int, int]],
) -> tuple[list[int], list[int]]:
    """Cost of the first road and turn, and their length and penalty, for each source."""
    told = list(sources.values())
    cost = [round(at * UNITS_PER_S) for at, _, _ in told]
    directed = np.array([way for _, way, _ in told], dtype=np.int64)
    arcs = np.array([arc for _, _, arc in told], dtype=np.int64)
    rest = np.array([1 - share_before(begin.frac, way) for way in directed.tolist()])
    length = system.facts.length_m[directed // 2] * rest
    return cost, measure.extra(length, costing.turns.stress_s[arcs]).tolist()


def _least(
    values: NDArray[np.float64], group: NDArray[np.int64], groups: int
) -> NDArray[np.float64]:
    """The least value of each group; inf for a group without any."""
    found = np.full(groups, np.inf)
    np.minimum.at(found, group, values)
    return found


def _along(system: RoadSystem, costing: Costing, drive: Drive) -> tuple[float, float, float]:
    """Cost [units], length [m] and penalties [s] of one drive."""
    share = drive.shares()
    penalty_s = float(costing.turns.stress_s[drive.arcs].sum())
    time_s = float(costing.roads.time_s.ravel()[drive.directed] @ share)
    time_s += float(costing.turns.time_s[drive.arcs].sum())
    length = system.facts.length_m[drive.directed // 2]
    return (time_s + penalty_s) * UNITS_PER_S, float(length @ share), penalty_s
