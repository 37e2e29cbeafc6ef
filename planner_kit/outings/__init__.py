"""The outings stage: places to go, when they are open, what they cost, and a plan of days."""

from planner_kit.outings.attractions import read_attractions
from planner_kit.outings.day_problem import DayLimits
from planner_kit.outings.days import DayPlan, plan_days
from planner_kit.outings.entry import entry_costs
from planner_kit.outings.found_ride import FoundRide
from planner_kit.outings.gathering import gather_attractions
from planner_kit.outings.membership import membership_savings
from planner_kit.outings.programme import plan_outings, plan_stay_days
from planner_kit.outings.report import OutingsReport
from planner_kit.outings.ride_search import find_rides
from planner_kit.outings.rides import read_rides, ride_gpx, write_ride
from planner_kit.outings.scoring import (
    CRITERIA,
    attraction_criteria,
    outing_weights,
    rank_attractions,
    shrunk_rating,
)
from planner_kit.outings.sensitivity import diverse_top, overtaking_weights
from planner_kit.outings.stay_table import stay_criteria
from planner_kit.outings.sun import SunTimes, sun_table, sun_times
from planner_kit.outings.travel import Between, drives_between
from planner_kit.region.opening import opening_of, opening_table

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
