"""What a household draws from the mains in a night, site by site, for whoever prices it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner_kit.pitch.climate import StayClimate, climate_of
from planner_kit.pitch.electricity import ElectricityNeed, electricity_need
from planner_kit.trip.prices import Price, price_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd

    from planner_kit.trip.household import Household
    from planner_kit.trip.reading import TripInputs


@dataclass(frozen=True)
class MainsUse:
    """Electricity of one night by site, and what a kilowatt-hour costs where a site is silent.

    Attributes
    ----------
    elsewhere : ElectricityNeed
        Of one night on a site for which the trip file names no weather of its own. [kWh]
    by_site : mapping of str to ElectricityNeed
        Of one night, by site id. [kWh]
    price : Price or None
        Of a metered kilowatt-hour, from the household's price list.
    """

    elsewhere: ElectricityNeed
    by_site: Mapping[str, ElectricityNeed]
    price: Price | None = None

    def at(self, site_id: str) -> ElectricityNeed:
        """What a night on a site draws, in kWh."""
        return self.by_site.get(site_id, self.elsewhere)


def mains_use(inputs: TripInputs, prices: pd.DataFrame | None = None) -> MainsUse:
    """Appliances, electric heating and electric hot water of a night, with each site's weather.

    Parameters
    ----------
    inputs : TripInputs
    prices : DataFrame, optional
        As `planner_kit.trip.prices.read_prices` returns it, for its ``kwh_site``.

    Notes
    -----
    What a stay draws is this times its nights, as `planner_kit.pitch.electricity.electricity_need`
    has it: longer, shorter and moved stays need no second reckoning.
    """
    household, trip = inputs.household, inputs.trip
    people = len(trip.party) or len(household.people)
    named = {entry.site for entry in trip.climate if entry.site is not None}

    def of_night(climate: StayClimate) -> ElectricityNeed:
        return electricity_need(household, climate, people, 1)

    return MainsUse(
        elsewhere=of_night(climate_of(trip, "")),
        by_site={site_id: of_night(climate_of(trip, site_id)) for site_id in sorted(named)},
        price=None if prices is None else price_of(prices, "kwh_site"),
    )


def use_without_weather(household: Household, people: int) -> MainsUse:
    """The same where no trip says how warm it is: electric heating stays unknown."""
    return MainsUse(electricity_need(household, StayClimate(), people, 1), {})
