"""The pitch of a stay: signals and utilities in one report."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner_kit.pitch.gas import check_gas, gas_of_trip
from planner_kit.pitch.report import PitchReport
from planner_kit.pitch.stay_signals import absent_phones, stay_signals
from planner_kit.pitch.utilities import stay_utilities
from planner_kit.states import State

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    import pandas as pd

    from planner_kit.region import Region
    from planner_kit.trip.household import Caravan
    from planner_kit.trip.reading import TripInputs
    from planner_kit.trip.trip import Stay


def plan_pitch(
    inputs: TripInputs,
    region: Region,
    site: pd.Series,
    arrive: dt.date,
    leave: dt.date,
    *,
    masts: pd.DataFrame,
    prices: pd.DataFrame,
    stay: Stay,
    readings: pd.DataFrame | None = None,
    drive_h: float | None = None,
    kwh_in_tariff: bool = False,
) -> PitchReport:
    """Signals and utilities of one stay.

    Parameters
    ----------
    inputs : TripInputs
    region : Region
        Its terrain, places, country and time zone are read; any may be missing.
    site : Series
        A row of the site list, named by its site_id.
    arrive, leave : date
    masts : DataFrame
        As `planner_kit.pitch.masts.read_masts` returns it.
    prices : DataFrame
        As `planner_kit.trip.prices.read_prices` returns it.
    stay : Stay
    readings : DataFrame, optional
        Signal readings of earlier stays, as `planner_kit.pitch.stay_signals.site_readings` gives.
    drive_h : float, optional
        Hours of towing that lead to the stay. [h]
    kwh_in_tariff : bool
        Whether the site's tariff has a price for the kilowatt-hour.

    Returns
    -------
    report : PitchReport
    """
    signals = stay_signals(
        inputs.household, region, site, arrive, masts, readings=readings, look_around=True
    )
    utilities = stay_utilities(
        inputs, region, site, arrive, leave,
        prices=prices, stay=stay, drive_h=drive_h, kwh_in_tariff=kwh_in_tariff,
    )  # fmt: skip
    heard = (*signals.checks, *absent_phones(inputs.household))
    unheard = [f"{c.subject}: {c.sentence}" for c in heard if c.state is State.UNKNOWN]
    return PitchReport(
        site_id=str(site.name),
        signals=signals.survey.table,
        stay_signals=signals,
        checks=(*utilities.checks, *heard),
        to_bring=utilities.to_bring,
        cost_lines=utilities.cost_lines,
        cautions=utilities.cautions,
        unknowns=tuple(dict.fromkeys([*utilities.unknowns, *unheard])),
        warnings=utilities.warnings,
        utilities=utilities,
        site_name=str(site.get("name") or ""),
        units=inputs.household.units,
    )


def with_trip_gas(reports: Sequence[PitchReport], caravan: Caravan) -> tuple[PitchReport, ...]:
    """The reports of a trip's stays; the first also says whether the gas lasts for all of them.

    Parameters
    ----------
    reports : sequence of PitchReport
        In the order of the stays.
    caravan : Caravan

    Returns
    -------
    reports : tuple of PitchReport
        Unchanged for a trip of one stay.
    """
    needs = [report.utilities.gas for report in reports if report.utilities is not None]
    if len(needs) < 2:
        return tuple(reports)
    check = check_gas(caravan, gas_of_trip(needs), subject=f"gas for all {len(needs)} stays")
    first, told = reports[0], f"{check.subject}: {check.sentence}"
    more = replace(
        first,
        checks=(*first.checks, check),
        warnings=(*first.warnings, *([_capital(told)] if check.state is State.NOT_FINE else [])),
        unknowns=(*first.unknowns, *([told] if check.state is State.UNKNOWN else [])),
    )
    return (more, *reports[1:])


def _capital(words: str) -> str:
    return words[0].upper() + words[1:]
