"""Tables of law and guidance by country, each row with its source."""

from planner_kit.rules.cautions import cautions_for
from planner_kit.rules.speed import car_speed_limits, towing_speed_limits

__all__ = ["car_speed_limits", "cautions_for", "towing_speed_limits"]
