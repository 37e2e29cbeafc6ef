"""Tables of law and guidance by country, each row with its source."""

from planner_kit.rules.cautions import caution_subjects, cautions_at, cautions_for
from planner_kit.rules.licence import LicenceAnswer, licence_covers
from planner_kit.rules.limits import RULES, Rule, law_of, law_table
from planner_kit.rules.speed import car_speed_limits, highest_towing_limit_kmh, towing_speed_limits
from planner_kit.rules.tyres import made_on, tyre_load_kg, tyre_speed_kmh

__all__ = [
    "RULES",
    "LicenceAnswer",
    "Rule",
    "car_speed_limits",
    "caution_subjects",
    "cautions_at",
    "cautions_for",
    "highest_towing_limit_kmh",
    "law_of",
    "law_table",
    "licence_covers",
    "made_on",
    "towing_speed_limits",
    "tyre_load_kg",
    "tyre_speed_kmh",
]
