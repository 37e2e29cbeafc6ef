"""The stages caution about what they touch, and the folder and the record print it."""

from __future__ import annotations

import datetime as dt
import html
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from planner_kit.outfit import check_outfit, outfit_of
from planner_kit.pack.html_twin import write_html_twin
from planner_kit.plan import TripPlan
from planner_kit.rules import cautions_at, cautions_for
from planner_kit.tow import plan_tow
from planner_kit.views import record
from tests.outfit.conftest import household
from tests.pack.conftest import *  # noqa: F403
from tests.pitch import test_pitch as pitch
from tests.pitch.conftest import *  # noqa: F403
from tests.tow import test_drive as drive

DAY = dt.date(2027, 7, 24)


@pytest.mark.parametrize("place", ["pack", "trip_record", "tour", "weekend"])
def test_stages_caution_about_all_that_a_whole_plan_touches(
    place: str, inputs, site, masts, flat
) -> None:
    house = household()
    outfit = check_outfit(house, outfit_of(house, on=DAY), countries=["GB"], on=DAY)
    tow = plan_tow(
        drive.inputs("s1"), drive.region_with(), drive.make_outfit(), drive.SITES,
        tolls=drive.TOLLS, prices=drive.PRICES,
    )  # fmt: skip
    on_pitch = pitch.plan(inputs(), site(), masts({}), flat)
    told = {*outfit.cautions, *tow.cautions, *on_pitch.cautions}
    assert set(cautions_at(place)) <= told


def _cautions_of(plan: TripPlan) -> set[str]:
    pitches = (caution for report in plan.pitches for caution in report.cautions)
    return {*plan.outfit.cautions, *plan.tow.cautions, *pitches}


def test_printed_folder_carries_what_the_stages_caution_about(
    make_plan: Callable[..., TripPlan], tmp_path: Path
) -> None:
    plan = make_plan()
    page = html.unescape(write_html_twin(plan, tmp_path).read_text(encoding="utf-8"))
    assert _cautions_of(plan)
    for caution in _cautions_of(plan):
        assert caution in page


def test_record_carries_what_the_stages_caution_about(make_plan: Callable[..., TripPlan]) -> None:
    plan = make_plan()
    shown = (
        record.show_outfit(plan.outfit),
        record.show_law(plan.outfit),
        record.show_tow(plan.files, replace(plan.tow, legs=())),
        record.show_pitches(plan.pitches),
    )
    words = html.unescape(" ".join(part.data for part in shown))
    for caution in {*_cautions_of(plan), *cautions_for("law")}:
        assert caution in words
