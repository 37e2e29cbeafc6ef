"""What the map or the household does not say about a route."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from planner_kit.reference import constant
from planner_kit.tow.whereabouts import METRIC
from planner_kit.trip.display import distance

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from planner_kit.outfit.report import Outfit
    from planner_kit.tow.costing import Costing, RoadSystem
    from planner_kit.trip.household import Units


def route_unknowns(
    system: RoadSystem,
    costing: Costing,
    columns: Mapping[str, NDArray[Any]],
    arcs: NDArray[np.int64],
    outfit: Outfit | None,
    away_m: tuple[float, float],
    *,
    units: Units = METRIC,
) -> tuple[str, ...]:
    """What the map or the household does not say about a route, in sentences.

    Parameters
    ----------
    system : RoadSystem
    costing : Costing
    columns : mapping of str to ndarray
        Of the route's steps.
    arcs : ndarray of int64
        The turn before each step, -1 for none.
    outfit : Outfit or None
        None for a car alone.
    away_m : (float, float)
        How far the start and the end lie from the road. [m]
    units : Units
        In which distances are told.
    """
    road = columns["road_id"]
    km = columns["length_m"] / 1000
    rows = system.table.rows(road)
    told: list[str] = []

    def stretch(on: NDArray[np.bool_], text: str) -> None:
        if on.any():
            told.append(text.format(distance(float(km[on].sum()), units)))

    stretch(costing.roads.assumed(road), "No speed limit is known for {} of the route.")
    for name, metres in zip(("start", "end"), away_m, strict=True):
        if metres > constant("towing_costs", "beside_road").value:
            told.append(
                f"The {name} lies {distance(metres / 1000, units)} from the road; the map shows "
                "no way there."
            )
    passed = system.network.junction[arcs[arcs >= 0]]
    gates = set(passed[costing.limits.gate_unknown[passed]].tolist())
    if gates:
        told.append(f"Whether {len(gates)} gate(s) on the route stand open is not mapped.")
    private = rows.is_word("motor_access", ("private",))
    stretch(private, "{} of the route at its start or end is private road; ask whether you may.")
    if outfit is None:
        return tuple(told)
    told += _of_outfit(outfit)
    ferry = rows.is_word("road_class", ("ferry",))
    lanes, guessed, tagged = (
        rows.is_word("width_source", (source,)) for source in ("lanes", "class", "tagged")
    )
    stretch(lanes & ~ferry, "The width of {} of the route is derived from its lanes.")
    stretch(
        guessed & ~ferry,
        "The width of {} of the route was never measured and is a guess from the kind of road.",
    )
    stretch(~(lanes | guessed | tagged | ferry), "No width is known for {} of the route.")
    stretch(costing.roads.gradient_unknown[road], "No gradient is known for {} of the route.")
    unread = ~rows.is_word("unread_limits", ("",))
    if unread.any():
        ways, texts = (
            rows.values("osm_way_id")[unread].tolist(),
            rows.words("unread_limits")[unread],
        )
        for way, text in dict.fromkeys(zip(ways, texts, strict=True)):
            told.append(f"A limit on way {way} could not be read: {text}.")
    tunnel = rows.values("tunnel").astype(bool) & np.isnan(rows.numbers("maxheight_m"))
    stretch(tunnel, "No height limit is mapped for {} in tunnels or under buildings.")
    told.append("Low bridges that nobody has mapped cannot be known; look out for signs.")
    return tuple(told)


def _of_outfit(outfit: Outfit) -> list[str]:
    return [
        f"The outfit's {what} is not known, so roads signed with a limit on it were left out and "
        "the others cannot be shown to be safe."
        for need, what in (
            (outfit.height_m, "height"),
            (outfit.width_m, "width"),
            (outfit.length_m, "length"),
            (outfit.train_kg, "laden mass"),
            (outfit.max_axle_kg, "heaviest axle load"),
        )
        if need is None
    ]
