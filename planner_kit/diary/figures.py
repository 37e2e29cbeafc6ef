"""The figures of a record: what a later trip is compared with.

A figure has a key that stays the same from trip to trip, a value with its unit, and the reasons
that it depends on, so that a comparison can say why it moved.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from planner_kit.costs import earlier_trips
from planner_kit.diary.pitch_figures import pitch_figures
from planner_kit.diary.reasons import law_reasons, price_list_reasons, site_reasons
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
        What the value depends on: "price season" -> "high".
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
    figures += _cost_figures(plan)
    figures += _day_figures(plan)
    figures += [Figure(*figure) for figure in pitch_figures(plan)]
    outfit = plan.outfit.outfit
    figures.append(Figure("outfit.train_kg", "mass of the whole outfit", rounded(outfit.train_kg),
                          "kg", {"loading": "household and loading list"}))  # fmt: skip
    figures += _loading_figures(plan)
    unsure = sum(check.state is State.UNKNOWN for check in plan.outfit.checks)
    figures.append(Figure("outfit.unknown", "outfit checks not known", unsure, "checks"))
    return figures


def _loading_figures(plan: TripPlan) -> list[Figure]:
    masses, nose = plan.outfit.masses, plan.outfit.noseweight
    inputs = {"loading": "household and loading list"}
    figures = []
    if masses is not None:
        plate_kg = plan.files.inputs.household.caravan.mtplm_kg
        room = (
            None if plate_kg is None or masses.caravan_kg is None else plate_kg - masses.caravan_kg
        )
        figures += [
            Figure("outfit.caravan_kg", "mass of the laden caravan", rounded(masses.caravan_kg),
                   "kg", inputs),
            Figure("outfit.caravan_room_kg", "left to the caravan's plate", rounded(room), "kg",
                   inputs),
        ]  # fmt: skip
    if nose is not None:
        figures.append(Figure("outfit.noseweight_kg", "noseweight", rounded(nose.kg), "kg", inputs))
    return figures


def _tow_figures(plan: TripPlan, leg: Leg) -> list[Figure]:
    number = [each for each in plan.tow.legs if each.kind == leg.kind].index(leg) + 1
    key = f"tow.{leg.kind}" + (f".{number}" if number > 1 else "")
    what = {"out": "tow out", "home": "tow home", "move": f"tow to {leg.to_name}"}[leg.kind]
    taught = plan.files.inputs.learnt
    trips = 0 if taught is None else taught.trips
    why = {
        "road data": str(plan.files.region.manifest["data_date"]),
        "from": leg.from_name,
        "to": leg.to_name,
        "leaving at": f"{leg.depart:%H:%M}",
        "roads to avoid": ", ".join(_avoided(plan)) or "none",
        "hours": f"learnt from {trips} trip{'' if trips == 1 else 's'}"
        if taught
        else "reckoned from the map",
        **law_reasons(plan),
    }
    minutes = (leg.arrive - leg.depart).total_seconds() / 60
    figures = [
        Figure(f"{key}.km", f"{what}: distance", rounded(leg.route.length_km, 1), "km", why),
        Figure(f"{key}.drive_min", f"{what}: driving", rounded(leg.route.time_min), "min", why),
        Figure(f"{key}.door_min", f"{what}: door to door", rounded(minutes), "min", why),
        Figure(f"{key}.breaks", f"{what}: breaks", len(leg.rests), "breaks", why),
        Figure(f"{key}.arrive", f"{what}: arrival", f"{leg.arrive:%H:%M}", "", why),
        *_road_figures(key, what, leg, why),
        *_way_figures(key, what, leg, why),
    ]
    if leg.fuel is not None:
        figures.append(
            Figure(
                f"{key}.fuel",
                f"{what}: fuel",
                rounded(leg.fuel.likely, 1),
                leg.fuel.unit,
                {"fuel use": leg.fuel.source, "distance": f"{leg.route.length_km:.1f} km"},
            )
        )
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


def _way_figures(key: str, what: str, leg: Leg, why: dict[str, str]) -> list[Figure]:
    """The ways that were set side by side: hours, money, stress, and what each shares."""
    if leg.ways is None or len(leg.ways) < 2:
        return []
    figures: list[Figure] = []
    for way in leg.ways.to_dict("records"):
        at, told = f"{key}.way_{way['label']}", f"{what}, way {way['label']}"
        reasons = {**why, "kind of way": str(way["kind"])}
        for name, label, value, unit in (
            ("drive_min", "driving", rounded(way["time_min"]), "min"),
            ("stress_min", "stress", rounded(way["stress_min"]), "min"),
            ("money_low", "least money", rounded(way["money_low"], 2), str(way["currency"])),
            ("money_high", "most money", rounded(way["money_high"], 2), str(way["currency"])),
            ("shared_pct", "shared with the best way", rounded(way["shared_frac"] * 100), "%"),
        ):
            figures.append(Figure(f"{at}.{name}", f"{told}: {label}", value, unit, reasons))
    return figures


def _avoided(plan: TripPlan) -> list[str]:
    inputs = plan.files.inputs
    roads = (*inputs.household.avoid_roads, *inputs.trip.tow.avoid)
    return [road.name or str(road.osm_way_id or f"{road.lat}, {road.lon}") for road in roads]


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
                          {"counted on": plan.planned_on.isoformat()}))  # fmt: skip
    return figures + _choice_figures(plan) + _ledger_figures(plan)


def _choice_figures(plan: TripPlan) -> list[Figure]:
    """Which candidate comes first, and how far before the next."""
    left = plan.sites.shortlist
    left = left[left["removed_by"] == ""]
    if left.empty:
        return []
    first, scores = left.iloc[0], left["score"]
    weights = {
        str(row["criterion"]): f"{row['weight']:g}"
        for row in ([] if plan.sites.margins is None else plan.sites.margins.to_dict("records"))
    }
    lead = float(scores.iloc[0] - scores.iloc[1]) if len(scores) > 1 else None
    return [
        Figure("sites.first", "site that suits best", str(first["name"]), "", weights),
        Figure("sites.lead", "lead of the best site", rounded(lead, 3), "score", weights),
    ]


def _ledger_figures(plan: TripPlan) -> list[Figure]:
    """What is paid, owed and would come back on the day of planning, this trip's and others'."""
    if plan.sites.ledger is None:
        return []
    day = {"counted on": plan.planned_on.isoformat()}
    return [
        Figure(f"ledger.{what}.{row['currency']}", f"bookings of all trips: {words}",
               rounded(float(row[what]), 2), str(row["currency"]), day)
        for row in ledger_totals(plan.sites.ledger).to_dict("records")
        for what, words in (
            ("paid", "paid"), ("balance", "still to pay"), ("refundable", "would come back"),
            ("committed", "gone or owed"),
        )
    ]  # fmt: skip


def _cost_figures(plan: TripPlan) -> list[Figure]:
    cost = plan.cost
    known = cost.lines.dropna(subset=["likely"])
    by_kind = known.groupby("kind", sort=True)["likely"].sum()
    parts = {f"{kind} in all": f"{amount:.2f}" for kind, amount in by_kind.items()}
    figures = [
        Figure("cost.likely", "whole trip, likely", rounded(cost.likely, 2), cost.currency, parts),
        Figure("cost.low", "whole trip, low", rounded(cost.low, 2), cost.currency, parts),
        Figure("cost.high", "whole trip, high", rounded(cost.high, 2), cost.currency, parts),
        Figure("cost.per_night", "a night", rounded(cost.per_night, 2), cost.currency, parts),
        Figure("cost.per_person", "a person", rounded(cost.per_person, 2), cost.currency, parts),
        *_history_figures(plan),
    ]
    lists = price_list_reasons(plan)
    for kind, amount in by_kind.items():
        own = known[known["kind"] == kind]
        made_of = {str(row.what): f"{row.likely:.2f} ({row.state})" for row in own.itertuples()}
        figures.append(
            Figure(
                f"cost.{kind}",
                f"{kind} in all",
                rounded(float(amount), 2),
                cost.currency,
                {**made_of, **lists},
            )
        )
    return figures


def _history_figures(plan: TripPlan) -> list[Figure]:
    """What the trip costs a night beside the last one of which spending was noted."""
    trip, files = plan.files.inputs.trip, plan.files
    currency = files.inputs.household.units.currency
    earlier = earlier_trips(plan.cost, trip, files.others, currency).iloc[1:2]
    return [
        Figure("cost.against_last_pct", "a night against the last trip",
               rounded(gap, 1), "%", {"last trip": f"{name}, {start}"})
        for name, start, gap in zip(
            earlier["trip"], earlier["start"], earlier["against_this_pct"], strict=True
        )
    ]  # fmt: skip


def _day_figures(plan: TripPlan) -> list[Figure]:
    trip = plan.files.inputs.trip
    site: Any = plan.files.sites.loc[trip.stays[0].site]
    zone = plan.files.region.time_zone or "UTC"
    sun = sun_times(float(site["lat"]), float(site["lon"]), trip.start, zone)
    why = {"date": trip.start.isoformat()}
    figures = [
        Figure("day.sunrise", "sunrise on the first day", _clock(sun.sunrise), "", why),
        Figure("day.sunset", "sunset on the first day", _clock(sun.sunset), "", why),
        Figure("day.light_min", "daylight on the first day", _daylight(sun), "min", why),
        Figure("day.weekday", "weekday of the first day", f"{trip.start:%A}", "", why),
    ]
    # A template may leave the days out.
    for report, (arrive, leave) in zip(plan.outings, trip.stay_dates(), strict=False):
        shut = report.ranking.loc[report.ranking["open_days"] == 0, "name"]
        figures.append(
            Figure(
                f"outings.{report.site_id}.closed",
                "attractions closed on all days",
                len(shut),
                "places",
                {
                    "days": f"{arrive:%a %d %b} to {leave:%a %d %b}",
                    "closed": ", ".join(sorted(map(str, shut))) or "none",
                },
            )
        )
        figures += _outing_figures(report, plan.files.inputs.household.units.currency)
    return figures


def _outing_figures(report: OutingsReport, currency: str) -> list[Figure]:
    """What the days out, the rides and the memberships of a stay come to."""
    out = report.days[report.days["what"] == "outing"] if len(report.days) else report.days
    key, why = f"outings.{report.site_id}", {"places": ", ".join(map(str, out["name"]))}
    figures = [Figure(f"{key}.planned", "days out: places planned", len(out), "places", why)]
    if len(out) and "drive_min" in out:
        wheel = rounded(float(out["drive_min"].sum()))
        figures.append(Figure(f"{key}.drive_min", "days out: at the wheel", wheel, "min", why))
    for ride in report.rides:
        of_ride, name = {"way": ride.origin, "kind": ride.kind}, f"{key}.ride.{ride.name}"
        climb, length = rounded(ride.climb_m), rounded(ride.length_km, 1)
        figures += [
            Figure(f"{name}.km", f"{ride.name}: length", length, "km", of_ride),
            Figure(f"{name}.climb_m", f"{ride.name}: climb", climb, "m", of_ride),
            Figure(f"{name}.min", f"{ride.name}: time", rounded(ride.time_min), "min", of_ride),
        ]
    for row in report.memberships.to_dict("records"):
        fee = rounded(row["fee_per_year"], 2)
        figures.append(
            Figure(
                f"membership.{row['membership_id']}.saved",
                f"{row['name']}: saved in its year",
                rounded(row["saved"], 2),
                currency,
                {"fee": "not given" if fee is None else f"{fee:.2f}", "visits": str(row["visits"])},
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
