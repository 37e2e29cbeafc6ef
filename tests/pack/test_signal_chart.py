"""The drawings of signals: what is known is drawn, what is not is left out."""

from __future__ import annotations

import defusedxml.ElementTree as ElementTree
import numpy as np
import pandas as pd

from planner_kit.pack.around_chart import around_chart
from planner_kit.pack.signal_chart import dish_chart, note_chart, signal_chart, sky_chart
from planner_kit.pitch.dish import DishPath
from planner_kit.pitch.signal_path import SignalPaths
from planner_kit.pitch.signals import SignalSurvey
from planner_kit.pitch.skyline import LEVEL, Skyline
from planner_kit.pitch.stay_signals import SignalNote, StaySignals
from planner_kit.states import State


def paths(mast_m: float = 30.0) -> SignalPaths:
    d = np.linspace(0, 8, 60)[None, :]
    ground = 50 + 20 * np.sin(d)
    one = np.ones(1)
    return SignalPaths(d, ground, 0 * d, mast_m * one, 1.5 * one, 800 * one, 110 * one, 5 * one)


def is_drawing(svg: str | None) -> bool:
    return svg is not None and ElementTree.fromstring(svg).tag.endswith("svg")


def test_known_path_is_drawn_and_an_unknown_mast_height_is_not() -> None:
    assert is_drawing(signal_chart(paths(), 0))
    assert signal_chart(paths(np.nan), 0) is None


def test_dish_and_sky_are_drawn() -> None:
    along = np.linspace(0, 3, 50)
    assert is_drawing(dish_chart(DishPath(along, 40 + 0 * along, 41 + 500 * along, along)))
    gap = Skyline(np.arange(0.0, 360.0, 90.0), np.array([3.0, np.nan, 2.0, 1.0]))
    assert is_drawing(sky_chart(LEVEL))
    assert is_drawing(sky_chart(gap))
    assert sky_chart(Skyline(np.array([0.0]), np.array([np.nan]))) is None


def test_note_takes_the_drawing_of_its_kind() -> None:
    heard = StaySignals(SignalSurvey(None, paths()), (), ())
    assert is_drawing(note_chart(heard, SignalNote("phone", "told", State.LOOK, 0)))
    assert is_drawing(note_chart(heard, SignalNote("sky", "told", State.LOOK, sky=LEVEL)))
    assert note_chart(heard, SignalNote("wifi", "told", State.LOOK)) is None


def test_surroundings_are_drawn_with_their_figures_and_unknown_ones_left_out() -> None:
    x, y = (part.ravel() for part in np.meshgrid(np.arange(-200.0, 201, 100), [-100.0, 0, 100]))
    around = pd.DataFrame(
        {
            "distance_m": np.hypot(x, y),
            "bearing_deg": np.degrees(np.arctan2(x, y)) % 360,
            "gain_db": np.where(x > 100, np.nan, x / 20),
            "on_road": False,
        }
    )
    svg = around_chart(around)
    assert is_drawing(svg)
    assert around_chart(around.assign(gain_db=np.nan)) is None
    assert around_chart(None) is None
