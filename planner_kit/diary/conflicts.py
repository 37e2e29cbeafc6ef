"""What of an earlier trip no longer holds on new dates: closed, out of season, no longer listed."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import pandas as pd

from planner_kit.diary.comparing import paired_checks
from planner_kit.region.opening import opening_table
from planner_kit.states import State, worst_state
from planner_kit.summary import all_checks

if TYPE_CHECKING:
    from pathlib import Path

    from planner_kit.outings.report import OutingsReport
    from planner_kit.plan import TripPlan
    from planner_kit.trip.trip import Trip

CONFLICT_COLUMNS = ("what", "before", "now", "state", "do")
# A booking belongs to its own dates; that it is open again is told with the changes.
_NOT_A_CONFLICT = ("booking at ", "payment at ", "cancellation at ", "figures of the booking at ")


def conflicts_of(plan: TripPlan, older: dict[str, Any]) -> pd.DataFrame:
    """What was so on the earlier trip and is not so now.

    Parameters
    ----------
    plan : TripPlan
        On the new dates.
    older : dict
        The facts of the earlier record.

    Returns
    -------
    conflicts : DataFrame
        what, before, now, state (``not fine``, ``look at this`` or ``unknown``), do; gravest
        first. Empty when nothing conflicts.
    """
    rows = [*_worse_checks(plan, older), *_places(plan, older), *_wishes(plan)]
    order = {State.NOT_FINE.value: 0, State.LOOK.value: 1, State.UNKNOWN.value: 2}
    rows.sort(key=lambda row: order[row["state"]])
    return pd.DataFrame(rows, columns=list(CONFLICT_COLUMNS))


def rows_gone(trip: Trip, known: set[str], listed: str) -> pd.DataFrame:
    """The sites that a trip names and its site list no longer has.

    Parameters
    ----------
    trip : Trip
    known : set of str
        The ids in the list.
    listed : str
        What the list is called.

    Returns
    -------
    conflicts : DataFrame
        As `conflicts_of`: ``not fine`` for a stay's site, ``look at this`` for a candidate.
    """
    rows = []
    for number, stay in enumerate(trip.stays, start=1):
        if stay.site not in known:
            rows.append(
                _row(f"site of stay {number}", stay.site, f"no row of {listed} any more",
                     State.NOT_FINE, "choose another site or write its row again")
            )  # fmt: skip
    for site in trip.candidates:
        if site not in known:
            rows.append(
                _row("candidate", site, f"no row of {listed} any more", State.LOOK,
                     "it was taken off the candidates")
            )  # fmt: skip
    return pd.DataFrame(rows, columns=list(CONFLICT_COLUMNS))


def read_conflicts(folder: Path) -> pd.DataFrame | None:
    """The conflicts that a record's template wrote; None where it compared with nothing."""
    path = folder / "conflicts.csv"
    return pd.read_csv(path, dtype=str, keep_default_na=False) if path.is_file() else None


def _worse_checks(plan: TripPlan, older: dict[str, Any]) -> list[dict[str, Any]]:
    now = [{"subject": c.subject, "state": c.state.value, "sentence": c.sentence}
           for c in all_checks(plan)]  # fmt: skip
    rows = []
    for old, new in paired_checks(older["checks"], now):
        if new is None or new["subject"].startswith(_NOT_A_CONFLICT):
            continue
        state = State(new["state"])
        before = State(old["state"]) if old is not None else State.FINE
        if state == before or worst_state((before, state)) == before:
            continue
        if old is None and state is not State.NOT_FINE:
            continue
        told = "was not looked at" if old is None else old["state"]
        rows.append(_row(new["subject"], told, new["sentence"], state, "see the checks"))
    return rows


def _places(plan: TripPlan, older: dict[str, Any]) -> list[dict[str, Any]]:
    """The places of the earlier days that are closed on the same day now, or no longer listed."""
    trip = plan.files.inputs.trip
    moved = trip.start - dt.date.fromisoformat(str(older["trip"]["start"]))
    zone = ZoneInfo(plan.files.region.time_zone or "UTC")
    rows = []
    for report, (arrive, leave) in zip(plan.outings, trip.stay_dates(), strict=False):
        seen = [one for one in older.get("outings", []) if one["site"] == report.site_id]
        by_name = report.ranking.drop_duplicates("name").set_index("name", drop=False)
        for one in seen:
            then, name = dt.date.fromisoformat(str(one["day"])), str(one["name"])
            now = then + moved
            if not name or not arrive <= now <= leave:
                continue
            told = f"{then:%A} {then.day} {then:%B %Y}"
            if name not in by_name.index:
                if _was_left_out(report, name):
                    continue
                rows.append(_row(name, told, "no longer among the places near the site",
                                 State.LOOK, "look for it in the list of attractions"))  # fmt: skip
                continue
            place = by_name.loc[[name]]
            hours = opening_table(place, [now], zone=zone, country=plan.files.region.country)
            if next(iter(hours.values()))[0].state == "closed":
                days = place["open_days"].iloc[0]
                open_on = (
                    "closed on all days" if days == 0 else f"open on {days:g} days of the stay"
                )
                rows.append(_row(name, told, f"closed on {now:%A} {now.day} {now:%B %Y}; {open_on}",
                                 State.LOOK, "the days were planned anew"))  # fmt: skip
    return rows


def _was_left_out(report: OutingsReport, name: str) -> bool:
    return "name" in report.left_out.columns and name in set(report.left_out["name"])


def _wishes(plan: TripPlan) -> list[dict[str, Any]]:
    """What the trip file says must be seen and is closed on every day or not listed."""
    rows = []
    for wish in plan.files.inputs.trip.outings.must:
        found = [
            days
            for report in plan.outings
            for days in report.ranking.loc[
                (report.ranking["name"] == wish) | (report.ranking["attraction_id"] == wish),
                "open_days",
            ]
        ]
        if not found:
            rows.append(_row(wish, "must be seen", "no such place near the sites", State.LOOK,
                             "correct outings > must"))  # fmt: skip
        elif all(days == 0 for days in found):
            rows.append(_row(wish, "must be seen", "closed on every day of the stay",
                             State.NOT_FINE, "choose other days"))  # fmt: skip
    return rows


def _row(what: str, before: str, now: str, state: State, do: str) -> dict[str, Any]:
    return {"what": what, "before": before, "now": now, "state": state.value, "do": do}
