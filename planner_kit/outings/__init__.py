"""The outings stage: places to go, when they are open, what they cost, and a plan of days."""

from planner_kit.outings.attractions import read_attractions
from planner_kit.outings.day_problem import DayLimits
from planner_kit.outings.days import DayPlan, plan_days
from planner_kit.outings.entry import entry_costs
from planner_kit.outings.found_ride import FoundRide
from planner_kit.outings.gathering import gather_attractions
from planner_kit.outings.membership import (
    membership_worth,
    trips_worth,
    worth_by_composition,
)
from planner_kit.outings.planned_trips import other_visits, with_memberships
from planner_kit.outings.programme import (
    StaySetting,
    plan_outings,
    plan_stay_days,
    stay_setting,
)
from planner_kit.outings.report import OutingsReport
from planner_kit.outings.ride_search import find_rides
from planner_kit.outings.rides import read_rides, ride_gpx, rides_gpx, write_ride, write_rides
from planner_kit.outings.scoring import (
    CRITERIA,
    attraction_criteria,
    criteria_that_apply,
    outing_weights,
    rank_attractions,
    score_places,
    shrunk_rating,
)
from planner_kit.outings.sensitivity import diverse_top, overtaking_weights
from planner_kit.outings.stay_rides import StayRide, from_found, plan_rides, ride_table
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
    "StayRide",
    "StaySetting",
    "SunTimes",
    "attraction_criteria",
    "criteria_that_apply",
    "diverse_top",
    "drives_between",
    "entry_costs",
    "find_rides",
    "from_found",
    "gather_attractions",
    "membership_worth",
    "opening_of",
    "opening_table",
    "other_visits",
    "outing_weights",
    "overtaking_weights",
    "plan_days",
    "plan_outings",
    "plan_rides",
    "plan_stay_days",
    "rank_attractions",
    "read_attractions",
    "read_rides",
    "ride_gpx",
    "ride_table",
    "rides_gpx",
    "score_places",
    "shrunk_rating",
    "stay_criteria",
    "stay_setting",
    "sun_table",
    "sun_times",
    "trips_worth",
    "with_memberships",
    "worth_by_composition",
    "write_ride",
    "write_rides",
]
