"""What a figure depends on, in words that a comparison can set side by side.

A reason's name begins with its cause, one of `CAUSES`, such as ``prices: site list of``. A name
that begins with `PART` is a part of a sum and no cause; its value may end in where it comes from,
after `SOURCE`. What `ONLY_WITH_PARTS` names counts where a part of the sum changed. A name that
begins with `BASE` is a figure on the way to the value: where it stayed the same, what
`OF_THE_BASE` names had no part in the change. Lists are joined by `JOIN`, so that a comparison can
say what came and what went.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from datetime import timedelta
from typing import TYPE_CHECKING, Any

import pandas as pd

from planner_kit.reference import read_table
from planner_kit.sites.tariff import season_of
from planner_kit.states import State
from planner_kit.trip.learnt import GUESSED_KINDS

if TYPE_CHECKING:
    from collections.abc import Iterable

    from planner_kit.pitch.report import PitchReport
    from planner_kit.plan import TripPlan
    from planner_kit.tow.leg import Leg

CAUSES = (
    "dates", "day of planning", "prices", "bookings", "law", "learnt", "opening", "days out",
    "trip file", "household", "loading", "map",
)  # fmt: skip
PART, JOIN, SOURCE = "part: ", "; ", " · "
AGES = "dates: ages of the young"
ONLY_WITH_PARTS = (AGES,)
BASE = "base: "
OF_THE_BASE = (
    "map: road data of", "map: kind of way", "trip file: from", "trip file: to",
    "household: roads to avoid", "household: size of the outfit", "loading: mass of the outfit",
    "law: rows of the tables of law",
)  # fmt: skip

_LAW_TABLES = ("towing_law", "towing_licences", "towing_speeds")
# Parts of a price that stand for somebody or something, and not for an offer.
_CHARGES = {"pitch", "adult", "child", "person", "dog", "awning", "hookup", "kwh"}
_FUEL_ITEMS = {
    "diesel": ("diesel_l",),
    "petrol": ("petrol_l",),
    "hybrid": ("petrol_l",),
    "electric": ("kwh_home", "kwh_public"),
}
# The rows of a price list that each kind of cost is reckoned with, fuel apart.
_KIND_ITEMS = {
    "gas": ("gas_kg_propane", "gas_kg_butane"),
    "electricity": ("kwh_site",),
    "other": ("cassette_fluid_l",),
}
_BY = {"_l": "a litre", "kwh": "a kWh", "gas_kg": "a kg"}


def joined(words: Iterable[object]) -> str:
    """A list as one text; ``none`` where it is empty."""
    return JOIN.join(str(word).replace(";", ",") for word in words) or "none"


def money(amount: Any, currency: str) -> str:
    """An amount with its money, as ``GBP 12.50``."""
    return "not known" if pd.isna(amount) else f"{currency} {amount:.2f}"


def counted(count: int, word: str) -> str:
    """A number of things: ``1 trip``, ``4 trips``."""
    return f"{count} {word}" + ("" if count == 1 else "s")


def way_reasons(plan: TripPlan, leg: Leg) -> dict[str, str]:
    """What the way of a tow depends on."""
    outfit = plan.outfit.outfit
    size = [
        f"{value:.2f} m {word}"
        for value, word in (
            (outfit.length_m, "long"), (outfit.width_m, "wide"), (outfit.height_m, "high"),
        )
        if value is not None
    ]  # fmt: skip
    return {
        "map: road data of": str(plan.files.region.manifest["data_date"] or "no date"),
        "trip file: from": leg.from_name,
        "trip file: to": leg.to_name,
        "household: roads to avoid": joined(_avoided(plan)),
        "household: size of the outfit": ", ".join(size) or "not known",
        "loading: mass of the outfit": _kg(outfit.train_kg),
        **law_reasons(plan),
    }


def time_reasons(plan: TripPlan, leg: Leg) -> dict[str, str]:
    """What the hours of a tow depend on: its way, when it leaves, and what was learnt of them."""
    learnt, household = plan.files.inputs.learnt, plan.files.inputs.household
    hours = "reckoned from the map"
    if learnt is not None and learnt.pace:
        used = sorted(set(leg.route.steps["road_class"].astype(str)) & set(learnt.pace))
        slower = [
            f"{name} × {learnt.pace_of(name):.2f}" for name in used if learnt.pace_of(name) >= 1.005
        ]
        told = ", ".join(slower) or "no road slower than the map says"
        hours = f"learnt from {counted(learnt.trips, 'trip')}: {told}"
    wish_min = household.preferences.drive_stint_min
    stint = None if learnt is None else learnt.stint_min
    shorter = stint is not None and stint.value < wish_min - 0.5
    unlearnt = (
        1.0 if learnt is None else leg.route.steps["road_class"].astype(str).map(learnt.pace_of)
    )
    base_min = float((leg.route.steps["time_s"] / unlearnt).sum()) / 60
    return {
        f"{BASE}driving before anything learnt": f"{base_min:.1f} min",
        "learnt: hours": hours,
        "learnt: shorter time between breaks": f"{stint.value:.0f} min, from "
        f"{counted(stint.trips, 'trip')}" if shorter and stint is not None else "none",
        "household: longest time between breaks": f"{wish_min:g} min",
        "trip file: leaving at": f"{leg.depart:%H:%M}",
        **way_reasons(plan, leg),
    }  # fmt: skip


def fuel_reasons(plan: TripPlan, *, towing: bool) -> dict[str, str]:
    """What a drive's use of fuel depends on: what trips taught, and the household's own figure."""
    car, learnt = plan.files.inputs.household.car, plan.files.inputs.learnt
    electric = car.fuel == "electric"
    own = (
        (car.towing_kwh_per_100km if towing else car.solo_kwh_per_100km)
        if electric
        else (car.towing_l_per_100km if towing else car.solo_l_per_100km)
    )
    taught = None
    if learnt is not None and not electric:
        taught = learnt.towing_l_per_100km if towing else learnt.solo_l_per_100km
    unit = "kWh/100 km" if electric else "l/100 km"
    what = "use under tow" if towing else "use of the car alone"
    return {
        f"learnt: {what}": "the household's own figure" if taught is None
        else f"{taught.value:.1f} {unit}, learnt from {counted(taught.trips, 'trip')}",
        f"household: {what}": "not given" if own is None else f"{own:g} {unit}",
    }  # fmt: skip


def _avoided(plan: TripPlan) -> list[str]:
    inputs = plan.files.inputs
    roads = (*inputs.household.avoid_roads, *inputs.trip.tow.avoid)
    return [road.name or str(road.osm_way_id or f"{road.lat}, {road.lon}") for road in roads]


def _kg(mass_kg: float | None) -> str:
    return "not known" if mass_kg is None else f"{mass_kg:.0f} kg"


def mass_reasons(plan: TripPlan, *, car: bool = True) -> dict[str, str]:
    """What a mass of the outfit is the sum of."""
    masses, household = plan.outfit.masses, plan.files.inputs.household
    found = {
        "household: empty caravan": _kg(household.caravan.mass_in_running_order_kg),
        "loading: in the caravan": _kg(None if masses is None else masses.caravan_load_kg),
    }
    if car:
        found |= {
            "household: empty car": _kg(household.car.kerb_kg),
            "loading: in and on the car": _kg(None if masses is None else masses.car_load_kg),
            "dates: people and dogs, by usual masses for their ages": _kg(
                None if masses is None else masses.people_kg
            ),
        }
    return found


def site_reasons(plan: TripPlan, number: int) -> dict[str, str]:
    """Why a stay costs what it costs: nights, seasons, tariff parts, offers, booked or tariff."""
    files = plan.files
    trip = files.inputs.trip
    stay, (arrive, leave) = trip.stays[number], trip.stay_dates()[number]
    row = plan.sites.stays.iloc[number]
    nights = [arrive + timedelta(days=day) for day in range((leave - arrive).days)]
    seasons = Counter(season_of(stay.site, files.seasons, day) or "not listed" for day in nights)
    lines = plan.sites.price_lines
    own = (lines[lines["site_id"] == stay.site] if len(lines) else lines).to_dict("records")
    each = [
        f"{line['what']}: {money(line['unit_price'], str(line['currency']))} each"
        for line in own
        if line["part"] in _CHARGES
    ]
    offers = [
        f"{line['what']}: {money(line['amount'], str(line['currency']))}"
        for line in own
        if line["part"] not in _CHARGES
    ]
    booked = stay.booking
    price_is = (
        f"agreed with the site ({booked.state})"
        if booked.price is not None
        else f"from the tariff ({booked.state})"
    )
    site = files.sites.loc[stay.site]
    return {
        "trip file: site": str(row["name"]),
        "trip file: nights": counted(len(nights), "night"),
        "dates: price season": joined(
            f"{counted(count, 'night')} {name}" for name, count in seasons.items()
        ),
        "prices: each night": joined(each) if each else "not known",
        "prices: offers and taxes": joined(offers),
        "bookings: price": price_is,
        "prices: site list of": _day(site["as_of"]),
    }


def _day(noted: Any) -> str:
    return "no date" if pd.isna(noted) else f"{noted:%Y-%m-%d}"


def law_reasons(plan: TripPlan) -> dict[str, str]:
    """Which rows of law the kit held for the countries of the trip, as a short fingerprint.

    Two records with the same fingerprint were planned under the same rows.
    """
    countries = sorted(plan.files.region.countries)
    digest = hashlib.sha256()
    for name in _LAW_TABLES:
        table = read_table(name)
        if "country" in table.columns:
            table = table[table["country"].isin(countries)]
        digest.update(table.to_csv(index=False).encode())
    rows = f"{', '.join(countries) or 'no country'} {digest.hexdigest()[:8]}"
    return {"law: rows of the tables of law": rows}


def price_reasons(plan: TripPlan, kind: str) -> dict[str, str]:
    """The prices that a kind of cost is reckoned with, or the day on which they were noted."""
    car = plan.files.inputs.household.car
    items = _FUEL_ITEMS.get(car.fuel, ()) if kind == "fuel" else _KIND_ITEMS.get(kind, ())
    prices, found = plan.files.prices, {}
    for item in items:
        rows: list[dict[Any, Any]] = prices[prices["item"] == item].to_dict("records")
        told = [f"{money(r['price'], str(r['currency']))} {_by(item)}" for r in rows]
        found[f"prices: {_plain(item)}"] = joined(told) if told else "not listed"
    lists = {"toll": ("tolls", plan.files.tolls), "outing": ("attractions", plan.files.attractions)}
    if kind in lists:
        what, frame = lists[kind]
        noted = frame["as_of"].dropna() if "as_of" in frame.columns else frame.iloc[:0]
        newest = pd.to_datetime(noted).max() if len(noted) else pd.NaT
        found[f"prices: {what} noted on"] = _day(newest)
    return found


def _by(item: str) -> str:
    return next((words for part, words in _BY.items() if part in item), "each")


def _plain(item: str) -> str:
    for part in ("gas_kg_", "_l"):
        item = item.replace(part, " " if part == "_l" else "gas ")
    return item.replace("_", " ").strip()


def spending_reasons(plan: TripPlan, kind: str) -> dict[str, str]:
    """Which share of what is listed was learnt to be spent; only for kinds that are guessed."""
    if kind not in GUESSED_KINDS:
        return {}
    learnt = plan.files.inputs.learnt
    if learnt is None or not learnt.scales(kind):
        return {"learnt: share of what is listed": "all of it"}
    share = learnt.spending[kind]
    told = f"{share.value:.2f} of it, from {counted(share.trips, 'trip')}"
    return {"learnt: share of what is listed": told}


def weather_reasons(report: PitchReport) -> dict[str, str]:
    """The weather that a stay is reckoned with."""
    check = next((c for c in report.checks if c.subject.startswith("temperatures")), None)
    known = check is not None and check.state is not State.UNKNOWN
    told = check.sentence.rstrip(".").replace(";", ",") if known and check is not None else ""
    return {"trip file: weather": told or "not given"}


def people_reasons(plan: TripPlan) -> dict[str, str]:
    """Who comes along, and how old the young ones are then."""
    trip, household = plan.files.inputs.trip, plan.files.inputs.household
    people = [p for p in household.people if not trip.party or p.name in trip.party]
    ages = [
        f"{person.name} {'of unknown age' if age is None else age}"
        for person in people
        if (age := person.age_on(trip.start)) is None or age < 18
    ]
    return {
        "trip file: people": joined(person.name for person in people),
        AGES: ", ".join(ages) or "none",
    }
