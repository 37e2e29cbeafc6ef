from __future__ import annotations

import re

import numpy as np
import pytest

from planner_kit.views.bars import StackedBars

PARTS = {"money": ("blue", ""), "hours": ("orange", "/")}


def widths(bars: StackedBars) -> list[float]:
    return [float(one) for one in re.findall(r"width:([\d.]+)%", bars.bars.value)]


def test_parts_are_as_long_as_their_share_of_the_axis() -> None:
    bars = StackedBars(PARTS, axis="score", most=2.0)
    bars.show(["a", "b"], np.array([[0.5, 1.0], [0.0, 2.0]]))
    assert widths(bars) == [25, 50, 100]


@pytest.mark.parametrize(
    ("longest", "ends"), [(0.0, "1"), (0.9, "1"), (7.1, "8"), (765.0, "800"), (1001.0, "1200")]
)
def test_axis_ends_at_the_next_round_figure(longest: float, ends: str) -> None:
    bars = StackedBars(PARTS, axis="feels like")
    bars.show(["a"], np.array([[longest, 0.0]]))
    assert bars.bars.value.count(f'left:100.00%">{ends}</em>') == 1


def test_bar_that_is_not_wholly_known_says_so_and_tells_no_sum() -> None:
    bars = StackedBars(PARTS, axis="feels like")
    bars.show(["a"], np.array([[np.nan, 3.0]]))
    assert "<span>not known</span>" in bars.bars.value
    assert "3.00</span>" not in bars.bars.value
    assert 'aria-label="a: not known. hours: 3.00"' in bars.bars.value


def test_names_words_and_amounts_are_escaped() -> None:
    bars = StackedBars({"<i>m": ("blue", "")}, axis="<i>x", say=lambda amount: f"<i>{amount}")
    bars.show(['<img src=x onerror="a">'], np.array([[1.0]]))
    for drawn in (bars.bars.value, bars.children[0].value):
        assert "<img" not in drawn
        assert "<i>m" not in drawn
        assert "<i>x" not in drawn
        assert "<i>1" not in drawn
    assert 'onerror="' not in bars.bars.value


def test_no_bars_are_an_empty_chart() -> None:
    bars = StackedBars(PARTS, axis="score")
    bars.show([], np.empty((0, 2)))
    assert 'pk-bar"' not in bars.bars.value
