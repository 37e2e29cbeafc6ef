"""All signals of one stay: phones, television, dish and sky, with a note for each service."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import pandas as pd

from planner_kit.pitch.cover import cover_of
from planner_kit.pitch.masts import region_masts
from planner_kit.pitch.receivers import phone_receiver, receivers_of
from planner_kit.pitch.signals import best_row, signal_checks, survey_signals
from planner_kit.pitch.sky_view import check_open_sky
from planner_kit.pitch.skyline import skyline
from planner_kit.pitch.surroundings import better_words, surroundings
from planner_kit.states import Check, State
from planner_kit.trip.household import Phone

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from planner_kit.pitch.signals import SignalSurvey
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
    path : int or None
        The path of the survey that serves it best; None where there is none to draw.
    """

    subject: str
    paragraph: str
    path: int | None


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
    )  # fmt: skip
    served = signal_checks(survey.table, receivers)
    sky = check_open_sky(skyline(region.terrain, lat, lon))
    wifi = _wifi_check(site)
    rows = [best_row(survey.table, receiver) for receiver in receivers]
    notes = []
    for check, row in zip(served, rows, strict=True):
        drawn = None if survey.paths is None else row
        words = check.sentence
        if look_around and drawn is not None and survey.table["service"].iloc[drawn] == "phone":
            mast: Any = listed.loc[listed["mast_id"] == survey.table["mast_id"].iloc[drawn]].iloc[0]
            position = (float(mast["lat"]), float(mast["lon"]))
            around = surroundings(lat, lon, position, survey, drawn, region)
            words = " ".join(part for part in (words, better_words(around)) if part)
        notes.append(SignalNote(check.subject, words, drawn))
    notes += [SignalNote(check.subject, check.sentence, None) for check in (sky, wifi)]
    return StaySignals(survey, (*served, wifi), tuple(notes))


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
