"""The best tour is the one that trying all of them finds."""

import datetime as dt
import itertools

import numpy as np
import pandas as pd
import pytest

from planner_kit.errors import PlannerKitError
from planner_kit.sites.tour import HOME, TourLimits, plan_tour

START = dt.date(2027, 7, 3)


def lists(seed, sites=4, nights=6):
    rng = np.random.default_rng(seed)
    ids = [f"s{n}" for n in range(sites)]
    scores = pd.Series(rng.uniform(0.2, 1, sites), index=ids)
    tow = pd.DataFrame(rng.uniform(20, 160, (sites + 1,) * 2), [*ids, HOME], [*ids, HOME])
    days = [START + dt.timedelta(days=n) for n in range(nights)]
    each = rng.uniform(15, 40, (sites, nights))
    prices = {}
    for length in range(1, nights + 1):
        table = pd.DataFrame(np.nan, index=ids, columns=days)
        for a in range(nights - length + 1):
            table[days[a]] = each[:, a : a + length].sum(axis=1)
        prices[length] = table
    return scores, tow, prices


def by_trying(scores, tow, prices, limits):
    best = None
    ids = list(scores.index)
    for count in range(1, len(ids) + 1):
        for order in itertools.permutations(ids, count):
            for split in itertools.product(range(limits.least_nights, limits.nights + 1),
                                           repeat=count):  # fmt: skip
                if sum(split) != limits.nights:
                    continue
                way = [HOME, *order, HOME]
                minutes = [tow.loc[a, b] for a, b in itertools.pairwise(way)]
                day, price = START, 0.0
                for site, nights in zip(order, split, strict=True):
                    price += prices[nights].loc[site, day]
                    day += dt.timedelta(days=nights)
                over = limits.budget is not None and price > limits.budget
                if over or max(minutes) > limits.most_tow_min:
                    continue
                points = sum(scores[s] * n for s, n in zip(order, split, strict=True))
                points -= sum(minutes) / 60 * limits.tow_hour_costs
                best = points if best is None else max(best, points)
    return best


@pytest.mark.parametrize("seed", range(6))
def test_the_tour_is_the_best_of_all(seed):
    scores, tow, prices = lists(seed)
    limits = TourLimits(6, 120, budget=165, least_nights=2)
    expected = by_trying(scores, tow, prices, limits)
    if expected is None:
        with pytest.raises(PlannerKitError, match="without"):
            plan_tour(scores, tow, prices, START, limits)
        return
    found = plan_tour(scores, tow, prices, START, limits)
    assert found.points == pytest.approx(expected)
    assert found.price <= 165
    assert found.stays["nights"].sum() == 6
    assert len(found.why) >= 3


def test_an_impossible_tour_names_the_limit_in_its_way():
    scores, tow, prices = lists(1)
    with pytest.raises(PlannerKitError, match="without the budget"):
        plan_tour(scores, tow, prices, START, TourLimits(6, 1e9, budget=1))
