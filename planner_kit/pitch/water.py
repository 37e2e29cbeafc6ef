"""Water to carry and the cassette to empty during a stay."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner_kit.reference import constant
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from planner_kit.pitch.site_rules import SiteOffer
    from planner_kit.trip.household import Caravan

_USES = ("drinking_and_food", "hygiene", "cooking")


@dataclass(frozen=True)
class Amount:
    """A figure with its range."""

    low: float
    likely: float
    high: float

    def times(self, factor: float) -> Amount:
        """The same amount `factor` times over."""
        return Amount(self.low * factor, self.likely * factor, self.high * factor)


def water_l_per_day(people: int) -> Amount:
    """Water drawn in the caravan by some people in a day, showers at the site left out, in L.

    References
    ----------
    .. [1] The Sphere Project, Sphere Handbook, 2011: basic water needs of 7.5 to 15 L for a person
       and day, made of drinking and food, hygiene, and cooking.
    """
    rows = [constant("water", use) for use in _USES]
    return Amount(
        people * sum(row.low for row in rows),
        people * sum(row.value for row in rows),
        people * sum(row.high for row in rows),
    )


def grey_water_l_per_day(people: int) -> Amount:
    """Waste water of some people in a day, in L."""
    share, drawn = constant("water", "grey_share"), water_l_per_day(people)
    return Amount(drawn.low * share.low, drawn.likely * share.value, drawn.high * share.high)


def carrier_trips(caravan: Caravan, people: int, nights: int) -> int:
    """Walks with a full water carrier in a stay; a usual carrier where the file names none."""
    carrier = caravan.water_carrier_l or constant("water", "carrier").value
    return math.ceil(water_l_per_day(people).likely * nights / carrier)


def fluid_l(caravan: Caravan, people: int, nights: int) -> Amount | None:
    """Toilet fluid of a stay; None without the cassette's size, in L."""
    fills = cassette_fillings(caravan, people, nights)
    if fills is None:
        return None
    dose = constant("water", "cassette_fluid")
    return Amount(dose.low, dose.value, dose.high).times(fills)


def _who(people: int) -> str:
    return "1 person" if people == 1 else f"{people} people"


def check_grey_water(caravan: Caravan, people: int) -> Check:
    """How soon the waste container is full; look at this when a day may overflow it."""
    subject = "waste water"
    need = grey_water_l_per_day(people)
    source = constant("water", "grey_share").source
    told = f"About {need.likely:.0f} L a day ({need.low:.0f} to {need.high:.0f}) for {_who(people)}"
    size = caravan.waste_water_l
    if size is None:
        return Check(
            subject,
            State.UNKNOWN,
            f"{told}; the size of the waste container is not in the household file.",
            figure=need.likely,
            unit="L/day",
            source=source,
            basis="common practice",
        )
    if size <= 0:
        return Check(
            subject,
            State.LOOK,
            f"{told} and no container: bring one, and never let it run on the ground.",
            figure=need.likely,
            limit=0.0,
            unit="L/day",
            source=source,
            basis="common practice",
        )
    return Check(
        subject,
        State.FINE if need.high <= size else State.LOOK,
        f"{told}: {size:g} L is full about every {size / need.likely:.1f} days; empty it at the "
        "waste point only.",
        figure=need.likely,
        limit=size,
        unit="L/day",
        margin=size - need.high,
        source=source,
        basis="common practice",
    )


def cassette_days(caravan: Caravan, people: int) -> Amount | None:
    """Days until the cassette is full if only it is used; None without its size."""
    if caravan.cassette_l is None or people < 1:
        return None
    rate = constant("water", "cassette_per_person")
    size = caravan.cassette_l
    return Amount(
        size / (rate.high * people), size / (rate.value * people), size / (rate.low * people)
    )


def cassette_fillings(caravan: Caravan, people: int, nights: int) -> int | None:
    """How often the cassette is charged with fluid during a stay; None without its size."""
    days = cassette_days(caravan, people)
    return None if days is None else max(1, math.ceil(nights / days.likely))


def check_water(caravan: Caravan, offer: SiteOffer, people: int, nights: int) -> Check:
    """How often water is carried; unknown if the tank's size or the water point is not known."""
    subject = "water"
    need = water_l_per_day(people)
    sources = constant("water", "hygiene").source
    told = f"About {need.likely:.0f} L a day ({need.low:.0f} to {need.high:.0f})"
    where = f"from: {offer.water_point}" if offer.water_point else "the site does not say where"
    if caravan.fresh_water_l is None or offer.water_point is None:
        gap = "the water tank's size" if caravan.fresh_water_l is None else "the water point"
        return Check(
            subject,
            State.UNKNOWN,
            f"{told} for {_who(people)}; not known: {gap}.",
            figure=need.likely,
            unit="L/day",
            source=sources,
            basis="published",
        )
    if caravan.fresh_water_l <= 0:
        return Check(
            subject,
            State.LOOK,
            f"{told} for {_who(people)} and the caravan has no tank: bring a carrier; {where}.",
            figure=need.likely,
            limit=0.0,
            unit="L/day",
            source=sources,
            basis="published",
        )
    carries = math.ceil(need.likely * nights / caravan.fresh_water_l)
    daily = need.high <= caravan.fresh_water_l
    return Check(
        subject,
        State.FINE if daily else State.LOOK,
        f"{told} for {_who(people)}: {carries} fillings of {caravan.fresh_water_l:g} L in "
        f"{nights} nights, {where}"
        + ("." if daily else "; on a thirsty day one filling is not enough."),
        figure=need.likely,
        limit=caravan.fresh_water_l,
        unit="L/day",
        margin=caravan.fresh_water_l - need.high,
        source=sources,
        basis="published",
    )


def check_cassette(caravan: Caravan, people: int) -> Check:
    """How soon the toilet cassette is full; look at this when a day may fill it."""
    subject = "toilet cassette"
    days = cassette_days(caravan, people)
    source = constant("water", "cassette_per_person").source
    if days is None:
        return Check(
            subject,
            State.UNKNOWN,
            "The cassette's size is not in the household file.",
            source=source,
            basis="common practice",
        )
    return Check(
        subject,
        State.FINE if days.low >= 1 else State.LOOK,
        f"{caravan.cassette_l:g} L and {_who(people)}: empty it about every {days.likely:.1f} "
        f"days ({days.low:.1f} to {days.high:.1f}) if the site's toilets are not used.",
        figure=days.likely,
        limit=1.0,
        unit="days",
        margin=days.low - 1,
        source=source,
        basis="common practice",
    )
