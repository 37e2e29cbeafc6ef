"""A year across all trips of a planning folder: nights away, deadlines, money by month."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.errors import PlanFileError
from planner_kit.region import open_region
from planner_kit.sites.bookings import booking_cost_lines
from planner_kit.sites.deadlines import deadlines_for
from planner_kit.sites.other_trips import read_trips
from planner_kit.sites.site_list import read_sites
from planner_kit.sites.tariff import PriceSum
from planner_kit.trip.reading import read_inputs

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from planner_kit.trip.household import Household
    from planner_kit.trip.trip import Trip

STAY_COLUMNS = ("trip", "site", "arrive", "leave", "nights", "booking")
DUE_COLUMNS = ("on", "trip", "what", "why", "state", "uid")
MONEY_COLUMNS = ("month", "trip", "what", "amount", "currency", "state")


@dataclass(frozen=True)
class Year:
    """One year of a household's trips.

    Attributes
    ----------
    year : int
    planned_on : date
    household : Household
    stays : DataFrame
        trip, site, arrive, leave, nights, booking: those with a day in the year.
    deadlines : DataFrame
        on, trip, what, why, state (done, to do, late), uid: those due in the year, earliest first.
    money : DataFrame
        month, trip, what, amount, currency, state: what the bookings' dates say goes out.
    faults : tuple of str
        One sentence for each trip file that cannot be used.
    household_path : Path
        The file of the household, beside which its own look of pages lies.
    """

    year: int
    planned_on: dt.date
    household: Household
    stays: pd.DataFrame
    deadlines: pd.DataFrame
    money: pd.DataFrame
    faults: tuple[str, ...]
    household_path: Path


def read_year(folder: Path, planned_on: dt.date, year: int | None = None) -> Year:
    """The year of all trip files of a folder.

    Parameters
    ----------
    folder : Path
        Trip files are those called ``trip*.toml``.
    planned_on : date
        The day on which deadlines are looked at.
    year : int, optional
        That of the next trip to end, else of the last one.

    Returns
    -------
    year : Year

    Raises
    ------
    PlanFileError
        If there is no such folder, or it has no trip file that can be used.
    """
    if not folder.is_dir():
        raise PlanFileError("there is no such folder", str(folder), "check the name")
    trips, faults = read_trips(folder)
    if not trips:
        told = f": {faults[0].removesuffix('.')}" if faults else ""
        raise PlanFileError(
            f"it has no trip file that can be used{told}", str(folder),
            "mend it" if faults else "put a file called trip.toml into it",
        )  # fmt: skip
    ahead = [trip.end.year for trip in trips.values() if trip.end >= planned_on]
    wanted = year or (min(ahead) if ahead else max(trip.end.year for trip in trips.values()))
    stays: list[tuple[object, ...]] = []
    dues: list[pd.DataFrame] = []
    money: list[tuple[object, ...]] = []
    household = household_path = None
    for path, trip in trips.items():
        inputs = read_inputs(path)
        household, household_path = inputs.household, inputs.household_path
        names = trip.files
        sites = read_sites(None if names.sites is None else inputs.path_of(names.sites))
        country = open_region(inputs.path_of(names.region)).country
        called = {str(site_id): str(name) for site_id, name in sites["name"].items()}
        opens = {str(s): int(d) for s, d in sites["opens_days_ahead"].dropna().items()}
        found = deadlines_for(
            trip, called, country=country, planned_on=planned_on, opens_days_ahead=opens
        )
        dues.append(found.assign(trip=trip.name)[list(DUE_COLUMNS)])
        stays += _stays(trip, called)
        money += _money(trip, called, inputs.household.units.currency, planned_on)
    assert household is not None  # there is at least one trip
    assert household_path is not None
    due = pd.concat(dues, ignore_index=True)
    due = due[[day.year == wanted for day in due["on"]]].sort_values("on", kind="stable")
    away = pd.DataFrame(stays, columns=list(STAY_COLUMNS))
    inside = [
        wanted in (a.year, b.year) for a, b in zip(away["arrive"], away["leave"], strict=True)
    ]
    paid = pd.DataFrame(money, columns=list(MONEY_COLUMNS))
    return Year(
        year=wanted,
        planned_on=planned_on,
        household=household,
        stays=away[inside].reset_index(drop=True),
        deadlines=due.reset_index(drop=True),
        money=paid[paid["month"].str.startswith(f"{wanted}-")].reset_index(drop=True),
        faults=faults,
        household_path=household_path,
    )


def _stays(trip: Trip, names: dict[str, str]) -> list[tuple[object, ...]]:
    return [
        (trip.name, names.get(stay.site, stay.site), arrive, leave, stay.nights,
         stay.booking.state)
        for stay, (arrive, leave) in zip(trip.stays, trip.stay_dates(), strict=True)
    ]  # fmt: skip


def _money(
    trip: Trip, names: dict[str, str], currency: str, on: dt.date
) -> Sequence[tuple[object, ...]]:
    """What the bookings say goes out, by its day; a booking without a price says nothing."""
    nothing = PriceSum(None, None, Decimal(0), currency, ())
    rows = []
    for stay, (arrive, _) in zip(trip.stays, trip.stay_dates(), strict=True):
        name = names.get(stay.site, stay.site)
        for line in booking_cost_lines(stay, name, arrive, nothing, "", on):
            if line.likely is not None:
                day = line.on or arrive
                rows.append(
                    (f"{day:%Y-%m}", trip.name, line.what, line.likely, line.currency, line.state)
                )
    return rows


def money_by_month(money: pd.DataFrame) -> pd.DataFrame:
    """Sums of `Year.money`.

    Returns
    -------
    months : DataFrame
        month, currency, paid, to_pay.
    """
    table = money.assign(
        paid=money["amount"].where(money["state"] == "paid", 0.0),
        to_pay=money["amount"].where(money["state"] != "paid", 0.0),
    )
    sums = table.groupby(["month", "currency"], sort=True)[["paid", "to_pay"]].sum()
    return sums.round(2).reset_index()
