"""The outings of one stay, from the lists and the map to ranked places, days and money."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner_kit.outings.days import DayPlan, plan_days
from planner_kit.outings.entry import party_of
from planner_kit.outings.membership import VISIT_COLUMNS
from planner_kit.outings.outing_costs import entry_lines, fuel_lines
from planner_kit.outings.place_words import named
from planner_kit.outings.report import OutingsReport
from planner_kit.outings.scoring import outing_weights, rank_attractions
from planner_kit.outings.stay_checks import (
    access_checks,
    hours_checks,
    light_checks,
    money_checks,
    must_checks,
    pin_checks,
    ride_checks,
    unknowns,
)
from planner_kit.outings.stay_rides import plan_rides
from planner_kit.outings.stay_table import (
    days_out,
    stay_limits,
    stay_table,
    with_child,
    zone_and_country,
)
from planner_kit.outings.sun import sun_table, sun_times
from planner_kit.outings.travel import Between, drives_between
from planner_kit.reference import constant
from planner_kit.region.opening import opening_table

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path
    from zoneinfo import ZoneInfo

    import pandas as pd

    from planner_kit.region import Region
    from planner_kit.region.opening import DayHours
    from planner_kit.trip.reading import TripInputs
    from planner_kit.trip.trip import Trip


@dataclass(frozen=True)
class StaySetting:
    """What the days of a stay depend on besides the ranking; no weight and no edit moves it.

    Attributes
    ----------
    inputs : TripInputs
    near : (lat, lon)
        Where the caravan stands. [deg]
    arrive, leave : date
    zone : ZoneInfo
    hours : mapping of str to tuple of DayHours
        By attraction_id, one for each day out.
    between : Between or None
        Drives from place to place; without them all ways are reckoned by the pitch.
    """

    inputs: TripInputs
    near: tuple[float, float]
    arrive: dt.date
    leave: dt.date
    zone: ZoneInfo
    hours: Mapping[str, tuple[DayHours, ...]]
    between: Between | None


def stay_setting(
    inputs: TripInputs,
    region: Region,
    site: pd.Series,
    arrive: dt.date,
    leave: dt.date,
    *,
    ranking: pd.DataFrame,
) -> StaySetting:
    """Look up the hours of places and the drives between the best of them.

    Parameters
    ----------
    inputs, region, site, arrive, leave
        See `plan_outings`.
    ranking : DataFrame, best first
        From `rank_attractions` on the table of `stay_criteria`.
    """
    zone, country = zone_and_country(region)
    return StaySetting(
        inputs,
        (float(site["lat"]), float(site["lon"])),
        arrive,
        leave,
        zone,
        opening_table(ranking, days_out(arrive, leave), zone=zone, country=country),
        drives_between(region, ranking),
    )


def plan_outings(
    inputs: TripInputs,
    region: Region,
    site: pd.Series,
    arrive: dt.date,
    leave: dt.date,
    *,
    attractions: pd.DataFrame,
    prices: pd.DataFrame,
    rides: Sequence[Path] = (),
    weights: Mapping[str, float] | None = None,
    visited: Sequence[str] = (),
    drives: pd.DataFrame | None = None,
) -> OutingsReport:
    """Rank the places around a site and plan the days of a stay there.

    Parameters
    ----------
    inputs : TripInputs
    region : Region
    site : Series
        A row of the sites list (name, lat, lon); its name is the site_id.
    arrive, leave : date
    attractions : DataFrame
        From `read_attractions`.
    prices : DataFrame
        From `planner_kit.trip.prices.read_prices`, for the fuel of the drives.
    rides : sequence of Path, optional
        GPX files.
    weights : mapping of str to float, optional
        Weights of criteria that go before the household's.
    visited : sequence of str, optional
        Names or ids of places that the party has seen.
    drives : DataFrame, optional
        Drives that are known already: minutes and km, indexed by attraction_id. Without it they
        are found on the region's roads.

    Returns
    -------
    report : OutingsReport
        The ranking also has the columns ``criterion_<name>``, so that `rank_attractions` can weigh
        it anew, and an ``<fact>_from`` for each fact.

    Raises
    ------
    PlannerKitError
        If a weight is not known, or a ride cannot be read.
    """
    trip, household = inputs.trip, inputs.household
    near = float(site["lat"]), float(site["lon"])
    zone, _ = zone_and_country(region)
    days = days_out(arrive, leave)
    table, hours = stay_table(inputs, region, site, arrive, leave, attractions, visited, drives)
    ranking = rank_attractions(table, outing_weights(household, weights=weights))
    ranking["rating"] = ranking["criterion_rating"] * 5
    between = drives_between(region, ranking) if drives is None else None
    day_plan = _planned(
        StaySetting(inputs, near, arrive, leave, zone, hours, between),
        ranking,
        time_limit_s=None,  # a record comes out the same each time
    )
    plan, left_out = day_plan.days, day_plan.left_out
    planned = plan[plan["what"] == "outing"]
    chosen = planned_rows(ranking, planned)
    # Without a road network (drives are given) no way is looked for either.
    people = party_of(household, trip.party)
    child = with_child(people, arrive)
    found_rides, missing = (
        plan_rides(region, near, files=rides, wishes=trip.outings.rides, child=child)
        if drives is None
        else ((), ())
    )
    light = sun_table(*near, days, zone)
    return OutingsReport(
        site_id=str(site.name),
        ranking=ranking,
        days=plan,
        left_out=left_out,
        checks=(
            *must_checks(inputs, ranking, planned, left_out),
            *hours_checks(chosen, hours),
            *money_checks(inputs, chosen, arrive, leave),
            *pin_checks(trip, ranking, left_out, arrive, leave),
            *access_checks(household, people, chosen),
            *light_checks(planned, light),
            *ride_checks(found_rides, household.units, child=child),
        ),
        cost_lines=(
            *entry_lines(chosen, planned),
            *fuel_lines(household.car, planned, prices),
        ),
        unknowns=(*unknowns(ranking, chosen, days, region), *missing),
        rides=found_rides,
        light=light,
        visits=visits_of(trip.name, chosen, planned),
        gap_frac=day_plan.gap_frac,
    )


def visits_of(trip: str, chosen: pd.DataFrame, planned: pd.DataFrame) -> pd.DataFrame:
    """Planned outings as visits; see `planner_kit.outings.membership.VISIT_COLUMNS`."""
    rows = chosen.assign(
        trip=trip, day=list(planned["day"]), free_with=list(chosen["free_with_ids"])
    )
    return rows[list(VISIT_COLUMNS)].reset_index(drop=True)


def _planned(
    setting: StaySetting,
    ranking: pd.DataFrame,
    *,
    pinned: Mapping[str, dt.date] | None = None,
    never: Sequence[str] = (),
    explain: Sequence[str] | None = None,
    time_limit_s: float | None,
) -> DayPlan:
    """The days of a stay with the wishes of its trip, and further pins and refusals."""
    inputs, arrive, leave = setting.inputs, setting.arrive, setting.leave
    wishes, days = inputs.trip.outings, days_out(arrive, leave)
    held = {**pins_of_stay(inputs.trip, ranking, arrive, leave), **(pinned or {})}
    must, refused = (
        tuple(ranking.loc[named(ranking, names), "attraction_id"])
        for names in (wishes.must, wishes.never)
    )
    return plan_days(
        ranking,
        setting.hours,
        days,
        stay_limits(inputs, arrive, leave),
        zone=setting.zone,
        must=tuple(key for key in must if key not in never),
        never=(*(key for key in refused if key not in held), *never),
        pinned=held,
        between=setting.between,
        light={day: sun_times(*setting.near, day, setting.zone) for day in days},
        explain=explain,
        time_limit_s=time_limit_s,
    )


def plan_stay_days(
    setting: StaySetting,
    ranking: pd.DataFrame,
    *,
    pinned: Mapping[str, dt.date] | None = None,
    never: Sequence[str] = (),
    explain: Sequence[str] | None = None,
) -> DayPlan:
    """Plan the days of a stay anew, with other weights, pins or refusals.

    Parameters
    ----------
    setting : StaySetting
        From `stay_setting`.
    ranking : DataFrame, best first
        From `rank_attractions` on the table of `stay_criteria`.
    pinned : mapping of str to date, optional
        attraction_id to the day on which it has to be, before the trip's own pins.
    never : sequence of str, optional
        attraction_ids to leave out, besides those of the trip.
    explain : sequence of str, optional
        See `plan_days`.

    Returns
    -------
    plan : DayPlan
    """
    return _planned(
        setting,
        ranking,
        pinned=pinned,
        never=never,
        explain=explain,
        time_limit_s=float(constant("outing_constants", "edit_within_s")),
    )


def pins_of_stay(
    trip: Trip, places: pd.DataFrame, arrive: dt.date, leave: dt.date
) -> dict[str, dt.date]:
    """The trip's pins that fall into a stay, by attraction_id."""
    return {
        str(key): day
        for name, day in trip.outings.pinned.items()
        if arrive <= day <= leave
        for key in places.loc[named(places, (name,)), "attraction_id"]
    }


def planned_rows(ranking: pd.DataFrame, planned: pd.DataFrame) -> pd.DataFrame:
    """Rows of the ranking for the planned outings, in the plan's order."""
    rows = ranking.set_index("attraction_id", drop=False)
    return rows.loc[list(planned["attraction_id"])].reset_index(drop=True)
