"""The weather that a stay is reckoned with: what the trip file says, and nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner_kit.pitch.water import Amount
from planner_kit.reference import constant
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from planner_kit.trip.trip import Trip

_SUBJECT = "temperatures of the stay"


@dataclass(frozen=True)
class StayClimate:
    """Weather to plan with; None where the trip file says nothing.

    Attributes
    ----------
    low_c, high_c : float or None
        Coldest night, warmest afternoon. [deg C]
    sun_frac : float or None
        Share of the daylight with sunshine. [1]
    wind_from_deg, gust_kmh : float or None
        Where the wind comes from; its gusts. [deg], [km/h]
    source : str
    """

    low_c: float | None = None
    high_c: float | None = None
    sun_frac: float | None = None
    wind_from_deg: float | None = None
    gust_kmh: float | None = None
    source: str = ""

    @property
    def frost(self) -> bool | None:
        """Whether water freezes in some night; None if the nights are not known."""
        return None if self.low_c is None else self.low_c <= constant("water", "frost").high

    def sunshine(self) -> Amount:
        """Share of the daylight with sunshine, from an overcast day to a cloudless one."""
        stated = constant("solar", "sun_frac")
        likely = stated.value if self.sun_frac is None else self.sun_frac
        return Amount(stated.low, likely, stated.high)


def climate_of(trip: Trip, site_id: str) -> StayClimate:
    """The climate of a stay: the entry for its site, or the one for all sites."""
    own = [entry for entry in trip.climate if entry.site == site_id]
    for entry in own or [entry for entry in trip.climate if entry.site is None]:
        return StayClimate(
            entry.low_c,
            entry.high_c,
            entry.sun_frac,
            entry.wind_from_deg,
            entry.gust_kmh,
            entry.source or "the trip file",
        )
    return StayClimate()


def check_climate(climate: StayClimate) -> Check:
    """Whether the nights are known, and whether they bring frost."""
    if climate.low_c is None or climate.high_c is None:
        return Check(
            _SUBJECT,
            State.UNKNOWN,
            "The trip file names no temperatures ([[climate]] with low_c and high_c), so heating, "
            "frost and the cold battery are not reckoned with.",
            basis="computed",
        )
    between = f"{climate.low_c:g} to {climate.high_c:g} °C"
    frost = bool(climate.frost)
    return Check(
        _SUBJECT,
        State.LOOK if frost else State.FINE,
        f"Reckoned with {between}"
        + (
            ": water freezes in hoses, taps, barrels and the drain; carry it in, drain the system "
            "when you leave and keep the floor vents open."
            if frost
            else "; no frost."
        ),
        figure=climate.low_c,
        limit=constant("water", "frost").high,
        unit="°C",
        margin=climate.low_c - constant("water", "frost").high,
        source=climate.source,
    )
