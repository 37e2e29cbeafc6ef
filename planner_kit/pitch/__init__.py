"""Signals and utilities of the pitch."""

from planner_kit.pitch.electricity import ElectricityNeed
from planner_kit.pitch.hookup import mains_loads, pairs_together
from planner_kit.pitch.mains_use import MainsUse, mains_use, use_without_weather
from planner_kit.pitch.masts import read_masts
from planner_kit.pitch.pitch import plan_pitch, with_trip_gas
from planner_kit.pitch.readings import SignalBias, signal_bias
from planner_kit.pitch.report import PitchReport
from planner_kit.pitch.signals import signal_table
from planner_kit.pitch.stay_signals import site_readings

__all__ = [
    "ElectricityNeed",
    "MainsUse",
    "PitchReport",
    "SignalBias",
    "mains_loads",
    "mains_use",
    "pairs_together",
    "plan_pitch",
    "read_masts",
    "signal_bias",
    "signal_table",
    "site_readings",
    "use_without_weather",
    "with_trip_gas",
]
