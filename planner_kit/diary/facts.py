"""The figures of a record: what a later trip is compared with.

A figure has a key that stays the same from trip to trip, a value with its unit, and the reasons
that it depends on, so that a comparison can say why it moved.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field
from typing import TYPE_CHECKING, Any

from planner_kit import __version__
from planner_kit.errors import PlanFileError
from planner_kit.files import sha256_of
from planner_kit.outings import sun_times
from planner_kit.states import State
from planner_kit.summary import all_checks, things_to_look_at, trip_sentences

if TYPE_CHECKING:
    from pathlib import Path

    from planner_kit.plan import TripPlan
    from planner_kit.tow.leg import Leg

FACTS_SCHEMA = 1


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
        schema, kit_version, trip, inputs (SHA-256 by name), region, figures, checks, bookings,
        visited, actuals.
    """
    trip = plan.files.inputs.trip
    manifest = plan.files.region.folder / "manifest.json"
    inputs = {what: sha256_of(path) for what, path in sorted(plan.files.paths.items())}
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
        },
        "inputs": {**inputs, "region": sha256_of(manifest)},
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
        "actuals": trip.actuals.model_dump(mode="json", exclude_none=True)
        if trip.actuals
        else None,
    }


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
    return facts


def _figures(plan: TripPlan) -> list[Figure]:
    figures = [figure for leg in plan.tow.legs for figure in _tow_figures(plan, leg)]
    figures += _site_figures(plan)
    figures += _cost_figures(plan)
    figures += _day_figures(plan)
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
    why = {"road data": str(plan.files.region.manifest["data_date"]), "to": leg.to_name}
    minutes = (leg.arrive - leg.depart).total_seconds() / 60
    figures = [
        Figure(f"{key}.km", f"{what}: distance", _rounded(leg.route.length_km, 1), "km", why),
        Figure(f"{key}.drive_min", f"{what}: driving", _rounded(leg.route.time_min), "min", why),
        Figure(f"{key}.door_min", f"{what}: door to door", _rounded(minutes), "min", why),
        Figure(f"{key}.breaks", f"{what}: breaks", len(leg.rests), "breaks", why),
        Figure(f"{key}.arrive", f"{what}: arrival", f"{leg.arrive:%H:%M}", "", why),
    ]
    if leg.fuel is not None:
        figures.append(
            Figure(
                f"{key}.fuel",
                f"{what}: fuel",
                _rounded(leg.fuel.likely, 1),
                leg.fuel.unit,
                {"fuel use": leg.fuel.source},
            )
        )
    return figures


def _site_figures(plan: TripPlan) -> list[Figure]:
    figures = []
    for number, row in enumerate(plan.sites.stays.itertuples(), start=1):
        lines = plan.sites.price_lines
        mine = lines[lines["site_id"] == row.site_id] if len(lines) else lines
        parts = zip(mine["quantity"], mine["what"], strict=True)
        made_of = " + ".join(f"{quantity:g} x {what}" for quantity, what in parts)
        figures.append(
            Figure(
                f"site.{number}.price",
                f"price of {row.name}",
                _rounded(row.price, 2),
                str(row.currency),
                {"price made of": made_of, "site": str(row.site_id)},
            )
        )
    late = plan.sites.deadlines
    figures.append(Figure("deadlines.late", "deadlines already past",
                          int((late["state"] == "late").sum()), "deadlines"))  # fmt: skip
    return figures


def _cost_figures(plan: TripPlan) -> list[Figure]:
    cost = plan.cost
    figures = [
        Figure("cost.likely", "whole trip, likely", _rounded(cost.likely, 2), cost.currency),
        Figure("cost.low", "whole trip, low", _rounded(cost.low, 2), cost.currency),
        Figure("cost.high", "whole trip, high", _rounded(cost.high, 2), cost.currency),
    ]
    by_kind = cost.lines.groupby("kind", sort=True)["likely"].sum(min_count=1)
    for kind, amount in by_kind.items():
        figures.append(
            Figure(f"cost.{kind}", f"{kind} in all", _rounded(float(amount), 2), cost.currency)
        )
    return figures


def _day_figures(plan: TripPlan) -> list[Figure]:
    trip = plan.files.inputs.trip
    site = plan.files.sites.loc[trip.stays[0].site]
    zone = plan.files.region.time_zone or "UTC"
    sun = sun_times(float(site["lat"]), float(site["lon"]), trip.start, zone)
    why = {"date": trip.start.isoformat()}
    figures = [
        Figure("day.sunrise", "sunrise on the first day", _clock(sun.sunrise), "", why),
        Figure("day.sunset", "sunset on the first day", _clock(sun.sunset), "", why),
        Figure("day.weekday", "weekday of the first day", f"{trip.start:%A}", "", why),
    ]
    for report in plan.outings:
        known = report.ranking["open_days"].notna()
        closed = int((report.ranking.loc[known, "open_days"] == 0).sum())
        figures.append(
            Figure(
                f"outings.{report.site_id}.closed",
                "attractions closed on all days",
                closed,
                "places",
                why,
            )
        )
    return figures


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
    }


def _finite(value: Any) -> Any:
    if hasattr(value, "item"):
        value = value.item()
    if isinstance(value, float):
        return None if value != value or value in (float("inf"), float("-inf")) else value
    return value
