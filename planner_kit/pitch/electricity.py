"""Electricity of a stay: what the appliances draw, and heat and hot water made by mains."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.pitch.heating import (
    heat_loss_w_per_k,
    heating_kwh_per_day,
    hot_water_kwh_per_day,
)
from planner_kit.pitch.hookup import LOAD_COLUMNS, mains_loads
from planner_kit.pitch.water import Amount
from planner_kit.reference import constant
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from planner_kit.pitch.climate import StayClimate
    from planner_kit.pitch.site_rules import SiteOffer
    from planner_kit.trip.household import Caravan, Household

HEATING = "electric heating"


@dataclass(frozen=True)
class ElectricityNeed:
    """Electricity of a stay by use.

    Attributes
    ----------
    uses : dict of str to Amount
        appliances, heating, hot water; only what draws from the mains. [kWh]
    not_counted : tuple of str
        What draws too and is not known.
    """

    uses: dict[str, Amount]
    not_counted: tuple[str, ...]

    @property
    def total(self) -> Amount | None:
        """All uses together; None when nothing is known, in kWh."""
        if not self.uses:
            return None
        return Amount(
            sum(use.low for use in self.uses.values()),
            sum(use.likely for use in self.uses.values()),
            sum(use.high for use in self.uses.values()),
        )


def is_space_heater(name: str) -> bool:
    """Whether an appliance warms the air, by its name: "fan heater" does, "water heater" not."""
    words = name.casefold()
    return "heat" in words and "water" not in words


def is_water_heater(name: str) -> bool:
    """Whether an appliance makes hot water for washing, by its name; a kettle does not."""
    words = name.casefold()
    return "boiler" in words or ("heat" in words and "water" in words)


def electricity_need(
    household: Household, climate: StayClimate, people: int, nights: int
) -> ElectricityNeed:
    """Electricity that a stay on the mains draws.

    Parameters
    ----------
    household : Household
        Its appliances; its caravan's heating and hot water.
    climate : StayClimate
    people, nights : int

    Notes
    -----
    Where the caravan is heated by electricity, the heat that the temperatures ask for is counted
    and heaters of the appliance list are not, so that nothing counts twice; likewise hot water.
    """
    caravan, appliances = household.caravan, household.appliances
    uses: dict[str, Amount] = {}
    gaps = []
    counted = list(appliances)
    if caravan.heating == "electric":
        heat = _heat(household, climate, people)
        if heat is None:
            gaps.append(f"heating ({_heating_gap(climate)})")
        else:
            uses["heating"] = heat.times(nights)
            counted = [each for each in counted if not is_space_heater(each.name)]
    if caravan.hot_water == "electric" and not any(is_water_heater(a.name) for a in counted):
        uses["hot water"] = hot_water_kwh_per_day(people).times(nights)
    loads = mains_loads(counted)
    if len(loads):
        kwh = float(loads["kwh_per_day"].sum()) * nights
        uses = {"appliances": Amount(kwh, kwh, kwh), **uses}
    return ElectricityNeed(uses, tuple(gaps))


def loads_with_heating(household: Household, climate: StayClimate) -> pd.DataFrame:
    """What is drawn hour by hour, with the caravan's electric heating in the coldest night.

    Parameters
    ----------
    household : Household
    climate : StayClimate

    Returns
    -------
    loads : DataFrame
        As `planner_kit.pitch.hookup.mains_loads` returns it; a row for the heating where it is
        electric, what it needs is known and the appliance list has no heater of its own.
    """
    loads = mains_loads(household.appliances)
    caravan = household.caravan
    loss = heat_loss_w_per_k(caravan)
    own = any(is_space_heater(str(name)) for name in loads["name"])
    if caravan.heating != "electric" or own or loss is None or climate.low_c is None:
        return loads
    inside = float(constant("heating", "inside"))
    watts = max(loss.likely * (inside - climate.low_c), 0.0)
    if watts <= 0:
        return loads
    row = [[HEATING, watts, watts * 24 / 1000, True, True, *([watts] * 24)]]
    heating = pd.DataFrame(row, columns=list(LOAD_COLUMNS))
    return heating if loads.empty else pd.concat([loads, heating], ignore_index=True)


def _heat(household: Household, climate: StayClimate, people: int) -> Amount | None:
    if climate.low_c is None or climate.high_c is None:
        return None
    return heating_kwh_per_day(household.caravan, climate.low_c, climate.high_c, people)


def _heating_gap(climate: StayClimate) -> str:
    if climate.low_c is None or climate.high_c is None:
        return "the trip file names no temperatures"
    return "the caravan's size or insulation class is not known"


def check_electricity(need: ElectricityNeed, offer: SiteOffer, nights: int) -> Check:
    """How much electricity the stay draws, and whether it is paid by the kilowatt-hour."""
    subject = "electricity drawn"
    total = need.total
    if total is None:
        return Check(
            subject,
            State.UNKNOWN,
            "The household file lists no mains appliance, so nothing can be reckoned.",
            source="household file",
        )
    parts = ", ".join(f"{name} {use.likely:.0f}" for name, use in need.uses.items())
    told = f"About {total.likely:.0f} kWh in {nights} nights ({parts})"
    if need.not_counted:
        told += f"; not counted: {', '.join(need.not_counted)}"
    if offer.metered:
        state, words = State.LOOK, "a meter counts it: read it on arrival and before you leave"
    elif offer.metered is False or offer.hookup_price is not None:
        state, words = State.FINE, "the price of the hook-up holds it"
    else:
        state, words = State.UNKNOWN, "the site does not say whether a meter counts it"
    if need.not_counted and state is State.LOOK:
        # What is paid by the kilowatt-hour is not known before all of it is.
        state = State.UNKNOWN
    elif need.not_counted and state is State.FINE:
        state = State.LOOK
    return Check(
        subject,
        state,
        f"{told}; {words}.",
        figure=total.likely,
        unit="kWh",
        source=offer.source,
        basis="computed",
    )


def check_heat_without_mains(caravan: Caravan, climate: StayClimate) -> Check | None:
    """What is left of electric heating where there is no mains; None for any other heating.

    Parameters
    ----------
    caravan : Caravan
    climate : StayClimate

    Returns
    -------
    check : Check or None
        Not fine where nights are colder than people sleep in; unknown without temperatures.
    """
    if caravan.heating != "electric":
        return None
    least = constant("heating", "inside_night")
    told = "The caravan's heating needs mains and there is none here"
    if climate.low_c is None:
        state, words = State.UNKNOWN, "how cold the nights are is not known"
    elif climate.low_c < least.low:
        state = State.NOT_FINE
        words = f"a night of {climate.low_c:g} °C will be cold; never heat with a cooker"
    else:
        state, words = State.LOOK, f"nights stay at {climate.low_c:g} °C or more"
    return Check(
        "heating without mains",
        state,
        f"{told}: {words}.",
        figure=climate.low_c,
        limit=least.low,
        unit="°C",
        source=least.source,
        basis="common practice",
    )
