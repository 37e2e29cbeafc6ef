"""The range of a sum."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.costs import sum_range

pence = st.integers(0, 100_000).map(lambda p: p / 100)
triples = st.lists(st.tuples(pence, pence, pence).map(sorted), min_size=1, max_size=8)


@settings(max_examples=50, deadline=None)
@given(triples)
def test_the_range_lies_between_the_sums_of_the_ends(rows):
    low, likely, high = np.array(rows).T
    found = sum_range(low, likely, high)
    slack = (high - low).sum() / 2000 + 1e-6
    assert low.sum() - slack <= found.low <= found.high <= high.sum() + slack
    assert found.low - slack <= found.mean <= found.high + slack or found.deviation > 0


@settings(max_examples=50, deadline=None)
@given(triples, pence)
def test_a_certain_amount_shifts_the_range_and_does_not_widen_it(rows, sure):
    low, likely, high = np.array(rows).T
    before = sum_range(low, likely, high)
    after = sum_range([*low, sure], [*likely, sure], [*high, sure])
    step = (high - low).sum() / 2000 + 1e-6
    assert after.low == pytest.approx(before.low + sure, abs=step)
    assert after.high == pytest.approx(before.high + sure, abs=step)
    assert after.deviation == pytest.approx(before.deviation, abs=1e-6)


def test_a_wider_share_gives_a_wider_range():
    args = ([80, 10], [100, 20], [150, 60])
    narrow, wide = sum_range(*args, share_frac=0.5), sum_range(*args, share_frac=0.95)
    assert wide.low < narrow.low < narrow.high < wide.high


def test_independent_kinds_range_less_than_their_ranges_together():
    one = sum_range([80], [100], [120])
    four = sum_range([80] * 4, [100] * 4, [120] * 4)
    assert four.high - four.low == pytest.approx(2 * (one.high - one.low), rel=0.08)


def test_simulation_agrees():
    low, likely, high = np.array([[80, 100, 160], [20, 40, 50], [300, 310, 420], [5, 5, 25]]).T
    drawn = np.random.default_rng(7).triangular(low, likely, high, (400_000, 4)).sum(axis=1)
    found = sum_range(low, likely, high)
    assert found.low == pytest.approx(np.quantile(drawn, 0.1), abs=0.5)
    assert found.high == pytest.approx(np.quantile(drawn, 0.9), abs=0.5)
    assert found.mean == pytest.approx(drawn.mean(), abs=0.2)
    assert found.deviation == pytest.approx(drawn.std(), abs=0.2)
