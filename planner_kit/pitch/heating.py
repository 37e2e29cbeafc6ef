"""Warmth and hot water: what they need in a day, from the outside temperature and the caravan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner_kit.pitch.water import Amount
from planner_kit.reference import constant, read_table

if TYPE_CHECKING:
    from planner_kit.trip.household import Caravan


@dataclass(frozen=True)
class Grade:
    """A grade of thermal insulation of EN 1645-1.

    Attributes
    ----------
    transmittance : Amount
        Mean over floor, walls, roof, windows and door. [W/(m2 K)]
    holds_20_c_at_c : float or None
        Outside temperature at which the heating keeps 20 deg C inside; None for grade 1. [deg C]
    """

    transmittance: Amount
    holds_20_c_at_c: float | None


def insulation_grade(grade: int) -> Grade:
    """The figures of a grade, 1 to 3."""
    table = read_table("insulation_grades")
    row = table[table["grade"] == str(grade)].iloc[0]
    holds = str(row["holds_20_c_at_c"])
    return Grade(
        Amount(float(row["u_low"]), float(row["u_w_per_m2k"]), float(row["u_high"])),
        float(holds) if holds else None,
    )


def shell_m2(caravan: Caravan) -> float | None:
    """Outer area of the body; None without its length and width, in m2."""
    length = caravan.body_length_m or caravan.internal_length_m
    if length is None or caravan.width_m is None:
        return None
    height = constant("heating", "inside_height").value
    return 2 * (length * caravan.width_m + height * (length + caravan.width_m))


def heat_loss_w_per_k(caravan: Caravan) -> Amount | None:
    """What the caravan loses for each degree between inside and outside; None if unknown, in W/K.

    Notes
    -----
    Through the shell by the mean transmittance of its insulation grade, and through the fixed
    vents, which have to stay open.
    """
    area = shell_m2(caravan)
    length = caravan.body_length_m or caravan.internal_length_m
    if area is None or caravan.insulation_class is None or length is None:
        return None
    shell = insulation_grade(caravan.insulation_class).transmittance
    changes, air = constant("heating", "air_changes"), constant("heating", "air_heat")
    room_m3 = length * float(caravan.width_m or 0) * constant("heating", "inside_height").value
    return Amount(
        shell.low * area + changes.low * air.value * room_m3,
        shell.likely * area + changes.value * air.value * room_m3,
        shell.high * area + changes.high * air.value * room_m3,
    )


def heating_kwh_per_day(
    caravan: Caravan, low_c: float, high_c: float, people: int
) -> Amount | None:
    """Heat that a day needs; None if the caravan's size or insulation is not known, in kWh.

    Parameters
    ----------
    caravan : Caravan
    low_c, high_c : float
        Coldest night and warmest afternoon outside. [deg C]
    people : int
        Who warm it a little themselves.

    Notes
    -----
    The night is reckoned half way between the coldest and the mean, the day at the mean; the sun
    through the windows is left out.
    """
    loss = heat_loss_w_per_k(caravan)
    if loss is None:
        return None
    mean = (low_c + high_c) / 2
    night_c = (low_c + mean) / 2
    day, night = constant("heating", "inside"), constant("heating", "inside_night")
    hours, warm = constant("heating", "night_hours"), constant("heating", "people_w")

    def of(w_per_k: float, day_c: float, at_night_c: float, person_w: float) -> float:
        own = people * person_w
        by_day = max(0.0, w_per_k * (day_c - mean) - own) * (24 - hours.value)
        by_night = max(0.0, w_per_k * (at_night_c - night_c) - own) * hours.value
        return (by_day + by_night) / 1000

    return Amount(
        of(loss.low, day.low, night.low, warm.high),
        of(loss.likely, day.value, night.value, warm.value),
        of(loss.high, day.high, night.high, warm.low),
    )


def hot_water_kwh_per_day(people: int) -> Amount:
    """Heat in the hot water that people draw in the caravan in a day, in kWh."""
    litres = constant("gas", "hot_water_per_person")
    rise = constant("heating", "tap_warm").value - constant("heating", "tap_cold").value
    each = constant("heating", "water_heat").value * rise / 1000 * people
    return Amount(litres.low * each, litres.value * each, litres.high * each)
