"""The facts of a record: all that is worth keeping of a plan, as plain values, and reading them."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from planner_kit import __version__
from planner_kit.costs.actuals import plan_against_spent
from planner_kit.diary.against import plan_against_actual
from planner_kit.diary.figures import figures_of, rounded
from planner_kit.diary.learning_base import learning_base
from planner_kit.diary.migrations import FACTS_SCHEMA, migrated
from planner_kit.errors import PlanFileError
from planner_kit.files import sha256_of
from planner_kit.states import State
from planner_kit.summary import all_checks, things_to_look_at, trip_sentences
from planner_kit.trip.wording import household_words

if TYPE_CHECKING:
    from pathlib import Path

    from planner_kit.plan import TripPlan
    from planner_kit.tow.leg import Leg
    from planner_kit.trip.trip import Trip
    from planner_kit.trip_files import TripFiles


def facts_of(plan: TripPlan) -> dict[str, Any]:
    """Everything worth keeping of a plan, as plain JSON values; the same plan gives the same facts.

    Parameters
    ----------
    plan : TripPlan

    Returns
    -------
    facts : dict
        schema, kit_version, trip, notes, inputs (SHA-256 by name), figures, checks, sentences,
        look_at (both in the household's words), tows (each with its line), photos, bookings,
        outings, visited, not_needed (things on the loading list that earlier trips did not need),
        actuals, happened and actual_against_plan (the latter of money), learning (what was reckoned
        before anything learnt was applied: the base that the next trips learn from), learnt (what
        earlier trips changed in this plan; None for nothing).
    """
    trip = plan.files.inputs.trip
    learnt = plan.files.inputs.learnt
    units = plan.files.inputs.household.units
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
            "site_names": [str(name) for name in plan.sites.stays["name"]],
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
        "figures": [asdict(figure) for figure in figures_of(plan)],
        "checks": [_plain(asdict(check)) for check in all_checks(plan)],
        "sentences": list(trip_sentences(plan)),
        "look_at": [
            household_words(f"{check.state.value}: {check.subject}. {check.sentence}", units)
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
        "not_needed": _not_needed(plan),
        "actuals": _actuals(trip),
        "actual_against_plan": _against_plan(plan),
        "learning": learning_base(plan),
        "learnt": learnt.as_plain() if learnt is not None and learnt.trips else None,
    }


def _not_needed(plan: TripPlan) -> list[dict[str, Any]]:
    lines = plan.outfit.not_needed
    return [
        {"item": row["item"], "place": row["place"], "kg": rounded(row["total_kg"], 1),
         "said": int(row["said"]), "trips": int(row["trips"]), "told": row["told"],
         "do": row["do"]}
        for row in ([] if lines is None else lines.to_dict("records"))
    ]  # fmt: skip


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
        "km": rounded(leg.route.length_km, 1),
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
    try:
        return migrated(facts)
    except (KeyError, TypeError, AttributeError, ValueError, IndexError) as error:
        raise PlanFileError(
            f"it is not the facts of a whole record ({type(error).__name__}: {error})", str(path),
            "restore it or make the record again",
        ) from error  # fmt: skip


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
