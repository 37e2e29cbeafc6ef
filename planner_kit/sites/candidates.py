"""Every candidate of a trip weighed: price, fit, criteria, rank."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.sites.amounts import as_number
from planner_kit.sites.fit import check_fit
from planner_kit.sites.house_rules import check_needs
from planner_kit.sites.reach import REACH_COLUMNS
from planner_kit.sites.shortlist import (
    must_have_table,
    rank_sites,
    removed_by,
    site_criteria,
    site_weights,
    what_each_removed,
)
from planner_kit.sites.surroundings import stays_before
from planner_kit.sites.tariff import price_sum, site_price
from planner_kit.sites.terms import check_terms
from planner_kit.sites.weighing import beaten_by, group_ranking, weight_margins
from planner_kit.states import Check, State, worst_state

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner_kit.pitch import MainsUse
    from planner_kit.sites.surroundings import Surroundings
    from planner_kit.sites.tariff_rules import TariffRules
    from planner_kit.trip.reading import TripInputs
    from planner_kit.trip.trip import Trip


@dataclass(frozen=True)
class Weighed:
    """The candidates of a trip, weighed.

    Attributes
    ----------
    shortlist : DataFrame, sorted best first
        See `planner_kit.sites.report.SitesReport`.
    criteria : DataFrame, indexed by site id
        See `planner_kit.sites.site_criteria`.
    removed : Series of str, indexed by site id
        See `planner_kit.sites.removed_by`.
    unknowns : tuple of str
    must_haves, offers, margins, people : DataFrame, and DataFrame or None
        See `planner_kit.sites.report.SitesReport`.
    """

    shortlist: pd.DataFrame
    criteria: pd.DataFrame
    removed: pd.Series
    unknowns: tuple[str, ...]
    must_haves: pd.DataFrame
    offers: pd.DataFrame
    margins: pd.DataFrame
    people: pd.DataFrame | None


def weighed_candidates(
    inputs: TripInputs,
    candidates: pd.DataFrame,
    seasons: pd.DataFrame,
    drive_min: pd.Series,
    reach: pd.DataFrame | None,
    around: Surroundings | None,
    rules: TariffRules | None,
    others: Sequence[Trip],
    rates: Mapping[str, float] | None = None,
    use: MainsUse | None = None,
) -> Weighed:
    """Every candidate ranked for the trip's longest stay, and what the must-haves removed.

    Prices in another currency are weighed at its rate; one without a rate has an unknown price. A
    price holds what the site's meter would count, by `use`; where that is not known, neither is
    the price.
    """
    trip, household = inputs.trip, inputs.household
    stay, (arrive, leave) = max(
        zip(trip.stays, trip.stay_dates(), strict=True), key=lambda pair: pair[0].nights
    )
    if reach is None:
        unknown = (
            math.nan,
            math.nan,
            State.UNKNOWN.value,
            "The tow to the site was not looked at.",
        )
        reach = pd.DataFrame(
            [unknown] * len(candidates), columns=list(REACH_COLUMNS), index=candidates.index
        )
    rows: list[dict[str, object]] = []
    unmetered: list[str] = []
    for (_, site), way in zip(candidates.iterrows(), reach["reach"], strict=True):
        lines = site_price(
            site, seasons, arrive, stay.nights, household, trip.party,
            hookup=stay.hookup, awning=stay.awning, rules=rules, use=use,
        )  # fmt: skip
        counted = lines[lines["part"] == "kwh"]
        dark = counted[counted["amount"].isna()]
        unmetered += [f"{site['name']}: price not known, {what}." for what in dark["what"]]
        checks = check_fit(site, household, arrive, leave, hookup=stay.hookup, awning=stay.awning)
        needs = check_needs(site, household, arrive, party=trip.party, hookup=stay.hookup)
        terms = check_terms(site, rules, household, arrive, stay.nights)
        # What is merely worth a look says nothing about whether it fits; a site's ways neither.
        checks += tuple(need for need in needs if need.state is not State.LOOK)
        checks += terms
        pitch, longest, season = checks[:3]
        rows.append(
            {
                "price": as_number(price_sum(lines).total),
                "metered": float(counted["amount"].sum(skipna=False)),
                "fit": worst_state((State(way), *(check.state for check in checks))).value,
                "reached": _as_flag(State(way)),
                "fits": _as_flag(worst_state((pitch.state, longest.state))),
                "open": _as_flag(season.state),
                "room_m": _room_m(pitch),
            }
        )
    facts = pd.DataFrame(rows, index=candidates.index)
    own_money = trip.budget.currency or household.units.currency
    worth = candidates["currency"].map({**(rates or {}), own_money: 1.0}).astype(float)
    facts["price_own"] = (facts["price"] * worth).round(2)
    criteria = site_criteria(
        candidates,
        price_per_night=facts["price_own"] / stay.nights,
        drive_min=drive_min.reindex(candidates.index),
        room_m=facts["room_m"],
        tow_stress_min=reach["stress_min"].reindex(candidates.index),
        approach=reach["reach"].reindex(candidates.index),
        outing_min=None if around is None else around.outing_min.reindex(candidates.index),
        signals=None if around is None else around.signals.reindex(candidates.index),
        been=stays_before(candidates, others, trip.start),
    )
    where, wishes = str(inputs.household_path), household.preferences
    table = must_have_table(
        candidates, reach=facts["reached"], fits=facts["fits"], is_open=facts["open"]
    )
    removed = removed_by(table, wishes.site_must_haves, where)
    weights = site_weights(wishes.sites, where)
    ranking = rank_sites(criteria, weights, removed)
    shortlist = candidates[["name", "lat", "lon", "currency"]].join(
        facts[["price", "price_own", "metered", "fit"]]
    )
    shortlist["drive_min"] = drive_min.reindex(candidates.index)
    shortlist = shortlist.join(reach)
    shortlist["beaten_by"] = beaten_by(criteria)
    shortlist = shortlist.loc[ranking.index].join(ranking)
    shortlist.insert(0, "site_id", shortlist.index)
    counts = what_each_removed(table, wishes.site_must_haves)
    lost = shortlist[shortlist["reach"] == State.NOT_FINE.value]
    shut = [
        f"{name} cannot be towed to: {why}"
        for name, why in zip(lost["name"], lost["reach_why"], strict=True)
    ]
    said = tuple(
        f"Must-have '{row['must_have']}' removes {row['removed']} of {len(table)} candidates, "
        f"{row['not_known']} of them because it is not known."
        for row in counts.to_dict("records")
        if row["not_known"]
    )
    sets = {
        name: site_weights(own, where, f"sites_by_person > {name}")
        for name, own in wishes.sites_by_person.items()
    }
    return Weighed(
        shortlist=shortlist.reset_index(drop=True),
        criteria=criteria,
        removed=removed,
        unknowns=(*shut, *said, *unmetered),
        must_haves=counts,
        offers=table,
        margins=weight_margins(criteria, weights, removed),
        people=group_ranking(criteria, sets, removed) if sets else None,
    )


def _as_flag(state: State) -> float:
    return {State.NOT_FINE: 0.0, State.UNKNOWN: math.nan}.get(state, 1.0)


def _room_m(pitch: Check) -> float:
    if pitch.state is State.FINE:
        return math.nan if pitch.margin is None else pitch.margin
    return math.nan if pitch.state is State.UNKNOWN else 0.0
