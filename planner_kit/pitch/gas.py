"""Gas for a stay by what it is used for, and whether the cylinders hold it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner_kit.pitch.cylinders import kwh_per_kg
from planner_kit.pitch.heating import heating_kwh_per_day, hot_water_kwh_per_day
from planner_kit.pitch.water import Amount
from planner_kit.reference import constant
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.pitch.climate import StayClimate
    from planner_kit.trip.household import Caravan


@dataclass(frozen=True)
class GasNeed:
    """Gas of a stay by use.

    Attributes
    ----------
    uses : dict of str to Amount
        cooking, refrigerator, hot water, heating; only what burns gas on this stay. [kg]
    not_counted : tuple of str
        What may burn gas too and is not known.
    """

    uses: dict[str, Amount]
    not_counted: tuple[str, ...]

    @property
    def total(self) -> Amount:
        """All uses together, in kg."""
        return Amount(
            sum(use.low for use in self.uses.values()),
            sum(use.likely for use in self.uses.values()),
            sum(use.high for use in self.uses.values()),
        )

    @property
    def words(self) -> str:
        """The uses in words: "cooking and the refrigerator"."""
        names = [("the " if name == "refrigerator" else "") + name for name in self.uses]
        return names[0] if len(names) == 1 else ", ".join(names[:-1]) + f" and {names[-1]}"

    @property
    def why_so_wide(self) -> str:
        """What the low and the high end of the estimate assume, for each use."""
        return "; ".join(_ENDS[name]() for name in self.uses if name in _ENDS)


def _cooking_ends() -> str:
    burner, hours = constant("gas", "cooker"), constant("gas", "cooking_time")
    return (
        f"cooking takes {burner.low:g} to {burner.high:g} g an hour, {hours.low:g} to "
        f"{hours.high:g} hours a day"
    )


def _refrigerator_ends() -> str:
    fridge = constant("gas", "refrigerator")
    return f"the refrigerator takes {fridge.low:g} to {fridge.high:g} g an hour"


def _hot_water_ends() -> str:
    litres = constant("gas", "hot_water_per_person")
    return f"{litres.low:g} to {litres.high:g} L of hot water a person and day"


def _heating_ends() -> str:
    inside = constant("heating", "inside")
    return f"{inside.low:g} to {inside.high:g} °C inside, the best and the worst of the insulation"


_ENDS = {
    "cooking": _cooking_ends,
    "refrigerator": _refrigerator_ends,
    "hot water": _hot_water_ends,
    "heating": _heating_ends,
}


def gas_kg(nights: int, *, hookup: bool) -> Amount:
    """Gas burnt in a stay for cooking, and for the refrigerator where there is no hook-up, in kg.

    Parameters
    ----------
    nights : int
    hookup : bool
        With a hook-up the refrigerator runs on the mains.

    References
    ----------
    .. [1] Motor caravan operation manual of a European maker, 2012, section 11.4, table 11-1.
    """
    cooker, hours = constant("gas", "cooker"), constant("gas", "cooking_time")
    fridge = constant("gas", "refrigerator")
    day_hours = 0 if hookup else 24
    return Amount(
        cooker.low * hours.low + fridge.low * day_hours,
        cooker.value * hours.value + fridge.value * day_hours,
        cooker.high * hours.high + fridge.high * day_hours,
    ).times(nights / 1000)


def gas_need(
    caravan: Caravan, nights: int, people: int, climate: StayClimate, *, hookup: bool
) -> GasNeed:
    """Gas of a stay for cooking, refrigerator, hot water and heating.

    Parameters
    ----------
    caravan : Caravan
    nights, people : int
    climate : StayClimate
    hookup : bool
        Whether mains is certain; then refrigerator, and an electric heater and boiler, use it.
    """
    cooking = gas_kg(nights, hookup=True)
    uses = {"cooking": cooking}
    if not hookup:
        both = gas_kg(nights, hookup=False)
        uses["refrigerator"] = Amount(
            both.low - cooking.low, both.likely - cooking.likely, both.high - cooking.high
        )
    gaps = []
    per_kg = kwh_per_kg(caravan.gas_kind or "propane")
    if caravan.hot_water == "gas":
        boiler = constant("gas", "boiler_efficiency")
        uses["hot water"] = _burnt(
            hot_water_kwh_per_day(people).times(nights),
            Amount(boiler.low, boiler.value, boiler.high),
            per_kg,
        )
    elif caravan.hot_water is None:
        gaps.append("hot water (the household file does not say what heats it)")
    if caravan.heating == "gas":
        heat = _heat(caravan, climate, people)
        if heat is None:
            gaps.append(_heating_gap(caravan, climate))
        else:
            heater = constant("gas", "heater_efficiency")
            uses["heating"] = _burnt(
                heat.times(nights), Amount(heater.low, heater.value, heater.high), per_kg
            )
    elif caravan.heating is None:
        gaps.append("heating (the household file does not say what heats the caravan)")
    return GasNeed(uses, tuple(gaps))


def _heat(caravan: Caravan, climate: StayClimate, people: int) -> Amount | None:
    if climate.low_c is None or climate.high_c is None:
        return None
    return heating_kwh_per_day(caravan, climate.low_c, climate.high_c, people)


def _heating_gap(caravan: Caravan, climate: StayClimate) -> str:
    if climate.low_c is not None and climate.high_c is not None:
        return "heating (the caravan's size or insulation class is not known)"
    told = []
    for name in ("example_mild", "example_cold"):
        at = constant("heating", name).value
        heat = heating_kwh_per_day(caravan, at - 5, at + 5, 0)
        if heat is not None:
            kg = heat.likely / constant("gas", "heater_efficiency").value / kwh_per_kg("propane")
            told.append(f"{kg:.1f} kg a day around {at:g} °C")
    example = f"; it would burn about {' and '.join(told)}" if told else ""
    return f"heating (the trip file names no temperatures{example})"


def _burnt(heat_kwh: Amount, efficiency: Amount, per_kg: float) -> Amount:
    return Amount(
        heat_kwh.low / efficiency.high / per_kg,
        heat_kwh.likely / efficiency.likely / per_kg,
        heat_kwh.high / efficiency.low / per_kg,
    )


def cylinders_needed(need: Amount, size_kg: float) -> Amount:
    """Whole cylinders that hold an amount of gas."""
    return Amount(*(math.ceil(kg / size_kg - 1e-9) for kg in (need.low, need.likely, need.high)))


def gas_of_trip(stays: Sequence[GasNeed]) -> GasNeed:
    """The gas of several stays together."""
    uses: dict[str, Amount] = {}
    for stay in stays:
        for name, more in stay.uses.items():
            had = uses.get(name, Amount(0.0, 0.0, 0.0))
            uses[name] = Amount(had.low + more.low, had.likely + more.likely, had.high + more.high)
    gaps = dict.fromkeys(gap for stay in stays for gap in stay.not_counted)
    return GasNeed(uses, tuple(gaps))


def check_gas(caravan: Caravan, need: GasNeed, *, subject: str = "gas") -> Check:
    """Whether full cylinders hold the gas of a stay, or of a whole trip by another subject.

    Returns
    -------
    check : Check
        Fine when one full cylinder of two or more holds the highest estimate and nothing that may
        burn gas is uncounted; look at this when all of them are needed; not fine when all of them
        full would not hold the likely amount; unknown without number, size and kind.
    """
    total = need.total
    source = constant("gas", "cooker").source
    told = f"About {total.likely:.1f} kg ({total.low:.1f} to {total.high:.1f}) for {need.words}"
    if need.not_counted:
        told += f"; not counted: {', '.join(need.not_counted)}"
    size, number, kind = caravan.gas_cylinder_kg, caravan.gas_cylinders, caravan.gas_kind
    if size is None or number is None or kind is None:
        gaps = (
            (number is None, "how many cylinders"),
            (size is None, "their size"),
            (kind is None, "propane or butane"),
        )
        return Check(
            subject,
            State.UNKNOWN,
            f"{told}; not known: {', '.join(words for gap, words in gaps if gap)}."
            f" The range: {need.why_so_wide}.",
            figure=total.likely,
            unit="kg of gas",
            source=source,
            basis="published",
        )
    held = size * number
    weigh = "weigh the cylinders before you leave: the file does not say how full they are"
    wide = f" The range: {need.why_so_wide}."
    if total.likely > held:
        state = State.NOT_FINE
        more = int(cylinders_needed(total, size).likely) - number
        hold = "full cylinder holds" if number == 1 else "full cylinders hold"
        words = f"{number} {hold} {held:g} kg, so bring or buy {more} more"
    elif number >= 2 and total.high <= size and not need.not_counted:
        state, words = State.FINE, f"one full cylinder of {size:g} kg holds it and one is spare"
    else:
        state, words = State.LOOK, f"{number} of {size:g} kg: little or nothing is spare"
    return Check(
        subject,
        state,
        f"{told}; {words}; {weigh}.{wide}",
        figure=total.likely,
        limit=held,
        unit="kg of gas",
        margin=held - total.likely,
        source=source,
        basis="published",
    )
