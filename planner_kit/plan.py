"""All the stages in order: from the files of a trip to everything that is known about it.

It stands after `costs` and before `pack` in the order of imports.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, cast

from planner_kit.costs import ExchangeRate, cost_trip, read_rates
from planner_kit.errors import PlanFileError, nearest_name
from planner_kit.kept import input_hash, kept_or_made
from planner_kit.outfit import check_outfit, outfit_of, read_items, with_law_of
from planner_kit.outings import plan_outings, read_attractions, with_memberships
from planner_kit.pitch import plan_pitch, read_masts, site_readings, with_trip_gas
from planner_kit.region import open_region
from planner_kit.sites import (
    TariffRules,
    gather_sites,
    no_rules,
    other_trips,
    plan_sites,
    read_matches,
    read_school_holidays,
    read_seasons,
    read_sites,
    read_tariffs,
)
from planner_kit.tow import countries_crossed, plan_tow
from planner_kit.trip.moving import moved_trip
from planner_kit.trip.prices import read_prices, read_tolls
from planner_kit.trip.reading import read_inputs, resolve_region

if TYPE_CHECKING:
    import pandas as pd

    from planner_kit.costs.report import TripCost
    from planner_kit.outfit.report import OutfitReport
    from planner_kit.outings.report import OutingsReport
    from planner_kit.pitch.report import PitchReport
    from planner_kit.region import Region
    from planner_kit.sites.gathering import Gathered
    from planner_kit.sites.report import SitesReport
    from planner_kit.tow.leg import TowReport
    from planner_kit.trip.learnt import Learnt
    from planner_kit.trip.money import CostLine
    from planner_kit.trip.reading import TripInputs
    from planner_kit.trip.trip import SignalReading, Stay, Trip

Progress = Callable[[str], None]


@dataclass(frozen=True)
class TripFiles:
    """Everything that was read for a trip before anything is computed.

    Attributes
    ----------
    inputs : TripInputs
    region : Region
    sites, seasons, attractions, masts, tolls, prices : DataFrame
        The household's lists; empty frames with their columns where it keeps none. `sites` holds
        the map's sites too, and the map fills the cells that the household's list leaves empty.
    items : DataFrame or None
        The loading list.
    rides : tuple of Path
        GPX files.
    paths : dict of str to Path
        Every file read, by what it is to the trip ("sites", "household" ...).
    rules : TariffRules
        How the sites charge beyond their price columns.
    rates : dict of str to ExchangeRate
        What other currencies cost, by ISO 4217 code.
    others : tuple of Trip
        The trips whose files lie beside this one's.
    other_faults : tuple of str
        One sentence for each trip file beside it that cannot be used.
    gathered : Gathered or None
        Which site is which place of the map, and where each fact comes from.
    """

    inputs: TripInputs
    region: Region
    sites: pd.DataFrame
    seasons: pd.DataFrame
    attractions: pd.DataFrame
    masts: pd.DataFrame
    tolls: pd.DataFrame
    prices: pd.DataFrame
    items: pd.DataFrame | None
    rides: tuple[Path, ...]
    paths: dict[str, Path]
    rules: TariffRules = field(default_factory=no_rules)
    rates: dict[str, ExchangeRate] = field(default_factory=dict)
    others: tuple[Trip, ...] = ()
    other_faults: tuple[str, ...] = ()
    gathered: Gathered | None = None


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


def read_files(trip_path: Path, *, start: dt.date | None = None) -> TripFiles:
    """Read a trip and all that it names, and check that they agree with each other.

    Parameters
    ----------
    trip_path : Path
        A trip.toml.
    start : date, optional
        New first day; the bookings of the old dates are then not carried over.

    Returns
    -------
    files : TripFiles

    Raises
    ------
    PlanFileError
        If any file cannot be used or names something that is not there.
    """
    inputs = read_inputs(trip_path)
    if start is not None and start != inputs.trip.start:
        inputs = replace(inputs, trip=moved_trip(inputs.trip, start))
    names = inputs.trip.files
    paths = {"trip": trip_path, "household": inputs.household_path}
    for what in (
        "sites", "seasons", "tariffs", "school_holidays", "site_matches", "rates", "attractions",
        "masts", "tolls", "prices",
    ):  # fmt: skip
        name = getattr(names, what)
        if name is not None:
            paths[what] = inputs.path_of(name)
    if inputs.household.loading.items is not None:
        paths["items"] = inputs.path_beside_household(inputs.household.loading.items)
    for number, name in enumerate(names.rides, start=1):
        paths[f"ride {number}"] = inputs.path_of(name)
    paths |= _confirmations(inputs)
    region = open_region(resolve_region(names.region, trip_path))
    others, faults, read = other_trips(trip_path, inputs.trip)
    paths |= {f"other trip {path.name}": path for path in read}
    gathered = gather_sites(
        region, read_sites(paths.get("sites")), read_matches(paths.get("site_matches"))
    )
    currency = inputs.trip.budget.currency or inputs.household.units.currency
    files = TripFiles(
        inputs=inputs,
        region=region,
        sites=gathered.sites,
        seasons=read_seasons(paths.get("seasons")),
        attractions=read_attractions(paths.get("attractions")),
        masts=read_masts(paths.get("masts")),
        tolls=read_tolls(paths.get("tolls")),
        prices=read_prices(paths.get("prices")),
        items=read_items(paths["items"]) if "items" in paths else None,
        rides=tuple(path for what, path in paths.items() if what.startswith("ride ")),
        paths=paths,
        rules=TariffRules(
            read_tariffs(paths.get("tariffs")),
            read_school_holidays(paths.get("school_holidays")),
            region.country,
        ),
        rates=read_rates(paths.get("rates"), currency),
        others=others,
        other_faults=faults,
        gathered=gathered,
    )
    _check_sites_known(files)
    return files


def read_trip_for_record(
    trip_file: str, start: str = "", planned_on: str = ""
) -> tuple[TripFiles, dt.date]:
    """The files of a trip and the day it is planned on, from a template's parameters.

    Parameters
    ----------
    trip_file : str
        Path of a trip.toml.
    start, planned_on : str
        Days as ISO 8601, or empty for the trip file's own first day and for today.

    Returns
    -------
    files : TripFiles
    planned_on : date

    Raises
    ------
    PlanFileError
        If a day is not a date, or a file cannot be used.
    """
    files = read_files(Path(trip_file), start=_day_of("start", start))
    return files, _day_of("planned_on", planned_on) or dt.date.today()


def _day_of(parameter: str, text: str) -> dt.date | None:
    try:
        return dt.date.fromisoformat(text) if text else None
    except ValueError:
        raise PlanFileError(
            f"'{text}' is not a date", f"the parameter {parameter}", "write it as 2027-07-24"
        ) from None


def _check_sites_known(files: TripFiles) -> None:
    trip, known = files.inputs.trip, list(files.sites.index)
    named = [(f"stays > {n} > site", stay.site) for n, stay in enumerate(trip.stays, start=1)]
    named += [("candidates", site) for site in trip.candidates]
    for place, site in named:
        if site not in files.sites.index:
            listed = files.paths.get("sites", "the site list (the trip names none)")
            raise PlanFileError(
                f"the site '{site}' does not exist in {listed}",
                f"{files.inputs.trip_path}, {place}",
                nearest_name(site, known),
            )


def outfit_stage(files: TripFiles, *, planned_on: dt.date) -> OutfitReport:
    """Whether car and caravan are matched, legal and within their plates.

    The law is that of the region's countries; `law_stage` knows which ones the tow crosses.
    """
    inputs = files.inputs
    household, day = inputs.household, inputs.trip.start
    outfit = outfit_of(household, items=files.items, on=day, party=inputs.trip.party)
    countries = sorted(files.region.countries)
    return check_outfit(
        household,
        outfit,
        items=files.items,
        countries=countries,
        on=day,
        party=inputs.trip.party,
    )


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
    hours = tuple(leg.route.time_min / 60 for leg in tow.legs) if tow is not None else ()
    told = f"{inputs} {list(readings)!r} {hours}"
    return kept_or_made("pitch", told, lambda: _pitches(files, readings, hours))


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
            kwh_in_tariff=any(r["rule"] == "kwh" for r in files.rules.of_site(stay.site)),
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


def _site_of(files: TripFiles, stay: Stay) -> pd.Series[Any]:
    """The row of a stay's site."""
    return cast("pd.Series[Any]", files.sites.loc[stay.site])


