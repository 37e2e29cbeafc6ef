"""A signal forecast in one sentence that people read."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from planner_kit.pitch.masts import compass_point
from planner_kit.reference import constant
from planner_kit.trip import display

if TYPE_CHECKING:
    from planner_kit.pitch.receivers import Receiver
    from planner_kit.trip.household import Units

_BARE = "over bare ground (trees and buildings take from it)"


def missing_words(
    receiver: Receiver, mast: dict[Any, Any], frequency_mhz: float, *, has_terrain: bool
) -> tuple[str, ...]:
    """What a forecast lacks, in words; empty when everything is known."""
    gaps = (
        (not has_terrain, "terrain for this region"),
        (mast["service"] == "mobile" and not receiver.operator, "its operator"),
        (pd.isna(mast["height_m"]), "the mast's height"),
        (not np.isfinite(frequency_mhz), "its frequency or channel"),
        (not np.isfinite(mast["power_dbm"]), "its power"),
        (not np.isfinite(receiver.gain_db), "the kind of aerial on the caravan"),
    )
    return tuple(words for gap, words in gaps if gap)


def far_words(km: float, units: Units | None) -> str:
    """A distance as the household reads it; kilometres where nobody says how."""
    return f"{km:.1f} km" if units is None else display.distance(km, units)


def signal_sentence(
    row: dict[str, Any], missing: tuple[str, ...], *, mapped: bool, units: Units | None = None
) -> str:
    """A row of the signal table as a sentence.

    Parameters
    ----------
    row : dict
        All columns of `planner_kit.pitch.signals.SIGNAL_COLUMNS` but the sentence.
    missing : tuple of str
        As `missing_words` gives it.
    mapped : bool
        Whether trees and buildings of the map are in the forecast.
    units : Units, optional
        How distances are told.
    """
    where, hides = _where(row, units), f"; {_hidden(row, units)}"
    told = _told(row, mapped=mapped) if np.isfinite(row["level"]) else ""
    lacks = f"{' and '.join(missing)} not known" if missing else ""
    if lacks:
        guess = f"; with usual figures instead, {told}" if told else ""
        hidden = hides if row["line_of_sight"] == "no" else ""
        return f"{where}{hidden}; not to be told: {lacks}{guess}."
    if not told:
        return f"{where}; not to be told: {_why_not(row)}."
    if row["line_of_sight"] == "no":
        return f"{where}{hides}; {told}."
    return f"{where}, {_view(row, units)}; {told}."


def aerial_words(row: dict[str, Any]) -> str:
    """What an aerial outside would bring a phone, and where to point it; empty if not known."""
    outside = row["level"] + float(constant("signal_constants", "outdoor_aerial_gain"))
    if row["service"] != "phone" or not np.isfinite(row["level"]):
        return ""
    compass = float(row["magnetic_deg"])
    magnetic = f" ({compass:.0f}° by compass)" if np.isfinite(compass) else ""
    return (
        f"An aerial outside, pointed to {row['bearing_deg']:.0f}° true{magnetic}, would bring "
        f"about {outside:.0f} dBm, {outside - row['level_inside']:.0f} dB more "
        "than a phone inside."
    )


def pattern_words(row: dict[str, Any]) -> str:
    """What is taken for granted about the aerials at both ends."""
    told = "The mast is taken to send alike in all directions, as its aerial's pattern is not known"
    if row["service"] == "television":
        return f"{told}; your aerial is taken to look straight at it, with its rods turned right."
    wall = constant("signal_constants", "caravan_wall_loss")
    return (
        f"{told}: where it points elsewhere, less arrives. The caravan's walls are taken to lose "
        f"{wall.value:g} dB; metal skins and coated windows may lose up to {wall.high:g}."
    )


def _why_not(row: dict[str, Any]) -> str:
    if not 30 <= row["frequency_mhz"] <= 6000:
        return "the method holds from 30 to 6000 MHz only"
    return "part of the ground between is not known"


def _where(row: dict[str, Any], units: Units | None) -> str:
    bearing, compass = float(row["bearing_deg"]), float(row["magnetic_deg"])
    magnetic = f", {compass:.0f}° by compass" if np.isfinite(compass) else ""
    where = (
        f"{row['mast']} stands {far_words(row['distance_km'], units)} to the "
        f"{compass_point(bearing)} "
        f"({bearing:.0f}° true{magnetic})"
    )
    if row["service"] == "television":
        rods = row["polarisation"]
        known = rods in ("horizontal", "vertical")
        where += f", aerial rods {rods if known else 'either way (polarisation not known)'}"
    return where


def _hidden(row: dict[str, Any], units: Units | None) -> str:
    return f"the ground hides it {far_words(row['tightest_km'], units)} from the pitch"


def _view(row: dict[str, Any], units: Units | None) -> str:
    if row["clearance_share"] < float(constant("signal_constants", "clearance_share")):
        return f"in sight, but the ground comes close {far_words(row['tightest_km'], units)} off"
    return "in sight"


def _told(row: dict[str, Any], *, mapped: bool) -> str:
    ground = "over ground with its mapped trees and buildings" if mapped else _BARE
    unit = str(row["level_unit"]).replace("dBuV", "dBµV")
    told = f"about {row['level']:.0f} {unit} should arrive"
    if row["service"] == "phone":
        told += (
            f" outside and {row['level_inside']:.0f} {unit} inside the caravan, {ground}; "
            f"outside, calls should work in {_of_hundred(row['calls_frac'])} of 100 cases, maps in "
            f"{_of_hundred(row['maps_frac'])} and video in {_of_hundred(row['video_frac'])}; "
            f"inside, calls in {_of_hundred(row['inside_calls_frac'])}, maps in "
            f"{_of_hundred(row['inside_maps_frac'])} and video in "
            f"{_of_hundred(row['inside_video_frac'])}"
        )
        if row["readings"]:
            told += (
                f"; {row['readings']} of your own readings moved the forecast by "
                f"{row['bias_db']:+.0f} dB"
            )
        return told
    margin = float(row["margin_db"])
    side = "above" if margin >= 0 else "below"
    told += f" at the aerial, {abs(margin):.0f} dB {side} what is needed, {ground}"
    return f"{told}; it should work in {_of_hundred(row['television_frac'])} of 100 cases: " + str(
        row["advice"]
    )


def _of_hundred(share: float) -> str:
    """A share as cases of a hundred; never quite none and never quite all."""
    if share < 0.01:
        return "under 1"
    return "over 99" if share > 0.99 else f"{100 * share:.0f}"
