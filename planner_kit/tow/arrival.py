"""Whether a tow leaves and arrives within the hours of the sites."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from planner_kit.states import Check, State
from planner_kit.tow.whereabouts import METRIC
from planner_kit.trip.display import clock

if TYPE_CHECKING:
    import pandas as pd

    from planner_kit.trip.household import Units

_SPARE_MIN = 15


def _time_of(site: pd.Series, column: str) -> dt.time | None:
    text = site.get(column)
    if not isinstance(text, str) or not text:
        return None
    return dt.time.fromisoformat(text)


def received_hours(site: pd.Series | None) -> tuple[dt.time | None, dt.time | None]:
    """The hours in which a site receives one; None for an end that is not known, or for home."""
    if site is None:
        return None, None
    return _time_of(site, "arrive_from"), _time_of(site, "arrive_until")


def check_arrival(
    site: pd.Series | None,
    name: str,
    depart: dt.datetime,
    arrive: dt.datetime,
    *,
    units: Units = METRIC,
) -> tuple[Check, ...]:
    """Whether the outfit arrives while the site receives it, and else when to leave.

    Parameters
    ----------
    site : Series or None
        Row of the sites list with arrive_from and arrive_until; None for home, which is not
        checked.
    name : str
    depart, arrive : datetime
        Local times.
    units : Units
        Its locale writes the clock.
    """
    if site is None:
        return ()
    first, last = received_hours(site)
    taken = arrive - depart
    shown = f"Arrival at {clock(arrive, units)}"
    subject, source = f"arrival at {name}", "the site's hours in your list"
    if first is None and last is None:
        return (
            Check(subject, State.UNKNOWN, f"{shown}; the site's arrival hours are not known: ask.",
                  source=source),
        )  # fmt: skip
    opens = None if first is None else dt.datetime.combine(arrive.date(), first, arrive.tzinfo)
    shuts = None if last is None else dt.datetime.combine(arrive.date(), last, arrive.tzinfo)
    rule = f"from {_shown(first, units)} until {_shown(last, units)}"
    late = shuts is not None and arrive > shuts
    over_night = arrive.date() > depart.date()
    if late or over_night:
        goal = shuts if shuts is not None and not over_night else None
        advice = (
            f"leave by {clock(_rounded(goal - taken, down=True), units)}"
            if goal
            else "leave much earlier"
        )
        text = (
            f"{shown} is after the site receives you ({rule}); {advice} or ask for a late arrival."
        )
        return (Check(subject, State.NOT_FINE, text, rule=rule, source=source),)
    if opens is not None and arrive < opens:
        text = (
            f"{shown} is before the site receives you ({rule}); leave at "
            f"{clock(_rounded(opens - taken), units)} or take a longer break."
        )
        return (Check(subject, State.LOOK, text, rule=rule, source=source),)
    if shuts is not None and shuts - arrive < dt.timedelta(minutes=2 * _SPARE_MIN):
        goal = shuts - taken - dt.timedelta(minutes=2 * _SPARE_MIN)
        text = (
            f"{shown} leaves little time before the site stops receiving ({rule}); "
            f"leaving by {clock(_rounded(goal, down=True), units)} gives half an hour in hand."
        )
        return (Check(subject, State.LOOK, text, rule=rule, source=source),)
    if first is None or last is None:
        text = f"{shown} keeps the hour that is known ({rule}); the other is not known."
        return (Check(subject, State.UNKNOWN, text, rule=rule, source=source),)
    return (Check(subject, State.FINE, f"{shown} ({rule}).", rule=rule, source=source),)


def check_departure(
    site: pd.Series | None, name: str, depart: dt.datetime, *, units: Units = METRIC
) -> tuple[Check, ...]:
    """Whether the pitch is left by the hour that the site asks for; home is not checked."""
    if site is None:
        return ()
    by = _time_of(site, "depart_by")
    subject, source = f"departure from {name}", "the site's hours in your list"
    if by is None:
        text = (
            f"Departure at {clock(depart, units)}; when the pitch must be free is not known: ask."
        )
        return (Check(subject, State.UNKNOWN, text, source=source),)
    rule = f"by {clock(by, units)}"
    if depart.time() > by:
        text = f"Departure at {clock(depart, units)} is later than the site allows ({rule})."
        return (Check(subject, State.NOT_FINE, text, rule=rule, source=source),)
    return (Check(subject, State.FINE, f"Departure at {clock(depart, units)} ({rule}).", rule=rule,
                  source=source),)  # fmt: skip


def _shown(hour: dt.time | None, units: Units) -> str:
    return "an unknown hour" if hour is None else clock(hour, units)


def _rounded(moment: dt.datetime, *, down: bool = False) -> dt.datetime:
    """The next five minutes, or the last ones before it."""
    beyond = dt.timedelta(
        minutes=moment.minute % 5, seconds=moment.second, microseconds=moment.microsecond
    )
    if not beyond:
        return moment
    return moment - beyond if down else moment - beyond + dt.timedelta(minutes=5)
