"""Towing: what a road costs an outfit, where it may not go, and the way there and back."""

from planner_kit.tow.approach import Approach, approach_report
from planner_kit.tow.climbing import Starts, start_limits
from planner_kit.tow.comparing import compare_routes
from planner_kit.tow.corners import Corners, route_corners
from planner_kit.tow.costing import prepare, prepare_once
from planner_kit.tow.countries import countries_crossed
from planner_kit.tow.drive import plan_tow
from planner_kit.tow.find import car_route, find_alternatives, find_route
from planner_kit.tow.fuel import fuel_use
from planner_kit.tow.geojson import route_geojson, tow_geojson, write_tow_geojson
from planner_kit.tow.gpx import route_gpx, tow_gpx, write_gpx, write_tow_gpx
from planner_kit.tow.leg import Choice, FuelUse, Leg, Route, TowReport
from planner_kit.tow.one_to_many import drive_times
from planner_kit.tow.route_card import route_card
from planner_kit.tow.suitability import road_suitability

__all__ = [
    "Approach",
    "Choice",
    "Corners",
    "FuelUse",
    "Leg",
    "Route",
    "Starts",
    "TowReport",
    "approach_report",
    "car_route",
    "compare_routes",
    "countries_crossed",
    "drive_times",
    "find_alternatives",
    "find_route",
    "fuel_use",
    "plan_tow",
    "prepare",
    "prepare_once",
    "road_suitability",
    "route_card",
    "route_corners",
    "route_geojson",
    "route_gpx",
    "start_limits",
    "tow_geojson",
    "tow_gpx",
    "write_gpx",
    "write_tow_geojson",
    "write_tow_gpx",
]
