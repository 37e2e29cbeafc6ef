"""How long the leisure battery lasts without a hook-up: capacity as it really is, and the sun."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.pitch.water import Amount
from planner_kit.reference import constant, read_table
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.trip.household import Appliance, Caravan

LONGEST_DAYS = 60


@dataclass(frozen=True)
class BatteryKind:
    """What a kind of battery can do.

    Attributes
    ----------
    usable_frac : Amount
        Share of the capacity that may be drawn without wearing it out. [1]
    peukert : Amount
        Exponent of the loss at high currents. [1]
    charge_efficiency : float
        Share of the energy put in that can be drawn again. [1]
    no_charge_below_c : float or None
        The cells are not to be charged when colder. [deg C]
    source : str
    """

    usable_frac: Amount
    peukert: Amount
    charge_efficiency: float
    no_charge_below_c: float | None
    source: str


def battery_kind(chemistry: str) -> BatteryKind:
    """The row of a kind of battery (``lead acid``, ``AGM``, ``gel`` or ``lithium``)."""
    table = read_table("battery_kinds")
    row = table[table["chemistry"] == chemistry].iloc[0]
    frost = str(row["no_charge_below_c"])
    return BatteryKind(
        Amount(
            float(row["usable_low_frac"]), float(row["usable_frac"]), float(row["usable_high_frac"])
        ),
        Amount(float(row["peukert_low"]), float(row["peukert"]), float(row["peukert_high"])),
        float(row["charge_efficiency"]),
        float(frost) if frost else None,
        str(row["source"]),
    )


def capacity_at_current_ah(
    rated_ah: float, current_a: float, peukert: float, *, rate_h: float = 20.0
) -> float:
    """What a battery gives at a steady current, by Peukert's law, in Ah.

    Parameters
    ----------
    rated_ah : float
        Capacity at its rated discharge time. [Ah]
    current_a : float
        [A]
    peukert : float
        Exponent, 1 for a battery that does not mind. [1]
    rate_h : float
        Discharge time of the rated capacity; 20 h for most leisure batteries. [h]

    Notes
    -----
    Below the rated current nothing is added: self-discharge takes what the law would give.

    References
    ----------
    .. [1] Peukert, 1897: ``I^n t`` is constant, so the capacity falls with ``(I0 / I)^(n - 1)``.
    """
    rated_a = rated_ah / rate_h
    if current_a <= rated_a:
        return rated_ah
    return float(rated_ah * (rated_a / current_a) ** (peukert - 1))


def cold_factor(temperature_c: float) -> float:
    """Share of a lead battery's capacity that is left in the cold, never above 1.

    Notes
    -----
    Between -3.9 and 25 deg C by the sizing factors of IEEE 485, table 1; colder than that the last
    slope is kept, down to no less than a third. Lithium cells are taken by the same table, which
    is careful.
    """
    table = read_table("battery_cold")
    at = table["temperature_c"].to_numpy(dtype=np.float64)
    factor = table["size_factor"].to_numpy(dtype=np.float64)
    if temperature_c < at[0]:
        slope = (factor[1] - factor[0]) / (at[1] - at[0])
        return max(1 / 3, float(1 / (factor[0] + slope * (temperature_c - at[0]))))
    return float(1 / np.interp(temperature_c, at, factor))


def usable_kwh(
    caravan: Caravan, *, current_a: float = 0.0, temperature_c: float | None = None
) -> Amount | None:
    """What may be drawn from a full battery; None if its size or kind is not known, in kWh.

    Parameters
    ----------
    caravan : Caravan
    current_a : float
        The current drawn while things run. [A]
    temperature_c : float, optional
        Of the battery; at 25 deg C and where it is not known nothing is taken off. [deg C]
    """
    if caravan.leisure_battery_ah is None or caravan.battery_chemistry is None:
        return None
    kind = battery_kind(caravan.battery_chemistry)
    cold = 1.0 if temperature_c is None else cold_factor(temperature_c)
    volts = float(constant("hookup", "battery_volts"))

    def of(share: float, exponent: float) -> float:
        ah = capacity_at_current_ah(
            caravan.leisure_battery_ah or 0.0, current_a, exponent, rate_h=caravan.battery_rate_h
        )
        return ah * volts * share * cold / 1000

    return Amount(
        of(kind.usable_frac.low, kind.peukert.high),
        of(kind.usable_frac.likely, kind.peukert.likely),
        of(kind.usable_frac.high, kind.peukert.low),
    )


def daily_kwh(appliances: Sequence[Appliance]) -> float:
    """What the 12 V appliances draw in a day, in kWh."""
    return sum(a.watts * a.hours_per_day for a in appliances if a.volts == 12) / 1000


def running_current_a(appliances: Sequence[Appliance]) -> float:
    """Current that makes the most of a day's 12 V energy: the mean weighted by energy, in A."""
    low = [a for a in appliances if a.volts == 12]
    energy = sum(a.watts * a.hours_per_day for a in low)
    if energy <= 0:
        return 0.0
    weighted = sum(a.watts * a.watts * a.hours_per_day for a in low) / energy
    return weighted / float(constant("hookup", "battery_volts"))


