"""Limits of car and caravan on the same thing: the lower one decides, and is named."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from planner_kit.states import Check


@dataclass(frozen=True)
class LowerLimit:
    """Limits of which the lowest decides.

    Attributes
    ----------
    limits : dict of str to float or None
        By what sets them; None where one is not known. [kg]
    """

    limits: dict[str, float | None]

    @property
    def known(self) -> dict[str, float]:
        """The limits that are known. [kg]."""
        return {who: kg for who, kg in self.limits.items() if kg is not None}

    @property
    def missing(self) -> tuple[str, ...]:
        """What is not known."""
        return tuple(who for who, kg in self.limits.items() if kg is None)

    @property
    def who(self) -> str:
        """Whose limit is the lowest of those known; empty when none is."""
        return min(self.known, key=self.known.__getitem__, default="")

    @property
    def kg(self) -> float | None:
        """The lowest limit known. [kg]."""
        return self.known.get(self.who)

    @property
    def words(self) -> str:
        """Which limit decides."""
        return f"{self.who}, the lower of the limits of car and caravan" if self.who else ""

    def named_in(self, check: Check) -> Check:
        """The check, whose sentence says which limit decides where the limits disagree."""
        if len(set(self.known.values())) < 2:
            return check
        lowest, *others = sorted(self.known.items(), key=lambda limit: limit[1])
        also = " and ".join(f"{who} is {kg:,.0f} kg" for who, kg in others)
        decides = f"{lowest[0][0].upper()}{lowest[0][1:]}, {lowest[1]:,.0f} kg, decides; {also}."
        return replace(check, sentence=f"{check.sentence} {decides}")
