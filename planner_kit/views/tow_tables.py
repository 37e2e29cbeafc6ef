"""A tow in tables: its stops, its corners, its last miles and its route card."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.pack.close_maps import road_words
from planner_kit.tow import route_card
from planner_kit.trip import display
from planner_kit.views import look

if TYPE_CHECKING:
    from collections.abc import Iterable

    from planner_kit.tow import Approach, Corners, Starts
    from planner_kit.tow.leg import Leg
    from planner_kit.trip.household import Units


def rests_html(leg: Leg, units: Units) -> str:
    """The stops of a leg, why they were taken and what the next best would cost; empty for none."""
    if leg.rests.empty:
        return look.bullets(leg.rest_notes)
    fuel_unit = "l" if leg.fuel is None else leg.fuel.unit
    rests = leg.rests.assign(
        arrive=[display.clock(time, units) for time in leg.rests["arrive"]],
        at=[display.distance(km, units) for km in leg.rests["at_km"]],
        minutes=[display.duration(minutes) for minutes in leg.rests["minutes"]],
        filled=[
            f"{display.number(amount, units)} {fuel_unit}" if amount else ""
            for amount in leg.rests["filled"]
        ],
    )
    columns = {"name": "Stop at", "at": "After", "arrive": "About", "minutes": "Adds",
               "does": "For", "filled": "Filled", "hours": "Open", "room": "Room for the outfit",
               "why": "Why"}  # fmt: skip
    told = {name: title for name, title in columns.items() if (rests[name] != "").any()}
    return "".join(
        [
            look.table(rests, told, caption="Stops", blank=("filled", "hours", "name")),
            look.bullets(leg.rest_notes),
        ]
    )


def approach_html(approach: Approach | None, units: Units) -> str:
    """The last miles stretch by stretch, and what to look at by eye in order."""
    if approach is None or approach.stretches.empty:
        return ""
    rows = approach.stretches
    shown = rows.assign(
        at=[display.distance(km, units) for km in rows["from_end_km"]],
        name=[
            f"{road_words(str(kind), str(name))}, for {display.distance(metres / 1000, units)}"
            for kind, name, metres in zip(
                rows["road_class"], rows["name"], rows["length_m"], strict=True
            )
        ],
        width=[
            _width([width], known, units)
            for width, known in zip(rows["width_m"], rows["width_known"], strict=True)
        ],
        meets=[
            _meets(str(meets), int(places))
            for meets, places in zip(rows["meets"], rows["passing_places"], strict=True)
        ],
        steepest=[display.gradient(slope, units) for slope in rows["steepest_pct"]],
        bends=[
            _bends(turn, radius, units)
            for turn, radius in zip(rows["turn_deg"], rows["bend_radius_m"], strict=True)
        ],
    )
    return "".join(
        [
            look.table(
                shown,
                {"at": "Before the end", "name": "Road",
                 "width": "Width", "meets": "A car can pass", "steepest": "Steepest",
                 "bends": "Turn in, and tightest bend", "state": "State", "look_at": "Look at"},
                caption=f"The last {display.distance(approach.length_km, units)} to "
                f"{approach.name}",
                blank=("look_at",),
            ),
            look.paragraphs(["Check by eye before you tow there, in this order:"]),
            look.bullets(approach.look_at),
        ]
    )  # fmt: skip


def _width(widths_m: Iterable[float], known: object, units: Units) -> str:
    """How wide a road is, or two where they differ, and by what that is known."""
    shown = dict.fromkeys(display.dimension(one, units, "limit") for one in widths_m)
    return f"{' to '.join(shown)}, {known}"


def _meets(meets: str, places: int) -> str:
    """Whether another car can pass, and where it could if not."""
    return f"{meets}; {places} passing place{'' if places == 1 else 's'}" if places else meets


def _bends(turn_deg: float, radius_m: float, units: Units) -> str:
    """The turn into a stretch and the radius of its tightest bend."""
    turn = _turn(turn_deg, units)
    bend = "" if radius_m == float("inf") else f"radius {display.metres(radius_m, units)}"
    return ", ".join(part for part in (turn, bend) if part) or "none"


def _turn(turn_deg: float, units: Units) -> str:
    if abs(turn_deg) < 30:
        return ""
    return f"{display.number(abs(turn_deg), units)}° {'right' if turn_deg > 0 else 'left'}"


def starts_html(starts: Starts, units: Units) -> str:
    """On what gradients the outfit gets away from rest, and by what that is known."""
    rows = [
        {"by": by, "up": "not known" if pct is None else display.gradient(pct, units)}
        for by, pct in (
            ("type approval of the car, at the mass of this trip", starts.approved_pct),
            ("grip of the driven wheels on wet asphalt", starts.wet_pct),
            ("grip of the driven wheels on dry asphalt", starts.dry_pct),
            ("grip of the driven wheels on gravel or earth", starts.loose_pct),
        )
    ]
    return look.table(
        pd.DataFrame(rows),
        {"by": "By", "up": "Starts again on up to"},
        caption="Getting away on a hill; the car's handbook decides",
        figures=("up",),
    )


def corners_html(corners: Corners | None, units: Units) -> str:
    """The corners that the outfit does not get round on its own half of the road."""
    if corners is None or corners.table.empty:
        return ""
    rows = corners.table[corners.table["state"] != "fine"]
    if rows.empty:
        return ""
    shown = rows.assign(
        at=[display.distance(km, units) for km in rows["at_km"]],
        corner=[
            f"bend of {display.metres(radius, units)} radius"
            if kind == "bend"
            else _turn(turn, units)
            for kind, radius, turn in zip(
                rows["kind"], rows["radius_m"], rows["turn_deg"], strict=True
            )
        ],
        width=[
            _width((into, out), known, units)
            for into, out, known in zip(
                rows["width_in_m"], rows["width_out_m"], rows["width_known"], strict=True
            )
        ],
        **{
            name: ["" if metres == 0 else display.metres(metres, units) for metres in rows[name]]
            for name in ("beyond_own_half_m", "beyond_road_m")
        },
    )  # fmt: skip
    return look.table(
        shown,
        {"at": "At", "where": "Where", "corner": "Corner", "width": "Road",
         "beyond_own_half_m": "Beyond your half", "beyond_road_m": "Beyond the road",
         "state": "State"},
        caption="Corners that need more than your half of the road",
        figures=("beyond_own_half_m", "beyond_road_m"),
        blank=("beyond_own_half_m", "beyond_road_m"),
    )  # fmt: skip


def card_html(leg: Leg, units: Units) -> str:
    """The route card of a leg."""
    return look.table(
        route_card(leg.route, units, leg=leg),
        {"at": "At", "instruction": "Do this", "then": "Then on for", "look_out": "Look out for"},
        caption="Route card", blank=("then", "look_out"),
    )  # fmt: skip
