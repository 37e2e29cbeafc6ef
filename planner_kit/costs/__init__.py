"""Costs: the whole trip's money."""

from planner_kit.costs.actuals import plan_against_spent
from planner_kit.costs.ranges import SumRange, sum_range
from planner_kit.costs.rates import ExchangeRate, read_rates
from planner_kit.costs.report import TripCost
from planner_kit.costs.trip_cost import by_month, cost_trip, food_lines, total_range

__all__ = [
    "ExchangeRate",
    "SumRange",
    "TripCost",
    "by_month",
    "cost_trip",
    "food_lines",
    "plan_against_spent",
    "read_rates",
    "sum_range",
    "total_range",
]
