"""All the stages in order: from the files of a trip to everything that is known about it.

It stands after `trip_files` and before `pack` in the order of imports.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from planner_kit.costs import cost_trip
from planner_kit.kept import input_hash, kept_or_made
from planner_kit.outfit import check_outfit, not_needed_lines, outfit_of, with_law_of
from planner_kit.outings import plan_outings, with_memberships
from planner_kit.pitch import mains_use, plan_pitch, site_readings, with_trip_gas
from planner_kit.sites import (
    plan_sites,
    site_of,
)
from planner_kit.tow import countries_crossed, plan_tow

if TYPE_CHECKING:
    import pandas as pd

    from planner_kit.costs.report import TripCost
    from planner_kit.outfit.report import OutfitReport
    from planner_kit.outings.report import OutingsReport
    from planner_kit.pitch.report import PitchReport
    from planner_kit.sites.report import SitesReport
    from planner_kit.tow.leg import TowReport
    from planner_kit.trip.learnt import Learnt
    from planner_kit.trip.money import CostLine
    from planner_kit.trip.trip import SignalReading, Stay
    from planner_kit.trip_files import TripFiles

Progress = Callable[[str], None]


@dataclass(frozen=True)
class TripPlan:
    """Everything that the stages found for a trip."""

    files: TripFiles
    planned_on: dt.date
    outfit: OutfitReport
    tow: TowReport
    pitches: tuple[PitchReport, ...]
    outings: tuple[OutingsReport, ...]
    sites: SitesReport
    cost: TripCost


def outfit_stage(files: TripFiles, *, planned_on: dt.date) -> OutfitReport:
    """Whether car and caravan are matched, legal and within their plates.

    The law is that of the region's countries; `law_stage` knows which ones the tow crosses.
    """
    inputs = files.inputs
    household, day = inputs.household, inputs.trip.start
    outfit = outfit_of(household, items=files.items, on=day, party=inputs.trip.party)
    countries = sorted(files.region.countries)
    report = check_outfit(
        household,
        outfit,
        items=files.items,
        measured_with=files.measured_with,
        countries=countries,
        on=day,
        party=inputs.trip.party,
    )
    if files.items is None:
        return report
    return replace(report, not_needed=not_needed_lines(files.items, inputs.learnt))


def tow_stage(files: TripFiles, outfit: OutfitReport) -> TowReport:
    """The tow out, between the sites and home."""
    return kept_or_made(
        "tow",
        _hash_of(files, "sites", "site_matches", "tolls", "prices", "items"),
        lambda: plan_tow(
            files.inputs,
            files.region,
            outfit.outfit,
            files.sites,
            tolls=files.tolls,
            prices=files.prices,
        ),
    )


def law_stage(files: TripFiles, outfit: OutfitReport, tow: TowReport) -> OutfitReport:
    """The outfit's checks with the law of the countries whose roads the tow uses."""
    trip = files.inputs.trip
    return with_law_of(
        outfit,
        files.inputs.household,
        countries=countries_crossed(tow, files.region),
        on=trip.start,
        party=trip.party,
    )


def pitch_stage(
    files: TripFiles, *, tow: TowReport | None = None, readings: Sequence[SignalReading] = ()
) -> tuple[PitchReport, ...]:
    """Signals and utilities of each stay's pitch.

    `readings` of earlier trips correct signals; the hours of `tow` charge the caravan's battery.
    """
    inputs = _hash_of(files, "sites", "site_matches", "masts", "prices", "items", "tariffs")
    hours = hours_towed(tow)
    told = f"{inputs} {list(readings)!r} {hours}"
    return kept_or_made("pitch", told, lambda: _pitches(files, readings, hours))


def hours_towed(tow: TowReport | None) -> tuple[float, ...]:
    """Hours of towing that lead to each stay, and home; empty without a tow."""
    return () if tow is None else tuple(leg.route.time_min / 60 for leg in tow.legs)


def kwh_in_tariff(files: TripFiles, stay: Stay) -> bool:
    """Whether the tariff of a stay's site has a price for the kilowatt-hour."""
    return any(rule["rule"] == "kwh" for rule in files.rules.of_site(stay.site))


def _pitches(
    files: TripFiles, readings: Sequence[SignalReading], hours: tuple[float, ...]
) -> tuple[PitchReport, ...]:
    read = site_readings(readings, files.sites, files.masts, files.region) if readings else None
    found = [
        plan_pitch(
            files.inputs,
            files.region,
            _site_of(files, stay),
            arrive,
            leave,
            masts=files.masts,
            prices=files.prices,
            stay=stay,
            readings=read,
            drive_h=hours[number] if number < len(hours) else None,
            kwh_in_tariff=kwh_in_tariff(files, stay),
        )
        for number, (stay, (arrive, leave)) in enumerate(_stays(files))
    ]
    return with_trip_gas(found, files.inputs.household.caravan)


def outings_stage(files: TripFiles, *, visited: tuple[str, ...] = ()) -> tuple[OutingsReport, ...]:
    """The days out from each stay; `visited` are places that earlier trips went to."""
    rides = [what for what in files.paths if what.startswith("ride ")]
    lists = ("sites", "site_matches", "attractions", "prices", "school_holidays")
    inputs = _hash_of(files, *lists, *rides)
    others = [trip.model_dump_json() for trip in files.others]  # memberships are for all of them
    asked = f"{inputs} {sorted(visited)} {others}"
    return kept_or_made("outings", asked, lambda: _outings(files, visited))


