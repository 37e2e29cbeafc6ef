"""The pitch's sheet: dangers stand above everything, what is bought stands apart."""

from __future__ import annotations

from dataclasses import replace

from planner_kit.pack.bring_sheet import to_bring_sheet
from planner_kit.pack.pitch_sheets import pitch_sheets
from planner_kit.plan import TripPlan


def words(block: dict) -> str:
    return str(block.get("text", "")) + str(block.get("rows", ""))


def test_dangers_stand_above_everything_else(plan: TripPlan) -> None:
    danger = "Hook-up lead: too thin a lead gets hot; use a thicker one."
    pitches = tuple(replace(report, warnings=(danger,)) for report in plan.pitches)
    (sheet,) = pitch_sheets(replace(plan, pitches=pitches))
    assert danger in words(sheet["blocks"][1])
    assert sheet["blocks"][1]["type"] == "cautions"
    assert "Before anything else" in words(sheet["blocks"][0])


def test_without_dangers_the_arrival_comes_first(plan: TripPlan) -> None:
    (sheet,) = pitch_sheets(plan)
    assert "Arriving" in words(sheet["blocks"][0])


def test_what_is_bought_stands_apart_from_what_is_brought(plan: TripPlan) -> None:
    heads = [words(b) for b in to_bring_sheet(plan)["blocks"] if b["type"] == "heading"]
    tables = [words(b) for b in to_bring_sheet(plan)["blocks"] if b["type"] == "table"]
    assert heads[0].startswith("To buy for")
    assert heads[1].startswith("To bring to")
    assert "toilet fluid" in tables[0]
    assert "hook-up lead" not in tables[0]
    assert "hook-up lead" in tables[1]
