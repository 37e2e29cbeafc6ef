"""Every place around a site with its facts and criteria, ready to be weighed."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from planner_kit.outings.day_problem import DayLimits
from planner_kit.outings.entry import entry_costs, party_of
from planner_kit.outings.gathering import gather_attractions
from planner_kit.outings.scoring import attraction_criteria
from planner_kit.outings.travel import CAR, drives_to, ways_to
from planner_kit.reference import constant
from planner_kit.region.opening import open_day_counts, opening_table

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd

    from planner_kit.region import Region
    from planner_kit.region.opening import DayHours
    from planner_kit.trip.household import Person
    from planner_kit.trip.reading import TripInputs


def days_out(arrive: dt.date, leave: dt.date) -> tuple[dt.date, ...]:
    """The days of a stay that are free for outings: all but those of arrival and departure."""
    count = (leave - arrive).days
    return tuple(arrive + dt.timedelta(days=place) for place in range(1, count))


def stay_criteria(
    inputs: TripInputs,
    region: Region,
    site: pd.Series,
    arrive: dt.date,
    leave: dt.date,
    *,
    attractions: pd.DataFrame,
    visited: Sequence[str] = (),
    drives: pd.DataFrame | None = None,
) -> pd.DataFrame:
    """Every place around a site with its facts and criteria, ready to be weighed.

    Parameters
    ----------
    inputs, region, site, arrive, leave, attractions, visited, drives
        See `plan_outings`.

    Returns
    -------
    table : DataFrame
        The columns of `gather_attractions`, then open_days, drive_min [min], drive_km [km], by,
        travel_min and travel_km (see `ways_to`), cost, parking_cost and currency for the party (no
        parking where one walks or cycles), free_with (name of the membership that opens it), and a
        column ``criterion_<name>`` for each criterion:
        what `rank_attractions` takes.
    """
    return stay_table(inputs, region, site, arrive, leave, attractions, visited, drives)[0]


def stay_table(
    inputs: TripInputs,
    region: Region,
    site: pd.Series,
    arrive: dt.date,
    leave: dt.date,
    attractions: pd.DataFrame,
    visited: Sequence[str],
    drives: pd.DataFrame | None,
) -> tuple[pd.DataFrame, dict[str, tuple[DayHours, ...]]]:
    """The table of `stay_criteria`, and the hours of each place on the days out."""
    party, household = inputs.trip.party, inputs.household
    near = float(site["lat"]), float(site["lon"])
    zone, country = zone_and_country(region)
    days = days_out(arrive, leave)
    places = gather_attractions(region, attractions, near)
    hours = opening_table(places, days, zone=zone, country=country)
    places["open_days"] = open_day_counts(hours, places["attraction_id"])
    drive = drives_to(places, region, near, drives)
    places["drive_min"], places["drive_km"] = drive["minutes"], drive["km"]
    places["walk_min"] = drive["walk_min"]
    wishes, people = household.preferences, party_of(household, party)
    ways = ways_to(
        places,
        region,
        near,
        walk_reach_km=wishes.walk_reach_km if drives is None else 0.0,
        cycle_reach_km=wishes.cycle_reach_km if drives is None else 0.0,
        child=with_child(people, arrive),
    )
    for name in ways:
        places[name] = ways[name]
    # Nobody parks a car where one walks or cycles to.
    places.loc[places["by"] != CAR, "parking_price"] = 0.0
    costs = entry_costs(places, household, arrive, party=party)
    places["free_with_ids"] = places["free_with"]
    for name in (
        "cost",
        "full_cost",
        "parking_cost",
        "currency",
        "free_with",
        "parking_known",
    ):
        places[name] = costs[name]
    criteria = attraction_criteria(
        places,
        household=household,
        on=arrive,
        days=len(days),
        party=party,
        visited=visited,
        day_min=_day_min(inputs.trip.outings.back_by),
    )
    return places.join(criteria.add_prefix("criterion_")), hours


def zone_and_country(region: Region) -> tuple[ZoneInfo, str]:
    """The region's time zone (UTC where it has none) and country (empty where not known)."""
    country = "" if region.country == "unknown" else region.country
    return ZoneInfo(region.time_zone or "UTC"), country


def stay_limits(inputs: TripInputs, arrive: dt.date, leave: dt.date) -> DayLimits:
    """The trip's wishes for this stay; rest days and budget are shared out by nights."""
    wishes, trip = inputs.trip.outings, inputs.trip
    share = (leave - arrive).days / trip.nights
    return DayLimits(
        back_by=wishes.back_by,
        max_drive_min=wishes.max_drive_min_per_day,
        rest_days=round(wishes.rest_days * share),
        budget=None if wishes.budget is None else wishes.budget * share,
        currency=inputs.household.units.currency,
        before_dark=wishes.back_before_dark,
    )


def with_child(people: Sequence[Person], on: dt.date) -> bool:
    """Whether somebody comes along whose legs set the pace."""
    below = float(constant("ride_constants", "child_below_age"))
    ages = [person.age_on(on) for person in people]
    return any(age is not None and age < below for age in ages)


def _day_min(back_by: dt.time) -> float:
    """Minutes from the start of a day out to being back."""
    start_min = 60 * float(constant("outing_constants", "day_start_h"))
    return 60 * back_by.hour + back_by.minute - start_min
