"""The outings stage: places to go, when they are open, what they cost, and a plan of days."""

from planner_kit.outings.attractions import gather_attractions, read_attractions
from planner_kit.outings.days import Between, DayLimits, DayPlan, plan_days
from planner_kit.outings.entry import entry_costs
from planner_kit.outings.membership import membership_savings
from planner_kit.outings.opening import opening_of, opening_table
from planner_kit.outings.programme import (
    drives_between,
    plan_outings,
    plan_stay_days,
    stay_criteria,
)
from planner_kit.outings.report import OutingsReport
from planner_kit.outings.ride_search import FoundRide, find_rides
from planner_kit.outings.rides import read_rides, ride_gpx, write_ride
from planner_kit.outings.scoring import (
    CRITERIA,
    attraction_criteria,
    outing_weights,
    rank_attractions,
    shrunk_rating,
)
from planner_kit.outings.sensitivity import diverse_top, overtaking_weights
from planner_kit.outings.sun import SunTimes, sun_table, sun_times

__all__ = [
    "CRITERIA",
    "Between",
    "DayLimits",
    "DayPlan",
    "FoundRide",
    "OutingsReport",
    "SunTimes",
    "attraction_criteria",
    "diverse_top",
    "drives_between",
    "entry_costs",
    "find_rides",
    "gather_attractions",
    "membership_savings",
    "opening_of",
    "opening_table",
    "outing_weights",
    "overtaking_weights",
    "plan_days",
    "plan_outings",
    "plan_stay_days",
    "rank_attractions",
    "read_attractions",
    "read_rides",
    "ride_gpx",
    "shrunk_rating",
    "stay_criteria",
    "sun_table",
    "sun_times",
    "write_ride",
]
