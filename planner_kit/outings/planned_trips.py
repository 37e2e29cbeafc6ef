"""The visits of the household's other trips, so that a membership is judged over its year."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.errors import PlannerKitError
from planner_kit.outings.membership import (
    VISIT_COLUMNS,
    opens_attractions,
    trips_worth,
    worth_by_composition,
    year_of,
)
from planner_kit.outings.place_words import named
from planner_kit.outings.programme import (
    plan_stay_days,
    planned_rows,
    stay_setting,
    visits_of,
)
from planner_kit.outings.scoring import outing_weights, rank_attractions
from planner_kit.outings.stay_checks import membership_checks
from planner_kit.outings.stay_table import stay_criteria

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.outings.report import OutingsReport
    from planner_kit.region import Region
    from planner_kit.trip.reading import TripInputs
    from planner_kit.trip.trip import Trip


def with_memberships(
    reports: Sequence[OutingsReport],
    inputs: TripInputs,
    region: Region,
    sites: pd.DataFrame,
    attractions: pd.DataFrame,
    others: Sequence[Trip] = (),
) -> tuple[OutingsReport, ...]:
    """The reports of a trip's stays, the first with what memberships are worth over their year.

    Parameters
    ----------
    reports : sequence of OutingsReport
        In the order of the stays.
    inputs, region, sites, attractions, others
        See `other_visits`.

    Returns
    -------
    reports : tuple of OutingsReport
        The same where the household has no membership for attractions.
    """
    household, trip = inputs.household, inputs.trip
    if not reports or not opens_attractions(household):
        return tuple(reports)
    elsewhere, missing = other_visits(inputs, region, sites, attractions, others)
    here = [report.visits for report in reports if len(report.visits)]
    visits = pd.concat([*here, elsewhere], ignore_index=True) if here else elsewhere
    worth = trips_worth(visits, household, trip.start, party=trip.party)
    first = replace(
        reports[0],
        checks=(*reports[0].checks, *membership_checks(worth, household.units.currency)),
        unknowns=(*reports[0].unknowns, *missing),
        memberships=worth,
        by_composition=worth_by_composition(visits, household, trip.start),
    )
    return (first, *reports[1:])


def other_visits(
    inputs: TripInputs,
    region: Region,
    sites: pd.DataFrame,
    attractions: pd.DataFrame,
    others: Sequence[Trip],
) -> tuple[pd.DataFrame, tuple[str, ...]]:
    """What the other trips in a membership's year visit, or did visit.

    Parameters
    ----------
    inputs : TripInputs
        This trip, which says which year is meant.
    region : Region
    sites : DataFrame
        Indexed by site_id.
    attractions : DataFrame
        From `read_attractions`.
    others : sequence of Trip

    Returns
    -------
    visits : DataFrame
        The columns of `planner_kit.outings.membership.VISIT_COLUMNS`. A trip that is over counts
        with what was visited, one to come with a plan of its days.
    unknowns : tuple of str
        A sentence for each trip that could not be planned.
    """
    years = [year_of(one, inputs.trip.start) for one in opens_attractions(inputs.household)]
    parts = [pd.DataFrame(columns=list(VISIT_COLUMNS))]
    unknowns = []
    for trip in others:
        if not any(first <= trip.start <= last for first, last in years):
            continue
        try:
            parts.append(_visits(replace(inputs, trip=trip), region, sites, attractions))
        except (PlannerKitError, KeyError) as error:
            why = f"it names the site {error}, which is not in the list" \
                if isinstance(error, KeyError) else str(error)  # fmt: skip
            unknowns.append(f"What memberships save on {trip.name} is not known: {why}.")
    filled = [part for part in parts if len(part)] or parts[:1]
    return pd.concat(filled, ignore_index=True), tuple(unknowns)


def _visits(
    inputs: TripInputs, region: Region, sites: pd.DataFrame, attractions: pd.DataFrame
) -> pd.DataFrame:
    trip = inputs.trip
    parts = []
    for stay, (arrive, leave) in zip(trip.stays, trip.stay_dates(), strict=True):
        site: pd.Series = sites.loc[stay.site]  # type: ignore[assignment]
        table = stay_criteria(inputs, region, site, arrive, leave, attractions=attractions)
        if trip.actuals is not None:
            been = table[named(table, trip.actuals.visited)]
            planned = pd.DataFrame({"day": [arrive] * len(been)})
            parts.append(visits_of(trip.name, been, planned))
            continue
        ranking = rank_attractions(table, outing_weights(inputs.household))
        setting = stay_setting(inputs, region, site, arrive, leave, ranking=ranking)
        plan = plan_stay_days(setting, ranking, explain=())
        planned = plan.days[plan.days["what"] == "outing"]
        parts.append(visits_of(trip.name, planned_rows(ranking, planned), planned))
    visits: pd.DataFrame = pd.concat(parts, ignore_index=True)
    return visits[~visits["attraction_id"].duplicated()].reset_index(drop=True)
