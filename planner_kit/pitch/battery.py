"""How long the leisure battery lasts where there is no hook-up, without counting on the sun."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.reference import constant
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.trip.household import Appliance, Caravan


def usable_kwh(caravan: Caravan) -> float | None:
    """What may be drawn from a full battery; None if its size or kind is not known, in kWh."""
    if caravan.leisure_battery_ah is None or caravan.battery_chemistry is None:
        return None
    kind = "lithium" if caravan.battery_chemistry == "lithium" else "lead"
    share = float(constant("hookup", f"usable_share_{kind}"))
    return caravan.leisure_battery_ah * float(constant("hookup", "battery_volts")) * share / 1000


def check_battery(caravan: Caravan, appliances: Sequence[Appliance], nights: int) -> Check:
    """Whether the 12 V appliances last the stay on a full battery alone.

    Parameters
    ----------
    caravan : Caravan
    appliances : sequence of Appliance
        Only those of 12 V count.
    nights : int

    Returns
    -------
    check : Check
        Unknown without the battery's size and kind or without any 12 V appliance listed.
    """
    subject = "leisure battery"
    stored = usable_kwh(caravan)
    low = [a for a in appliances if a.volts == 12]
    daily = sum(a.watts * a.hours_per_day for a in low) / 1000
    source = constant("hookup", "usable_share_lead").source
    if stored is None or daily <= 0:
        gap = "the battery's capacity or kind" if stored is None else "what the 12 V side draws"
        return Check(
            subject,
            State.UNKNOWN,
            f"Not known: {gap}; without a hook-up everything runs on the battery.",
            source=source,
            basis="common practice",
        )
    days = stored / daily
    sun = f"; {caravan.solar_w:.0f} W of panels add to it in sunshine" if caravan.solar_w else ""
    return Check(
        subject,
        State.FINE if days >= nights - 1e-9 else State.LOOK,
        f"A full battery lasts about {days:.1f} days without sun and the stay is {nights} "
        f"nights{sun}.",
        figure=stored,
        limit=daily * nights,
        unit="kWh",
        margin=stored - daily * nights,
        source=source,
        basis="common practice",
    )
