"""Whether a site's ways suit those who come: quiet hours, steps, children, current, rules."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import pandas as pd

from planner_kit.pitch.hookup import check_hookup
from planner_kit.pitch.site_rules import site_offer
from planner_kit.region.opening import opening_of
from planner_kit.sites.site_list import source_of
from planner_kit.sites.tariff import people_of
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.trip.household import Household

_CHILD_UNTIL = 12
# What a household may want to do, the column of the site list, and the sentence where it may not.
_ACTIVITIES = (
    ("barbecue", "barbecues"),
    ("ball_games", "ball games"),
    ("drones", "drones"),
)


def check_house_rules(
    site: pd.Series,
    household: Household,
    arrive: dt.date,
    *,
    party: Sequence[str] = (),
    hookup: bool = True,
    arrive_at: dt.time | None = None,
    depart_at: dt.time | None = None,
    time_zone: str = "UTC",
    country: str = "",
) -> tuple[Check, ...]:
    """The checks that go beyond room, season and price: `check_needs` and `check_ways`.

    Parameters
    ----------
    site : Series
        A row of `planner_kit.sites.read_sites`.
    household : Household
    arrive : date
    party : sequence of str
    hookup : bool
        Whether it is wanted.
    arrive_at, depart_at : time, optional
        Local times at the gate.
    time_zone, country : str
        For opening hours.

    Returns
    -------
    checks : tuple of Check
        What the site list does not say is ``unknown``; what only some households need (steps,
        playground, charging) is checked where this one needs it.
    """
    return (
        *check_needs(
            site, household, arrive,
            party=party, hookup=hookup, time_zone=time_zone, country=country,
        ),
        *_not_told(site, household, arrive, party, hookup),
        *check_ways(site, arrive, arrive_at=arrive_at, depart_at=depart_at),
    )  # fmt: skip


def check_needs(
    site: pd.Series,
    household: Household,
    arrive: dt.date,
    *,
    party: Sequence[str] = (),
    hookup: bool = True,
    time_zone: str = "UTC",
    country: str = "",
) -> tuple[Check, ...]:
    """What a site has to have for those who come: it decides whether the site fits.

    Parameters
    ----------
    site, household, arrive, party, hookup, time_zone, country
        See `check_house_rules`.
    """
    name = str(site["name"])
    people = people_of(household, party)
    checks = []
    if hookup and site["hookup_a"] != 0 and household.appliances:
        load = check_hookup(site_offer(site), household.appliances)
        checks.append(
            Check(
                f"load at {name}", load.state, load.sentence, load.figure, load.limit, load.unit,
                load.margin, load.rule, load.source, load.basis,
            )
        )  # fmt: skip
    if any(person.step_free for person in people):
        checks.append(
            _flag(site, "step_free", f"step-free access at {name}",
                  "Wash rooms and pitches are reached without steps.",
                  "There are steps, and somebody needs to do without.")
        )  # fmt: skip
    ages = [person.age_on(arrive) for person in people]
    if any(age is not None and age <= _CHILD_UNTIL for age in ages):
        checks.append(
            _flag(site, "playground", f"children at {name}", "There is a playground.",
                  "There is no playground.", missing=State.LOOK)
        )  # fmt: skip
    if household.car.fuel in ("electric", "hybrid"):
        checks.append(
            _flag(site, "charging", f"charging the car at {name}", "The car may be charged.",
                  "The car may not be charged there; a pitch's hook-up is not for cars.",
                  missing=State.LOOK if household.car.fuel == "hybrid" else State.NOT_FINE)
        )  # fmt: skip
    if str(site["opening_hours"]):
        checks.append(_check_hours(site, name, arrive, time_zone, country))
    return tuple(checks)


def _not_told(
    site: pd.Series, household: Household, arrive: dt.date, party: Sequence[str], hookup: bool
) -> list[Check]:
    """What cannot be checked because the household file is silent."""
    name, found = str(site["name"]), []
    people = people_of(household, party)
    ages = [person.age_on(arrive) for person in people if person.adult is not True]
    if None in ages and not any(age is not None and age <= _CHILD_UNTIL for age in ages):
        words = "The household file does not say how old everybody is: a playground may matter."
        found.append(Check(f"children at {name}", State.UNKNOWN, words, source="household file"))
    if hookup and site["hookup_a"] != 0 and not household.appliances:
        words = "The household file lists no appliance, so the load on the hook-up is not known."
        found.append(Check(f"load at {name}", State.UNKNOWN, words, source="household file"))
    return found


def check_ways(
    site: pd.Series,
    arrive: dt.date,
    *,
    arrive_at: dt.time | None = None,
    depart_at: dt.time | None = None,
) -> tuple[Check, ...]:
    """A site's ways, which are good to know and do not decide whether it fits.

    Parameters
    ----------
    site, arrive, arrive_at, depart_at
        See `check_house_rules`.

    Returns
    -------
    checks : tuple of Check
        Quiet hours; what is not allowed; the surface; and one check for all that the list leaves
        out.
    """
    name, source = str(site["name"]), source_of(site)
    checks = [_check_quiet(site, arrive_at, depart_at, source)]
    silent, open_ = [], []
    for column, what in _ACTIVITIES:
        if pd.isna(site[column]):
            open_.append(what)
        elif not site[column]:
            words = f"The site allows no {what}."
            told = source_of(site, column)
            checks.append(Check(f"{what} at {name}", State.LOOK, words, source=told))
    if str(site["surface"]):
        checks.append(_check_surface(site, name, source_of(site, "surface")))
    else:
        silent.append("what the pitches are made of (soft after rain? hard for pegs?)")
    if open_:
        silent.append(f"whether it allows {' or '.join(open_)}")
    if not str(site["opening_hours"]):
        silent.append(f"its opening hours on {arrive}")
    if silent:
        words = f"The site list does not say {', nor '.join(silent)}: ask the site."
        checks.append(Check(f"what is not said of {name}", State.UNKNOWN, words, source=source))
    return tuple(checks)


def _flag(
    site: pd.Series,
    column: str,
    subject: str,
    yes: str,
    no: str,
    *,
    missing: State = State.NOT_FINE,
) -> Check:
    """A check of a yes-or-no column; `missing` is the state where the site has not got it."""
    source = source_of(site, column)
    if pd.isna(site[column]):
        words = "The site list does not say; ask the site."
        return Check(subject, State.UNKNOWN, words, source=source)
    state, words = (State.FINE, yes) if site[column] else (missing, no)
    return Check(subject, state, words, source=source)


def _check_quiet(
    site: pd.Series, arrive_at: dt.time | None, depart_at: dt.time | None, source: str
) -> Check:
    begin, end = str(site["quiet_from"]), str(site["quiet_until"])
    subject = f"quiet hours at {site['name']}"
    if not begin or not end:
        words = "The site list does not say when it wants quiet: ask before you come late."
        return Check(subject, State.UNKNOWN, words, source=source)
    from_, until = dt.time.fromisoformat(begin), dt.time.fromisoformat(end)
    ways = (("arrival", arrive_at), ("departure", depart_at))
    hits = [
        f"{what} at {at:%H:%M}" for what, at in ways if at is not None and _within(at, from_, until)
    ]
    if hits:
        words = f"{' and '.join(hits).capitalize()} would fall in the quiet hours {begin} to {end}."
        return Check(subject, State.LOOK, words, source=source)
    missing = [what for what, at in ways if at is None]
    if missing:
        words = (
            f"Quiet hours are {begin} to {end}; the hour of {' and '.join(missing)} is not known."
        )
        return Check(subject, State.UNKNOWN, words, source=source)
    words = f"Arrival and departure lie outside the quiet hours {begin} to {end}."
    return Check(subject, State.FINE, words, source=source)


def _within(at: dt.time, begin: dt.time, end: dt.time) -> bool:
    return begin <= at < end if begin <= end else at >= begin or at < end


def _check_surface(site: pd.Series, name: str, source: str) -> Check:
    soft = ("grass", "ground", "earth", "mud", "dirt", "sand")
    surface = str(site["surface"])
    if any(word in surface.casefold() for word in soft):
        words = f"The pitches are {surface}: after rain they are soft; ask about firm ones."
        return Check(f"surface at {name}", State.LOOK, words, source=source)
    words = f"The pitches are {surface}; awning pegs may need a hard ground set."
    return Check(f"surface at {name}", State.FINE, words, source=source)


def _check_hours(
    site: pd.Series, name: str, arrive: dt.date, time_zone: str, country: str
) -> Check:
    text, source = str(site["opening_hours"]), source_of(site, "opening_hours")
    place = (float(site["lat"]), float(site["lon"]))
    hours = opening_of(text, [arrive], zone=ZoneInfo(time_zone), country=country, place=place)[0]
    subject = f"opening hours of {name}"
    if hours.state == "open":
        return Check(subject, State.FINE, f"Open on {arrive} ({hours.text}).", source=source)
    if hours.state == "closed":
        words = f"By its opening hours ({text}) the site is closed on {arrive}."
        return Check(subject, State.NOT_FINE, words, source=source)
    words = f"Its opening hours ({text}) do not tell for sure about {arrive}; ask the site."
    return Check(subject, State.UNKNOWN, words, source=source)
