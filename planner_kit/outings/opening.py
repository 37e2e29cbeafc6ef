"""The hours of attractions; they are read where the map's places are, in `region.opening`."""

from planner_kit.region.opening import (
    DayHours,
    holiday_on,
    open_day_counts,
    opening_of,
    opening_table,
)

__all__ = ["DayHours", "holiday_on", "open_day_counts", "opening_of", "opening_table"]
