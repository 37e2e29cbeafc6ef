"""Tow car and caravan: masses, noseweight, licences and limits."""

from planner_kit.outfit.checks import check_outfit
from planner_kit.outfit.loading import ITEM_COLUMNS, loading_plan, read_items
from planner_kit.outfit.masses import Masses, masses_of
from planner_kit.outfit.noseweight import Noseweight, estimated_noseweight, nose_from_load_kg
from planner_kit.outfit.outfit import outfit_of
from planner_kit.outfit.report import Outfit, OutfitReport

__all__ = [
    "ITEM_COLUMNS",
    "Masses",
    "Noseweight",
    "Outfit",
    "OutfitReport",
    "check_outfit",
    "estimated_noseweight",
    "loading_plan",
    "masses_of",
    "nose_from_load_kg",
    "outfit_of",
    "read_items",
]
