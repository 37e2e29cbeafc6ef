"""The outings of one stay, from the lists and the map to ranked places, days and money."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from planner_kit import tow
from planner_kit.errors import NoRouteError
from planner_kit.outings.attractions import gather_attractions, named, plain_name
from planner_kit.outings.days import Between, DayLimits, DayPlan, plan_days
from planner_kit.outings.entry import entry_costs
from planner_kit.outings.membership import membership_savings
from planner_kit.outings.opening import open_day_counts, opening_table
from planner_kit.outings.report import OutingsReport
from planner_kit.outings.rides import read_rides
from planner_kit.outings.scoring import (
    attraction_criteria,
    outing_weights,
    rank_attractions,
)
from planner_kit.outings.sun import sun_table
from planner_kit.reference import constant
from planner_kit.region import nearest_road
from planner_kit.states import Check, State
from planner_kit.trip.money import CostLine
from planner_kit.trip.prices import price_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    from planner_kit.outings.opening import DayHours
    from planner_kit.region import Region
    from planner_kit.trip.household import Car
    from planner_kit.trip.money import CostKind
    from planner_kit.trip.reading import TripInputs

_WAY = ["minutes", "km"]
_FUEL_ITEMS = {"diesel": "diesel_l", "petrol": "petrol_l", "hybrid": "petrol_l"}


def days_out(arrive: dt.date, leave: dt.date) -> tuple[dt.date, ...]:
    """The days of a stay that are free for outings: all but those of arrival and departure."""
    count = (leave - arrive).days
    return tuple(arrive + dt.timedelta(days=place) for place in range(1, count))


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
    zone, _ = _zone_and_country(region)
    days = days_out(arrive, leave)
    table, hours = _stay_table(inputs, region, site, arrive, leave, attractions, visited, drives)
    ranking = rank_attractions(table, outing_weights(household, weights=weights))
    ranking["rating"] = ranking["criterion_rating"] * 5
    day_plan = _planned(
        inputs,
        ranking,
        hours,
        near,
        arrive,
        leave,
        zone,
        between=drives_between(region, ranking) if drives is None else None,
    )
    plan, left_out = day_plan.days, day_plan.left_out
    planned = plan[plan["what"] == "outing"]
    chosen = _chosen(ranking, planned)
    savings = membership_savings(
        chosen.assign(free_with=chosen["free_with_ids"]), household, arrive, party=trip.party
    )
    return OutingsReport(
        site_id=str(site.name),
        ranking=ranking,
        days=plan,
        left_out=left_out,
        checks=(
            *_must_checks(inputs, ranking, planned, left_out),
            *_hours_checks(chosen, hours),
            *_money_checks(inputs, chosen, arrive, leave),
            *_membership_checks(savings),
            *_ride_checks(rides, near),
        ),
        cost_lines=(
            *_entry_lines(chosen, planned),
            *_fuel_lines(household.car, planned, prices),
        ),
        unknowns=_unknowns(ranking, chosen, days, region),
    )


def _planned(
    inputs: TripInputs,
    ranking: pd.DataFrame,
    hours: Mapping[str, tuple[DayHours, ...]],
    near: tuple[float, float],
    arrive: dt.date,
    leave: dt.date,
    zone: ZoneInfo,
    *,
    between: Between | None,
    pinned: Mapping[str, dt.date] | None = None,
    never: Sequence[str] = (),
) -> DayPlan:
    """The days of a stay with the wishes of its trip, and further pins and refusals."""
    wishes, days = inputs.trip.outings, days_out(arrive, leave)
    held = dict(pinned or {})
    must, refused = (
        tuple(ranking.loc[named(ranking, names), "attraction_id"])
        for names in (wishes.must, wishes.never)
    )
    light = sun_table(*near, days, zone).dropna(subset="sunset")
    return plan_days(
        ranking,
        hours,
        days,
        _limits(inputs, arrive, leave),
        zone=zone,
        must=tuple(key for key in must if key not in never),
        never=(*(key for key in refused if key not in held), *never),
        pinned=held,
        between=between,
        sunsets=dict(zip(light["day"], light["sunset"], strict=True)),
    )


def plan_stay_days(
    inputs: TripInputs,
    region: Region,
    site: pd.Series,
    arrive: dt.date,
    leave: dt.date,
    *,
    ranking: pd.DataFrame,
    between: Between | None = None,
    pinned: Mapping[str, dt.date] | None = None,
    never: Sequence[str] = (),
) -> DayPlan:
    """Plan the days of a stay anew, with other weights, pins or refusals.

    Parameters
    ----------
    inputs, region, site, arrive, leave
        See `plan_outings`.
    ranking : DataFrame, best first
        From `rank_attractions` on the table of `stay_criteria`.
    between : Between, optional
        From `drives_between`; found anew if left out.
    pinned : mapping of str to date, optional
        attraction_id to the day on which it has to be.
    never : sequence of str, optional
        attraction_ids to leave out, besides those of the trip.

    Returns
    -------
    plan : DayPlan
    """
    zone, country = _zone_and_country(region)
    hours = opening_table(ranking, days_out(arrive, leave), zone=zone, country=country)
    return _planned(
        inputs,
        ranking,
        hours,
        (float(site["lat"]), float(site["lon"])),
        arrive,
        leave,
        zone,
        between=drives_between(region, ranking) if between is None else between,
        pinned=pinned,
        never=never,
    )


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
        The columns of `gather_attractions`, then open_days, drive_min [min], drive_km [km], cost
        and currency for the party, free_with (name of the membership that opens it), and a column
        ``criterion_<name>`` for each criterion: what `rank_attractions` takes.
    """
    return _stay_table(inputs, region, site, arrive, leave, attractions, visited, drives)[0]