def _confirmations(inputs: TripInputs) -> dict[str, Path]:
    """The confirmations that lie where the trip says; the folder tells why another is left out."""
    found = {}
    for number, stay in enumerate(inputs.trip.stays, start=1):
        if stay.booking.confirmation:
            try:
                path = inputs.path_of(stay.booking.confirmation)
            except PlanFileError:
                continue
            if path.is_file():
                found[f"confirmation of stay {number}"] = path
    return found


def with_learnt(files: TripFiles, learnt: Learnt) -> TripFiles:
    """The files of a trip with what earlier trips taught, for the stages to use.

    Parameters
    ----------
    files : TripFiles
    learnt : Learnt

    Returns
    -------
    files : TripFiles
        The same where nothing was learnt.
    """
    if not learnt.trips:
        return files
    return replace(files, inputs=replace(files.inputs, learnt=learnt))


def _as_spent(line: CostLine, learnt: Learnt | None) -> CostLine:
    """A guessed line of cost, moved by what earlier trips spent on its kind."""
    if learnt is None or line.likely is None or not learnt.scales(line.kind):
        return line
    if line.state != "expected":
        return line
    taught = learnt.spending[line.kind]
    low, high = line.low, line.high
    return replace(
        line,
        low=None if low is None else low * taught.value,
        likely=line.likely * taught.value,
        high=None if high is None else high * taught.value,
        source=f"{line.source}; times {taught.value:.2f}, learnt from {taught.trips} trip(s)",
    )


def _stays(files: TripFiles) -> list[tuple[Stay, tuple[dt.date, dt.date]]]:
    trip = files.inputs.trip
    return list(zip(trip.stays, trip.stay_dates(), strict=True))