def days_of_battery(
    usable: float, drawn_kwh: float, sun_kwh: Sequence[float], *, start_frac: float = 1.0
) -> float:
    """Days until the battery is down to what must stay in it; never more than `LONGEST_DAYS`.

    Parameters
    ----------
    usable : float
        What may be drawn when it is full. [kWh]
    drawn_kwh : float
        In a day. [kWh]
    sun_kwh : sequence of float
        What the panels bring on each day; the last one goes on. [kWh]
    start_frac : float
        How full it is at first. [1]

    Notes
    -----
    Each day the load is drawn first and the sun comes after it: a morning's load meets a battery
    that no sun has filled yet.
    """
    if drawn_kwh <= 0:
        return float(LONGEST_DAYS)
    left = usable * start_frac
    for day in range(LONGEST_DAYS):
        if drawn_kwh > left + 1e-12:
            return day + left / drawn_kwh
        sun = sun_kwh[min(day, len(sun_kwh) - 1)] if len(sun_kwh) else 0.0
        left = min(usable, left - drawn_kwh + sun)
    return float(LONGEST_DAYS)


def charged_on_drive_kwh(caravan: Caravan, hours: float) -> float | None:
    """What the car puts into the battery on the tow; None if its charging current is not known.

    Notes
    -----
    At 12 V and with the losses of charging; a battery takes less when it is nearly full, so it is
    the most that the drive can bring.
    """
    if caravan.drive_charge_a is None or caravan.battery_chemistry is None:
        return None
    kind = battery_kind(caravan.battery_chemistry)
    volts = float(constant("hookup", "battery_volts"))
    return caravan.drive_charge_a * hours * volts * kind.charge_efficiency / 1000


def check_drive_charge(caravan: Caravan, drive_h: float | None) -> Check:
    """What the tow to the stay puts into the battery.

    Parameters
    ----------
    caravan : Caravan
    drive_h : float or None
        Hours of towing; None where no route is known. [h]
    """
    subject = "charging on the drive"
    each = charged_on_drive_kwh(caravan, 1.0)
    if each is None:
        return Check(
            subject,
            State.UNKNOWN,
            "The household file does not say what current the car gives the battery "
            "(drive_charge_a), so arrive with it full.",
            unit="kWh",
            basis="computed",
        )
    if drive_h is None:
        told = f"Each hour of towing puts back up to {each:.2f} kWh; no route is known"
        return Check(subject, State.UNKNOWN, f"{told}.", unit="kWh", basis="computed")
    stored = usable_kwh(caravan)
    brought = each * drive_h
    told = f"{drive_h:.1f} hours of towing put back up to {brought:.2f} kWh"
    if stored is None:
        return Check(
            subject,
            State.LOOK,
            f"{told}; how much the battery takes is not known.",
            figure=brought,
            unit="kWh",
            basis="computed",
        )
    full = brought >= stored.high
    told += (
        ", enough to arrive with a full battery"
        if full
        else f" of the {stored.likely:.2f} kWh that may be drawn: leave home with it at least "
        f"{100 * max(1 - brought / stored.likely, 0):.0f} % charged to arrive full"
    )
    return Check(
        subject,
        State.FINE if full else State.LOOK,
        f"{told}.",
        figure=brought,
        limit=stored.likely,
        unit="kWh",
        margin=brought - stored.likely,
        basis="computed",
    )