def _outings(files: TripFiles, visited: tuple[str, ...]) -> tuple[OutingsReport, ...]:
    reports = tuple(
        plan_outings(
            files.inputs,
            files.region,
            _site_of(files, stay),
            arrive,
            leave,
            attractions=files.attractions,
            prices=files.prices,
            rides=files.rides,
            visited=visited,
        )
        for stay, (arrive, leave) in _stays(files)
    )
    return with_memberships(
        reports, files.inputs, files.region, files.sites, files.attractions, files.others
    )


def sites_stage(
    files: TripFiles,
    tow: TowReport,
    pitches: tuple[PitchReport, ...],
    outings: tuple[OutingsReport, ...],
    *,
    planned_on: dt.date,
    outfit: OutfitReport | None = None,
) -> SitesReport:
    """Prices, fit, shortlist, bookings and deadlines."""
    return plan_sites(
        files.inputs,
        files.region,
        files.sites,
        files.seasons,
        tow=tow,
        planned_on=planned_on,
        pitches=pitches,
        outings=outings,
        outfit=None if outfit is None else outfit.outfit,
        rules=files.rules,
        masts=files.masts,
        others=files.others,
        rates={code: rate.rate for code, rate in files.rates.items()},
        use=mains_use(files.inputs, files.prices),
    )


def cost_stage(
    files: TripFiles,
    tow: TowReport,
    pitches: tuple[PitchReport, ...],
    outings: tuple[OutingsReport, ...],
    sites: SitesReport,
    *,
    planned_on: dt.date,
) -> TripCost:
    """The money of the whole trip."""
    lines: list[CostLine] = [*tow.cost_lines, *sites.cost_lines]
    for pitch in pitches:
        lines.extend(pitch.cost_lines)
    for days_out in outings:
        lines.extend(days_out.cost_lines)
    as_spent = [_as_spent(line, files.inputs.learnt) for line in lines]
    return cost_trip(files.inputs, as_spent, planned_on=planned_on, rates=files.rates)


def plan_trip(
    files: TripFiles,
    *,
    planned_on: dt.date,
    visited: tuple[str, ...] = (),
    progress: Progress | None = None,
) -> TripPlan:
    """Run every stage.

    Parameters
    ----------
    files : TripFiles
    planned_on : date
        The day from which deadlines are counted; the same day gives the same plan.
    visited : tuple of str
        Attractions that earlier trips went to.
    progress : callable, optional
        Told the name of each stage as it begins.

    Returns
    -------
    plan : TripPlan

    Raises
    ------
    PlannerKitError
        If a stage cannot do its work with what the files say.
    """
    tell = progress or (lambda stage: None)
    tell("outfit")
    outfit = outfit_stage(files, planned_on=planned_on)
    tell("tow")
    tow = tow_stage(files, outfit)
    outfit = law_stage(files, outfit, tow)
    tell("pitch")
    pitches = pitch_stage(files, tow=tow)
    tell("outings")
    outings = outings_stage(files, visited=visited)
    tell("sites")
    sites = sites_stage(files, tow, pitches, outings, planned_on=planned_on, outfit=outfit)
    tell("costs")
    cost = cost_stage(files, tow, pitches, outings, sites, planned_on=planned_on)
    return TripPlan(files, planned_on, outfit, tow, pitches, outings, sites, cost)


def _hash_of(files: TripFiles, *lists: str) -> str:
    """A hash of the trip, the household, the region and the named lists."""
    inputs = files.inputs
    told = {"name", "notes", "actuals", "deadlines_from", "may_move_days"}  # used by no stage kept
    manifest = files.region.folder / "manifest.json"
    read = [files.paths[what] for what in lists if what in files.paths]
    return input_hash(
        inputs.trip.model_dump_json(exclude=told),
        inputs.household.model_dump_json(),
        inputs.learnt,
        files.region.folder.resolve(),
        [what for what in lists if what in files.paths],
        files=[manifest, *read],
    )


def _site_of(files: TripFiles, stay: Stay) -> pd.Series:
    """The row of a stay's site."""
    return site_of(files.sites, stay.site, str(files.inputs.trip_path))


def _as_spent(line: CostLine, learnt: Learnt | None) -> CostLine:
    """A guessed line of cost, moved by what earlier trips spent on its kind."""
    if learnt is None or line.likely is None or not learnt.scales(line.kind):
        return line
    if line.state != "expected":
        return line
    taught = learnt.spending[line.kind]
    low, high = line.low, line.high
    trips = "an earlier trip" if taught.trips == 1 else f"{taught.trips} earlier trips"
    return replace(
        line,
        low=None if low is None else low * taught.value,
        likely=line.likely * taught.value,
        high=None if high is None else high * taught.value,
        source=f"{line.source}; times {taught.value:.2f}, as {trips} spent on such things",
    )


def _stays(files: TripFiles) -> list[tuple[Stay, tuple[dt.date, dt.date]]]:
    trip = files.inputs.trip
    return list(zip(trip.stays, trip.stay_dates(), strict=True))
