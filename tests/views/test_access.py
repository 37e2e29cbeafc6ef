from __future__ import annotations

import gc
import weakref
from pathlib import Path

import ipywidgets as widgets
import pytest

from planner_kit.views.access import View
from planner_kit.views.tune import tune_attractions


class Knot:
    """Something that only the collector of garbage frees."""

    def __init__(self) -> None:
        self.own = self


@pytest.fixture(autouse=True)
def _thawed() -> object:
    yield
    gc.unfreeze()


def test_what_a_view_is_built_of_is_spared_by_later_collections() -> None:
    view = View([widgets.HTML("shown")])
    shown = view._repr_mimebundle_()
    assert "application/vnd.jupyter.widget-view+json" in shown
    assert gc.get_freeze_count() > 1_000
    assert not any(one is view for one in gc.get_objects())


def test_garbage_of_a_view_shown_before_is_still_collected() -> None:
    knot = Knot()
    View([])._repr_mimebundle_()  # the knot is spared now
    gone = weakref.ref(knot)
    del knot
    gc.collect()
    assert gone() is not None
    View([])._repr_mimebundle_()
    assert gone() is None


def test_view_brings_the_look_once_and_its_parts_bring_none(demo: Path) -> None:
    tuner = tune_attractions(demo, trip="trip_2027.toml")
    assert ".pk.pk table {" in tuner.children[-1]._css
    followed = [tuner.best, tuner.facts, tuner.planner.table, tuner.planner.heading]
    for one in followed:
        assert one.value.startswith('<div class="pk">')
