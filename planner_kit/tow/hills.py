"""Hills: what the outfit can start on and climb, and what its brakes must hold back."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant
from planner_kit.rules.cautions import cautions_for
from planner_kit.states import Check, State
from planner_kit.tow.road_facts import surely_steep_pct
from planner_kit.tow.whereabouts import Way, longest_runs, runs
from planner_kit.trip.display import distance, gradient, metres

if TYPE_CHECKING:
    from numpy.typing import NDArray

_SOURCE = "terrain model and incline tags"


def _value(name: str) -> float:
    return constant("towing_costs", name).value


def steep_checks(way: Way) -> list[tuple[float, Check]]:
    """The longest steep climbs and descents of a route, each with where it begins in km."""
    found: list[tuple[float, Check]] = []
    limit = _value("steep_check")
    for column, word, advice in (
        ("steepest_up_pct", "climb", "Take it in a low gear and do not stop on it if you can."),
        ("steepest_down_pct", "descent", "Go down in a low gear and spare the brakes."),
    ):
        slope = way.known(column)
        steepest = longest_runs(way, slope >= limit, 2)
        sure = surely_steep_pct(way.rows, slope) if steepest else slope
        for first, last, _ in steepest:
            at = first + int(slope[first : last + 1].argmax())
            worst, where = float(slope[at]), way.where(at)
            found.append(
                (
                    float(way.start_km[first]),
                    Check(
                        subject=f"steep {word} on {where}",
                        state=State.LOOK,
                        sentence=f"{way.at(first)}, {where}: a {word} of up to "
                        f"{gradient(worst, way.units)} on {way.length(first, last)} of road"
                        f"{_how_sure(way, at, worst, float(sure[at]))}. {advice}",
                        figure=worst,
                        limit=limit,
                        unit="%",
                        margin=limit - worst,
                        rule=f"steepest 100 m; pointed out from {gradient(limit, way.units)}",
                        source=_SOURCE,
                        **way.position(at, middle=True),
                    ),
                )
            )
    return found


def _how_sure(way: Way, place: int, worst_pct: float, sure_pct: float) -> str:
    """What is known of the error of a gradient, to follow it in a sentence."""
    error = way.gradient_error_pct(place)
    if error is None:
        return ", of unknown accuracy"
    if error == 0:
        return ", as signed or tagged"
    factor = _value("gradient_sure")
    return (
        f", read from the terrain: give or take {factor * error:.0f} points, so at least "
        f"{sure_pct:.0f}%"
    )


def long_descents(way: Way) -> list[tuple[int, int]]:
    """Runs of steps that go down for so long that the brakes grow hot: first and last step.

    A run holds every step that goes down by its mean gradient, with short level pieces inside it,
    and counts when its height and its length are both beyond the table's.
    """
    mean = way.known("gradient_pct")
    along = way.along_m
    down = (mean <= -_value("descent_mean")) & ~way.ferry
    fall = np.concatenate([[0.0], np.cumsum(-mean / 100 * way.numbers("length_m"))])
    least_m, least_long_m = _value("descent_drop"), _value("descent_length")
    found = [
        (first, last)
        for first, last in runs(_bridged(down, mean, along))
        if fall[last + 1] - fall[first] >= least_m
        and along[last + 1] - along[first] >= least_long_m
    ]
    return found


def _bridged(
    down: NDArray[np.bool_], mean_pct: NDArray[np.float64], along_m: NDArray[np.float64]
) -> NDArray[np.bool_]:
    """Descents joined over pieces between them that do not climb and are short."""
    joined = down.copy()
    gaps = np.array(runs(~down), dtype=np.int64).reshape(-1, 2)
    gaps = gaps[(gaps[:, 0] > 0) & (gaps[:, 1] < len(down) - 1)]
    if not len(gaps):
        return joined
    short = along_m[gaps[:, 1] + 1] - along_m[gaps[:, 0]] <= _value("descent_gap")
    between = np.stack([gaps[:, 0], gaps[:, 1] + 1], axis=1).ravel()
    steepest = np.maximum.reduceat(mean_pct, between)[::2]
    for first, last in gaps[short & (steepest < 1.0)]:
        joined[first : last + 1] = True
    return joined


def descent_checks(way: Way) -> list[tuple[float, Check]]:
    """Each long descent of a route, with the caution for the brakes."""
    found: list[tuple[float, Check]] = []
    mean, length = way.known("gradient_pct"), way.numbers("length_m")
    descents = long_descents(way)
    caution = " ".join(cautions_for("descents")) if descents else ""
    for first, last in descents:
        part = slice(first, last + 1)
        drop = -float((mean[part] / 100 * length[part]).sum())
        share = drop / max(float(length[part].sum()), 1.0) * 100
        where = way.where(first)
        found.append(
            (
                float(way.start_km[first]),
                Check(
                    subject=f"long descent from {where}",
                    state=State.LOOK,
                    sentence=f"{way.at(first)}, {where}: the road falls "
                    f"{metres(drop, way.units)} over {way.length(first, last)}, "
                    f"{gradient(share, way.units)} in the mean. {caution}",
                    figure=drop,
                    limit=_value("descent_drop"),
                    unit="m",
                    margin=_value("descent_drop") - drop,
                    rule=f"a fall of {metres(_value('descent_drop'), way.units)} or more over at "
                    "least "
                    f"{distance(_value('descent_length') / 1000, way.units)}",
                    source=_SOURCE,
                    basis="common practice",
                    **way.position(first),
                ),
            )
        )
    return found
