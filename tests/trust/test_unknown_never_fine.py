"""Nothing turns fine because something is not known."""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterable
from pathlib import Path
from types import FrameType

import pytest

import planner_kit
from planner_kit.outfit import ITEM_COLUMNS
from planner_kit.region.columns import TABLES
from planner_kit.sites.site_list import SITE_COLUMNS
from planner_kit.states import Check, State
from tests.trust import state_cases
from tests.trust.removal import removals

CASES = [
    *state_cases.OUTFIT,
    *state_cases.TOW,
    *state_cases.PITCH,
    *state_cases.OUTINGS,
    *state_cases.SITES,
    *state_cases.COSTS,
]

# By the contract of a region's tables, and by the columns that a list must have.
NEVER_MISSING = {
    *(f"items[{column.name}]" for column in ITEM_COLUMNS if column.required),
    *(
        f"{s}[{column.name}]"
        for s in ("site", "sites")
        for column in SITE_COLUMNS
        if column.required
    ),
} | {
    f"{table}[{column.name}]"
    for table, columns in TABLES.items()
    for column in columns
    if not column.may_be_missing and "unknown" not in column.meaning
}


ROOMS = ("rules", "outfit", "tow", "pitch", "outings", "sites", "costs", "summary.py")
PACKAGE = Path(planner_kit.__file__).parent


def _state_givers() -> dict[tuple[str, str, int], str]:
    """Every function that says that it gives checks or states, or that makes them."""
    found = {}
    for room in ROOMS:
        place = PACKAGE / room
        for path in [place] if place.is_file() else sorted(place.rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if not isinstance(node, ast.FunctionDef):
                    continue
                gives = ast.unparse(node.returns) if node.returns else ""
                makes = re.search(r"\bState\.FINE\b|\bCheck\(", ast.unparse(node))
                if makes or re.search(r"\b(Check|State)\b", gives):
                    first = min([node.lineno, *(d.lineno for d in node.decorator_list)])
                    found[str(path), node.name, first] = f"{path.relative_to(PACKAGE)} {node.name}"
    return found


def test_every_function_that_gives_a_state_is_walked() -> None:
    givers = _state_givers()
    entered = set()

    def note(frame: FrameType, event: str, _: object) -> None:
        if event == "call":
            code = frame.f_code
            entered.add((code.co_filename, code.co_name, code.co_firstlineno))

    before = sys.getprofile()
    sys.setprofile(note)
    try:
        told = [check for case in CASES for check in case.checks()]
        state_cases.whole_plan(told)
    finally:
        sys.setprofile(before)
    assert len(givers) > 100
    forgotten = sorted(words for key, words in givers.items() if key not in entered)
    assert not forgotten, "no case in state_cases.py reaches: " + "; ".join(forgotten)


def _without(case: state_cases.Case) -> Iterable[tuple[str, dict]]:
    for name, value in case.inputs.items():
        if case.walked is not None and name not in case.walked:
            continue
        if name in case.optional and value is not None:
            yield name, {name: None}
        for what, changed in removals(value, name):
            if what not in NEVER_MISSING and (name not in case.whole or len(changed)):
                yield what, {name: changed}


def _faults(before: list[Check], after: list[Check], what: str) -> list[str]:
    """Checks that are fine after something was taken away, and were not, or lost a figure."""
    fine_before = {check.subject for check in before if check.state is State.FINE}
    figures = {
        check.subject: check
        for check in before
        if check.figure is not None and check.limit is not None
    }
    seen = {check.subject for check in before}
    faults = []
    for check in after:
        if check.state is not State.FINE:
            continue
        if check.subject in seen and check.subject not in fine_before:
            faults.append(f"without {what}: '{check.subject}' turns fine: {check.sentence}")
        told = figures.get(check.subject)
        if told is not None and (check.figure is None or check.limit is None):
            faults.append(f"without {what}: '{check.subject}' stays fine without its figures")
    return faults


# A site list says little of its house rules, and what a list does not say has no line of its own.
TELLS_WHAT_IS_GONE = {
    case.name for case in (*state_cases.OUTFIT, *state_cases.TOW, *state_cases.PITCH)
}


def _vanished(before: list[Check], after: list[Check], what: str) -> list[str]:
    """Checks that were fine and are gone after something was taken away, with no word of it.

    What has nothing left to check (a list without rows) may go, and so may all checks at once,
    where one sentence says why there are none.
    """
    if not after or what.endswith(("(none)", "(no rows)")):
        return []
    told = {check.subject for check in after if check.state is State.UNKNOWN}
    told -= {check.subject for check in before if check.state is State.UNKNOWN}
    fine = {check.subject for check in before if check.state is State.FINE}
    gone = fine - {check.subject for check in after}
    return [f"without {what}: '{subject}' vanishes" for subject in sorted(gone) if not told]


def test_fine_check_that_vanishes_without_a_word_is_a_fault() -> None:
    before = [Check("width", State.FINE, ""), Check("height", State.FINE, "")]
    assert _vanished(before, before[:1], "the height")
    assert not _vanished(before, [*before[:1], Check("tall", State.UNKNOWN, "")], "the height")


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_no_check_turns_fine_for_lack_of_data(case: state_cases.Case) -> None:
    before = case.checks()
    assert before
    faults, walked = [], 0
    for what, change in _without(case):
        walked += 1
        after = case.checks(**change)
        faults += _faults(before, after, what)
        if case.name in TELLS_WHAT_IS_GONE:
            faults += _vanished(before, after, what)
    assert walked or case.walked == ()
    assert not faults, "\n".join(faults)
