"""Towing: what a road costs an outfit, where it may not go, and the way there and back."""

from planner_kit.tow.find import car_route, drive_times, find_route

__all__ = ["car_route", "drive_times", "find_route"]
