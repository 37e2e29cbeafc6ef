"""What a notebook shows where a person's file cannot be used."""

from __future__ import annotations

import pytest
from IPython.core.interactiveshell import InteractiveShell

_RAISE = """
from planner_kit.errors import PlanFileError
def read():
    raise PlanFileError("there is no such folder", "my-plans", "check the name")
read()
"""


def test_notebook_shows_the_sentence_and_no_lines_of_code(
    capsys: pytest.CaptureFixture[str],
) -> None:
    shell = InteractiveShell()
    result = shell.run_cell(_RAISE)
    assert result.error_in_exec is not None
    shown = capsys.readouterr().out
    assert shown.strip() == "my-plans: there is no such folder; check the name."
    shell.run_cell("1 / 0")
    assert "Traceback" in capsys.readouterr().out
