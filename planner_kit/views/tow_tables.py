"""Ways to tow and the end of one of them as tables."""

from __future__ import annotations

import html
from typing import TYPE_CHECKING, Any

from planner_kit.trip import display
from planner_kit.views import look
from planner_kit.views.tow_shapes import way_key

if TYPE_CHECKING:
    from collections.abc import Hashable

    import pandas as pd

    from planner_kit.states import Check
    from planner_kit.tow.approach import Approach
    from planner_kit.tow.corners import Corners
    from planner_kit.trip.household import Units

_KINDS = {
    "best": "best by your weights",
    "alternative": "genuinely different",
    "wider alternative": "different, less strictly",
}


def ways_html(table: pd.DataFrame, units: Units, *, searched: bool = True) -> str:
    """Ways side by side: a column for each, a row for each thing that matters.

    Parameters
    ----------
    table : DataFrame
        Of `planner_kit.tow.compare_routes`.
    units : Units
    searched : bool
        Other ways were looked for.
    """
    rows = {
        "On the map": [way_key(number) for number in range(len(table))],
        "Kind": [html.escape(_KINDS[kind]) for kind in table["kind"]],
        "Driving": [display.duration(minutes) for minutes in table["time_min"]],
        "Distance": [display.distance(km, units) for km in table["length_km"]],
        "Money": [_money(row, units) for row in table.to_dict("records")],
        "Stress": [display.duration(minutes) for minutes in table["stress_min"]],
        "Too narrow to pass": [display.distance(km, units) for km in table["narrow_km"]],
        "Steepest": [display.gradient(pct, units) for pct in table["steepest_pct"]],
        "To look at": [f"{count} places" for count in table["to_look_at"]],
        "Not known": [f"{count} things" for count in table["unknowns"]],
        "Shared with the best": [
            "" if kind == "best" else f"{share:.0%}"
            for kind, share in zip(table["kind"], table["shared_frac"], strict=True)
        ],
        "Worst places": [_worst(checks) for checks in table["worst"]],
    }
    head = "".join(f'<th scope="col">Way {html.escape(label)}</th>' for label in table["label"])
    body = "".join(
        f'<tr><th scope="row">{name}</th>' + "".join(f"<td>{cell}</td>" for cell in cells) + "</tr>"
        for name, cells in rows.items()
    )
    only = ""
    if not searched:
        only = "<p>Looking for other ways ...</p>"
    elif len(table) == 1:
        only = "<p>The roads offer no other way that is different enough and still reasonable.</p>"
    return (
        '<div class="pk-scroll" tabindex="0" role="region" aria-label="Ways side by side">'
        "<table><caption>Ways side by side; stress is the extra time that your dislikes add, it "
        f"is not driven</caption><thead><tr><td></td>{head}</tr></thead><tbody>{body}</tbody>"
        f"</table></div>{only}"
    )


def _money(row: dict[Hashable, Any], units: Units) -> str:
    shown = display.money_range(
        row["money_low"], row["money_high"], str(row["currency"]), units, whole=False
    )
    without = str(row["money_unknown"])
    return html.escape(shown) + (f"<br>no price known: {html.escape(without)}" if without else "")


def _worst(checks: tuple[Check, ...]) -> str:
    return look.paragraphs([check.sentence for check in checks] or ["None known."])


def approach_html(approach: Approach, corners: Corners, units: Units) -> str:
    """The end of a way, stretch by stretch, and the turns that are hard to get round."""
    shown = approach.stretches.assign(
        from_end=[display.distance(km, units) for km in approach.stretches["from_end_km"]],
        length=[display.distance(m / 1000, units) for m in approach.stretches["length_m"]],
        width=[
            f"{display.dimension(width, units)} ({known})"
            for width, known in zip(
                approach.stretches["width_m"], approach.stretches["width_known"], strict=True
            )
        ],
        steepest=[display.gradient(pct, units) for pct in approach.stretches["steepest_pct"]],
        road=[
            name or str(kind).replace("_", " ")
            for name, kind in zip(
                approach.stretches["name"], approach.stretches["road_class"], strict=True
            )
        ],
    )
    columns = {
        "from_end": "Before the end", "road": "Road", "length": "Length", "width": "Width",
        "steepest": "Steepest", "passing_places": "Passing places", "meets": "Can pass a car",
        "state": "State", "look_at": "Look at",
    }  # fmt: skip
    heading = (
        ""
        if approach.arrive_heading_deg is None
        else f"<p>You arrive heading {html.escape(display.bearing(approach.arrive_heading_deg))}."
        "</p>"
    )
    return "".join(
        [
            f"<h3>The last {html.escape(display.distance(approach.length_km, units))} to "
            f"{html.escape(approach.name)}</h3>",
            heading,
            look.checks_table([*approach.checks, *corners.checks]),
            look.table(shown, columns, caption="Stretch by stretch", figures=("from_end",),
                       blank=("look_at",)),
            "<p>To check by eye, in the order in which it comes:</p>" if approach.look_at else "",
            look.bullets(approach.look_at) if approach.look_at else "",
        ]
    )  # fmt: skip
