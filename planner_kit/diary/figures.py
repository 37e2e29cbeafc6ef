"""The figures of a record: what a later trip is compared with.

A figure has a key that stays the same from trip to trip, a value with its unit, and the reasons
that it depends on, so that a comparison can say why it moved.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from planner_kit.diary.cost_figures import cost_figures
from planner_kit.diary.pitch_figures import pitch_figures
from planner_kit.diary.reasons import (
    BASE,
    fuel_reasons,
    joined,
    mass_reasons,
    money,
    price_reasons,
    site_reasons,
    time_reasons,
    way_reasons,
)
from planner_kit.outings import sun_times
from planner_kit.sites.ledger import ledger_totals
from planner_kit.states import State

if TYPE_CHECKING:
    from planner_kit.outings.report import OutingsReport
    from planner_kit.plan import TripPlan
    from planner_kit.tow.leg import Leg


@dataclass(frozen=True)
class Figure:
    """One figure of a record.

    Attributes
    ----------
    key : str
        Such as ``tow.out.km``; the same for the same thing in every record.
    label : str
        In a person's words.
    value : float, str or None
        None when it is not known.
    unit : str
    reasons : dict of str to str
        What the value depends on: "dates: price season" -> "7 nights high"; see
        `planner_kit.diary.reasons`.
    """

    key: str
    label: str
    value: float | str | None
    unit: str = ""
    reasons: dict[str, str] = field(default_factory=dict)


def figures_of(plan: TripPlan) -> list[Figure]:
    """The figures of a plan, in the order of the stages.

    Parameters
    ----------
    plan : TripPlan

    Returns
    -------
    figures : list of Figure
    """
    figures = [figure for leg in plan.tow.legs for figure in _tow_figures(plan, leg)]
    figures += _site_figures(plan)
    figures += [Figure(*figure) for figure in cost_figures(plan)]
    figures += _day_figures(plan)
    figures += [Figure(*figure) for figure in pitch_figures(plan)]
    return figures + _loading_figures(plan)


def _loading_figures(plan: TripPlan) -> list[Figure]:
    masses, nose, outfit = plan.outfit.masses, plan.outfit.noseweight, plan.outfit.outfit
    whole, caravan = mass_reasons(plan), mass_reasons(plan, car=False)
    household = plan.files.inputs.household
    plate_kg = household.caravan.mtplm_kg
    plate = {"household: the caravan's plate": "not given" if plate_kg is None
             else f"{plate_kg:g} kg"}  # fmt: skip
    figures = [
        Figure("outfit.train_kg", "mass of the whole outfit", rounded(outfit.train_kg), "kg", whole)
    ]
    if masses is not None:
        laden_kg = masses.caravan_kg
        room = None if plate_kg is None or laden_kg is None else plate_kg - laden_kg
        figures += [
            Figure("outfit.caravan_kg", "mass of the laden caravan", rounded(laden_kg), "kg",
                   caravan),
            Figure("outfit.caravan_room_kg", "left to the caravan's plate", rounded(room), "kg",
                   {**plate, **caravan}),
        ]  # fmt: skip
    if nose is not None:
        own_kg = household.loading.noseweight_measured_kg
        measured = "not measured" if own_kg is None else f"{own_kg:g} kg"
        figures.append(Figure("outfit.noseweight_kg", "noseweight", rounded(nose.kg), "kg",
                              {"household: noseweight measured": measured, **caravan}))  # fmt: skip
    unsure = [check.subject for check in plan.outfit.checks if check.state is State.UNKNOWN]
    figures.append(Figure("outfit.unknown", "outfit checks not known", len(unsure), "checks",
                          {"household: not known": joined(unsure)}))  # fmt: skip
    if plan.outfit.not_needed is not None:
        spare = plan.outfit.not_needed["item"].tolist()
        figures.append(Figure("outfit.not_needed", "things that earlier trips did not need",
                              len(spare), "things", {"learnt: things": joined(spare)}))  # fmt: skip
    return figures


def _tow_figures(plan: TripPlan, leg: Leg) -> list[Figure]:
    number = [each for each in plan.tow.legs if each.kind == leg.kind].index(leg) + 1
    key = f"tow.{leg.kind}" + (f".{number}" if number > 1 else "")
    what = {"out": "tow out", "home": "tow home", "move": f"tow to {leg.to_name}"}[leg.kind]
    way, timed = way_reasons(plan, leg), time_reasons(plan, leg)
    minutes = (leg.arrive - leg.depart).total_seconds() / 60
    figures = [
        Figure(f"{key}.km", f"{what}: distance", rounded(leg.route.length_km, 1), "km", way),
        Figure(f"{key}.drive_min", f"{what}: driving", rounded(leg.route.time_min), "min", timed),
        Figure(f"{key}.door_min", f"{what}: door to door", rounded(minutes), "min", timed),
        Figure(f"{key}.breaks", f"{what}: breaks", len(leg.rests), "breaks", timed),
        Figure(f"{key}.arrive", f"{what}: arrival", f"{leg.arrive:%H:%M}", "", timed),
        *_road_figures(key, what, leg, way),
        *_way_figures(plan, key, what, leg),
    ]
    if leg.fuel is not None:
        used = {
            **fuel_reasons(plan, towing=True),
            "map: distance": f"{leg.route.length_km:.1f} km",
            **way,
        }
        litres = rounded(leg.fuel.likely, 1)
        figures.append(Figure(f"{key}.fuel", f"{what}: fuel", litres, leg.fuel.unit, used))
    return figures


def _road_figures(key: str, what: str, leg: Leg, why: dict[str, str]) -> list[Figure]:
    """What the way is like: its hills, its corners and its last miles."""
    steepest = leg.route.steps["steepest_up_pct"].max()
    figures = [Figure(f"{key}.steepest_up", f"{what}: steepest climb",
                      rounded(None if steepest is None else float(steepest), 1), "%",
                      why)]  # fmt: skip
    if leg.corners is not None:
        over = int((leg.corners.table["beyond_road_m"] > 0).sum())
        figures.append(
            Figure(f"{key}.corners_over", f"{what}: corners that sweep more than the road", over,
                   "corners", why)
        )  # fmt: skip
    if leg.approach is not None:
        state = leg.approach.checks[0].state.value
        figures.append(Figure(f"{key}.approach", f"{what}: the last miles", state, "", why))
    return figures


def _way_figures(plan: TripPlan, key: str, what: str, leg: Leg) -> list[Figure]:
    """The ways that were set side by side: hours, money, stress, and what each shares."""
    if leg.ways is None or len(leg.ways) < 2:
        return []
    why = way_reasons(plan, leg)
    hours = {
        name: told
        for name, told in time_reasons(plan, leg).items()
        if name == "learnt: hours" or name.startswith(BASE)
    }
    costs = {**fuel_reasons(plan, towing=True), **price_reasons(plan, "fuel"),
             **price_reasons(plan, "toll")}  # fmt: skip
    figures: list[Figure] = []
    for way in leg.ways.to_dict("records"):
        at, told = f"{key}.way_{way['label']}", f"{what}, way {way['label']}"
        road = {**why, "map: kind of way": str(way["kind"])}
        paid, currency = {**costs, **road}, str(way["currency"])
        figures += [
            Figure(f"{at}.{name}", f"{told}: {label}", value, unit, reasons)
            for name, label, value, unit, reasons in (
                ("drive_min", "driving", rounded(way["time_min"]), "min",
                 {**hours, **road}),
                ("stress_min", "stress", rounded(way["stress_min"]), "min", road),
                ("money_low", "least money", rounded(way["money_low"], 2), currency, paid),
                ("money_high", "most money", rounded(way["money_high"], 2), currency, paid),
                ("shared_pct", "shared with the best way", rounded(way["shared_frac"] * 100), "%",
                 road),
            )
        ]  # fmt: skip
    return figures


def _site_figures(plan: TripPlan) -> list[Figure]:
    figures = [
        Figure(
            f"site.{number}.price",
            f"price of {row['name']}",
            rounded(row["price"], 2),
            str(row["currency"]),
            site_reasons(plan, number - 1),
        )
        for number, row in enumerate(plan.sites.stays.to_dict("records"), start=1)
    ]
    late = plan.sites.deadlines
    figures.append(Figure("deadlines.late", "deadlines already past",
                          int((late["state"] == "late").sum()), "deadlines",
                          {**_counted_on(plan), "dates: first day":
                           plan.files.inputs.trip.start.isoformat()}))  # fmt: skip
    return figures + _choice_figures(plan) + _ledger_figures(plan)


def _choice_figures(plan: TripPlan) -> list[Figure]:
    """Which candidate comes first, and how far before the next."""
    left = plan.sites.shortlist
    left = left[left["removed_by"] == ""]
    if left.empty:
        return []
    first, scores = left.iloc[0], left["score"]
    trip = plan.files.inputs.trip
    listed: list[dict[Any, Any]] = plan.sites.shortlist.sort_values("name").to_dict("records")
    margins: list[dict[Any, Any]] = (
        [] if plan.sites.margins is None else plan.sites.margins.to_dict("records")
    )
    why = {
        "dates: stay": f"{trip.start.isoformat()} to {trip.end.isoformat()}",
        "trip file: sites weighed": joined(row["name"] for row in listed),
        "prices: of the sites": joined(
            f"{row['name']}: {money(row['price'], str(row['currency']))}" for row in listed
        ),
        **{f"household: weight of {row['criterion']}": f"{row['weight']:g}" for row in margins},
    }
    lead = float(scores.iloc[0] - scores.iloc[1]) if len(scores) > 1 else None
    return [
        Figure("sites.first", "site that suits best", str(first["name"]), "", why),
        Figure("sites.lead", "lead of the best site", rounded(lead, 3), "score", why),
    ]


def _ledger_figures(plan: TripPlan) -> list[Figure]:
    """What is paid, owed and would come back on the day of planning, this trip's and others'."""
    if plan.sites.ledger is None:
        return []
    stays: list[dict[Any, Any]] = plan.sites.ledger.to_dict("records")
    day = {
        **_counted_on(plan),
        "bookings: of all trips": joined(
            f"{row['site']} {row['arrive']}: {row['state']}, "
            f"{money(row['paid'], str(row['currency']))} paid of "
            f"{money(row['price'], str(row['currency']))}"
            for row in stays
        ),
    }
    return [
        Figure(f"ledger.{what}.{row['currency']}", f"bookings of all trips: {words}",
               rounded(float(row[what]), 2), str(row["currency"]), day)
        for row in ledger_totals(plan.sites.ledger).to_dict("records")
        for what, words in (
            ("paid", "paid"), ("balance", "still to pay"), ("refundable", "would come back"),
            ("committed", "gone or owed"),
        )
    ]  # fmt: skip


def _counted_on(plan: TripPlan) -> dict[str, str]:
    return {"day of planning: counted on": plan.planned_on.isoformat()}


def _day_figures(plan: TripPlan) -> list[Figure]:
    trip = plan.files.inputs.trip
    site: Any = plan.files.sites.loc[trip.stays[0].site]
    zone = plan.files.region.time_zone or "UTC"
    sun = sun_times(float(site["lat"]), float(site["lon"]), trip.start, zone)
    why = {"dates: first day": trip.start.isoformat(), "trip file: site": str(site["name"])}
    figures = [
        Figure("day.sunrise", "sunrise on the first day", _clock(sun.sunrise), "", why),
        Figure("day.sunset", "sunset on the first day", _clock(sun.sunset), "", why),
        Figure("day.light_min", "daylight on the first day", _daylight(sun), "min", why),
        Figure("day.weekday", "weekday of the first day", f"{trip.start:%A}", "", why),
    ]
    # A template may leave the days out.
    for report, (arrive, leave) in zip(plan.outings, trip.stay_dates(), strict=False):
        shut = report.ranking.loc[report.ranking["open_days"] == 0, "name"]
        days = {"dates: days": f"{arrive.isoformat()} to {leave.isoformat()}"}
        figures.append(
            Figure(
                f"outings.{report.site_id}.closed",
                "attractions closed on all days",
                len(shut),
                "places",
                {**days, "opening: closed": joined(sorted(map(str, shut)))},
            )
        )
        figures += _outing_figures(plan, report, days)
    return figures


def _outing_figures(plan: TripPlan, report: OutingsReport, days: dict[str, str]) -> list[Figure]:
    """What the days out, the rides and the memberships of a stay come to."""
    currency = plan.files.inputs.household.units.currency
    out = report.days[report.days["what"] == "outing"] if len(report.days) else report.days
    key, why = f"outings.{report.site_id}", {"days out: places": joined(out["name"]), **days}
    figures = [Figure(f"{key}.planned", "days out: places planned", len(out), "places", why)]
    if len(out) and "drive_min" in out:
        wheel = rounded(float(out["drive_min"].sum()))
        figures.append(Figure(f"{key}.drive_min", "days out: at the wheel", wheel, "min", why))
    for ride in report.rides:
        of_ride, name = {"map: way": ride.origin, "map: kind": ride.kind}, f"{key}.ride.{ride.name}"
        climb, length = rounded(ride.climb_m), rounded(ride.length_km, 1)
        figures += [
            Figure(f"{name}.km", f"{ride.name}: length", length, "km", of_ride),
            Figure(f"{name}.climb_m", f"{ride.name}: climb", climb, "m", of_ride),
            Figure(f"{name}.min", f"{ride.name}: time", rounded(ride.time_min), "min", of_ride),
        ]
    for row in report.memberships.to_dict("records"):
        why = {
            "household: fee of a year": money(row["fee_per_year"], currency),
            "days out: visits in its year": str(row["visits"]),
        }
        figures.append(
            Figure(
                f"membership.{row['membership_id']}.saved",
                f"{row['name']}: saved in its year",
                rounded(row["saved"], 2),
                currency,
                why,
            )
        )
    return figures


def _daylight(sun: Any) -> float | None:
    if sun.sunrise is None or sun.sunset is None:
        return None
    return rounded((sun.sunset - sun.sunrise).total_seconds() / 60)


def _clock(moment: Any) -> str | None:
    return None if moment is None else f"{moment:%H:%M}"


def rounded(value: float | None, digits: int = 0) -> float | None:
    """A figure as it is kept; None where it is not known."""
    if value is None or value != value:
        return None
    return round(float(value), digits)