def left_at_home(appliances: Sequence[Appliance]) -> tuple[str, ...]:
    """What cannot run without a hook-up: every appliance of 230 V, by name."""
    return tuple(dict.fromkeys(a.name for a in appliances if a.volts == 230))


def check_battery(
    caravan: Caravan,
    appliances: Sequence[Appliance],
    nights: int,
    *,
    sun: pd.DataFrame | None = None,
    temperature_c: float | None = None,
) -> Check:
    """Whether the 12 V appliances last the stay on the battery, with the sun that is sure.

    Parameters
    ----------
    caravan : Caravan
    appliances : sequence of Appliance
        Only those of 12 V count.
    nights : int
    sun : DataFrame, optional
        What the panels bring on each day, as `planner_kit.pitch.solar.solar_days` gives it.
    temperature_c : float, optional
        Coldest night. [deg C]

    Returns
    -------
    check : Check
        Fine if it lasts on overcast days with the careful figures; look at this if it lasts with
        the likely ones; not fine if it does not; unknown without the battery's size and kind or
        without any 12 V appliance listed.
    """
    subject = "leisure battery"
    drawn = daily_kwh(appliances)
    stored = usable_kwh(
        caravan, current_a=running_current_a(appliances), temperature_c=temperature_c
    )
    if stored is None or drawn <= 0:
        gap = "the battery's capacity or kind" if stored is None else "what the 12 V side draws"
        return Check(
            subject,
            State.UNKNOWN,
            f"Not known: {gap}; without a hook-up everything runs on the battery.",
            source=read_table("battery_kinds")["source"].iloc[0],
            basis="common practice",
        )
    kind = battery_kind(str(caravan.battery_chemistry))
    by_day = [[], [], []] if sun is None else [sun[f"{at}_kwh"].tolist() for at in _LEVELS]
    careful = days_of_battery(stored.low, drawn, by_day[0])
    likely = days_of_battery(stored.likely, drawn, by_day[1])
    state = (
        State.FINE
        if careful >= nights - 1e-9
        else State.LOOK
        if likely >= nights - 1e-9
        else State.NOT_FINE
    )
    sunny = any(by_day[0])
    worn = "under cloud" if sunny else "if it is worn"
    words = {
        State.FINE: f"It lasts the {nights} nights even {worn}",
        State.LOOK: f"It lasts the {nights} nights{' with ordinary sun' if sunny else ''}, but "
        f"only {_days(careful)} days {worn}: spare it",
        State.NOT_FINE: f"It is flat after about {_days(likely)} of {nights} nights"
        f"{', the sun on its panels counted' if sunny else ''}",
    }[state]
    frost = kind.no_charge_below_c
    if frost is not None and temperature_c is not None and temperature_c < frost:
        words += "; these cells must not be charged while frozen"
    cold = ""
    if temperature_c is not None and (lost := round(100 * (1 - cold_factor(temperature_c)))) > 0:
        cold = f", {lost} % less than when it is warm, for a night of {temperature_c:g} °C"
    return Check(
        subject,
        state,
        f"{words}. The 12 V side draws {drawn:.2f} kWh a day and a full battery gives "
        f"{stored.likely:.2f} kWh{cold}; it has to be full on arrival.",
        figure=careful,
        limit=float(nights),
        unit="days",
        margin=careful - nights,
        source=kind.source,
        basis="common practice",
    )


_LEVELS = ("low", "likely", "high")


def _days(days: float) -> str:
    return f"{LONGEST_DAYS} or more" if days >= LONGEST_DAYS else f"{days:.1f}"
