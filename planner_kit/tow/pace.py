"""The time that a tow really takes this household, from its earlier trips."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner_kit.trip.display import duration

if TYPE_CHECKING:
    from planner_kit.tow.leg import Route
    from planner_kit.trip.learnt import Learnt


def at_learnt_pace(route: Route, learnt: Learnt | None) -> tuple[Route, tuple[str, ...]]:
    """A route whose times are those that earlier tows taught, by road class.

    Parameters
    ----------
    route : Route
    learnt : Learnt or None

    Returns
    -------
    route : Route
        The same way; `time_min`, and `time_s` and `speed_kmh` of its steps, are changed. A pace
        faster than the kit's, which holds to the limits, is not taken over.
    sentences : tuple of str
        That it was so, and from how many trips; empty where nothing was learnt.
    """
    if learnt is None or not learnt.pace:
        return route, ()
    slower = route.steps["road_class"].astype(str).map(learnt.pace_of)
    steps = route.steps.assign(
        time_s=route.steps["time_s"] * slower, speed_kmh=route.steps["speed_kmh"] / slower
    )
    minutes = float(steps["time_s"].sum()) / 60
    trips = f"{learnt.trips} trip" + ("" if learnt.trips == 1 else "s")
    sentence = (
        f"The hours are those of your earlier tows ({trips}): {duration(minutes - route.time_min)} "
        "more than reckoned from the map; a faster pace than the limits allow is not taken over."
    )
    columns = {str(name): steps[name].to_numpy() for name in steps}
    return replace(route, columns=columns, time_min=minutes), (sentence,)
