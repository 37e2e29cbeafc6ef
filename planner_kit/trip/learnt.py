"""What earlier trips taught the household, as later plans use it."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Mapping


# Spending of these kinds is guessed before a trip; the others have a price list or a tariff.
GUESSED_KINDS = ("outing", "other")


@dataclass(frozen=True)
class Estimate:
    """A figure that was learnt, with its uncertainty and how much stands behind it.

    Attributes
    ----------
    value : float
        In `unit`.
    sd : float
        Standard deviation: two values in three lie within it.
    prior : float
        What would be used without any trip.
    trips : int
        Trips that had something to say about it.
    weight_frac : float
        How far the trips outweigh what was assumed before, 0 to 1.
    unit : str
    """

    value: float
    sd: float
    prior: float
    trips: int
    weight_frac: float
    unit: str = ""


@dataclass(frozen=True)
class NotNeeded:
    """A thing that was carried and not needed, by what was noted after trips.

    Attributes
    ----------
    item : str
        As it was noted last.
    said : int
        Trips that said so.
    trips : int
        Trips of which anything was noted.
    last : str
        The last trip that said so, with its first day as ISO 8601.
    """

    item: str
    said: int
    trips: int
    last: str

    @property
    def mostly(self) -> bool:
        """Whether at least half of the trips said so."""
        return 2 * self.said >= self.trips

    @property
    def told(self) -> str:
        """Which trip said so, and how many of how many did."""
        count = f"{self.said} of {self.trips} trip" + ("" if self.trips == 1 else "s")
        return f"not needed on {self.last} ({count} said so)"


@dataclass(frozen=True)
class Learnt:
    """Everything learnt from the trips of a household.

    Attributes
    ----------
    trips : int
        Records with anything filled in after the trip.
    towing_l_per_100km, solo_l_per_100km : Estimate or None
    pace : mapping of str to Estimate
        By road class: the time really taken as a share of the time that the kit reckons with.
    stint_min : Estimate or None
        How long the household really drives between breaks. [min]
    spending : mapping of str to Estimate
        By kind of spending: what was paid as a share of what was planned.
    signal_db : mapping of str to Estimate
        By operator: the level read on the pitch less the one forecast. [dB]
    not_needed : tuple of NotNeeded
        Said by most trips first.
    """

    trips: int = 0
    towing_l_per_100km: Estimate | None = None
    solo_l_per_100km: Estimate | None = None
    pace: Mapping[str, Estimate] = field(default_factory=dict)
    stint_min: Estimate | None = None
    spending: Mapping[str, Estimate] = field(default_factory=dict)
    signal_db: Mapping[str, Estimate] = field(default_factory=dict)
    not_needed: tuple[NotNeeded, ...] = ()

    def pace_of(self, road_class: str) -> float:
        """The share of the reckoned time that plans use for a road class; never below 1.

        The time reckoned holds to the limits, so a faster pace is not taken over.
        """
        known = self.pace.get(road_class)
        return 1.0 if known is None else max(1.0, known.value)

    def scales(self, kind: str) -> bool:
        """Whether planned spending of a kind is multiplied by what was learnt about it."""
        return kind in GUESSED_KINDS and kind in self.spending

    def as_plain(self) -> dict[str, Any]:
        """Plain values for a facts file."""
        return asdict(self)
