"""Which stops of a drive to make, and what to do at each: the best of all choices."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

# Columns of the table of labels; one more for each meal follows, 1 while it is still to be had.
_SHORT, _OVER, _CLOCK, _PENALTY, _LEVEL, _SINCE, _MEALS = range(7)
_SAME = 1e-5
_FEW = 60
# Up to this many labels each is held against each at once.
_PAIRS = 800


@dataclass(frozen=True)
class Offer:
    """One thing to do at one place on the way.

    Attributes
    ----------
    place : int
        The place's number; offers of one place shut each other out.
    wheel_min, clock_min : float
        Time at the wheel, and time in all, from the start to the place without any stop. [min]
    used : float
        Fuel or energy used up to the place. [l or kWh]
    does : str
        What is done, in words.
    minutes : float
        What it adds to the drive, with the way there and back. [min]
    penalty : float
        What it is marked down by beside its time. [min]
    is_break : bool
        It counts as a break from the wheel.
    is_meal : bool
        A meal can be had.
    fills_to : float or None
        Level of the tank or battery afterwards; None where nothing is filled. [l or kWh]
    min_per_unit : float
        Time that filling takes for each unit; the longer of it and `minutes` counts. [min]
    opens : tuple of (float, float) or None
        When it can be done, counted from the start of the drive; None for always. [min]
    forced : bool
        It happens whether one wants it or not (a ferry), and adds nothing.
    """

    place: int
    wheel_min: float
    clock_min: float
    used: float
    does: str
    minutes: float
    penalty: float
    is_break: bool = True
    is_meal: bool = False
    fills_to: float | None = None
    min_per_unit: float = 0.0
    opens: tuple[tuple[float, float], ...] | None = None
    forced: bool = False


@dataclass(frozen=True)
class Needs:
    """What a drive asks of its stops.

    Attributes
    ----------
    wheel_min, clock_min, used : float
        Of the whole drive without stops. [min], [l or kWh]
    stint_min : float
        Longest time at the wheel without a break. [min]
    level : float
        In the tank or battery at the start; inf where it does not matter. [l or kWh]
    reserve : float
        What must always be left. [l or kWh]
    meals : tuple of (float, float)
        Windows in which a meal should begin, counted from the start. [min]
    meal_missed : float
        What a meal that is not had is marked down by. [min]
    arrive_from, arrive_until : float
        When one is received at the end, counted from the start. [min]
    """

    wheel_min: float
    clock_min: float
    used: float
    stint_min: float
    level: float = float("inf")
    reserve: float = 0.0
    meals: tuple[tuple[float, float], ...] = ()
    meal_missed: float = 30.0
    arrive_from: float = float("-inf")
    arrive_until: float = float("inf")


@dataclass(frozen=True)
class StopChoice:
    """The best stops.

    Attributes
    ----------
    offers : tuple of int
        Numbers of the offers taken, in driving order, without those that are forced.
    starts_min, minutes : tuple of float
        When each begins, counted from the start of the drive, and how long it takes. [min]
    short : float
        The most by which the reserve is touched. [l or kWh]
    over_min : float
        Time at the wheel beyond the longest stint. [min]
    late_min : float
        Arrival after one is received. [min]
    cost_min : float
        Time that the stops add, with what they are marked down by. [min]
    extra_min : float
        Time that the stops add. [min]
    meals_missed : int
    filled : tuple of float
        What is filled at each offer taken. [l or kWh]
    """

    offers: tuple[int, ...]
    starts_min: tuple[float, ...]
    minutes: tuple[float, ...]
    short: float
    over_min: float
    late_min: float
    cost_min: float
    extra_min: float
    meals_missed: int
    filled: tuple[float, ...]

    @property
    def worth(self) -> tuple[float, float, float, float]:
        """What is made as small as can be, the first before the second and so on."""
        return self.short, self.over_min, self.late_min, self.cost_min


def choose_stops(offers: Sequence[Offer], needs: Needs) -> StopChoice:
    """The stops that touch the reserve least, then drive on least, then come late least, then cost.

    Parameters
    ----------
    offers : sequence of Offer
        In driving order; those of one place one after the other.
    needs : Needs

    Returns
    -------
    choice : StopChoice

    Notes
    -----
    Exact among the offers: the drive is gone through with every state that no other beats in all
    of fuel, time at the wheel, time, marks and meals (labels with dominance) and that may still end
    as well as a choice found before. One may wait
    for a place to open or for the hour of a meal, so being earlier is never worse.
    """
    rough = _gone_through(offers, needs, None)
    return _gone_through(offers, needs, rough.worth)


def _gone_through(
    offers: Sequence[Offer], needs: Needs, bound: tuple[float, float, float, float] | None
) -> StopChoice:
    """The best choice that is not worse than a bound; without one, a good choice found quickly."""
    labels = np.zeros((1, _MEALS + len(needs.meals)))
    labels[0, _LEVEL] = needs.level
    labels[0, _MEALS:] = 1
    origin: list[tuple[NDArray[np.int64], NDArray[np.int64]]] = []
    at = (0.0, 0.0)
    ahead = _Ahead.of(offers, needs)
    place = 0
    while place < len(offers):
        last = place
        while last < len(offers) and offers[last].place == offers[place].place:
            last += 1
        here = offers[place]
        labels = _driven(labels, here.wheel_min - at[0], here.used - at[1], needs)
        at = (here.wheel_min, here.used)
        labels, came, did = _stopped(labels, offers, range(place, last), needs)
        worth = _worth_so_far(labels, offers, last, needs, ahead)
        if bound is None:
            keep = np.sort(np.lexsort(worth[::-1])[:_FEW])
        else:
            keep = np.flatnonzero(_may_win(worth, bound))
        labels, came, did = labels[keep], came[keep], did[keep]
        keep = _undominated(labels)
        labels = labels[keep]
        origin.append((came[keep], did[keep]))
        place = last
    labels = _driven(labels, needs.wheel_min - at[0], needs.used - at[1], needs)
    return _best(labels, origin, offers, needs)


@dataclass(frozen=True)
class _Ahead:
    """The least that the breaks ahead can cost, whatever else a drive needs.

    Attributes
    ----------
    at_min : ndarray, shape (places,)
        Time at the wheel up to each place that has a break. [min]
    least_min : ndarray, shape (places,)
        The cheapest break there, with the cheapest breaks that must follow so that no stint grows
        too long; inf where none can keep that. [min]
    wheel_min, stint_min : float
    """

    at_min: NDArray[np.float64]
    least_min: NDArray[np.float64]
    wheel_min: float
    stint_min: float

    @classmethod
    def of(cls, offers: Sequence[Offer], needs: Needs) -> _Ahead:
        """What lies ahead on a drive, gone through from its end."""
        cheapest: dict[float, float] = {}
        for offer in offers:
            if offer.is_break:
                cost = 0.0 if offer.forced else offer.minutes + offer.penalty
                cheapest[offer.wheel_min] = min(cost, cheapest.get(offer.wheel_min, np.inf))
        at = np.array(sorted(cheapest))
        least = np.array([cheapest[place] for place in at.tolist()])
        for place in range(len(at) - 1, -1, -1):
            if at[place] + needs.stint_min + _SAME < needs.wheel_min:
                last = np.searchsorted(at, at[place] + needs.stint_min + _SAME)
                least[place] += least[place + 1 : last].min(initial=np.inf)
        return cls(at, least, needs.wheel_min, needs.stint_min)

    def cost_min(
        self, wheel_min: float, since_min: NDArray[np.float64], *, more_here: bool
    ) -> NDArray[np.float64]:
        """The least cost of the breaks after a place, by the time at the wheel since the last.

        `more_here` says that other places at the same point of the way are still to come.
        """
        # Whoever has driven too long already drives no further beyond it by a break right here.
        until = np.maximum(wheel_min - since_min + self.stint_min, wheel_min) + _SAME
        first = int(np.searchsorted(self.at_min, wheel_min, side="left" if more_here else "right"))
        last = np.searchsorted(self.at_min, until) - first
        # The cheapest of the first one, two, three places ahead; of none at all: inf.
        reached = np.r_[np.inf, np.minimum.accumulate(self.least_min[first:])]
        return np.where(until >= self.wheel_min, 0.0, reached[np.maximum(last, 0)])


def _worth_so_far(
    labels: NDArray[np.float64], offers: Sequence[Offer], done: int, needs: Needs, ahead: _Ahead
) -> list[NDArray[np.float64]]:
    """The least that each label can still end with: reserve touched, time over, cost.

    The first `done` offers are behind; the cost holds for labels whose time over stays as it is.
    """
    here = offers[done - 1]
    more_here = done < len(offers) and offers[done].wheel_min == here.wheel_min
    # Time before the site opens may turn out to be free.
    free = max(needs.arrive_from - needs.clock_min, 0.0)
    cost = labels[:, _CLOCK] + labels[:, _PENALTY] - free
    cost = cost + ahead.cost_min(here.wheel_min, labels[:, _SINCE], more_here=more_here)
    for meal, (_, last) in enumerate(needs.meals):
        passed = here.clock_min + labels[:, _CLOCK] > last + _SAME
        cost = cost + labels[:, _MEALS + meal] * passed * needs.meal_missed
    return [labels[:, _SHORT], labels[:, _OVER], cost]


def _may_win(
    worth: list[NDArray[np.float64]], bound: tuple[float, float, float, float]
) -> NDArray[np.bool_]:
    """Which labels may still end no worse than a choice that is known."""
    short, over, cost = worth
    worse = short > bound[0] + _SAME
    level = np.abs(short - bound[0]) <= _SAME
    worse |= level & (over > bound[1] + _SAME)
    level &= np.abs(over - bound[1]) <= _SAME
    if bound[2] == 0:
        worse |= level & (cost > bound[3] + _SAME)
    return ~worse


def _driven(
    labels: NDArray[np.float64], wheel_min: float, used: float, needs: Needs
) -> NDArray[np.float64]:
    """The labels after a piece of road."""
    labels = labels.copy()
    since = labels[:, _SINCE] + wheel_min
    beyond = np.maximum(since - needs.stint_min, 0.0)
    labels[:, _OVER] += beyond - np.maximum(labels[:, _SINCE] - needs.stint_min, 0.0)
    labels[:, _SINCE] = since
    if np.isfinite(needs.level):
        labels[:, _LEVEL] -= used
        below = needs.reserve - labels[:, _LEVEL]
        labels[:, _SHORT] = np.maximum(labels[:, _SHORT], below)
    return labels


def _stopped(
    labels: NDArray[np.float64], offers: Sequence[Offer], which: range, needs: Needs
) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.int64]]:
    """The labels after a place, with the label each came from and the offer taken (-1: none)."""
    every = np.arange(len(labels))
    parts, came, did = [], [], []
    if not offers[which[0]].forced:
        parts, came, did = [labels], [every], [np.full(len(labels), -1)]
    for number in which:
        taken, able = _taken(labels, offers[number], needs)
        parts.append(taken)
        came.append(every[able])
        did.append(np.full(len(taken), number))
    return np.concatenate(parts), np.concatenate(came), np.concatenate(did)


def _taken(
    labels: NDArray[np.float64], offer: Offer, needs: Needs
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """The labels that can take an offer, after it, and which they were."""
    after = labels.copy()
    start, able, meal = _begin(labels, offer, needs)
    if offer.is_meal:
        after[meal >= 0, _MEALS + np.maximum(meal, 0)[meal >= 0]] = 0
    minutes = np.full(len(labels), offer.minutes)
    if offer.fills_to is not None:
        put_in = offer.fills_to - labels[:, _LEVEL]
        able &= put_in > 1e-9
        minutes = np.maximum(minutes, put_in * offer.min_per_unit)
        after[:, _LEVEL] = offer.fills_to
    if offer.is_break:
        after[:, _SINCE] = 0
    if not offer.forced:
        after[:, _CLOCK] = start + minutes - offer.clock_min
        after[:, _PENALTY] += offer.penalty
    return after[able], able


def _begin(
    labels: NDArray[np.float64], offer: Offer, needs: Needs
) -> tuple[NDArray[np.float64], NDArray[np.bool_], NDArray[np.int64]]:
    """When each label can begin an offer, whether it can, and which meal it then has (-1: none)."""
    now = offer.clock_min + labels[:, _CLOCK]
    start, able = now.copy(), np.ones(len(labels), dtype=bool)
    if offer.opens is not None:
        start, able = _next_opening(now, offer.opens)
    meal = np.full(len(labels), -1)
    if offer.is_meal:
        begins = np.full(len(labels), np.inf)
        for number, (first, last) in enumerate(needs.meals):
            at = np.maximum(start, first)
            fits = (labels[:, _MEALS + number] > 0) & (at <= last) & (at < begins)
            begins, meal = np.where(fits, at, begins), np.where(fits, number, meal)
        if not offer.forced:
            able &= meal >= 0
            start = np.where(meal >= 0, begins, start)
    return start, able, meal


def _next_opening(
    now: NDArray[np.float64], opens: tuple[tuple[float, float], ...]
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    start = np.full(now.shape, np.inf)
    for first, last in opens:
        at = np.maximum(now, first)
        start = np.where((at < last) & (at < start), at, start)
    able = np.isfinite(start)
    return np.where(able, start, now), able


def _undominated(table: NDArray[np.float64]) -> NDArray[np.int64]:
    """The rows that no other row beats or equals in everything, the first of equals."""
    score = table.copy()
    score[:, _LEVEL] = -np.where(np.isfinite(table[:, _LEVEL]), table[:, _LEVEL], 0.0)
    score = np.round(score, 6)
    # What all rows have alike decides nothing.
    score = score[:, np.ptp(score, axis=0) > 0]
    if not score.shape[1]:
        return np.zeros(min(1, len(score)), dtype=np.int64)
    order = np.lexsort(score.T[::-1])
    score = score[order]
    if len(score) <= _PAIRS:
        beats = np.triu(np.ones((len(score), len(score)), dtype=bool), k=1)
        for column in score.T:
            beats &= column[:, None] <= column
        return np.sort(order[~beats.any(axis=0)])
    alive = np.ones(len(score), dtype=bool)
    for row in range(len(score)):
        if alive[row]:
            beaten = (score[row + 1 :] >= score[row]).all(axis=1)
            alive[row + 1 :] &= ~beaten
    return np.sort(order[alive])


def _best(
    labels: NDArray[np.float64],
    origin: list[tuple[NDArray[np.int64], NDArray[np.int64]]],
    offers: Sequence[Offer],
    needs: Needs,
) -> StopChoice:
    arrive = needs.clock_min + labels[:, _CLOCK]
    late = np.maximum(arrive - needs.arrive_until, 0.0)
    # Time before the site opens is nobody's loss.
    waited = np.maximum(needs.arrive_from - arrive, 0.0)
    missed = labels[:, _MEALS:].sum(axis=1)
    idle = np.minimum(waited, max(needs.arrive_from - needs.clock_min, 0.0))
    cost = labels[:, _CLOCK] + idle + labels[:, _PENALTY] + missed * needs.meal_missed
    worth = [np.round(column, 6) for column in (labels[:, _SHORT], labels[:, _OVER], late, cost)]
    best = int(np.lexsort([*worth[::-1]])[0])
    path, label = [], best
    for came, did in reversed(origin):
        path.append(int(did[label]))
        label = int(came[label])
    taken = tuple(number for number in path[::-1] if number >= 0 and not offers[number].forced)
    every = [number for number in path[::-1] if number >= 0]
    starts, minutes, filled = _replayed(every, offers, needs)
    return StopChoice(
        offers=taken,
        starts_min=starts,
        minutes=minutes,
        short=float(max(worth[0][best], 0.0)),
        over_min=float(worth[1][best]),
        late_min=float(worth[2][best]),
        cost_min=float(worth[3][best]),
        extra_min=float(labels[best, _CLOCK]),
        meals_missed=int(missed[best]),
        filled=filled,
    )


def _replayed(
    taken: Sequence[int], offers: Sequence[Offer], needs: Needs
) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
    """When each of the chosen stops begins, how long it takes, and what is filled."""
    label = np.zeros((1, _MEALS + len(needs.meals)))
    label[0, _LEVEL] = needs.level
    label[0, _MEALS:] = 1
    at, starts, minutes, filled = (0.0, 0.0), [], [], []
    for number in taken:
        offer = offers[number]
        label = _driven(label, offer.wheel_min - at[0], offer.used - at[1], needs)
        at = (offer.wheel_min, offer.used)
        start, _, _ = _begin(label, offer, needs)
        before = float(label[0, _LEVEL])
        label, _ = _taken(label, offer, needs)
        if not offer.forced:
            starts.append(float(start[0]))
            minutes.append(float(label[0, _CLOCK]) + offer.clock_min - float(start[0]))
            filled.append(0.0 if offer.fills_to is None else offer.fills_to - before)
    return tuple(starts), tuple(minutes), tuple(filled)
