from __future__ import annotations

import numpy as np
import pytest

from planner_kit.pitch.television import check_television_choice
from planner_kit.states import Check, State

FREE = Check("satellite dish (Made, 0° east)", State.LOOK, "free")
HIDDEN = Check("satellite dish (Made, 0° east)", State.NOT_FINE, "hidden")
OWN = {"state": "fine", "advice": "your own aerial; an amplifier adds nothing",
       "margin_db": 20.0, "assumed": ""}  # fmt: skip
BOOSTED = {"state": "look at this", "advice": "your own aerial with an amplifier at the aerial",
           "margin_db": -2.0, "assumed": ""}  # fmt: skip
NONE = {"state": "not fine", "advice": "no amplifier makes a signal where there is none",
        "margin_db": -30.0, "assumed": ""}  # fmt: skip
UNSURE = {"state": "unknown", "advice": "", "margin_db": np.nan, "assumed": "its power"}


@pytest.mark.parametrize(
    ("best", "socket", "dishes", "state", "words"),
    [
        (OWN, True, [FREE], State.FINE, "Your own aerial"),
        (BOOSTED, None, [], State.LOOK, "amplifier"),
        (NONE, True, [FREE], State.LOOK, "long cable"),
        (NONE, False, [FREE], State.LOOK, "dish"),
        (NONE, False, [HIDDEN], State.NOT_FINE, "None of it"),
        (NONE, None, [HIDDEN], State.NOT_FINE, "ask whether"),
        (UNSURE, None, [], State.UNKNOWN, "too little is known"),
        (UNSURE, True, [], State.LOOK, "long cable"),
        (None, None, [FREE], State.LOOK, "dish"),
        (None, None, [], State.UNKNOWN, "ask whether"),
        (None, False, [HIDDEN], State.NOT_FINE, "None of it"),
    ],
)
def test_choice_takes_what_works_and_never_guesses(best, socket, dishes, state, words) -> None:
    check = check_television_choice(best, socket, dishes)
    assert check.state is state
    assert words in check.sentence
