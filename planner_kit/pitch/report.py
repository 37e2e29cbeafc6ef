"""What the pitch stage hands on: for each stay, signals and utilities."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd

    from planner_kit.pitch.stay_signals import StaySignals
    from planner_kit.pitch.utilities import UtilitiesReport
    from planner_kit.states import Check
    from planner_kit.trip.household import Units
    from planner_kit.trip.money import CostLine


@dataclass(frozen=True)
class PitchReport:
    """The pitch stage's result for one stay.

    Attributes
    ----------
    site_id : str
    signals : DataFrame
        One row for each service and mast: service (phone, television), for_whom, operator,
        mast_id, mast, distance_km, bearing_deg, line_of_sight (yes, no, unknown), state,
        sentence; later columns may add levels and margins.
    checks : tuple of Check
        Hook-up load, lead, toilet fluid, water, gas and signals.
    to_bring : DataFrame
        what, how_much, why, cost_likely (NaN if not known), source, buy.
    cost_lines : tuple of CostLine
    cautions : tuple of str
    unknowns : tuple of str
    warnings : tuple of str
        What is dangerous or will not work, in plain words; shown before everything else.
    stay_signals : StaySignals or None
        The signals with their notes and the paths to draw.
    site_name : str
        What people call the site; empty if nobody said.
    units : Units or None
        How figures are shown to the household.
    """

    site_id: str
    signals: pd.DataFrame
    checks: tuple[Check, ...]
    to_bring: pd.DataFrame
    cost_lines: tuple[CostLine, ...]
    cautions: tuple[str, ...]
    unknowns: tuple[str, ...]
    warnings: tuple[str, ...] = ()
    utilities: UtilitiesReport | None = None
    stay_signals: StaySignals | None = None
    site_name: str = ""
    units: Units | None = None

    @property
    def other_checks(self) -> tuple[Check, ...]:
        """The checks on whose subject no signal note speaks."""
        told = set() if self.stay_signals is None else {n.subject for n in self.stay_signals.notes}
        return tuple(check for check in self.checks if check.subject not in told)
