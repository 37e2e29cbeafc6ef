"""Tow car and caravan: masses, noseweight, licences and limits."""

from planner_kit.outfit.checks import check_outfit, load_checks, with_law_of
from planner_kit.outfit.floor_picture import floor_picture
from planner_kit.outfit.load_plan import LoadPlan, load_plan, usual_band
from planner_kit.outfit.loading import (
    ITEM_COLUMNS,
    item_names,
    loading_plan,
    read_items,
    write_items,
)
from planner_kit.outfit.masses import Masses, masses_of
from planner_kit.outfit.noseweight import Noseweight, estimated_noseweight, nose_from_load_kg
from planner_kit.outfit.not_needed import (
    freed_kg,
    freed_sentences,
    not_needed_lines,
    not_needed_note,
    with_not_needed,
)
from planner_kit.outfit.odd_plates import odd_plates
from planner_kit.outfit.outfit import outfit_of
from planner_kit.outfit.rearranging import Move, Rearrangement, Situation, rearrange
from planner_kit.outfit.report import Outfit, OutfitReport
from planner_kit.outfit.statics import beam_loads, yaw_inertia_kg_m2
from planner_kit.outfit.sway import SwayModel, critical_speed_kmh, damping
from planner_kit.trip.mass_words import mass_in_kg

__all__ = [
    "ITEM_COLUMNS",
    "LoadPlan",
    "Masses",
    "Move",
    "Noseweight",
    "Outfit",
    "OutfitReport",
    "Rearrangement",
    "Situation",
    "SwayModel",
    "beam_loads",
    "check_outfit",
    "critical_speed_kmh",
    "damping",
    "estimated_noseweight",
    "floor_picture",
    "freed_kg",
    "freed_sentences",
    "item_names",
    "load_checks",
    "load_plan",
    "loading_plan",
    "mass_in_kg",
    "masses_of",
    "nose_from_load_kg",
    "not_needed_lines",
    "not_needed_note",
    "odd_plates",
    "outfit_of",
    "read_items",
    "rearrange",
    "usual_band",
    "with_law_of",
    "with_not_needed",
    "write_items",
    "yaw_inertia_kg_m2",
]
