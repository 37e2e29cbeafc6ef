"""Gas for cooking and the refrigerator during a stay, and whether the cylinders hold it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.pitch.water import Amount
from planner_kit.reference import constant
from planner_kit.states import Check, State

if TYPE_CHECKING:
    import datetime as dt

    from planner_kit.trip.household import Caravan

_COLD_MONTHS = (11, 12, 1, 2, 3)


def gas_kg(nights: int, *, hookup: bool) -> Amount:
    """Gas burnt in a stay for cooking, and for the refrigerator where there is no hook-up, in kg.

    Parameters
    ----------
    nights : int
    hookup : bool
        With a hook-up the refrigerator runs on the mains.

    Returns
    -------
    amount : Amount
        Heating is left out: it depends on the weather, at 170 to 490 g for each hour it burns.

    References
    ----------
    .. [1] Motor caravan operation manual of a European maker, 2012, section 11.4, table 11-1.
    """
    cooker, hours = constant("gas", "cooker"), constant("gas", "cooking_time")
    fridge = constant("gas", "refrigerator")
    day_hours = 0 if hookup else 24
    return Amount(
        cooker.low * hours.low + fridge.low * day_hours,
        cooker.value * hours.value + fridge.value * day_hours,
        cooker.high * hours.high + fridge.high * day_hours,
    ).times(nights / 1000)


def check_gas(caravan: Caravan, nights: int, arrive: dt.date, *, hookup: bool) -> Check:
    """Whether full cylinders hold the gas of a stay.

    Returns
    -------
    check : Check
        Fine when one full cylinder of two or more holds the highest estimate; look at this when
        all of them are needed, or butane may freeze; not fine when all of them full would not hold
        the likely amount; unknown without number, size and kind.
    """
    subject = "gas"
    need = gas_kg(nights, hookup=hookup)
    source = constant("gas", "cooker").source
    told = (
        f"About {need.likely:.1f} kg ({need.low:.1f} to {need.high:.1f}) for cooking"
        + ("" if hookup else " and the refrigerator")
        + ", heating not counted"
    )
    size, number, kind = caravan.gas_cylinder_kg, caravan.gas_cylinders, caravan.gas_kind
    if size is None or number is None or kind is None:
        gaps = (
            (number is None, "how many cylinders"),
            (size is None, "their size"),
            (kind is None, "propane or butane"),
        )
        return Check(
            subject,
            State.UNKNOWN,
            f"{told}; not known: {', '.join(words for gap, words in gaps if gap)}.",
            figure=need.likely,
            unit="kg",
            source=source,
            basis="published",
        )
    held = size * number
    weigh = "weigh the cylinders before you leave: the file does not say how full they are"
    if need.likely > held:
        state, words = State.NOT_FINE, f"{number} full cylinders hold {held:g} kg"
    elif number >= 2 and need.high <= size:
        state, words = State.FINE, f"one full cylinder of {size:g} kg holds it and one is spare"
    else:
        state, words = State.LOOK, f"{number} of {size:g} kg: little or nothing is spare"
    if kind == "butane" and arrive.month in _COLD_MONTHS and state is State.FINE:
        state, words = State.LOOK, f"{words}, but butane gives no gas in frost"
    return Check(
        subject,
        state,
        f"{told}; {words}; {weigh}.",
        figure=need.likely,
        limit=held,
        unit="kg",
        margin=held - need.likely,
        source=source,
        basis="published",
    )
