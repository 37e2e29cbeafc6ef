"""What the breaker of the post does hour by hour, at the start of motors, and what to switch when.

The breaker is taken to be of type B and cold, as IEC 60898-1 has it; a warm post, other pitches on
the same breaker and an older type trip sooner.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.reference import constant
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from numpy.typing import NDArray

HOUR_COLUMNS = ("hour", "watts", "amperes", "breaker", "heaviest")
STEP_COLUMNS = ("step", "switch_on", "first_off", "watts", "spare_w", "why")


def breaker_words(amperes: NDArray[np.float64], rated_a: float) -> NDArray[np.str_]:
    """What a breaker does with a current that goes on for an hour.

    Parameters
    ----------
    amperes : ndarray of float
        [A]
    rated_a : float
        [A]

    Returns
    -------
    words : ndarray of str
        ``holds``, ``may trip``, ``trips within the hour`` or ``trips within a minute``.

    References
    ----------
    .. [1] IEC 60898-1: 1.13, 1.45 and 2.55 times the rated current; see ``hookup.csv``.
    """
    share = np.asarray(amperes, dtype=np.float64) / rated_a
    bounds = [
        float(constant("hookup", name))
        for name in ("breaker_trips_soon", "breaker_trips", "breaker_holds")
    ]
    return np.select(
        [share >= bounds[0], share >= bounds[1], share > 1.0],
        ["trips within a minute", "trips within the hour", "may trip"],
        "holds",
    )


def supply_hours(loads: pd.DataFrame, rated_a: float, volts: float) -> pd.DataFrame:
    """What may be drawn in each hour of the day, and what the breaker does with it.

    Parameters
    ----------
    loads : DataFrame
        As `planner_kit.pitch.hookup.mains_loads` returns it.
    rated_a, volts : float
        Of the supply. [A], [V]

    Returns
    -------
    hours : DataFrame, 24 rows
        hour, watts [W], amperes [A], breaker (see `breaker_words`), heaviest (the appliances that
        make most of it).
    """
    hours = list(range(24))
    watts = loads[hours].to_numpy(dtype=np.float64)
    total = watts.sum(axis=0)
    names = loads["name"].to_numpy(dtype=object)
    heaviest = []
    for hour in hours:
        order = np.argsort(-watts[:, hour], kind="stable")[:3]
        heaviest.append(", ".join(str(names[i]) for i in order if watts[i, hour] > 0))
    amperes = total / volts
    return pd.DataFrame(
        {
            "hour": hours,
            "watts": total,
            "amperes": amperes,
            "breaker": breaker_words(amperes, rated_a),
            "heaviest": heaviest,
        },
        columns=list(HOUR_COLUMNS),
    )


def switching_order(loads: pd.DataFrame, limit_w: float) -> pd.DataFrame:
    """In which order to switch things on, and what must be off first.

    Parameters
    ----------
    loads : DataFrame
        As `planner_kit.pitch.hookup.mains_loads` returns it.
    limit_w : float
        Of the supply. [W]

    Returns
    -------
    steps : DataFrame
        step, switch_on, first_off (what has to be switched off before; empty if nothing), watts
        (drawn after the step) [W], spare_w [W], why.

    Notes
    -----
    What is always on comes first, then what is needed, lightest first, so that as many as can run
    together do; each that does not fit beside the rest turns off the heaviest of them that are
    not always on, one after the other.
    """
    if loads.empty:
        return pd.DataFrame(columns=list(STEP_COLUMNS))
    ordered = loads.assign(
        _off=~loads["always_on"].astype(bool), _want=~loads["needed"]
    ).sort_values(["_off", "_want", "watts"], kind="stable")
    running: list[tuple[str, float, bool]] = []
    rows = []
    columns = [ordered[name].tolist() for name in ("name", "watts", "always_on", "needed")]
    for step, (name, watts, always, needed) in enumerate(zip(*columns, strict=True), start=1):
        off = _to_turn_off(running, watts, limit_w)
        running = [item for item in running if item[0] not in off]
        running.append((name, watts, always))
        drawn = sum(item[1] for item in running)
        why = "always on" if always else "needed" if needed else "only if there is room to spare"
        if drawn > limit_w:
            why += "; too much for this supply even so"
        rows.append((step, name, ", ".join(off), drawn, limit_w - drawn, why))
    return pd.DataFrame(rows, columns=list(STEP_COLUMNS))


def _to_turn_off(running: list[tuple[str, float, bool]], watts: float, limit_w: float) -> list[str]:
    drawn = sum(item[1] for item in running) + watts
    off = []
    for name, load, always in sorted(running, key=lambda item: -item[1]):
        if drawn <= limit_w:
            break
        if not always:
            off.append(name)
            drawn -= load
    return off


def check_hours(hours: pd.DataFrame, rated_a: float, source: str) -> Check:
    """The hour at which the breaker would trip if everything ran when it may.

    Parameters
    ----------
    hours : DataFrame
        As `supply_hours` returns it.
    rated_a : float
        [A]
    source : str
        Where the rating comes from.
    """
    subject = "hour that trips the post"
    rule = constant("hookup", "breaker_trips")
    worst = hours.iloc[int(hours["amperes"].to_numpy().argmax())]
    peak = float(worst["amperes"])
    over = hours[hours["breaker"] != "holds"]
    if not hours["watts"].any():
        state, words = State.UNKNOWN, "No mains appliance is listed"
    elif over.empty:
        state = State.FINE
        words = (
            f"No hour goes above the post's {rated_a:g} A: at most {peak:.1f} A at "
            f"{int(worst['hour']):02d}:00"
        )
    else:
        trips = over["breaker"].str.startswith("trips").any()
        state = State.NOT_FINE if trips else State.LOOK
        when = ", ".join(f"{int(hour):02d}:00" for hour in over["hour"])
        words = (
            f"With everything on that may run, the post {worst['breaker']} at "
            f"{int(worst['hour']):02d}:00 ({peak:.1f} A of {rated_a:g} A: {worst['heaviest']}); "
            f"over its rating at {when}. Follow the order of switching"
        )
    return Check(
        subject,
        state,
        f"{words}.",
        figure=peak,
        limit=rated_a,
        unit="A",
        margin=rated_a - peak,
        rule=f"IEC 60898-1: a breaker trips within the hour at {rule.value:g} times its rating",
        source=f"{source}; {rule.source}",
        basis="published",
    )


def surge_w(loads: pd.DataFrame, start_factors: dict[str, float], hour: int | None = None) -> float:
    """Highest power at the start of one appliance while the rest of an hour runs, in W.

    Parameters
    ----------
    loads : DataFrame
    start_factors : dict of str to float
        By how much an appliance's first moment is above its watts, by name; 1 where it is absent.
    hour : int, optional
        None for the worst hour of the day.
    """
    hours = range(24) if hour is None else (hour,)
    factor = np.array([start_factors.get(str(name), 1.0) - 1 for name in loads["name"]])
    worst = 0.0
    for each in hours:
        watts = loads[each].to_numpy(dtype=np.float64)
        extra = (factor * watts).max() if len(watts) else 0.0
        worst = max(worst, float(watts.sum() + extra))
    return worst


def check_surge(
    loads: pd.DataFrame, start_factors: dict[str, float], rated_a: float, volts: float, source: str
) -> Check:
    """Whether the start of a motor trips the breaker at once."""
    subject = "start of motors"
    limit = constant("hookup", "breaker_surge")
    if loads.empty:
        return Check(subject, State.UNKNOWN, "No mains appliance is listed.", source=source)
    peak = surge_w(loads, start_factors) / volts
    most = limit.value * rated_a
    fine = peak <= most
    return Check(
        subject,
        State.FINE if fine else State.LOOK,
        f"The hardest start draws {peak:.1f} A for a moment; the post may trip at once from "
        f"{most:.0f} A" + ("." if fine else ": start it with the other things off."),
        figure=peak,
        limit=most,
        unit="A",
        margin=most - peak,
        rule=f"IEC 60898-1: type B may trip at once from {limit.value:g} times its rating",
        source=f"{source}; {limit.source}",
        basis="published",
    )
