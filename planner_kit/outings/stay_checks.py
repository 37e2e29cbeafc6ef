"""What the planned outings of a stay are checked for, and what is not known of them."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.outings.place_words import named, plain_name
from planner_kit.outings.rides import read_rides
from planner_kit.outings.stay_table import stay_limits
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

    import pandas as pd

    from planner_kit.region import Region
    from planner_kit.region.opening import DayHours
    from planner_kit.trip.reading import TripInputs


def must_checks(
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


def hours_checks(chosen: pd.DataFrame, hours: Mapping[str, tuple[DayHours, ...]]) -> list[Check]:
    """Planned places whose hours are not sure."""
    checks = []
    for key, name in zip(chosen["attraction_id"], chosen["name"], strict=True):
        notes = [one.note for one in hours[key] if one.state == "unknown"]
        if notes:
            why = f"when {name} is open is not sure ({notes[0] or 'not said'}): ask before you go."
            checks.append(Check(f"opening of {name}", State.UNKNOWN, why))
    return checks


def money_checks(
    inputs: TripInputs, chosen: pd.DataFrame, arrive: dt.date, leave: dt.date
) -> list[Check]:
    """Entry against the budget of the stay."""
    budget = stay_limits(inputs, arrive, leave).budget
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


def membership_checks(savings: pd.DataFrame) -> list[Check]:
    """What each membership that helps saves."""
    return [
        Check(
            f"membership {row['name']}", State.FINE, row["sentence"], float(row["saved"]),
            source="entry prices of the list of attractions",
        )
        for row in savings.to_dict("records")
        if row["visits"]
    ]  # fmt: skip


def ride_checks(rides: Sequence[Path], near: tuple[float, float]) -> list[Check]:
    """The household's GPX rides in a sentence each."""
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


def unknowns(
    ranking: pd.DataFrame, chosen: pd.DataFrame, days: Sequence[dt.date], region: Region
) -> tuple[str, ...]:
    """What is not known of the stay and its places."""
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
