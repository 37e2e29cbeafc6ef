"""The files people write: households, trips and lists, read, checked, moved and written."""

from planner_kit.trip.household import Household
from planner_kit.trip.lists import ListColumn, read_list
from planner_kit.trip.money import CostLine, cost_frame
from planner_kit.trip.moving import moved_trip, moved_trip_text
from planner_kit.trip.prices import price_of, read_prices, read_tolls
from planner_kit.trip.reading import TripInputs, read_household, read_inputs, read_trip
from planner_kit.trip.trip import Trip
from planner_kit.trip.writing import file_text, schema_text, write_file

__all__ = [
    "CostLine",
    "Household",
    "ListColumn",
    "Trip",
    "TripInputs",
    "cost_frame",
    "file_text",
    "moved_trip",
    "moved_trip_text",
    "price_of",
    "read_household",
    "read_inputs",
    "read_list",
    "read_prices",
    "read_tolls",
    "read_trip",
    "schema_text",
    "write_file",
]
