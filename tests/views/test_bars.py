from __future__ import annotations

import re

import numpy as np
import pytest

from planner_kit.views.bars import StackedBars, UprightBars

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


KINDS = {"holds": ("blue", ""), "trips": ("vermilion", "x")}


def heights(bars: UprightBars) -> list[float]:
    return [
        float(one)
        for one in re.findall(r'<i class="[^"]+" style="height:([\d.]+)%', bars.bars.value)
    ]


def test_upright_bars_and_their_line_stand_on_one_scale() -> None:
    bars = UprightBars(KINDS, axis="Hour", unit="A")
    bars.show("Drawn", ["0", "1"], [5.0, 20.0], ["holds", "trips"], said=["", ""], line=10.0,
              line_word="the rating")  # fmt: skip
    assert heights(bars) == [25, 100]
    assert '<u style="bottom:50.00%" title="the rating: 10 A">' in bars.bars.value
    assert "0: 5.0 A, holds; 1: 20.0 A, trips" in bars.bars.value


def test_line_above_all_bars_is_on_the_scale() -> None:
    bars = UprightBars(KINDS, axis="Hour", unit="A")
    bars.show("Drawn", ["0"], [2.0], ["holds"], said=[""], line=16.0, line_word="the rating")
    assert heights(bars) == [10]
    assert 'bottom:80.00%" title' in bars.bars.value


def test_no_upright_bars_leave_the_title_alone() -> None:
    bars = UprightBars(KINDS, axis="Hour", unit="A")
    bars.show("<b>Nothing")
    assert bars.bars.value == '<div class="pk"><strong>&lt;b&gt;Nothing</strong></div>'
    assert bars.key.layout.display == "none"


def test_words_of_upright_bars_are_escaped() -> None:
    bars = UprightBars({"<i>k": ("blue", "")}, axis="<i>x", unit="<i>A")
    bars.show("<i>t", ["<i>n"], [1.0], ["<i>k"], said=["<i>s"], line=1.0, line_word="<i>l")
    kept = re.sub(r'<i class="pk-b-blue-0"[^>]*>', "", bars.bars.value + bars.key.value)
    assert "<i>" not in kept
