"""All signals of one stay: phones, television, dish and sky, with a note for each service."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pandas as pd

from planner_kit.pitch.cover import cover_of
from planner_kit.pitch.dish import check_dish, dish_path
from planner_kit.pitch.masts import region_masts
from planner_kit.pitch.receivers import phone_receiver, receivers_of
from planner_kit.pitch.signal_checks import best_row, signal_checks
from planner_kit.pitch.signal_words import aerial_words, pattern_words
from planner_kit.pitch.signals import survey_signals
from planner_kit.pitch.skyline import check_open_sky, skyline
from planner_kit.pitch.surroundings import better_words, surroundings
from planner_kit.pitch.television import check_television_choice
from planner_kit.states import Check, State
from planner_kit.trip.household import Phone

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from planner_kit.pitch.dish import DishPath
    from planner_kit.pitch.receivers import Receiver
    from planner_kit.pitch.signals import SignalSurvey
    from planner_kit.pitch.skyline import Skyline
    from planner_kit.region import Region
    from planner_kit.trip.household import Household


@dataclass(frozen=True)
class SignalNote:
    """What is told about one service.

    Attributes
    ----------
    subject : str
        Such as ``phone of Ann (Northwave)``.
    paragraph : str
    state : State
        As the check on the same subject has it.
    path : int or None
        The path of the survey that serves it best; None where there is none to draw.
    dish : DishPath or None
        The way to a satellite, for a dish.
    sky : Skyline or None
        The hills all round, for aerials that look at the whole sky.
    around : DataFrame or None
        How much better or worse it is near by, as `planner_kit.pitch.surroundings.surroundings`
        gives it.
    """

    subject: str
    paragraph: str
    state: State
    path: int | None = None
    dish: DishPath | None = None
    sky: Skyline | None = None
    around: pd.DataFrame | None = None


@dataclass(frozen=True)
class StaySignals:
    """The signals of a stay.

    Attributes
    ----------
    survey : SignalSurvey
    checks : tuple of Check
    notes : tuple of SignalNote
    """

    survey: SignalSurvey
    checks: tuple[Check, ...]
    notes: tuple[SignalNote, ...]


def stay_signals(
    household: Household,
    region: Region,
    site: pd.Series,
    on: dt.date,
    masts: pd.DataFrame,
    *,
    readings: pd.DataFrame | None = None,
    look_around: bool = False,
) -> StaySignals:
    """The forecast for a pitch on a day.

    Parameters
    ----------
    household : Household
    region : Region
        Its terrain, areas and masts are read; terrain may be None.
    site : Series
        A row of the site list, named by its site_id.
    on : date
    masts : DataFrame
        As `planner_kit.pitch.masts.read_masts` returns it.
    readings : DataFrame, optional
        Earlier readings, as `planner_kit.pitch.readings.signal_bias` takes them.
    look_around : bool
        Whether the notes of phones say where near by it gets better.
    """
    lat, lon = float(site["lat"]), float(site["lon"])
    receivers = receivers_of(household.phones, household.caravan)
    listed = region_masts(region, masts)
    survey = survey_signals(
        lat, lon, receivers, listed, region.terrain,
        cover=cover_of(region), on=on, readings=readings, site_id=str(site.name),
        units=household.units,
    )  # fmt: skip
    served = signal_checks(survey.table, receivers, units=household.units)
    rows = [best_row(survey.table, receiver) for receiver in receivers]
    notes = [
        _receiver_note(check, row, survey, site, region, listed, look_around=look_around)
        for check, row in zip(served, rows, strict=True)
    ]
    dishes, dish_notes = _dishes(household, region, lat, lon, on)
    choice = _television_choice(household, survey, receivers, rows, site, dishes)
    ground = skyline(region.terrain, lat, lon)
    sky, wifi = check_open_sky(ground), _wifi_check(site)
    notes += dish_notes
    notes += [SignalNote(check.subject, check.sentence, check.state) for check in choice]
    notes.append(SignalNote(sky.subject, sky.sentence, sky.state, sky=ground))
    notes.append(SignalNote(wifi.subject, wifi.sentence, wifi.state))
    return StaySignals(survey, (*served, *choice, *dishes, sky, wifi), tuple(notes))


def absent_phones(household: Household) -> tuple[Check, ...]:
    """One check, unknown, where the household file is silent on phones; else none."""
    if household.phones:
        return ()
    return (
        Check(
            "phones",
            State.UNKNOWN,
            "The household file names no phone and operator ([[phones]]), so no mobile signal is "
            "looked at.",
        ),
    )


def _receiver_note(
    check: Check,
    row: int | None,
    survey: SignalSurvey,
    site: pd.Series,
    region: Region,
    masts: pd.DataFrame,
    *,
    look_around: bool,
) -> SignalNote:
    """The paragraph of a phone or the television, with where it gets better and what is assumed."""
    drawn = None if survey.paths is None else row
    if drawn is None:
        return SignalNote(check.subject, check.sentence, check.state)
    best: Any = survey.table.loc[drawn].to_dict()
    words, around = [check.sentence, aerial_words(best)], None
    if look_around and best["service"] == "phone":
        lat, lon = float(site["lat"]), float(site["lon"])
        mast: Any = masts.loc[masts["mast_id"] == best["mast_id"]].iloc[0]
        position = (float(mast["lat"]), float(mast["lon"]))
        around = surroundings(lat, lon, position, survey, drawn, region)
        words.append(better_words(around))
    words.append(pattern_words(best))
    told = " ".join(word for word in words if word)
    return SignalNote(check.subject, told, check.state, drawn, around=around)


def _dishes(
    household: Household, region: Region, lat: float, lon: float, on: dt.date
) -> tuple[list[Check], list[SignalNote]]:
    checks, notes = [], []
    for satellite in household.satellites:
        check, angles = check_dish(lat, lon, satellite, on, region.terrain)
        way = None if region.terrain is None else dish_path(region.terrain, lat, lon, angles)
        checks.append(check)
        notes.append(SignalNote(check.subject, check.sentence, check.state, dish=way))
    return checks, notes


def _television_choice(
    household: Household,
    survey: SignalSurvey,
    receivers: Sequence[Receiver],
    rows: Sequence[int | None],
    site: pd.Series,
    dishes: Sequence[Check],
) -> tuple[Check, ...]:
    """What to watch with; nothing for a household with neither aerial nor dish."""
    aerials = [row for receiver, row in zip(receivers, rows, strict=True)
               if receiver.service == "television"]  # fmt: skip
    if not aerials and not household.satellites:
        return ()
    number = aerials[0] if aerials else None
    best: Any = None if number is None else survey.table.loc[number].to_dict()
    socket = site.get("tv_socket")
    known = None if socket is None or pd.isna(socket) or socket == "" else bool(socket)
    return (check_television_choice(best, known, dishes),)


def site_readings(
    readings: Sequence[Any], sites: pd.DataFrame, masts: pd.DataFrame, region: Region
) -> pd.DataFrame:
    """Earlier readings with the forecast that the kit makes for each place, uncorrected.

    Parameters
    ----------
    readings : sequence of SignalReading
        As trips hold them after they were driven.
    sites : DataFrame
        The site list; readings at sites that it does not name are left out.
    masts : DataFrame
    region : Region

    Returns
    -------
    readings : DataFrame
        operator, site_id, level_dbm, forecast_dbm, as `signal_bias` takes them.
    """
    rows = []
    for reading in readings:
        if reading.level_dbm is None or reading.site not in sites.index:
            continue
        site: Any = sites.loc[reading.site]
        receiver = phone_receiver(Phone(owner="reading", operator=reading.operator))
        table = survey_signals(
            float(site["lat"]), float(site["lon"]), (receiver,), masts, region.terrain,
            cover=cover_of(region),
        ).table  # fmt: skip
        row = best_row(table, receiver)
        level = float("nan")
        if row is not None and not table["assumed"].iloc[row]:
            level = float(table["level"].iloc[row])
        rows.append((reading.operator, reading.site, reading.level_dbm, level))
    columns = ["operator", "site_id", "level_dbm", "forecast_dbm"]
    return pd.DataFrame(rows, columns=columns).astype({"level_dbm": float, "forecast_dbm": float})


def _wifi_check(site: pd.Series) -> Check:
    value = site.get("wifi")
    if value is None or pd.isna(value):
        told = "The site list does not say whether there is wireless internet."
        return Check("site wireless internet", State.UNKNOWN, told, source="site list")
    if not bool(value):
        told = "The site has no wireless internet."
        return Check("site wireless internet", State.LOOK, told, source="site list")
    told = "The site has wireless internet; how far it reaches and how fast it is, is not known."
    return Check("site wireless internet", State.LOOK, told, source="site list")
