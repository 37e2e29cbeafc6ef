"""What the records teach the next plan."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from planner_kit.diary.credibility import Posterior, shrunk_factors, shrunk_mean
from planner_kit.diary.index import readable_facts
from planner_kit.pitch import signal_bias
from planner_kit.reference import constant
from planner_kit.tow.whereabouts import road_kind
from planner_kit.trip import display
from planner_kit.trip.learnt import GUESSED_KINDS, Estimate, Learnt, NotNeeded

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable
    from pathlib import Path

    from planner_kit.trip.household import Household, Units


def _c(name: str) -> float:
    return float(constant("learning", name))


def learnt_from_records(
    records: str | Path, household: Household, *, before: dt.date | None = None
) -> Learnt:
    """What the records in a folder say about the household.

    Parameters
    ----------
    records : path
        The folder that records are written to; it may be empty or missing.
    household : Household
        Its own figures are what is assumed before any trip.
    before : date, optional
        Only trips that ended before this day count.

    Returns
    -------
    learnt : Learnt
        With nothing in it when no trip was filled in.
    """
    if not str(records):
        return Learnt()
    facts = [each for _, each in readable_facts(records)]
    if before is not None:
        facts = [each for each in facts if str(each["trip"].get("end", "")) < before.isoformat()]
    return learnt_from_facts(facts, household)


def learnt_from_facts(records: Iterable[dict[str, Any]], household: Household) -> Learnt:
    """The same as `learnt_from_records`, from facts that were read already.

    A trip that was recorded more than once counts once, with the record that says most about what
    really happened.
    """
    told = list(_one_for_each_trip(records).values())
    car = household.car
    return Learnt(
        trips=len(told),
        towing_l_per_100km=_consumption(told, "tow", car.towing_l_per_100km),
        solo_l_per_100km=_consumption(told, "solo", car.solo_l_per_100km),
        pace=_pace(told),
        stint_min=_stint(told, household.preferences.drive_stint_min),
        spending=_spending(told),
        signal_db=_signals(told),
        not_needed=_not_needed(told),
    )


def _one_for_each_trip(records: Iterable[dict[str, Any]]) -> dict[tuple[str, str], dict[str, Any]]:
    best: dict[tuple[str, str], dict[str, Any]] = {}
    for facts in records:
        if not facts.get("actuals"):
            continue
        key = (str(facts["trip"]["id"]), str(facts["trip"]["start"]))
        if key not in best or len(str(facts["actuals"])) >= len(str(best[key]["actuals"])):
            best[key] = facts
    return dict(sorted(best.items()))


def _estimate(found: Posterior, prior: float, trips: int, unit: str) -> Estimate:
    return Estimate(found.mean, found.sd, prior, trips, found.weight_frac, unit)


def _consumption(told: list[dict[str, Any]], kind: str, own: float | None) -> Estimate | None:
    pairs = [
        (facts["actuals"].get(f"{kind}_km"), facts["actuals"].get(f"{kind}_fuel_l"))
        for facts in told
    ]
    km = np.array([k for k, litres in pairs if k and litres])
    used = np.array([litres for k, litres in pairs if k and litres])
    if not len(km):
        return None
    seen = 100 * used / km
    prior = own if own is not None else float(100 * used.sum() / km.sum())
    sd = prior * _c("consumption_km_sd_frac") * np.sqrt(_c("consumption_reference_km") / km)
    found = shrunk_mean(seen, sd, prior=prior, prior_sd=prior * _c("consumption_prior_sd_frac"))
    return _estimate(found, prior, len(km), "l/100 km")


def _pace(told: list[dict[str, Any]]) -> dict[str, Estimate]:
    rows, totals = [], []
    for facts in told:
        reckoned = (facts.get("learning") or {}).get("tow_min") or {}
        km = (facts.get("learning") or {}).get("tow_km")
        hours, driven = facts["actuals"].get("tow_hours"), facts["actuals"].get("tow_km")
        if not reckoned or not hours:
            continue
        # Another way than the planned one: its hours are taken for the planned length.
        share = km / driven if km and driven else 1.0
        rows.append(reckoned)
        totals.append(hours * 60 * share)
    if not rows:
        return {}
    classes = sorted({name for row in rows for name in row})
    shares = np.array([[row.get(name, 0.0) for name in classes] for row in rows])
    sd = shares.sum(axis=1) * _c("pace_trip_sd_frac")
    prior_sd = _c("pace_prior_sd")
    factors, spread = shrunk_factors(shares, totals, sd, prior=1.0, prior_sd=prior_sd)
    met = (shares > 0).sum(axis=0)
    return {
        name: Estimate(float(f), float(s), 1.0, int(n), float(1 - (s / prior_sd) ** 2), "of time")
        for name, f, s, n in zip(classes, factors, spread, met, strict=True)
    }


def _stint(told: list[dict[str, Any]], wish_min: float) -> Estimate | None:
    seen = []
    for facts in told:
        plan, breaks = facts.get("learning") or {}, facts["actuals"].get("breaks")
        if breaks is not None and plan.get("legs") and plan.get("stint_min"):
            planned = plan["breaks"] + plan["legs"]
            seen.append(plan["stint_min"] * planned / (breaks + plan["legs"]))
    if not seen:
        return None
    found = shrunk_mean(
        seen,
        wish_min * _c("stint_trip_sd_frac"),
        prior=wish_min,
        prior_sd=wish_min * _c("stint_prior_sd_frac"),
    )
    return _estimate(found, wish_min, len(seen), "min")


def _spending(told: list[dict[str, Any]]) -> dict[str, Estimate]:
    ratios: dict[str, list[float]] = defaultdict(list)
    for facts in told:
        planned = (facts.get("learning") or {}).get("spending") or {}
        paid: dict[str, float] = defaultdict(float)
        for line in facts["actuals"].get("spent", []):
            paid[line["kind"]] += line["amount"]
        for kind, amount in paid.items():
            if planned.get(kind):
                ratios[kind].append(amount / planned[kind])
    sd, prior_sd = _c("spending_trip_sd"), _c("spending_prior_sd")
    return {
        kind: _estimate(
            shrunk_mean(seen, sd, prior=1.0, prior_sd=prior_sd), 1.0, len(seen), "of the plan"
        )
        for kind, seen in sorted(ratios.items())
    }


def _signals(told: list[dict[str, Any]]) -> dict[str, Estimate]:
    """By operator, how far readings were off the forecast: what they say of a site not yet seen."""
    rows, trips = [], defaultdict(set)
    for number, facts in enumerate(told):
        forecast = {
            (line["site"], line["operator"].casefold()): line["level_dbm"]
            for line in (facts.get("learning") or {}).get("signals") or []
        }
        for reading in facts["actuals"].get("signals", []):
            site = reading.get("site") or facts["trip"]["sites"][0]
            told_dbm = forecast.get((site, reading["operator"].casefold()))
            if reading.get("level_dbm") is not None and told_dbm is not None:
                rows.append((reading["operator"], site, reading["level_dbm"], told_dbm))
                trips[reading["operator"]].add(number)
    table = pd.DataFrame(rows, columns=["operator", "site_id", "level_dbm", "forecast_dbm"])
    before = signal_bias(table, "", "")
    found = {}
    for operator in sorted(trips):
        bias = signal_bias(table, operator, "")
        weight = 1 - (bias.deviation_db / before.deviation_db) ** 2
        found[operator] = Estimate(
            bias.bias_db, bias.deviation_db, 0.0, len(trips[operator]), weight, "dB"
        )
    return found


def _not_needed(told: list[dict[str, Any]]) -> tuple[NotNeeded, ...]:
    """What was carried and not needed, by how many trips said so; a trip names a thing once."""
    said: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for facts in sorted(told, key=lambda facts: str(facts["trip"]["start"])):
        trip = f"{facts['trip']['name']}, {facts['trip']['start']}"
        named = {
            " ".join(str(item).split()): None for item in facts["actuals"].get("not_needed", [])
        }
        for item in {item.casefold(): item for item in named}.values():
            said[item.casefold()].append((item, trip))
    found = [
        NotNeeded(item=trips[-1][0], said=len(trips), trips=len(told), last=trips[-1][1])
        for trips in said.values()
    ]
    return tuple(sorted(found, key=lambda each: (-each.said, each.item.casefold())))


def learnt_sentences(learnt: Learnt, units: Units | None = None) -> list[str]:
    """What was learnt, how sure that is, and how many trips stand behind it.

    Parameters
    ----------
    learnt : Learnt
    units : Units, optional
        How the household reads consumption; litres for 100 km if not given.

    Returns
    -------
    sentences : list of str
    """
    found = []
    for what, each in (
        ("Towing takes", learnt.towing_l_per_100km),
        ("The car alone takes", learnt.solo_l_per_100km),
    ):
        if each is not None:
            found.append(f"{what} {_use_told(each, units)}.")
    if learnt.pace:
        parts = ", ".join(f"{_road_words(name, learnt.pace)} {_told(each)}"
                          for name, each in learnt.pace.items())  # fmt: skip
        found.append(
            "Time under tow against the time reckoned, by kind of road (1.00 is as reckoned): "
            f"{parts}."
        )
    if learnt.stint_min is not None:
        found.append(f"You drive {_told(learnt.stint_min)} between breaks.")
    for kind, each in learnt.spending.items():
        used = "" if kind in GUESSED_KINDS else "; not used, as a price list holds for it"
        found.append(f"Spending on {kind} comes to {_told(each)}{used}.")
    for operator, each in learnt.signal_db.items():
        found.append(f"{operator}: readings less forecast, {_told(each)}.")
    for thing in learnt.not_needed:
        found.append(f"{thing.item}: {thing.told}.")
    return found


def _road_words(road_class: str, among: Iterable[str]) -> str:
    """What people call a class of road; the map's own word too where two have the same name."""
    words = road_kind(road_class)
    return (
        f"{words} ({road_class})" if [road_kind(one) for one in among].count(words) > 1 else words
    )


def _use_told(each: Estimate, units: Units | None) -> str:
    """A consumption as the household compares it; miles to the gallon fall as litres rise."""
    if units is None:
        return _told(each)
    value, prior, one, other = (
        display.consumption(use, units)
        for use in (each.value, each.prior, each.value - each.sd, each.value + each.sd)
    )
    low, high = (other, one) if units.fuel != "l_per_100km" else (one, other)
    return f"{value}, most likely {low} to {high} ({_trips(each)}; {prior} assumed before)"


def _told(each: Estimate) -> str:
    digits = 1 if abs(each.value) >= 5 else 2
    return (
        f"{each.value:.{digits}f} ± {each.sd:.{digits}f} {each.unit} ({_trips(each)}; "
        f"{each.prior:.{digits}f} assumed before)"
    )


def _trips(each: Estimate) -> str:
    return f"{each.trips} trip" + ("" if each.trips == 1 else "s")
