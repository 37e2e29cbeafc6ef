"""Costs: the whole trip's money."""

from planner_kit.costs.actuals import plan_against_spent
from planner_kit.costs.changes import Change, changed_lines, changed_trip
from planner_kit.costs.history import earlier_trips
from planner_kit.costs.other_tow import WAYS, other_tows
from planner_kit.costs.ranges import SumRange, sum_range
from planner_kit.costs.rates import ExchangeRate, read_rates
from planner_kit.costs.report import TripCost
from planner_kit.costs.trip_cost import by_month, cost_trip, food_lines, total_range
from planner_kit.costs.what_if import (
    WhatIf,
    line_differences,
    what_if,
    with_lines,
    with_prices,
)
from planner_kit.costs.yearly import yearly_shares

__all__ = [
    "WAYS",
    "Change",
    "ExchangeRate",
    "SumRange",
    "TripCost",
    "WhatIf",
    "by_month",
    "changed_lines",
    "changed_trip",
    "cost_trip",
    "earlier_trips",
    "food_lines",
    "line_differences",
    "other_tows",
    "plan_against_spent",
    "read_rates",
    "sum_range",
    "total_range",
    "what_if",
    "with_lines",
    "with_prices",
    "yearly_shares",
]
