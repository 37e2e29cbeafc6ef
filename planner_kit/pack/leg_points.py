"""The ends, rests and hard places of a tow as points for a map."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from planner_kit.states import State
from planner_kit.trip import display

if TYPE_CHECKING:
    from planner_kit.plan import TripPlan
    from planner_kit.tow.leg import Leg

_COLUMNS = ("lat", "lon", "label", "kind", "mark")


def leg_points(plan: TripPlan, leg: Leg) -> pd.DataFrame:
    """The ends, rests and hard places of a leg as points for a map: lat, lon, label, mark, kind.

    A hard place is a check that has a position and is not fine; its mark is `!`.
    """
    units = plan.files.inputs.household.units
    ends = list(leg.route.geometry.coords) if not leg.route.geometry.is_empty else []
    rows: list[dict[str, Any]] = []
    if ends:
        kinds = ("home" if leg.kind == "out" else "site", "home" if leg.kind == "home" else "site")
        names = (leg.from_name, leg.to_name)
        for (lon, lat, *_), kind, name in zip((ends[0], ends[-1]), kinds, names, strict=True):
            label = "home" if kind == "home" else name
            rows.append(
                {"lat": lat, "lon": lon, "label": label, "kind": kind, "mark": kind[0].upper()}
            )
    for rest in leg.rests.to_dict("records"):
        rows.append(
            {
                "lat": rest["lat"],
                "lon": rest["lon"],
                "label": f"rest {display.clock(rest['arrive'], units)}",
                "kind": "rest",
                "mark": "R",
            }
        )
    return pd.DataFrame([*rows, *_hard_rows(leg)], columns=list(_COLUMNS))


def hard_places(leg: Leg) -> pd.DataFrame:
    """The places of a leg that want a look, as points for a map: those of checks not fine."""
    return pd.DataFrame(_hard_rows(leg), columns=list(_COLUMNS))


def _hard_rows(leg: Leg) -> list[dict[str, Any]]:
    spots: dict[tuple[float, float], dict[str, Any]] = {}
    for check in leg.checks:
        if check.state is not State.FINE and check.lat is not None and check.lon is not None:
            spot = {"lat": check.lat, "lon": check.lon, "label": "", "kind": "near limit"}
            spots.setdefault((round(check.lat, 4), round(check.lon, 4)), {**spot, "mark": "!"})
    return list(spots.values())
