"""Records of trips: run a template, keep what came out, list and compare the records."""

from planner_kit.diary.comparing import compare_records
from planner_kit.diary.facts import facts_of, read_facts
from planner_kit.diary.finishing import (
    Finished,
    files_with_lessons,
    finish_record,
    learn_from,
    places_visited,
    signal_readings,
)
from planner_kit.diary.index import read_index
from planner_kit.diary.record import Record, record_trip

__all__ = [
    "Finished",
    "Record",
    "compare_records",
    "facts_of",
    "files_with_lessons",
    "finish_record",
    "learn_from",
    "places_visited",
    "read_facts",
    "read_index",
    "record_trip",
    "signal_readings",
]
