"""The figures of a record: what a later trip is compared with.

A figure has a key that stays the same from trip to trip, a value with its unit, and the reasons
that it depends on, so that a comparison can say why it moved.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from planner_kit import __version__
from planner_kit.costs import earlier_trips
from planner_kit.costs.actuals import plan_against_spent
from planner_kit.diary.against import plan_against_actual
from planner_kit.diary.learning_base import learning_base
from planner_kit.diary.migrations import FACTS_SCHEMA, migrated
from planner_kit.diary.pitch_figures import pitch_figures
from planner_kit.diary.reasons import law_reasons, price_list_reasons, site_reasons
from planner_kit.errors import PlanFileError
from planner_kit.files import sha256_of
from planner_kit.outings import sun_times
from planner_kit.sites.ledger import ledger_totals
from planner_kit.states import State
from planner_kit.summary import all_checks, things_to_look_at, trip_sentences

if TYPE_CHECKING:
    from pathlib import Path

    from planner_kit.outings.report import OutingsReport
    from planner_kit.plan import TripFiles, TripPlan
    from planner_kit.tow.leg import Leg
    from planner_kit.trip.trip import Trip


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


def facts_of(plan: TripPlan) -> dict[str, Any]:
    """Everything worth keeping of a plan, as plain JSON values; the same plan gives the same facts.

    Parameters
    ----------
    plan : TripPlan

    Returns
    -------
    facts : dict
        schema, kit_version, trip, notes, inputs (SHA-256 by name), figures, checks, sentences,
        look_at, tows (each with its line), photos, bookings, outings, visited, actuals, happened
        and actual_against_plan (the latter of money), learning (what was reckoned
        before anything learnt was applied: the base that the next trips learn from), learnt (what
        earlier trips changed in this plan; None for nothing).
    """
    trip = plan.files.inputs.trip
    learnt = plan.files.inputs.learnt
    return {
        "schema": FACTS_SCHEMA,
        "kit_version": __version__,
        "trip": {
            "id": trip.id,
            "name": trip.name,
            "start": trip.start.isoformat(),
            "end": trip.end.isoformat(),
            "nights": trip.nights,
            "sites": [stay.site for stay in trip.stays],
            "planned_on": plan.planned_on.isoformat(),
            "household": plan.files.inputs.household.name,
        },
        "notes": list(trip.notes),
        "tows": [_tow(leg) for leg in plan.tow.legs],
        "photos": list(trip.actuals.photos) if trip.actuals else [],
        "happened": [
            {str(key): _finite(value) for key, value in row.items()}
            for row in plan_against_actual(plan).to_dict("records")
        ],
        "inputs": inputs_of(plan.files),
        "figures": [asdict(figure) for figure in _figures(plan)],
        "checks": [_plain(asdict(check)) for check in all_checks(plan)],
        "sentences": list(trip_sentences(plan)),
        "look_at": [
            f"{check.state.value}: {check.subject}. {check.sentence}"
            for check in things_to_look_at(plan)
        ],
        "bookings": [
            {"site": stay.site, **stay.booking.model_dump(mode="json", exclude_none=True)}
            for stay in trip.stays
        ],
        "outings": [
            {"site": report.site_id, "day": str(row.day), "name": str(row.name_)}
            for report in plan.outings
            for row in report.days.rename(columns={"name": "name_"}).itertuples()
        ],
        "visited": list(trip.actuals.visited) if trip.actuals else [],
        "actuals": _actuals(trip),
        "actual_against_plan": _against_plan(plan),
        "learning": learning_base(plan),
        "learnt": learnt.as_plain() if learnt is not None and learnt.trips else None,
    }


def _actuals(trip: Trip) -> dict[str, Any] | None:
    """What the trip file notes, and what its odometer says where the distances are not noted."""
    if trip.actuals is None:
        return None
    noted = trip.actuals.model_dump(mode="json", exclude_none=True)
    towed, alone = trip.actuals.driven_km()
    driven = {"tow_km": towed, "solo_km": alone}
    return {**noted, **{key: round(km, 2) for key, km in driven.items() if km is not None}}


def _tow(leg: Leg) -> dict[str, Any]:
    """A tow as a line that is fine enough for a map of all tows: some 30 m, (lat, lon)."""
    line = leg.route.geometry.simplify(0.0003, preserve_topology=False)
    return {
        "kind": leg.kind,
        "day": leg.day.isoformat(),
        "from": leg.from_name,
        "to": leg.to_name,
        "km": _rounded(leg.route.length_km, 1),
        "line": [[round(lat, 5), round(lon, 5)] for lon, lat, *_ in line.coords],
    }


def inputs_of(files: TripFiles) -> dict[str, str]:
    """The SHA-256 of every file that a trip is planned from, by what it is to the trip."""
    inputs = {what: sha256_of(path) for what, path in sorted(files.paths.items())}
    return {**inputs, "region": sha256_of(files.region.folder / "manifest.json")}


def _against_plan(plan: TripPlan) -> list[dict[str, Any]]:
    table = plan_against_spent(plan.cost, plan.files.inputs.trip)
    return [
        {str(key): _rounded_if_number(value) for key, value in row.items()}
        for row in table.to_dict("records")
    ]


def _rounded_if_number(value: Any) -> Any:
    value = _finite(value)
    return round(value, 2) if isinstance(value, float) else value


def facts_text(facts: dict[str, Any]) -> str:
    """The facts as JSON text, keys sorted, ending in a newline."""
    return json.dumps(facts, indent=1, sort_keys=True, ensure_ascii=False, allow_nan=False) + "\n"


def read_facts(path: Path) -> dict[str, Any]:
    """The facts of a record.

    Raises
    ------
    PlanFileError
        If the file is missing, damaged, or written by a newer kit.
    """
    try:
        facts = json.loads(path.read_text(encoding="utf-8"))
    except FileNotFoundError as error:
        raise PlanFileError("there is no such file", str(path), "is this a record") from error
    except (OSError, ValueError, RecursionError) as error:
        raise PlanFileError(
            f"it is not a facts file ({error})", str(path), "restore it or make the record again"
        ) from error
    needed = {"schema", "trip", "figures", "checks"}
    if not isinstance(facts, dict) or not needed <= facts.keys():
        raise PlanFileError(
            "it does not hold the facts of a record", str(path), "make the record again"
        )
    if not isinstance(facts["schema"], int) or facts["schema"] > FACTS_SCHEMA:
        raise PlanFileError(
            f"it has schema {facts['schema']!r}, this kit reads up to {FACTS_SCHEMA}",
            str(path),
            "update the kit",
        )
    return migrated(facts)


def _figures(plan: TripPlan) -> list[Figure]:
    figures = [figure for leg in plan.tow.legs for figure in _tow_figures(plan, leg)]
    figures += _site_figures(plan)
    figures += _cost_figures(plan)
    figures += _day_figures(plan)
    figures += [Figure(*figure) for figure in pitch_figures(plan)]
    outfit = plan.outfit.outfit
    figures.append(Figure("outfit.train_kg", "mass of the whole outfit", _rounded(outfit.train_kg),
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
            Figure("outfit.caravan_kg", "mass of the laden caravan", _rounded(masses.caravan_kg),
                   "kg", inputs),
            Figure("outfit.caravan_room_kg", "left to the caravan's plate", _rounded(room), "kg",
                   inputs),
        ]  # fmt: skip
    if nose is not None:
        figures.append(
            Figure("outfit.noseweight_kg", "noseweight", _rounded(nose.kg), "kg", inputs)
        )
    return figures


def _tow_figures(plan: TripPlan, leg: Leg) -> list[Figure]:
    number = [each for each in plan.tow.legs if each.kind == leg.kind].index(leg) + 1
    key = f"tow.{leg.kind}" + (f".{number}" if number > 1 else "")
    what = {"out": "tow out", "home": "tow home", "move": f"tow to {leg.to_name}"}[leg.kind]
    taught = plan.files.inputs.learnt
    why = {
        "road data": str(plan.files.region.manifest["data_date"]),
        "from": leg.from_name,
        "to": leg.to_name,
        "leaving at": f"{leg.depart:%H:%M}",
        "roads to avoid": ", ".join(_avoided(plan)) or "none",
        "hours": "reckoned from the map" if not taught else f"learnt from {taught.trips} trip(s)",
        **law_reasons(plan),
    }
    minutes = (leg.arrive - leg.depart).total_seconds() / 60
    figures = [
        Figure(f"{key}.km", f"{what}: distance", _rounded(leg.route.length_km, 1), "km", why),
        Figure(f"{key}.drive_min", f"{what}: driving", _rounded(leg.route.time_min), "min", why),
        Figure(f"{key}.door_min", f"{what}: door to door", _rounded(minutes), "min", why),
        Figure(f"{key}.breaks", f"{what}: breaks", len(leg.rests), "breaks", why),
        Figure(f"{key}.arrive", f"{what}: arrival", f"{leg.arrive:%H:%M}", "", why),
        *_road_figures(key, what, leg, why),
    ]
    if leg.fuel is not None:
        figures.append(
            Figure(
                f"{key}.fuel",
                f"{what}: fuel",
                _rounded(leg.fuel.likely, 1),
                leg.fuel.unit,
                {"fuel use": leg.fuel.source, "distance": f"{leg.route.length_km:.1f} km"},
            )
        )
    return figures


def _road_figures(key: str, what: str, leg: Leg, why: dict[str, str]) -> list[Figure]:
    """What the way is like: its hills, its corners and its last miles."""
    steepest = leg.route.steps["steepest_up_pct"].max()
    figures = [Figure(f"{key}.steepest_up", f"{what}: steepest climb",
                      _rounded(None if steepest is None else float(steepest), 1), "%",
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


def _avoided(plan: TripPlan) -> list[str]:
    inputs = plan.files.inputs
    roads = (*inputs.household.avoid_roads, *inputs.trip.tow.avoid)
    return [road.name or str(road.osm_way_id or f"{road.lat}, {road.lon}") for road in roads]


def _site_figures(plan: TripPlan) -> list[Figure]:
    figures = [
        Figure(
            f"site.{number}.price",
            f"price of {row['name']}",
            _rounded(row["price"], 2),
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
        Figure("sites.lead", "lead of the best site", _rounded(lead, 3), "score", weights),
    ]


def _ledger_figures(plan: TripPlan) -> list[Figure]:
    """What is paid, owed and would come back on the day of planning, this trip's and others'."""
    if plan.sites.ledger is None:
        return []
    day = {"counted on": plan.planned_on.isoformat()}
    return [
        Figure(f"ledger.{what}.{row['currency']}", f"bookings of all trips: {words}",
               _rounded(float(row[what]), 2), str(row["currency"]), day)
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
        Figure("cost.likely", "whole trip, likely", _rounded(cost.likely, 2), cost.currency, parts),
        Figure("cost.low", "whole trip, low", _rounded(cost.low, 2), cost.currency, parts),
        Figure("cost.high", "whole trip, high", _rounded(cost.high, 2), cost.currency, parts),
        Figure("cost.per_night", "a night", _rounded(cost.per_night, 2), cost.currency, parts),
        Figure("cost.per_person", "a person", _rounded(cost.per_person, 2), cost.currency, parts),
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
                _rounded(float(amount), 2),
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
               _rounded(gap, 1), "%", {"last trip": f"{name}, {start}"})
        for name, start, gap in zip(
            earlier["trip"], earlier["start"], earlier["against_this_pct"], strict=True
        )
    ]  # fmt: skip


def _day_figures(plan: TripPlan) -> list[Figure]:
    trip = plan.files.inputs.trip
    site = plan.files.sites.loc[trip.stays[0].site]
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
        wheel = _rounded(float(out["drive_min"].sum()))
        figures.append(Figure(f"{key}.drive_min", "days out: at the wheel", wheel, "min", why))
    for ride in report.rides:
        of_ride, name = {"way": ride.origin, "kind": ride.kind}, f"{key}.ride.{ride.name}"
        climb, length = _rounded(ride.climb_m), _rounded(ride.length_km, 1)
        figures += [
            Figure(f"{name}.km", f"{ride.name}: length", length, "km", of_ride),
            Figure(f"{name}.climb_m", f"{ride.name}: climb", climb, "m", of_ride),
            Figure(f"{name}.min", f"{ride.name}: time", _rounded(ride.time_min), "min", of_ride),
        ]
    for row in report.memberships.to_dict("records"):
        fee = _rounded(row["fee_per_year"], 2)
        figures.append(
            Figure(
                f"membership.{row['membership_id']}.saved",
                f"{row['name']}: saved in its year",
                _rounded(row["saved"], 2),
                currency,
                {"fee": "not given" if fee is None else f"{fee:.2f}", "visits": str(row["visits"])},
            )
        )
    return figures


def _daylight(sun: Any) -> float | None:
    if sun.sunrise is None or sun.sunset is None:
        return None
    return _rounded((sun.sunset - sun.sunrise).total_seconds() / 60)


def _clock(moment: Any) -> str | None:
    return None if moment is None else f"{moment:%H:%M}"


def _rounded(value: float | None, digits: int = 0) -> float | None:
    if value is None or value != value:
        return None
    return round(float(value), digits)


def _plain(values: dict[str, Any]) -> dict[str, Any]:
    return {
        key: (str(value) if isinstance(value, State) else _finite(value))
        for key, value in values.items()
        if not (key in ("lat", "lon") and value is None)
    }


def _finite(value: Any) -> Any:
    if hasattr(value, "item"):
        value = value.item()
    if isinstance(value, float):
        return None if value != value or value in (float("inf"), float("-inf")) else value
    return value
