"""Whether a site suits the outfit, the dates and those who come."""

from __future__ import annotations

import datetime as dt
import math
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.reference import constant
from planner_kit.sites.site_list import source_of
from planner_kit.sites.tariff import is_valid_on, membership_for
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from planner_kit.trip.household import Household


def check_fit(
    site: pd.Series,
    household: Household,
    arrive: dt.date,
    leave: dt.date,
    *,
    hookup: bool = True,
    awning: bool = True,
    arrive_at: dt.time | None = None,
    depart_at: dt.time | None = None,
) -> tuple[Check, ...]:
    """The checks of one site for one stay, each with its figures.

    Parameters
    ----------
    site : Series
        A row of `planner_kit.sites.read_sites`, its name the site id.
    household : Household
    arrive, leave : date
        First and last day of the stay.
    hookup, awning : bool
        Whether they are wanted.
    arrive_at, depart_at : time, optional
        Local times at the gate, where the tow is planned.

    Returns
    -------
    checks : tuple of Check
        Pitch, longest outfit, hook-up, season, dogs, arrival and departure, members, shortest stay;
        whatever the list or the household does not say is ``unknown``.
    """
    checks = [
        check_pitch(site, household, awning=awning),
        _check_outfit_length(site, household),
        _check_season(site, arrive, leave),
        _check_members(site, household, arrive, leave),
        _check_min_nights(site, (leave - arrive).days),
    ]
    if hookup:
        checks.append(_check_hookup(site))
    if household.dogs:
        checks.append(_check_dogs(site))
    if arrive_at is not None:
        checks.append(_check_arrival(site, arrive_at))
    if depart_at is not None:
        checks.append(_check_departure(site, depart_at))
    return tuple(checks)


def _room(name: str) -> float:
    return constant("site_fit", name).value


def pitch_need_m(household: Household, *, awning: bool) -> dict[str, tuple[float, float] | None]:
    """Length and width that a pitch needs, by the way the outfit stands on it.

    Returns
    -------
    needs : dict
        ``car beside``, ``car in front``, ``car elsewhere`` and ``no awning`` (with the car
        elsewhere): length and width with the usual room kept free [m], or None where the household
        file lacks a dimension.
    """
    caravan, car, room = household.caravan, household.car, _room("manoeuvre_room")
    length, width = caravan.shipping_length_m, caravan.width_m
    if length is None or width is None:
        return dict.fromkeys(("car beside", "car in front", "car elsewhere", "no awning"))
    bare = (length + room, width + room)
    needs: dict[str, tuple[float, float] | None] = dict.fromkeys(
        ("car beside", "car in front", "car elsewhere")
    )
    needs["no awning"] = bare
    depth = caravan.awning_depth_m if awning else 0.0
    if depth is None:
        return needs
    alone = (bare[0], bare[1] + depth)
    needs["car elsewhere"] = alone
    if car.length_m is not None and car.width_m is not None:
        beside = alone[1] + car.width_m + _room("car_door_room")
        needs["car beside"] = (max(alone[0], car.length_m + room), beside)
        needs["car in front"] = (alone[0] + car.length_m, max(alone[1], car.width_m + room))
    return needs


def check_pitch(site: pd.Series, household: Household, *, awning: bool) -> Check:
    """Whether caravan, awning and car go on the pitch together.

    Notes
    -----
    The distance to the neighbours is the site's to keep: commonly 6 m between units, of which 3 m
    stay clear of vehicles and awnings [1]_.

    References
    ----------
    .. [1] Model Standards for Touring Caravan Sites 1983 (Great Britain), density and space
       between caravans, as set out by the Isle of Wight Council, read on 2026-11-25.
    """
    subject = f"pitch size at {site['name']}"
    length, width = float(site["pitch_length_m"]), float(site["pitch_width_m"])
    needs = pitch_need_m(household, awning=awning)
    missing = [
        what
        for what, value in (("pitch length", length), ("pitch width", width))
        if math.isnan(value)
    ]
    if needs["no awning"] is None:
        missing.append("caravan length or width")
    if missing:
        return Check(
            subject,
            State.UNKNOWN,
            f"Not known: {' and '.join(missing)}; ask the site and measure the caravan.",
            source=source_of(site, "pitch_length_m", "pitch_width_m"),
        )

    def spare(way: str) -> float:
        need = needs[way]
        return -math.inf if need is None else min(length - need[0], width - need[1])

    stands = max(("car beside", "car in front"), key=spare)
    wanted = "caravan, awning and car" if awning else "caravan and car"
    if spare(stands) >= 0:
        return _pitch_found(
            site, State.FINE, f"{wanted} fit, {stands}", needs[stands], spare(stands)
        )
    if spare("car elsewhere") >= 0:
        need = needs["car elsewhere"]
        if needs["car beside"] is None:
            words = "the caravan and awning fit; whether the car does is not known (its size)"
            return _pitch_found(site, State.UNKNOWN, words, need, spare("car elsewhere"))
        words = "the car has to stand elsewhere"
        return _pitch_found(site, State.LOOK, words, need, spare("car elsewhere"))
    if spare("no awning") >= 0:
        need = needs["no awning"]
        if needs["car elsewhere"] is None:
            words = "the caravan fits; whether the awning does is not known (its depth)"
            return _pitch_found(site, State.UNKNOWN, words, need, spare("no awning"))
        words = "the caravan fits only without the awning, and the car stands elsewhere"
        return _pitch_found(site, State.LOOK, words, need, spare("no awning"))
    words = "the caravan does not fit with room to walk round"
    return _pitch_found(site, State.NOT_FINE, words, needs["no awning"], spare("no awning"))


