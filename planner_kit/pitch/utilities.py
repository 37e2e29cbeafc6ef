"""The utilities of a stay: electricity, gas, water, waste and how the caravan stands."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.errors import PlannerKitError
from planner_kit.pitch.battery import check_battery, check_drive_charge, left_at_home
from planner_kit.pitch.climate import StayClimate, check_climate, climate_of
from planner_kit.pitch.cylinders import check_gas_in_cold
from planner_kit.pitch.electricity import (
    ElectricityNeed,
    check_electricity,
    check_heat_without_mains,
    electricity_need,
    loads_with_heating,
)
from planner_kit.pitch.gas import GasNeed, check_gas, gas_need
from planner_kit.pitch.hookup import check_hookup, mains_loads, supply_w
from planner_kit.pitch.lead import check_coiled, check_lead, check_volt_drop
from planner_kit.pitch.service_points import check_walks, service_points
from planner_kit.pitch.shopping import PitchNeeds, pitch_costs, to_bring
from planner_kit.pitch.site_rules import SiteOffer, check_toilet_fluid, site_offer
from planner_kit.pitch.skyline import Skyline, skyline
from planner_kit.pitch.solar import solar_days
from planner_kit.pitch.standing import (
    Slope,
    check_awning,
    check_level,
    ground_slope,
    sun_at_meals,
)
from planner_kit.pitch.switching import (
    check_hours,
    check_surge,
    supply_hours,
    switching_order,
)
from planner_kit.pitch.water import (
    carrier_trips,
    cassette_fillings,
    check_cassette,
    check_grey_water,
    check_water,
)
from planner_kit.reference import constant
from planner_kit.rules.cautions import cautions_for
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from planner_kit.region import Region
    from planner_kit.trip.household import Household
    from planner_kit.trip.money import CostLine
    from planner_kit.trip.reading import TripInputs
    from planner_kit.trip.trip import Stay


@dataclass(frozen=True)
class PitchPlace:
    """Where a pitch lies, and what is known of the ground and the map around it.

    Attributes
    ----------
    lat, lon : float
        The site's entrance. WGS 84. [deg]
    zone : str
        Time zone.
    height_m : float
        Above the sea; 0 where it is not known. [m]
    skyline : Skyline or None
    slope : Slope or None
    points : DataFrame
        As `planner_kit.pitch.service_points.service_points` returns it.
    """

    lat: float
    lon: float
    zone: str
    height_m: float
    skyline: Skyline | None
    slope: Slope | None
    points: pd.DataFrame


@dataclass(frozen=True)
class UtilitiesReport:
    """What was found for the utilities of one stay.

    Attributes
    ----------
    checks : tuple of Check
    warnings : tuple of str
        What is dangerous or will not work, in plain words.
    hours : DataFrame
        As `planner_kit.pitch.switching.supply_hours` returns it; empty without a known supply.
    steps : DataFrame
        As `planner_kit.pitch.switching.switching_order` returns it; empty likewise.
    yields : DataFrame
        As `planner_kit.pitch.solar.solar_days` returns it; empty without panels.
    sun : DataFrame
        As `planner_kit.pitch.standing.sun_at_meals` returns it.
    points : DataFrame
        As `planner_kit.pitch.service_points.service_points` returns it.
    gas : GasNeed
    electricity : ElectricityNeed
    to_bring : DataFrame
        As `planner_kit.pitch.shopping.to_bring` returns it.
    cost_lines : tuple of CostLine
    unknowns : tuple of str
    cautions : tuple of str
    """

    checks: tuple[Check, ...]
    warnings: tuple[str, ...]
    hours: pd.DataFrame
    steps: pd.DataFrame
    yields: pd.DataFrame
    sun: pd.DataFrame
    points: pd.DataFrame
    gas: GasNeed
    electricity: ElectricityNeed
    to_bring: pd.DataFrame
    cost_lines: tuple[CostLine, ...]
    unknowns: tuple[str, ...]
    cautions: tuple[str, ...]


def pitch_place(region: Region, site: pd.Series) -> PitchPlace:
    """The ground and the map around a site; what the region does not have is not known."""
    lat, lon = float(site["lat"]), float(site["lon"])
    terrain = region.terrain
    height = float("nan") if terrain is None else float(terrain.heights_m([lon], [lat])[0])
    return PitchPlace(
        lat=lat,
        lon=lon,
        zone=region.time_zone or "UTC",
        height_m=height if height == height else 0.0,
        skyline=skyline(terrain, lat, lon),
        slope=ground_slope(terrain, lat, lon),
        points=service_points(region.places, lat, lon),
    )


def offer_at(
    household: Household, region: Region, site: pd.Series, *, kwh_in_tariff: bool = False
) -> SiteOffer:
    """What a site offers this household, at home or abroad; see `site_offer`."""
    abroad = bool(region.country) and not household.units.locale.endswith(region.country)
    return site_offer(site, abroad=abroad, kwh_in_tariff=kwh_in_tariff)


def stay_utilities(
    inputs: TripInputs,
    region: Region,
    site: pd.Series,
    arrive: dt.date,
    leave: dt.date,
    *,
    prices: pd.DataFrame,
    stay: Stay,
    drive_h: float | None = None,
    kwh_in_tariff: bool = False,
) -> UtilitiesReport:
    """The utilities of a stay of a trip; see `utilities_of`."""
    household = inputs.household
    return utilities_of(
        household,
        offer_at(household, region, site, kwh_in_tariff=kwh_in_tariff),
        pitch_place(region, site),
        arrive,
        leave,
        people=len(inputs.trip.party) or len(household.people),
        climate=climate_of(inputs.trip, str(site.name)),
        prices=prices,
        hookup=stay.hookup,
        awning=stay.awning,
        drive_h=drive_h,
    )


def utilities_of(
    household: Household,
    offer: SiteOffer,
    place: PitchPlace,
    arrive: dt.date,
    leave: dt.date,
    *,
    people: int,
    climate: StayClimate,
    prices: pd.DataFrame,
    hookup: bool = True,
    awning: bool = True,
    coiled_layers: int = 0,
    drive_h: float | None = None,
) -> UtilitiesReport:
    """Electricity, gas, water and waste for a party, a pitch and its dates.

    Parameters
    ----------
    household : Household
    offer : SiteOffer
    place : PitchPlace
    arrive, leave : date
    people : int
        Who come along.
    climate : StayClimate
    prices : DataFrame
        As `planner_kit.trip.prices.read_prices` returns it.
    hookup, awning : bool
        Whether the stay wants them.
    coiled_layers : int
        Layers of the hook-up lead that stay on its drum; 0 when it is laid out.
    drive_h : float, optional
        Hours of towing that lead to the stay, in which the car charges the battery. [h]

    Raises
    ------
    PlannerKitError
        If nobody comes along or no night is left between the days.
    """
    nights = (leave - arrive).days
    if people < 1:
        raise PlannerKitError("Nobody is in the party: say how many people come along.")
    if nights < 1:
        raise PlannerKitError(
            f"From {arrive} to {leave} there is no night: the day of leaving must come later."
        )
    caravan = household.caravan
    powered = hookup and offer.hookup_a != 0
    sure = hookup and offer.hookup_a is not None and offer.hookup_a > 0
    days = [arrive + dt.timedelta(days=n) for n in range(nights)]
    yields = _yields(household, place, days, climate)
    sun = sun_at_meals(place.lat, place.lon, [arrive, leave], place.zone, place.skyline)
    loads = loads_with_heating(household, climate)
    hours, steps = _supply(offer, loads) if sure and len(loads) else (_NO_HOURS, _NO_STEPS)
    gas = gas_need(caravan, nights, people, climate, hookup=sure)
    drawn = electricity_need(household, climate, people, nights)
    needs = PitchNeeds(
        household, offer, climate, gas, drawn, place.slope, nights, people, powered, leave
    )
    lines, gaps = pitch_costs(needs, prices)
    power: tuple[Check, ...] = ()
    if powered:
        power = _mains_checks(household, offer, loads, hours, coiled_layers, climate)
        power = (*power, check_electricity(drawn, offer, nights))
    elif hookup:
        power = (check_hookup(offer, household.appliances, loads=loads),)
    if not sure:
        power = (*power, *_battery_checks(household, nights, yields, climate, drive_h))
    checks = (
        *power,
        check_gas(caravan, gas),
        check_gas_in_cold(caravan, climate),
        check_climate(climate),
        check_water(caravan, offer, people, nights),
        check_grey_water(caravan, people),
        check_cassette(caravan, people),
        check_toilet_fluid(offer),
        check_walks(
            place.points,
            carrier_trips(caravan, people, nights),
            cassette_fillings(caravan, people, nights),
        ),
        check_level(caravan, place.slope),
        check_awning(caravan, climate, sun, awning=awning),
    )
    unknowns = [f"{c.subject}: {c.sentence}" for c in checks if c.state is State.UNKNOWN]
    subjects = ("mains", "polarity") if powered else ()
    return UtilitiesReport(
        checks=checks,
        warnings=tuple(
            f"{c.subject[0].upper()}{c.subject[1:]}: {c.sentence}"
            for c in checks
            if c.state is State.NOT_FINE
        ),
        hours=hours,
        steps=steps,
        yields=yields,
        sun=sun,
        points=place.points,
        gas=gas,
        electricity=drawn,
        to_bring=to_bring(needs, lines),
        cost_lines=lines,
        unknowns=tuple(dict.fromkeys([*unknowns, *gaps])),
        cautions=cautions_for(*subjects, "gas", "carbon_monoxide"),
    )


_NO_HOURS = supply_hours(mains_loads(()), 16.0, 230.0).iloc[:0]
_NO_STEPS = switching_order(mains_loads(()), 0.0)


def _volts(offer: SiteOffer) -> float:
    return constant("hookup", "volts").value if offer.hookup_v is None else offer.hookup_v


def _supply(offer: SiteOffer, loads: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    rated = float(offer.hookup_a or 0)
    hours = supply_hours(loads, rated, _volts(offer))
    return hours, switching_order(loads, supply_w(offer) or 0.0)


def _yields(
    household: Household, place: PitchPlace, days: list[dt.date], climate: StayClimate
) -> pd.DataFrame:
    caravan = household.caravan
    warm = {} if climate.high_c is None else {"air_c": climate.high_c}
    return solar_days(
        place.lat,
        place.lon,
        days if caravan.solar_w > 0 else [],
        place.zone,
        caravan,
        height_m=place.height_m,
        skyline=place.skyline,
        sun_frac=climate.sunshine(),
        **warm,
    )


def _mains_checks(
    household: Household,
    offer: SiteOffer,
    loads: pd.DataFrame,
    hours: pd.DataFrame,
    coiled_layers: int,
    climate: StayClimate,
) -> tuple[Check, ...]:
    caravan, volts = household.caravan, _volts(offer)
    checks = [check_hookup(offer, household.appliances, loads=loads)]
    rated = offer.hookup_a
    drawn = rated
    if rated and len(hours):
        factors = {a.name: a.start_factor for a in household.appliances}
        checks.append(check_hours(hours, rated, offer.source))
        checks.append(check_surge(loads, factors, rated, volts, offer.source))
        # Above its rating the post goes off before the lead does.
        drawn = min(rated, float(hours["amperes"].max()))
    air = max(30.0, climate.high_c or 0.0)
    area = caravan.hookup_lead_mm2
    return (
        *checks,
        check_lead(caravan, offer),
        check_volt_drop(area, caravan.hookup_lead_m, drawn, volts),
        check_coiled(area, drawn, coiled_layers=coiled_layers, ambient_c=air),
    )


def _battery_checks(
    household: Household,
    nights: int,
    yields: pd.DataFrame,
    climate: StayClimate,
    drive_h: float | None,
) -> tuple[Check, ...]:
    caravan, appliances = household.caravan, household.appliances
    checks = [
        check_battery(
            caravan,
            appliances,
            nights,
            sun=yields if len(yields) else None,
            temperature_c=climate.low_c,
        ),
        check_drive_charge(caravan, drive_h),
    ]
    cold = check_heat_without_mains(caravan, climate)
    if cold is not None:
        checks.append(cold)
    useless = left_at_home(appliances)
    if useless:
        checks.append(
            Check(
                "mains appliances",
                State.LOOK,
                f"Nothing of 230 V runs here: leave at home {', '.join(useless)}.",
                basis="computed",
            )
        )
    return tuple(checks)
