"""What a person is told first."""

from types import SimpleNamespace
from typing import Any

from planner_kit.states import Check, State
from planner_kit.summary import things_to_look_at


def _plan(outfit: tuple[Check, ...], tow: tuple[Check, ...] = ()) -> Any:
    """A plan with the checks of two stages, and none of the others."""
    nothing = SimpleNamespace(checks=())
    return SimpleNamespace(
        outfit=SimpleNamespace(checks=outfit),
        tow=SimpleNamespace(checks=tow),
        sites=nothing,
        cost=nothing,
        pitches=(),
        outings=(),
    )


OVER = Check("caravan", State.NOT_FINE, "13 kg too heavy.", 1513, 1500, "kg", -13)
SAME = Check("payload", State.NOT_FINE, "13 kg too heavy.", 182, 169, "kg", -13)
NEAR = Check("ball", State.LOOK, "Only 2 kg left.", 98, 100, "kg", 2)
REMINDER = Check("mirrors", State.LOOK, "Fit towing mirrors.")
UNKNOWN_MASS = Check("gross mass", State.UNKNOWN, "The plate is not given.")
UNKNOWN_ROAD = Check("width", State.UNKNOWN, "No width is mapped.")


def test_what_is_not_fine_comes_first_and_is_said_once() -> None:
    plan = _plan((REMINDER, NEAR, OVER, SAME))
    assert things_to_look_at(plan) == (OVER, NEAR, REMINDER)


def test_missing_plates_come_before_reminders() -> None:
    plan = _plan((REMINDER, UNKNOWN_MASS), (UNKNOWN_ROAD,))
    assert things_to_look_at(plan) == (UNKNOWN_MASS, UNKNOWN_ROAD, REMINDER)


def test_fine_is_never_listed() -> None:
    assert things_to_look_at(_plan((Check("ball", State.FINE, "It fits."),))) == ()