def _pitch_found(
    site: pd.Series, state: State, words: str, need: tuple[float, float] | None, spare: float
) -> Check:
    length, width = float(site["pitch_length_m"]), float(site["pitch_width_m"])
    need = need or (math.nan, math.nan)
    tight = "length" if length - need[0] <= width - need[1] else "width"
    figure, limit = (need[0], length) if tight == "length" else (need[1], width)
    return Check(
        f"pitch size at {site['name']}",
        state,
        f"The pitch is {length:g} m by {width:g} m: {words} "
        f"(needs {need[0]:.1f} m by {need[1]:.1f} m).",
        figure=round(figure, 3),
        limit=limit,
        unit="m",
        margin=round(spare, 3),
        rule=f"{tight} of the pitch, with room to level and walk round",
        source=source_of(site, "pitch_length_m", "pitch_width_m"),
        basis="common practice",
    )


def _check_outfit_length(site: pd.Series, household: Household) -> Check:
    subject = f"longest outfit at {site['name']}"
    limit = float(site["max_outfit_length_m"])
    car, caravan = household.car.length_m, household.caravan.shipping_length_m
    if math.isnan(limit) or car is None or caravan is None:
        what = "the site's longest outfit" if math.isnan(limit) else "the outfit's length"
        return Check(
            subject,
            State.UNKNOWN,
            f"Not known: {what}.",
            source=source_of(site, "max_outfit_length_m"),
        )
    length = car + caravan
    margin = limit - length
    state = State.NOT_FINE if margin < 0 else State.FINE
    if 0 <= margin < _room("outfit_margin"):
        state = State.LOOK
    words = "is longer than" if margin < 0 else "is within"
    return Check(
        subject,
        state,
        f"The outfit of {length:.1f} m {words} the {limit:g} m that the site takes.",
        figure=round(length, 3),
        limit=limit,
        unit="m",
        margin=round(margin, 3),
        rule="longest car and caravan the site takes",
        source=source_of(site, "max_outfit_length_m"),
    )


def _check_hookup(site: pd.Series) -> Check:
    subject, amps = f"hook-up at {site['name']}", float(site["hookup_a"])
    if math.isnan(amps):
        return Check(
            subject, State.UNKNOWN, "Not known how many amperes the hook-up gives; ask the site."
        )
    if amps == 0:
        words = "The site has no hook-up and the stay wants one."
        return Check(
            subject, State.NOT_FINE, words, 0.0, unit="A", source=source_of(site, "hookup_a")
        )
    volts = float(site["hookup_v"])
    power = "" if math.isnan(volts) else f", about {amps * volts / 1000:.1f} kW in all"
    return Check(
        subject,
        State.FINE,
        f"The hook-up gives {amps:g} A{power}; the load is looked at with the pitch.",
        figure=amps,
        unit="A",
        source=source_of(site, "hookup_a"),
    )


def is_open(site: pd.Series, arrive: dt.date, leave: dt.date) -> bool | None:
    """Whether a site is open from arrival to departure; None where the list does not say.

    A season may run over the turn of the year (``11-01`` to ``03-15``).
    """
    first, last = str(site["open_from"]), str(site["open_to"])
    if not first or not last:
        return None
    if (first, last) == ("01-01", "12-31"):
        return True
    days = [arrive + dt.timedelta(days=n) for n in range((leave - arrive).days + 1)]
    marks = [f"{day:%m-%d}" for day in days]
    if first <= last:
        return all(first <= mark <= last for mark in marks)
    return all(mark >= first or mark <= last for mark in marks)


def _check_season(site: pd.Series, arrive: dt.date, leave: dt.date) -> Check:
    subject, opened = f"open season of {site['name']}", is_open(site, arrive, leave)
    if opened is None:
        words = "Not known when the site is open; ask before booking."
        return Check(subject, State.UNKNOWN, words, source=source_of(site, "open_from", "open_to"))
    dates = f"{_day_words(site['open_from'])} to {_day_words(site['open_to'])}"
    if opened:
        words = f"The site is open ({dates}) from {arrive} to {leave}."
        return Check(subject, State.FINE, words, source=source_of(site, "open_from", "open_to"))
    if is_open(site, arrive, leave - dt.timedelta(days=1)):
        words = f"The site is open {dates}; ask whether one may leave as late as {leave}."
        return Check(subject, State.LOOK, words, source=source_of(site, "open_from", "open_to"))
    words = f"The site is open {dates}, not all the way from {arrive} to {leave}."
    return Check(subject, State.NOT_FINE, words, source=source_of(site, "open_from", "open_to"))


