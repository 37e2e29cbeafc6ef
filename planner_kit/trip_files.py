"""Everything that is read for a trip before anything is computed.

It stands after `costs` and before `plan` in the order of imports.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from planner_kit.costs import ExchangeRate, read_rates
from planner_kit.errors import PlanFileError, nearest_name
from planner_kit.outfit import read_items, with_not_needed
from planner_kit.outings import read_attractions
from planner_kit.pitch import read_masts
from planner_kit.region import open_region
from planner_kit.sites import (
    TariffRules,
    gather_sites,
    no_rules,
    other_trips,
    read_matches,
    read_school_holidays,
    read_seasons,
    read_sites,
    read_tariffs,
)
from planner_kit.trip.moving import moved_trip
from planner_kit.trip.page_look import page_look_files
from planner_kit.trip.prices import read_prices, read_tolls
from planner_kit.trip.reading import read_inputs, resolve_region

if TYPE_CHECKING:
    import pandas as pd

    from planner_kit.region import Region
    from planner_kit.sites.gathering import Gathered
    from planner_kit.trip.learnt import Learnt
    from planner_kit.trip.reading import TripInputs
    from planner_kit.trip.trip import Trip


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
    measured_with : DataFrame or None
        The loading list that the noseweight was measured with, where the household names another.
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
    measured_with: pd.DataFrame | None = None


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
    if inputs.household.loading.noseweight_measured_with is not None:
        paths["items measured"] = inputs.path_beside_household(
            inputs.household.loading.noseweight_measured_with
        )
    for number, name in enumerate(names.rides, start=1):
        paths[f"ride {number}"] = inputs.path_of(name)
    paths |= page_look_files(inputs.household, inputs.household_path)
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
        measured_with=read_items(paths["items measured"]) if "items measured" in paths else None,
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
        The same where nothing was learnt. In the loading list, what those trips did not need is
        marked as such where the list itself does not say.
    """
    if not learnt.trips:
        return files
    items = None if files.items is None else with_not_needed(files.items, learnt)
    return replace(files, items=items, inputs=replace(files.inputs, learnt=learnt))
