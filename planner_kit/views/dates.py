"""Days that stand as words in a notebook's parameters."""

from __future__ import annotations

import datetime as dt

from planner_kit.errors import PlanFileError


def day_of(text: str) -> dt.date:
    """A day from ISO 8601, or today for an empty word.

    Raises
    ------
    PlanFileError
        If it is no date.
    """
    try:
        return dt.date.fromisoformat(text) if text else dt.date.today()
    except ValueError:
        raise PlanFileError(
            f"'{text}' is not a date", "the parameter planned_on", "write it as 2027-07-24"
        ) from None