def _day_words(month_day: str) -> str:
    day = dt.datetime.strptime(f"2000-{month_day}", "%Y-%m-%d")
    return f"{day.day} {day:%B}"


def _check_dogs(site: pd.Series) -> Check:
    subject = f"dogs at {site['name']}"
    if pd.isna(site["dogs"]):
        words = "Not known whether dogs may come; ask the site."
        return Check(subject, State.UNKNOWN, words, source=source_of(site, "dogs"))
    if site["dogs"]:
        return Check(subject, State.FINE, "Dogs may come.", source=source_of(site, "dogs"))
    return Check(subject, State.NOT_FINE, "Dogs may not come.", source=source_of(site, "dogs"))


def _check_members(site: pd.Series, household: Household, arrive: dt.date, leave: dt.date) -> Check:
    subject, membership = f"membership at {site['name']}", membership_for(site, household)
    only, source = site["members_only"], source_of(site)
    last_night = leave - dt.timedelta(days=1)
    if membership is not None and is_valid_on(membership, last_night):
        words = f"The household's membership '{membership.name}' holds for the whole stay."
        return Check(subject, State.FINE, words, source=source)
    if membership is not None:
        words = f"The membership '{membership.name}' ends on {membership.valid_until}"
        shut = not pd.isna(only) and bool(only)
        late = "takes members only" if shut else "no longer gives the member price then"
        state = State.NOT_FINE if shut else State.LOOK
        words += f", before the stay does; the site {late}."
        return Check(subject, state, words, source=source)
    if pd.isna(only):
        words = "Not known whether the site takes members only."
        return Check(subject, State.UNKNOWN, words, source=source)
    if only:
        words = "The site takes members only and the household has no such membership."
        return Check(subject, State.NOT_FINE, words, source=source)
    return Check(subject, State.FINE, "The site takes everybody.", source=source)


def _check_min_nights(site: pd.Series, nights: int) -> Check:
    subject, least = f"shortest stay at {site['name']}", site["min_nights"]
    if pd.isna(least):
        words = "Not known whether the site asks for a shortest stay."
        return Check(subject, State.UNKNOWN, words, figure=nights, unit="nights")
    state = State.FINE if nights >= least else State.NOT_FINE
    stay = "1 night" if nights == 1 else f"{nights} nights"
    words = f"{stay}, where the site asks for {least} or more."
    return Check(
        subject,
        state,
        words if state is State.FINE else f"Only {words}",
        figure=nights,
        limit=float(least),
        unit="nights",
        margin=float(nights - least),
        source=source_of(site, "min_nights"),
    )


def _minutes(time: dt.time | str) -> int:
    if isinstance(time, str):
        time = dt.datetime.strptime(time, "%H:%M").time()
    return time.hour * 60 + time.minute


def _check_arrival(site: pd.Series, at: dt.time) -> Check:
    subject, source = f"arrival at {site['name']}", source_of(site)
    opens, closes = str(site["arrive_from"]), str(site["arrive_until"])
    if not opens or not closes:
        words = f"Not known when the site takes arrivals; the plan arrives at {at:%H:%M}."
        return Check(subject, State.UNKNOWN, words, source=source)
    early, late = _minutes(opens) - _minutes(at), _minutes(at) - _minutes(closes)
    margin = float(-max(early, late))
    words = f"The plan arrives at {at:%H:%M}; the site takes arrivals from {opens} to {closes}"
    state = State.FINE
    if early > 0:
        state, words = State.LOOK, words + f", {early} min later than that: leave later or wait"
    elif late > 0:
        state, words = State.NOT_FINE, words + f", and is {late} min too late"
    elif -late < constant("site_fit", "arrival_margin").value:
        state, words = State.LOOK, words + f", with only {-late} min to spare"
    return Check(
        subject, state, words + ".", _minutes(at), _minutes(closes), "min", margin, source=source,
        rule="arrival hours of the site; figures in minutes after midnight",
    )  # fmt: skip


def _check_departure(site: pd.Series, at: dt.time) -> Check:
    subject, by, source = f"departure from {site['name']}", str(site["depart_by"]), source_of(site)
    if not by:
        words = f"Not known by when to leave; the plan leaves at {at:%H:%M}."
        return Check(subject, State.UNKNOWN, words, source=source)
    margin = _minutes(by) - _minutes(at)
    state = State.FINE if margin >= 0 else State.NOT_FINE
    words = f"The plan leaves at {at:%H:%M}; the site wants the pitch free by {by}."
    return Check(
        subject, state, words, _minutes(at), _minutes(by), "min", float(margin), source=source,
        rule="departure hour of the site; figures in minutes after midnight",
    )  # fmt: skip
