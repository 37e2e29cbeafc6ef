"""Ways to tow side by side as a table."""

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
    from planner_kit.trip.household import Units

_KINDS = {
    "best": "best by your weights",
    "alternative": "genuinely different",
    "wider alternative": "different, by looser limits",
}


def ways_html(
    table: pd.DataFrame, units: Units, *, searched: bool = True, drawn: bool = True
) -> str:
    """Ways side by side: a column for each, a row for each thing that matters.

    Parameters
    ----------
    table : DataFrame
        Of `planner_kit.tow.compare_routes`.
    units : Units
    searched : bool
        Other ways were looked for.
    drawn : bool
        A map beside the table draws the ways.
    """
    rows = {
        "On the map": [way_key(number) for number in range(len(table))],
        "By": [look.text(roads or "small roads") for roads in table["by"]],
        "Kind": [html.escape(_KINDS[kind]) for kind in table["kind"]],
        "Driving": [display.duration(minutes) for minutes in table["time_min"]],
        "Distance": [display.distance(km, units) for km in table["length_km"]],
        "Money": [_money(row, units) for row in table.to_dict("records")],
        "Stress": [display.duration(minutes) for minutes in table["stress_min"]],
        "Too narrow to pass": [
            "none" if km == 0 else display.distance(km, units) for km in table["narrow_km"]
        ],
        "Take the whole road": [
            "" if count != count else _counted(int(count), "corner")
            for count in table["whole_road"]
        ],
        "Steepest": [display.gradient(pct, units) for pct in table["steepest_pct"]],
        "To look at": [_counted(count, "place") for count in table["to_look_at"]],
        "Not known": [_counted(count, "thing") for count in table["unknowns"]],
        "Shared with the best": [
            "" if kind == "best" else f"{share:.0%}"
            for kind, share in zip(table["kind"], table["shared_frac"], strict=True)
        ],
        "Worst places": [_worst(checks) for checks in table["worst"]],
    }
    if not drawn:
        rows.pop("On the map")
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
    mark = " pk-others" if searched else ""
    return (
        f'<div class="pk-scroll{mark}" tabindex="0" role="region" aria-label="Ways side by side">'
        "<table><caption>Ways side by side; stress is the extra time that your dislikes add, it "
        f"is not driven</caption><thead><tr><td></td>{head}</tr></thead><tbody>{body}</tbody>"
        f"</table></div>{only}"
    )


def _counted(count: int, what: str) -> str:
    return f"{count} {what}{'' if count == 1 else 's'}" if count else "none"


def _money(row: dict[Hashable, Any], units: Units) -> str:
    shown = display.money_range(
        row["money_low"], row["money_high"], str(row["currency"]), units, whole=False
    )
    without = str(row["money_unknown"])
    return html.escape(shown) + (f"<br>no price known: {html.escape(without)}" if without else "")


def _worst(checks: tuple[Check, ...]) -> str:
    return look.paragraphs([check.sentence for check in checks] or ["None known."])
