"""The four states in which a check can end, and the check itself.

Unknown is a state of its own: a figure that is missing never makes a check fine.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from collections.abc import Iterable


class State(StrEnum):
    """How a check ended; the value is the word that people read."""

    FINE = "fine"
    LOOK = "look at this"
    NOT_FINE = "not fine"
    UNKNOWN = "unknown"

    @property
    def mark(self) -> str:
        """A shape that tells the state apart in grey print and to a colour-blind eye."""
        return {"fine": "●", "look at this": "▲", "not fine": "■", "unknown": "◇"}[self.value]

    @property
    def colour(self) -> str:
        """A hex colour of the Okabe-Ito palette; never the only sign of the state.

        References
        ----------
        .. [1] Okabe and Ito, "Color Universal Design", 2008.
        """
        return {
            "fine": "#0072B2",
            "look at this": "#E69F00",
            "not fine": "#D55E00",
            "unknown": "#7F7F7F",
        }[self.value]


_GRAVITY = {State.FINE: 0, State.UNKNOWN: 1, State.LOOK: 2, State.NOT_FINE: 3}


def worst_state(states: Iterable[State]) -> State:
    """The gravest of several states; unknown is graver than fine, and nothing at all is unknown."""
    return max(states, key=_GRAVITY.__getitem__, default=State.UNKNOWN)


@dataclass(frozen=True)
class Check:
    """One thing that was looked at, with the figures that decided it.

    Attributes
    ----------
    subject : str
        What was checked, in a person's words: "noseweight on the tow ball".
    state : State
        How it ended.
    sentence : str
        What that means for this trip, in one sentence; for unknown, what is missing.
    figure, limit : float or None
        The figure found and the limit it is held against, in `unit`.
    unit : str
        The unit of both.
    margin : float or None
        How far the figure is inside the limit; negative when it is outside.
    rule : str
        The rule or plate that sets the limit ("lower of car and caravan plates: the car's").
    source : str
        Where the rule or the figure comes from, with edition.
    basis : str
        ``published``, ``plate``, ``common practice``, ``from memory`` or ``computed``.
    lat, lon : float or None
        Where it is, for a thing that has one place on the map. [deg]
    """

    subject: str
    state: State
    sentence: str
    figure: float | None = None
    limit: float | None = None
    unit: str = ""
    margin: float | None = None
    rule: str = ""
    source: str = ""
    basis: str = "computed"
    lat: float | None = None
    lon: float | None = None

    @property
    def limit_is_least(self) -> bool:
        """Whether the limit is a least one: the margin grows with the figure."""
        if self.figure is None or self.limit is None or self.margin is None:
            return False
        return (self.figure - self.limit) * self.margin > 0


def checks_frame(checks: Iterable[Check]) -> pd.DataFrame:
    """One row for each check, in the order given, with the state as its word."""
    rows = [
        {
            "subject": c.subject,
            "state": c.state.value,
            "sentence": c.sentence,
            "figure": c.figure,
            "limit": c.limit,
            "unit": c.unit,
            "margin": c.margin,
            "rule": c.rule,
            "source": c.source,
            "basis": c.basis,
        }
        for c in checks
    ]
    columns = ["subject", "state", "sentence", "figure", "limit", "unit", "margin"]
    return pd.DataFrame(rows, columns=[*columns, "rule", "source", "basis"])