def _stay_table(
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
    zone, country = _zone_and_country(region)
    days = days_out(arrive, leave)
    places = gather_attractions(region, attractions, near)
    hours = opening_table(places, days, zone=zone, country=country)
    places["open_days"] = open_day_counts(hours, places["attraction_id"])
    drive = _drives_to(places, region, near, drives)
    places["drive_min"], places["drive_km"] = drive["minutes"], drive["km"]
    places["walk_min"] = drive["walk_min"]
    costs = entry_costs(places, household, arrive, party=party)
    places["free_with_ids"] = places["free_with"]
    for name in ("cost", "full_cost", "currency", "free_with", "parking_known"):
        places[name] = costs[name]
    criteria = attraction_criteria(
        places, household=household, on=arrive, days=len(days), party=party, visited=visited
    )
    return places.join(criteria.add_prefix("criterion_")), hours


def _zone_and_country(region: Region) -> tuple[ZoneInfo, str]:
    country = "" if region.country == "unknown" else region.country
    return ZoneInfo(region.time_zone or "UTC"), country


def _drives_to(
    places: pd.DataFrame, region: Region, near: tuple[float, float], drives: pd.DataFrame | None
) -> pd.DataFrame:
    """Minutes and km one way, aligned with `places`, and minutes on foot at the end.

    NaN where there is no way or no position. A place off the road is driven to at the nearest
    road and walked to from there.
    """
    if drives is not None:
        known = drives[["minutes", "km"]].reindex(places["attraction_id"])
        return known.set_axis(places.index).assign(walk_min=0.0)
    found = pd.DataFrame({"minutes": np.nan, "km": np.nan, "walk_min": 0.0}, index=places.index)
    placed = places[["lat", "lon"]].dropna()
    if len(placed):
        try:
            found.loc[placed.index, _WAY] = tow.drive_times(region, near, placed)[_WAY]
            on_foot = _road_ends(region, placed[found.loc[placed.index, "km"].isna()])
            if len(on_foot):
                found.loc[on_foot.index, _WAY] = tow.drive_times(region, near, on_foot)[_WAY]
                found.loc[on_foot.index, "walk_min"] = on_foot["walk_min"]
        except NoRouteError:  # the pitch is far from any mapped road: every drive stays unknown
            return found
    return found


def drives_between(region: Region, ranking: pd.DataFrame) -> Between:
    """Drives from place to place among the best of a ranking.

    Parameters
    ----------
    region : Region
    ranking : DataFrame, best first
        attraction_id, lat, lon, drive_min.

    Returns
    -------
    between : Between
        Of the best `places_weighed` places (reference table) that can be driven to; NaN for those
        off the road, whose ways are then reckoned by the pitch.
    """
    most = int(float(constant("outing_constants", "places_weighed")))
    placed = ranking[ranking["drive_min"].notna()].head(most)
    placed = placed.set_index(placed["attraction_id"].astype("str"))[["lat", "lon"]]
    rows = {}
    for key, lat, lon in placed.itertuples():
        try:
            rows[key] = tow.drive_times(region, (float(lat), float(lon)), placed)
        except NoRouteError:  # off the road
            rows[key] = pd.DataFrame(np.nan, index=placed.index, columns=_WAY)
    minutes, km = (
        pd.DataFrame({key: one[name] for key, one in rows.items()}, dtype=float).T for name in _WAY
    )
    return Between(minutes, km)


def _road_ends(region: Region, placed: pd.DataFrame) -> pd.DataFrame:
    """Where the nearest road to each place is (lat, lon), and the walk from there (walk_min)."""
    reach, detour, speed = (
        float(constant("outing_constants", name))
        for name in ("walk_reach_km", "walk_detour_frac", "walk_kmh")
    )
    rows = {}
    for row, lat, lon in placed[["lat", "lon"]].itertuples():
        road = nearest_road(region, float(lat), float(lon), "car")
        away_km = road.distance_m / 1000
        if away_km <= reach:
            rows[row] = (road.lat, road.lon, away_km * (1 + detour) / speed * 60)
    return pd.DataFrame.from_dict(rows, orient="index", columns=["lat", "lon", "walk_min"])


def _limits(inputs: TripInputs, arrive: dt.date, leave: dt.date) -> DayLimits:
    """The trip's wishes for this stay; rest days and budget are shared out by nights."""
    wishes, trip = inputs.trip.outings, inputs.trip
    share = (leave - arrive).days / trip.nights
    return DayLimits(
        back_by=wishes.back_by,
        max_drive_min=wishes.max_drive_min_per_day,
        rest_days=round(wishes.rest_days * share),
        budget=None if wishes.budget is None else wishes.budget * share,
        currency=inputs.household.units.currency,
    )


def _chosen(ranking: pd.DataFrame, planned: pd.DataFrame) -> pd.DataFrame:
    """Rows of the ranking for the planned outings, in the plan's order."""
    rows = ranking.set_index("attraction_id", drop=False)
    return rows.loc[list(planned["attraction_id"])].reset_index(drop=True)


def _must_checks(
    inputs: TripInputs, ranking: pd.DataFrame, planned: pd.DataFrame, left_out: pd.DataFrame
) -> list[Check]:
    """Whether each must-see is planned; where there are several stays another may still hold it."""
    several = len(inputs.trip.stays) > 1
    missed = State.LOOK if several else State.NOT_FINE
    of_stay = " of this stay" if several else ""
    checks = []
    for name in inputs.trip.outings.must:
        ids = set(ranking.loc[named(ranking, (name,)), "attraction_id"])
        rows = planned[planned["attraction_id"].isin(ids)]
        subject = f"must-see {name}"
        if not ids:
            known = [n for n in ranking["name"] if plain_name(n)[:4] == plain_name(name)[:4]]
            hint = f"; did you mean '{known[0]}'?" if known else ""
            why = f"'{name}' is neither in the list of attractions nor on the map near here{hint}"
            checks.append(Check(subject, missed, why))
        elif len(rows):
            row = rows.iloc[0]
            sentence = f"{row['name']} is planned for {row['day']:%A} {row['day'].day}."
            checks.append(Check(subject, State.FINE, sentence))
        else:
            reasons = left_out.loc[left_out["attraction_id"].isin(ids), "why"]
            why = reasons.iloc[0] if len(reasons) else "no day is free"
            checks.append(Check(subject, missed, f"{name} is left out{of_stay}: {why}."))
    return checks


def _hours_checks(chosen: pd.DataFrame, hours: Mapping[str, tuple[DayHours, ...]]) -> list[Check]:
    checks = []
    for key, name in zip(chosen["attraction_id"], chosen["name"], strict=True):
        notes = [one.note for one in hours[key] if one.state == "unknown"]
        if notes:
            why = f"when {name} is open is not sure ({notes[0] or 'not said'}): ask before you go."
            checks.append(Check(f"opening of {name}", State.UNKNOWN, why))
    return checks


def _money_checks(
    inputs: TripInputs, chosen: pd.DataFrame, arrive: dt.date, leave: dt.date
) -> list[Check]:
    budget = _limits(inputs, arrive, leave).budget
    if budget is None or chosen.empty:
        return []
    currency = inputs.household.units.currency
    counted = chosen["cost"].where(chosen["currency"] == currency)
    total, missing = float(counted.sum()), int(counted.isna().sum())
    state = State.FINE if total <= budget else State.NOT_FINE
    sentence = f"the planned outings cost {total:.2f} {currency} of {budget:.2f} {currency}"
    if missing and state is State.FINE:
        state = State.UNKNOWN
        sentence += f", and {missing} more whose price in {currency} is not known"
    return [
        Check(
            "outings budget", state, f"{sentence}.", total, budget, currency, budget - total,
            rule="the trip's budget, shared out by nights", source="trip file", basis="computed",
        )
    ]  # fmt: skip


def _membership_checks(savings: pd.DataFrame) -> list[Check]:
    return [
        Check(
            f"membership {row['name']}", State.FINE, row["sentence"], float(row["saved"]),
            source="entry prices of the list of attractions",
        )
        for row in savings.to_dict("records")
        if row["visits"]
    ]  # fmt: skip


def _ride_checks(rides: Sequence[Path], near: tuple[float, float]) -> list[Check]:
    checks = []
    for row in read_rides(rides, near=near).to_dict("records") if rides else []:
        climb = "climb not known" if np.isnan(row["climb_m"]) else f"{row['climb_m']:.0f} m up"
        sentence = (
            f"{row['length_km']:.1f} km, {climb}, starts {row['start_distance_km']:.1f} km from "
            "the pitch in a straight line."
        )
        state = State.UNKNOWN if np.isnan(row["climb_m"]) else State.FINE
        check = Check(f"ride {row['name']}", state, sentence, row["length_km"], unit="km")
        checks.append(replace(check, source=f"{row['ride']} (GPX)"))
    return checks


def _entry_lines(chosen: pd.DataFrame, planned: pd.DataFrame) -> list[CostLine]:
    lines = []
    for row, day in zip(chosen.to_dict("records"), planned["day"], strict=True):
        known = not np.isnan(row["cost"])
        amount = float(row["cost"]) if known else None
        as_of = "" if pd.isna(row["as_of"]) else f", {row['as_of']:%Y-%m-%d}"
        origin = {"own list": row["source"] or "list of attractions", "map": "OpenStreetMap"}
        source = origin.get(row["adult_price_from"], "no price in the list or on the map")
        free = f", opened by {row['free_with']}" if row["free_with"] else ""
        parking = "" if row["parking_known"] else ", parking not known"
        lines.append(
            CostLine(
                "outing", f"{row['name']}{free}{parking}", amount, amount, amount, row["currency"],
                "expected" if known else "unknown", f"{source}{as_of}", day, "outings",
            )
        )  # fmt: skip
    return lines


def _fuel_lines(car: Car, planned: pd.DataFrame, prices: pd.DataFrame) -> list[CostLine]:
    """Fuel for the drives of the planned outings, without the caravan."""
    if planned.empty:
        return []
    km = float(planned["drive_km"].sum())
    electric = car.fuel == "electric"
    use = car.solo_kwh_per_100km if electric else car.solo_l_per_100km
    item = "kwh_public" if electric else _FUEL_ITEMS[car.fuel]
    price = price_of(prices, item)
    what = f"driving to outings, {km:.0f} km"
    if use is None or price is None:
        missing = "the car's use without the caravan" if use is None else f"the price of {item}"
        currency = "" if price is None else price.currency
        source = f"{missing} is not given"
        return [
            CostLine("fuel", what, None, None, None, currency, "unknown", source, None, "outings")
        ]
    amount = km * use / 100
    kind: CostKind = "electricity" if electric else "fuel"
    source = f"{use:g} {'kWh' if electric else 'l'} for 100 km (household) at {price.source}"
    return [
        CostLine(
            kind, what, amount * price.low, amount * price.likely, amount * price.high,
            price.currency, "expected", source, None, "outings",
        )
    ]  # fmt: skip


def _unknowns(
    ranking: pd.DataFrame, chosen: pd.DataFrame, days: Sequence[dt.date], region: Region
) -> tuple[str, ...]:
    found = []
    if not days:
        found.append("The stay has no day between arrival and departure, so no outing is planned.")
    if region.time_zone is None:
        found.append("The region's time zone is not said: times are shown in UTC.")
    if region.country == "unknown":
        found.append(
            "Which country the region lies in is not said, so public holidays are not known."
        )
    for column, what in (
        ("opening_hours", "opening hours that are known"),
        ("cost", "price that is known for the party"),
        ("drive_min", "drive to them that is known"),
        ("criterion_rating", "rating"),
    ):
        values = ranking[column]
        gone = int((values.isna() | (values.astype("str") == "")).sum())
        if gone:
            found.append(f"{gone} of the {len(ranking)} places have no {what}.")
    parking = int((~chosen["parking_known"].astype(bool)).sum())
    if parking:
        found.append(f"Parking is not priced for {parking} of the planned outings.")
    return tuple(found)
