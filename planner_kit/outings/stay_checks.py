"""What the planned outings of a stay are checked for, and what is not known of them."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.outings.place_words import named, plain_name
from planner_kit.outings.scoring import access_words
from planner_kit.outings.stay_table import stay_limits
from planner_kit.region.opening import can_be_read
from planner_kit.states import Check, State
from planner_kit.trip import display

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd

    from planner_kit.outings.stay_rides import StayRide
    from planner_kit.region import Region
    from planner_kit.region.opening import DayHours
    from planner_kit.trip.household import Household, Person, Units
    from planner_kit.trip.reading import TripInputs
    from planner_kit.trip.trip import Trip


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
    sentence = (
        f"the planned outings cost {total:.2f} {currency} at list prices, and the budget is "
        f"{budget:.2f} {currency}"
    )
    if missing and state is State.FINE:
        state = State.UNKNOWN
        sentence += f"; the price in {currency} of {missing} more is not known"
    return [
        Check(
            "outings budget", state, f"{sentence}.", total, budget, currency, budget - total,
            rule="the trip's budget, shared out by nights", source="trip file", basis="computed",
        )
    ]  # fmt: skip


def membership_checks(worth: pd.DataFrame, currency: str = "") -> list[Check]:
    """What each membership that helps saves, over the trips of its year."""
    return [
        Check(
            f"membership {row['name']}", State.FINE, row["sentence"], float(row["saved"]),
            unit=currency,
            source="entry prices of the list of attractions",
        )
        for row in worth.to_dict("records")
        if row["visits"]
    ]  # fmt: skip


def pin_checks(
    trip: Trip,
    ranking: pd.DataFrame,
    left_out: pd.DataFrame,
    arrive: dt.date,
    leave: dt.date,
) -> list[Check]:
    """Pins of the trip file that name no known place, no day of the trip, or do not fit."""
    checks = []
    for name, day in trip.outings.pinned.items():
        subject = f"pinned {name}"
        if not trip.start <= day <= trip.end:
            why = f"{name} is pinned to {day}, which is no day of this trip."
            checks.append(Check(subject, State.NOT_FINE, why))
        elif not named(ranking, (name,)).any():
            why = (
                f"'{name}' is pinned to {day} and is neither in the list nor on the map near here."
            )
            state = State.LOOK if len(trip.stays) > 1 else State.NOT_FINE
            checks.append(Check(subject, state, why))
        elif arrive <= day <= leave:
            ids = ranking.loc[named(ranking, (name,)), "attraction_id"]
            for why in left_out.loc[left_out["attraction_id"].isin(ids), "why"]:
                sentence = f"{name} is left out although it is pinned: {why}."
                checks.append(Check(subject, State.NOT_FINE, sentence))
    return checks


def access_checks(
    household: Household, people: Sequence[Person], chosen: pd.DataFrame
) -> list[Check]:
    """Whether dogs and those who need it step-free can come to the planned places."""
    wishes = []
    if household.dogs:
        dogs = " and ".join(dog.name for dog in household.dogs)
        wishes.append(("dogs", f"{dogs} may come", f"{dogs} may not come"))
    walkers = [person.name for person in people if person.step_free]
    if walkers:
        who = " and ".join(walkers)
        wishes.append(("wheelchair", f"{who} gets in without steps", f"{who} meets steps"))
    checks = []
    for fact, yes, no in wishes:
        worth = [access_words(fact).get(str(w).strip().casefold()) for w in chosen[fact]]
        barred = [str(n) for n, one in zip(chosen["name"], worth, strict=True) if one == 0]
        partly = [str(n) for n, one in zip(chosen["name"], worth, strict=True) if one == 0.5]
        unsure = [str(n) for n, one in zip(chosen["name"], worth, strict=True) if one is None]
        subject = "dogs on the days out" if fact == "dogs" else "step-free days out"
        parts = [f"{no} at {', '.join(barred)}"] if barred else []
        parts += [f"only in part at {', '.join(partly)}"] if partly else []
        parts += [f"it is not known of {', '.join(unsure)}: ask before you go"] if unsure else []
        state = State.LOOK if barred or partly else State.UNKNOWN if unsure else State.FINE
        if len(chosen):
            sentence = "; ".join(parts) if parts else f"{yes} at every planned place"
            checks.append(
                Check(subject, state, f"{sentence[:1].upper()}{sentence[1:]}.",
                      source="list of attractions and OpenStreetMap tags")
            )  # fmt: skip
    return checks


def light_checks(planned: pd.DataFrame, light: pd.DataFrame) -> list[Check]:
    """Whether the party is back at the pitch in daylight on each day out."""
    if planned.empty:
        return []
    back = planned.groupby("day", sort=True)["end"].max()
    sun = light.set_index("day").reindex(back.index)
    late = sun["sunset"].notna() & (back > sun["sunset"])
    dark = sun["dusk"].notna() & (back > sun["dusk"])
    unsure = sun["sunset"].isna()
    subject, source = "light for the way home", "position of the sun, level horizon"
    if late.any():
        told = [
            f"{day:%a} {day.day} {day:%b} back at {back[day]:%H:%M}, "
            + (f"dark from {sun['dusk'][day]:%H:%M}" if dark[day]
               else f"in twilight after {sun['sunset'][day]:%H:%M}")
            for day in back.index[late.to_numpy()]
        ]  # fmt: skip
        sentence = f"The way home is not in daylight: {'; '.join(told)}."
        return [Check(subject, State.LOOK, sentence, source=source)]
    if unsure.any():
        sentence = "On some days the sun does not rise or set here: no sunset can be told."
        return [Check(subject, State.UNKNOWN, sentence, source=source)]
    spare = (sun["sunset"] - back).min().total_seconds() / 60
    sentence = (
        f"The party is back at least {display.duration(spare)} before sunset on every day out."
    )
    return [Check(subject, State.FINE, sentence, float(spare), unit="min", source=source)]


def _start(ride: StayRide, units: Units) -> str:
    if ride.at_pitch:
        return "starts at the pitch"
    return f"starts {display.distance(ride.start_away_km, units)} from the pitch"


def ride_checks(rides: Sequence[StayRide], units: Units, *, child: bool) -> list[Check]:
    """The rides and walks in a sentence each; one that is hard is to look at where children come.

    Parameters
    ----------
    rides : sequence of StayRide
    units : Units
        How the household reads distances.
    child : bool
    """
    checks = []
    for ride in rides:
        climb = "climb not known" if np.isnan(ride.climb_m) else f"{ride.climb_m:.0f} m up"
        how = "by bicycle" if ride.mode == "bike" else "on foot"
        sentence = (
            f"{display.distance(ride.length_km, units)} {how}, {climb}, about "
            f"{display.duration(ride.time_min)}; {ride.difficulty} for children ({ride.why}); "
            f"{_start(ride, units)}."
        )
        state = State.UNKNOWN if np.isnan(ride.climb_m) else State.FINE
        if child and ride.difficulty == "hard":
            state = State.LOOK
        elif ride.difficulty == "unknown":
            state = State.UNKNOWN
        source = f"{ride.file} (GPX)" if ride.file else "OpenStreetMap ways"
        checks.append(
            Check(f"ride {ride.name}", state, sentence, ride.length_km, unit="km", source=source)
        )
    return checks


def unreadable_hours(places: pd.DataFrame) -> str:
    """A sentence about the opening hours that cannot be read; empty where all can."""
    texts = places["opening_hours"].astype("str")
    readable = {text: can_be_read(text) for text in texts.unique()}
    bad = places.loc[(texts != "") & ~texts.map(readable), ["name", "opening_hours"]]
    if bad.empty:
        return ""
    told = [f"{name} ('{text[:60]}')" for name, text in bad.head(5).itertuples(index=False)]
    more = f" and {len(bad) - 5} more" if len(bad) > 5 else ""
    return (
        f"The opening hours of {', '.join(told)}{more} cannot be read and count as not known; "
        "write them such as Mo-Sa 10:00-17:00; Su off."
    )


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
    unread = unreadable_hours(ranking)
    if unread:
        found.append(unread)
    parking = int((~chosen["parking_known"].astype(bool)).sum())
    if parking:
        found.append(f"Parking is not priced for {parking} of the planned outings.")
    return tuple(found)
